package trace

import (
	"fmt"
	"strings"
)

// columnKind is what a column holds.
type columnKind uint8

const (
	ignored columnKind = iota
	timeColumn
	dateColumn // a date beside a clock time
	pressureColumn
	secondColumn
	temperatureColumn
)

// column is one column of the text.
type column struct {
	kind  columnKind
	name  string
	unit  string // as written, empty when the header names none
	scale scale  // of pressures and temperatures
	// marked says that all numbers of the sample have three digits behind the
	// mark, and nothing else told a decimal mark from one between thousands.
	marked bool
}

// splitName separates a header cell into name and unit: "p[Pa]", "p (Pa)",
// "p / Pa", "p, Pa", "pressure_Pa", "pressure Pa". UCUM units such as [degF]
// keep their own brackets.
func splitName(cell string) (name, unit string) {
	cell = strings.TrimSpace(cell)
	for _, pair := range []string{"[]", "()"} {
		open := strings.IndexByte(cell, pair[0])
		if open >= 0 && cell[len(cell)-1] == pair[1] {
			return strings.TrimSpace(cell[:open]), strings.TrimSpace(cell[open+1 : len(cell)-1])
		}
	}
	for _, sep := range []string{"/", ",", "_", " "} {
		i := strings.LastIndex(cell, sep)
		if i < 0 {
			continue
		}
		last := strings.TrimSpace(cell[i+1:])
		if isUnit(last) {
			return strings.TrimSpace(cell[:i]), last
		}
	}
	return cell, ""
}

// isUnit reports whether text is a unit of a kind a log can have. One letter
// counts only for s, h, C, F and K.
func isUnit(text string) bool {
	if _, err := pressureUnit(text); err == nil {
		return true
	}
	if _, _, ok := timeUnit(text); ok {
		return true
	}
	_, ok := temperatureUnit(text)
	return ok
}

// plainName is a name in lower case with single blanks between words.
func plainName(name string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '.'
	}), " "))
}

// kindOf sorts a column by its unit, or by its name when there is no unit.
func kindOf(name, unit string) columnKind {
	n := plainName(name)
	if unit != "" {
		if _, _, ok := timeUnit(unit); ok {
			return timeColumn
		}
		if _, ok := temperatureUnit(unit); ok && !looksLikePressure(n) {
			return temperatureColumn
		}
		if _, err := pressureUnit(unit); err == nil || looksLikePressure(n) {
			return pressureColumn
		}
	}
	switch n {
	case "date":
		return dateColumn
	case "time", "t", "timestamp", "time stamp", "datetime", "date time", "date/time", "elapsed",
		"elapsed time", "clock", "clock time", "time of day", "utc", "time utc", "ts":
		return timeColumn
	case "temperature", "temp", "ambient temperature", "site temperature", "wall temperature":
		return temperatureColumn
	}
	if looksLikePressure(n) {
		return pressureColumn
	}
	return ignored
}

func looksLikePressure(name string) bool {
	switch strings.TrimRight(name, "0123456789 ") {
	case "p", "pressure", "vacuum", "gauge", "reading", "absolute pressure", "pressure absolute",
		"abs pressure", "system pressure", "pressure system", "vacuum level", "gauge pressure", "p abs":
		return true
	}
	return strings.HasPrefix(name, "pressure ") || strings.HasSuffix(name, " pressure")
}

// parseHeader turns header cells into columns. It answers ok = false when the
// cells do not name a time and a pressure, so that this is no header; and an
// error when they do but a unit is missing or not understood.
func parseHeader(cells []string, opts Options) (cols []column, ok bool, err error) {
	cols = make([]column, len(cells))
	for i, cell := range cells {
		name, unit := splitName(cell)
		cols[i] = column{kind: kindOf(name, unit), name: strings.TrimSpace(cell), unit: unit}
	}
	if !hasTimeAndPressure(cols) {
		return nil, false, nil
	}
	return cols, true, resolve(cols, opts)
}

func hasTimeAndPressure(cols []column) bool {
	time, pressure := false, false
	for _, c := range cols {
		time = time || c.kind == timeColumn
		pressure = pressure || c.kind == pressureColumn
	}
	return time && pressure
}

// gaugeRank says how surely a pressure column is the gauge on the circuit: by its
// name, by its unit alone, or not, since it is the pressure of the air.
func gaugeRank(c column) int {
	name, _ := splitName(c.name)
	name = plainName(name)
	for _, air := range []string{"barom", "ambient", "atmos"} {
		if strings.Contains(name, air) {
			return 0
		}
	}
	if looksLikePressure(name) {
		return 2
	}
	return 1
}

// chooseGauges keeps the first pressure column of the highest rank as the gauge
// and the next as the second gauge. The pressure of the air is neither, unless
// there is no other.
func chooseGauges(cols []column) {
	first, second := -1, -1
	for i, c := range cols {
		if c.kind == pressureColumn && (first < 0 || gaugeRank(c) > gaugeRank(cols[first])) {
			first = i
		}
	}
	for i, c := range cols {
		if c.kind == pressureColumn && i != first && gaugeRank(c) > 0 && (second < 0 || gaugeRank(c) > gaugeRank(cols[second])) {
			second = i
		}
	}
	for i := range cols {
		switch {
		case cols[i].kind != pressureColumn || i == first:
		case i == second:
			cols[i].kind = secondColumn
		default:
			cols[i].kind = ignored
		}
	}
}

// resolve finds the unit of each column and keeps the first of each kind.
func resolve(cols []column, opts Options) error {
	chooseGauges(cols)
	seen := map[columnKind]bool{}
	for i := range cols {
		c := &cols[i]
		if c.kind == ignored || seen[c.kind] {
			c.kind = ignored
			continue
		}
		seen[c.kind] = true
		if err := resolveUnit(c, opts); err != nil {
			return err
		}
	}
	return nil
}

func resolveUnit(c *column, opts Options) error {
	switch c.kind {
	case pressureColumn, secondColumn:
		if c.unit == "" && c.kind == pressureColumn {
			c.unit = opts.PressureUnit
		}
		if c.unit == "" {
			return nil // the cells may carry it; decided with the first row
		}
		s, err := gaugeScale(c.unit, opts)
		if err != nil {
			return fmt.Errorf("column %q: %w", c.name, err)
		}
		c.scale = s
	case temperatureColumn:
		s, ok := temperatureUnit(c.unit)
		if !ok {
			return fmt.Errorf("temperature column %q has no known unit, accepted °C, Cel, °F, [degF], K", c.name)
		}
		c.scale = s
	}
	return nil
}

// gaugeScale is pressureUnit with the ambient pressure folded in.
func gaugeScale(unit string, opts Options) (scale, error) {
	s, err := pressureUnit(unit)
	if err != nil {
		return s, err
	}
	if s.gauge {
		if !(opts.Ambient > 0) {
			return s, &needError{NeedAmbient, fmt.Errorf("unit %q is a gauge pressure: the ambient pressure is needed", unit)}
		}
		s.offset = float64(opts.Ambient)
	}
	return s, nil
}
