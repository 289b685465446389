package trace

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
)

// sampleSize is how much of a text decides its format.
const sampleSize = 64 << 10

// deciding is how many rows of the sample are looked at; more would not change
// a decision but cost time.
const deciding = 500

// maxPreamble is how many lines may stand before the header.
const maxPreamble = 50

// layout is everything that is decided once about a text.
type layout struct {
	format     Format
	columns    []column
	width      int
	sep        byte
	comma      bool
	json       bool
	cr         bool // lines end with CR alone
	timeUnit   string
	timeForm   timeForm
	timeFactor float64
	stamps     stampParser
	preamble   []Issue
	first      int // lines before the first row
	at         [temperatureColumn + 1]int
}

// lineError gives an error its line.
type lineError struct {
	line int
	err  error
}

func (e *lineError) Error() string { return e.err.Error() }

func (e *lineError) Unwrap() error { return e.err }

// atLine says where err was found, unless err knows that already.
func atLine(line int, err error) error {
	var inner *lineError
	if errors.As(err, &inner) {
		return err
	}
	return &lineError{line, err}
}

// decide finds the layout of a text from its first bytes; whole says that
// sample is all there is.
func decide(sample []byte, whole bool, opts Options) (*layout, error) {
	if len(sample) >= 2 && (sample[0] == 0xff && sample[1] == 0xfe || sample[0] == 0xfe && sample[1] == 0xff) {
		return nil, errors.New("text is UTF-16, accepted UTF-8 (save the log again as UTF-8)")
	}
	if bytes.IndexByte(sample, 0) >= 0 {
		return nil, errors.New("not a text: it holds zero bytes, accepted UTF-8 text")
	}
	if len(bytes.TrimSpace(sample)) == 0 {
		return nil, errors.New("empty, accepted a header line and rows of time and pressure")
	}
	l := &layout{cr: bytes.IndexByte(sample, '\n') < 0 && bytes.IndexByte(sample, '\r') >= 0}
	lines := sampleLines(sample, whole, l.cr)
	if len(lines) == 0 {
		return nil, fmt.Errorf("no line end in the first %d bytes", sampleSize)
	}
	if err := l.findHeader(lines, opts); err != nil {
		return nil, err
	}
	rows := lines[l.first:]
	return l, l.decideCells(rows[:min(len(rows), deciding)], opts)
}

// sampleLines splits the sample; a last line that may go on is left out.
func sampleLines(sample []byte, whole, cr bool) [][]byte {
	end := byte('\n')
	if cr {
		end = '\r'
	}
	lines := bytes.Split(sample, []byte{end})
	if !whole || len(lines[len(lines)-1]) == 0 {
		lines = lines[:len(lines)-1]
	}
	for i := range lines {
		lines[i] = bytes.TrimSuffix(lines[i], []byte{'\r'})
	}
	return lines
}

// findHeader looks for the line that names a time and a pressure.
func (l *layout) findHeader(lines [][]byte, opts Options) error {
	for i, line := range lines[:min(len(lines), maxPreamble)] {
		text := bytes.TrimSpace(line)
		if len(text) == 0 || text[0] == '#' {
			l.skip(i, text)
			continue
		}
		if text[0] == '{' {
			return l.jsonHeader(text, i, opts)
		}
		sep := separatorOf(text)
		cols, ok, err := parseHeader(splitAll(text, sep), opts)
		if ok {
			l.setHeader(cols, sep, i)
			if err != nil {
				err = atLine(i+1, err)
			}
			return err
		}
		if opts.PressureUnit != "" && l.positional(text, sep, i, opts) {
			return nil
		}
		l.skip(i, text)
	}
	return atLine(1, fmt.Errorf("no header that names a time and a pressure in the first %d lines, "+
		"accepted for example \"time [s],pressure [micron]\"; pressure units: %s", maxPreamble, AcceptedPressureUnits))
}

func (l *layout) skip(i int, text []byte) {
	if len(text) > 0 {
		l.preamble = append(l.preamble, Issue{i + 1, SkippedLine, clip(text)})
	}
}

func (l *layout) setHeader(cols []column, sep byte, line int) {
	l.columns, l.sep, l.width = cols, sep, len(cols)
	l.format.Header, l.format.Separator, l.first = line+1, rune(sep), line+1
	for k := range l.at {
		l.at[k] = -1
	}
	for i, c := range cols {
		if c.kind != ignored {
			l.at[c.kind] = i
		}
		switch c.kind {
		case timeColumn:
			l.timeUnit = c.unit
		case pressureColumn:
			l.format.Pressure = c.unit
		case secondColumn:
			l.format.Second = c.unit
		case temperatureColumn:
			l.format.Temperature = c.unit
		}
	}
}

// positional accepts a text without a header when the caller has named the
// pressure unit: time in the first column, pressure in the second.
func (l *layout) positional(text []byte, sep byte, line int, opts Options) bool {
	cells := splitAll(text, sep)
	if len(cells) != 2 || !(cells[1] != "" && cells[1][0] >= '0' && cells[1][0] <= '9') {
		return false
	}
	cols := []column{{kind: timeColumn, name: "time"}, {kind: pressureColumn, name: "pressure"}}
	if resolve(cols, opts) != nil {
		return false
	}
	l.setHeader(cols, sep, line)
	l.format.Header, l.first = 0, line
	return true
}

// jsonHeader takes the keys of the first object as the header.
func (l *layout) jsonHeader(text []byte, line int, opts Options) error {
	keys, err := jsonKeys(text)
	if err != nil {
		return atLine(line+1, err)
	}
	cols, ok, err := parseHeader(keys, opts)
	if !ok {
		return atLine(line+1, fmt.Errorf("keys %s do not name a time and a pressure, accepted for example \"time[s]\" and \"p[Pa]\"",
			strings.Join(keys, ", ")))
	}
	for i := range cols {
		cols[i].name = keys[i]
	}
	l.setHeader(cols, ',', line)
	l.json, l.format.JSONLines, l.format.Separator, l.format.Header = true, true, 0, 0
	l.first = line
	if err != nil {
		return atLine(line+1, err)
	}
	return nil
}

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
		return atLine(l.first, errors.New("no complete row of data below the header"))
	}
	return l.needUnits()
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
			return atLine(max(1, l.format.Header), fmt.Errorf("pressure column %q has no unit, accepted in the header, as \"pressure [micron]\": %s",
				l.columns[k].name, AcceptedPressureUnits))
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
