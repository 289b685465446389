package trace

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/drydown/units"
)

// decideCells decides decimal mark, cell units and the form of time from the
// rows of the sample.
func (l *layout) decideCells(rows [][]byte, opts Options) error {
	if !l.json {
		if err := l.decideDecimal(rows, opts); err != nil {
			return err
		}
	}
	var cells [][]byte
	for i, row := range rows {
		var err error
		cells, err = l.cells(cells[:0], row)
		if err != nil || len(cells) != l.width || len(cells[l.at[timeColumn]]) == 0 {
			continue
		}
		line := l.first + i + 1
		if l.timeForm == timeUnknown {
			date := ""
			if k := l.at[dateColumn]; k >= 0 {
				date = string(cells[k])
			}
			if err := decideTime(l, string(cells[l.at[timeColumn]]), date, opts); err != nil {
				return atLine(line, err)
			}
		}
		done, err := l.decidePressures(cells, opts)
		if err != nil {
			return atLine(line, err)
		}
		if done {
			return nil
		}
	}
	if l.timeForm == timeUnknown {
		return atLine(l.first, l.noRow(rows))
	}
	return l.needUnits()
}

// noRow says why no row below the header is complete.
func (l *layout) noRow(rows [][]byte) error {
	for _, row := range rows {
		if len(bytes.TrimSpace(row)) == 0 || row[0] == '#' {
			continue
		}
		if cells, err := l.cells(nil, row); err == nil && len(cells) != l.width {
			return fmt.Errorf("no complete row of data below the header: the header has %d cells, the first row %d", l.width, len(cells))
		}
	}
	return errors.New("no complete row of data below the header")
}

// decideDigit finds the finest place value that the pressure column writes.
func (l *layout) decideDigit(rows [][]byte) {
	c := &l.columns[l.at[pressureColumn]]
	var cells [][]byte
	for _, row := range rows {
		var err error
		cells, err = l.cells(cells[:0], row)
		if err != nil || len(cells) != l.width {
			continue
		}
		number, _ := splitUnit(cells[l.at[pressureColumn]])
		if _, ok := l.number(number); !ok {
			continue
		}
		digit := units.Pressure(placeValue(number, l.comma) * math.Abs(c.scale.factor))
		if digit > 0 && (l.format.Digit == 0 || digit < l.format.Digit) {
			l.format.Digit = digit
		}
	}
}

// decidePressures takes the unit from the cells where the header has none.
func (l *layout) decidePressures(cells [][]byte, opts Options) (done bool, err error) {
	done = true
	for _, kind := range []columnKind{pressureColumn, secondColumn} {
		k := l.at[kind]
		if k < 0 || l.columns[k].scale.factor != 0 {
			continue
		}
		c := &l.columns[k]
		number, unit := splitUnit(cells[k])
		if _, ok := l.number(number); !ok {
			done = false
			continue
		}
		if unit == "" {
			return false, l.needUnits()
		}
		s, err := gaugeScale(unit, opts)
		if err != nil {
			return false, err
		}
		c.unit, c.scale = unit, s
		if kind == pressureColumn {
			l.format.Pressure = unit
		} else {
			l.format.Second = unit
		}
	}
	return done, nil
}

func (l *layout) needUnits() error {
	for _, kind := range []columnKind{pressureColumn, secondColumn} {
		if k := l.at[kind]; k >= 0 && l.columns[k].scale.factor == 0 {
			err := fmt.Errorf("pressure column %q has no unit, accepted in the header, as \"pressure [micron]\": %s",
				l.columns[k].name, AcceptedPressureUnits)
			if kind == pressureColumn {
				err = &needError{NeedPressureUnit, err}
			}
			return atLine(max(1, l.format.Header), err)
		}
	}
	return nil
}

// markCount is what the sample says about one mark in one column.
type markCount struct {
	sure   int    // numbers in which it can only be the decimal mark
	groups int    // numbers in which exactly three digits follow it: thousands or decimals
	bare   int    // whole numbers below 1000, and numbers that can only be grouped
	plain  int    // whole numbers from 1000, which thousands with marks leave out
	sample string // one of groups
}

// decideDecimal decides between comma and full stop from the columns that hold
// numbers, or takes the mark that is declared. With a comma as separator rows
// twice as wide as the header betray a decimal comma.
func (l *layout) decideDecimal(rows [][]byte, opts Options) error {
	counts := make([][2]markCount, l.width) // full stop, comma
	quoted := slices.ContainsFunc(rows, func(row []byte) bool { return bytes.IndexByte(row, '"') >= 0 })
	double, full := 0, 0
	var cells [][]byte
	for _, row := range rows {
		if l.sep == ',' && !quoted { // no cell holds a comma
			switch bytes.Count(row, []byte{','}) + 1 {
			case 2 * l.width:
				double++
			case l.width:
				full++
			}
			continue
		}
		cells, _ = l.cells(cells[:0], row)
		if l.sep == ',' && len(cells) == 2*l.width {
			double++
		}
		if len(cells) != l.width {
			continue
		}
		full++
		for k, cell := range cells {
			if kind := l.columns[k].kind; kind != ignored && kind != dateColumn {
				counts[k][0].add(cell, '.', opts)
				counts[k][1].add(cell, ',', opts)
			}
		}
	}
	if double > full {
		return atLine(l.first+1, fmt.Errorf("rows have twice as many cells as the header: a decimal comma with comma as separator "+
			"cannot be read, accepted a semicolon or tab as separator, or quoted numbers"))
	}
	if opts.DecimalMark != 0 {
		l.comma, l.group = opts.DecimalMark == ',', ','
		if l.comma {
			l.group = '.'
		}
	} else if err := l.weighMarks(counts); err != nil {
		return atLine(l.first+1, err)
	}
	l.format.DecimalComma = l.comma
	return nil
}

