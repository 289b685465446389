package trace

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"

	"example.com/drydown/units"
)

// decideCells decides decimal mark, cell units and the form of time from the
// rows of the sample.
func (l *layout) decideCells(rows [][]byte, opts Options) error {
	if !l.json {
		if err := l.decideDecimal(rows); err != nil {
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
		if _, ok := parseNumber(number, l.comma); !ok {
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
		if _, ok := parseNumber(number, l.comma); !ok {
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

// decideDecimal counts numbers with a decimal comma and with a full stop in
// the columns that hold numbers. With a comma as separator the mark is the
// full stop; rows twice as wide as the header then betray a decimal comma.
func (l *layout) decideDecimal(rows [][]byte) error {
	commas, stops, double, full := 0, 0, 0, 0
	var cells [][]byte
	for _, row := range rows {
		cells, _ = l.cells(cells[:0], row)
		if l.sep == ',' && len(cells) == 2*l.width {
			double++
		}
		if len(cells) == l.width {
			full++
		}
		for k, cell := range cells {
			if k < l.width && l.columns[k].kind != ignored && l.columns[k].kind != dateColumn {
				commas += markOf(cell, ',')
				stops += markOf(cell, '.')
			}
		}
	}
	if double > full {
		return atLine(l.first+1, fmt.Errorf("rows have twice as many cells as the header: a decimal comma with comma as separator "+
			"cannot be read, accepted a semicolon or tab as separator, or quoted numbers"))
	}
	if commas > 0 && commas == stops {
		return atLine(l.first+1, fmt.Errorf("as many numbers with decimal comma as with full stop (%d), accepted one mark in a file", commas))
	}
	l.comma = commas > stops
	l.format.DecimalComma = l.comma
	return nil
}

// markOf is 1 when cell is digits, the mark once, digits; a unit may follow.
func markOf(cell []byte, mark byte) int {
	number, _ := splitUnit(cell)
	if bytes.Count(number, []byte{mark}) != 1 {
		return 0
	}
	if _, ok := parseNumber(number, mark == ','); ok {
		return 1
	}
	return 0
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