// weighMarks decides the decimal mark from what the columns hold. Numbers with
// three digits behind the mark count only where nothing else speaks.
func (l *layout) weighMarks(counts [][2]markCount) error {
	var sure, groups [2]int
	for _, c := range counts {
		for m := range c {
			sure[m] += c[m].sure
			groups[m] += c[m].groups
		}
	}
	weigh := sure
	if sure == [2]int{} {
		weigh = groups
	}
	if weigh[1] > 0 && (weigh[0] == weigh[1] || sure == [2]int{} && weigh[0] > 0) {
		return &needError{NeedDecimalMark, fmt.Errorf("%d numbers with decimal comma and %d with full stop, accepted one mark in a file", weigh[1], weigh[0])}
	}
	mark := 0
	if weigh[1] > weigh[0] {
		mark, l.comma = 1, true
	}
	if sure[mark] > 0 || mark == 0 && l.sep == ',' { // no list of commas has full stops between thousands
		return nil
	}
	for k := range counts {
		c := counts[k][mark]
		if c.groups == 0 || c.plain > 0 {
			continue
		}
		// A list of semicolons leaves the comma to the decimals; one of tabs, or
		// of commas with numbers in quotes, does not.
		if c.bare > 0 || mark == 1 && l.sep != ';' {
			whole := strings.NewReplacer(".", "", ",", "").Replace(c.sample)
			decimal := strings.TrimRight(strings.Replace(c.sample, ",", ".", 1), "0")
			return &needError{NeedDecimalMark, fmt.Errorf("%s may be %s or %s in column %q, accepted numbers without marks between thousands, "+
				"or a declared decimal mark", c.sample, whole, strings.TrimSuffix(decimal, "."), l.columns[k].name)}
		}
		// Every number of the column has three decimals, and that alone decided;
		// one that has none later is an issue.
		l.columns[k].marked = true
	}
	return nil
}

// add counts one cell.
func (m *markCount) add(cell []byte, mark byte, opts Options) {
	number, _ := splitUnit(cell)
	v, ok := parseNumber(number, mark == ',')
	if !ok {
		if _, grouped := ungroup(number, mark); grouped {
			m.bare++
		}
		return
	}
	digits := bytes.TrimLeft(number, "+-")
	at := bytes.IndexByte(digits, mark)
	switch {
	case at < 0:
		switch {
		case isSentinel(v, opts): // written by another rule than readings
		case math.Abs(v) < 1000:
			m.bare++
		default:
			m.plain++
		}
	case at >= 1 && at <= 3 && len(digits) == at+4 && digits[0] != '0' && !bytes.ContainsAny(digits, "eE"):
		m.groups++
		if m.sample == "" {
			m.sample = string(digits)
		}
	default:
		m.sure++
	}
}

// separators are what may stand between cells.
const separators = ",;|~^\t"

// declaredSeparator is X of a line sep=X, quotes around it left out.
func declaredSeparator(line []byte) (sep byte, ok bool, err error) {
	text := bytes.Trim(line, "\"")
	if len(text) < 4 || !bytes.EqualFold(text[:4], []byte("sep=")) {
		return 0, false, nil
	}
	if len(text) != 5 || strings.IndexByte(separators, text[4]) < 0 {
		return 0, true, fmt.Errorf("separator declared by %q, accepted after sep= one of %q", clip(line), separators)
	}
	return text[4], true, nil
}

// separatorOf finds the separator of a header line: tab before semicolon
// before comma.
func separatorOf(line []byte) byte {
	inQuotes := false
	var seen [3]bool
	for _, c := range line {
		switch {
		case c == '"':
			inQuotes = !inQuotes
		case inQuotes:
		case c == '\t':
			seen[0] = true
		case c == ';':
			seen[1] = true
		}
	}
	switch {
	case seen[0]:
		return '\t'
	case seen[1]:
		return ';'
	}
	return ','
}

func splitAll(line []byte, sep byte) []string {
	cells, _ := splitCells(nil, line, sep)
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = string(c)
	}
	return out
}

// clip shortens text for a message.
func clip(text []byte) string {
	const most = 60
	if len(text) > most {
		return strings.ToValidUTF8(string(text[:most]), "") + "..."
	}
	return strings.ToValidUTF8(string(text), "?")
}

// jsonKeys lists the keys of an object in their order.
func jsonKeys(line []byte) ([]string, error) {
	d := json.NewDecoder(bytes.NewReader(line))
	if _, err := d.Token(); err != nil {
		return nil, fmt.Errorf("JSON object: %w", err)
	}
	var keys []string
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, fmt.Errorf("JSON object: %w", err)
		}
		name, ok := key.(string)
		if !ok {
			return nil, errors.New("JSON object: key is no text")
		}
		keys = append(keys, name)
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return nil, fmt.Errorf("JSON object: %w", err)
		}
	}
	return keys, nil
}
