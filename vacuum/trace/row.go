package trace

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"example.com/drydown/units"
)

// parseLine turns one line into a row; ok is false for lines without one.
func (t *Reader) parseLine(line []byte, ended bool) (row Row, ok bool, err error) {
	if len(line) == 0 || line[0] <= ' ' && len(bytes.TrimSpace(line)) == 0 {
		return row, false, nil
	}
	if line[0] == '#' {
		t.issues.add(t.line, SkippedLine, clip(line))
		return row, false, nil
	}
	l := t.layout
	var room [12][]byte // on the stack: pointers kept in t would cost write barriers
	cells, err := l.cells(room[:0], line)
	if err != nil || len(cells) != l.width {
		return row, false, t.badLine(line, len(cells), ended, err)
	}
	seconds, good := t.rowTime(cells)
	if !good {
		return row, false, t.badTime(line, ended)
	}
	row = Row{Line: t.line, Time: seconds}
	before := t.watch.lastRaw
	t.fillPressure(&row, cells[l.at[pressureColumn]], line)
	if !ended && t.torn(&row, before) {
		t.issues.add(t.line, TornEnd, "the file ends within a reading: "+clip(line))
		row.State, row.Pressure = Unreadable, 0
	}
	t.fillOthers(&row, cells, line)
	t.watch.check(&row, &t.issues)
	if !ended && row.State == Good {
		t.issues.add(t.line, NoLineEnd, "the last row has no line end, its last digit may be cut")
	}
	return row, true, nil
}

// tornShare is how far the last reading of a text without a line end may lie
// below the one before: losing the last digit of a whole number divides by ten.
const tornShare = 0.2

// torn reports whether the reading of a line that does not end has lost digits;
// before is the reading before it, in the unit of the column.
func (t *Reader) torn(row *Row, before float64) bool {
	return row.State == Good && t.watch.rows > 0 && math.Abs(t.watch.lastRaw) < tornShare*math.Abs(before)
}

// badLine sorts a line with the wrong number of cells.
func (t *Reader) badLine(line []byte, cells int, ended bool, err error) error {
	switch {
	case !ended:
		t.issues.add(t.line, TornEnd, "the file ends within a row: "+clip(line))
	case err != nil:
		t.issues.add(t.line, UnreadableCell, err.Error()+": "+clip(line))
	default:
		t.issues.add(t.line, RaggedRow, fmt.Sprintf("%d cells, the header has %d: %s", cells, t.layout.width, clip(line)))
	}
	return nil
}

// badTime sorts a row whose time cannot be read. A second header with the same
// units is skipped; one with another unit ends the reading.
func (t *Reader) badTime(line []byte, ended bool) error {
	l := t.layout
	if !l.json {
		cols, isHeader, err := parseHeader(splitAll(line, l.sep), t.opts)
		if isHeader {
			for i := range cols {
				if cols[i].unit != "" && cols[i].unit != l.columns[i].unit && l.columns[i].kind != ignored {
					return fmt.Errorf("unit changes within the file: column %q was [%s], is [%s]; split the log there",
						l.columns[i].name, l.columns[i].unit, cols[i].unit)
				}
			}
			t.issues.add(t.line, SkippedLine, "header repeated")
			return err
		}
	}
	kind := UnreadableCell
	if !ended {
		kind = TornEnd
	}
	t.issues.add(t.line, kind, "time not understood: "+clip(line))
	return nil
}

// fillPressure reads the first gauge.
func (t *Reader) fillPressure(row *Row, cell, line []byte) {
	c := &t.layout.columns[t.layout.at[pressureColumn]]
	v, state := t.reading(cell, c, t.watch.lastRaw)
	row.State = state
	switch {
	case state == Good:
		t.watch.lastRaw = v
		row.Pressure = units.Pressure(toSI(v, c.scale))
		if row.Pressure < 0 {
			t.issues.add(t.line, NegativePressure, clip(cell)+" "+c.unit)
			row.State, row.Pressure = Unreadable, 0
		}
	case t.otherUnit(cell, line, c):
		row.State = Unreadable
	case state == Missing && len(cell) == 0:
		t.issues.add(t.line, MissingReading, "blank pressure")
	default:
		t.noReading(state, clip(cell))
	}
}

// noReading reports a word or value that stands for no reading.
func (t *Reader) noReading(state State, text string) {
	switch state {
	case OverRange:
		t.issues.add(t.line, OverRangeReading, text)
	case UnderRange:
		t.issues.add(t.line, UnderRangeReading, text)
	case Missing:
		t.issues.add(t.line, SentinelReading, text)
	}
}

// otherUnit reports a JSON object that has the quantity of a column under a key
// with another unit; cell is what it has under the key of the column.
func (t *Reader) otherUnit(cell, line []byte, c *column) bool {
	if !t.layout.json || len(cell) > 0 {
		return false
	}
	keys, err := jsonKeys(line)
	if err != nil {
		return false
	}
	name, _ := splitName(c.name)
	for _, key := range keys {
		if other, unit := splitName(key); key != c.name && other == name && unit != "" {
			t.issues.add(t.line, UnitConflict, fmt.Sprintf("key %q, the first object has %q", key, c.name))
			return true
		}
	}
	return false
}

// reading parses a cell that should hold a number.
func (t *Reader) reading(cell []byte, c *column, last float64) (float64, State) {
	v, ok := t.layout.number(cell)
	if !ok {
		if state, word := parseState(cell); word {
			return 0, state
		}
		number, unit := splitUnit(cell)
		v, ok = t.layout.number(number)
		switch {
		case !ok:
			t.issues.add(t.line, UnreadableCell, fmt.Sprintf("%s in column %q", clip(cell), c.name))
			return 0, Unreadable
		case squeeze(unit) != squeeze(c.unit):
			t.issues.add(t.line, UnitConflict, fmt.Sprintf("%s in column %q, whose unit is %s", clip(cell), c.name, c.unit))
			return 0, Unreadable
		}
	}
	if t.sentinel(v, last) {
		return 0, Missing
	}
	if c.marked && !bytes.ContainsAny(cell, ".,") {
		t.issues.add(t.line, UnreadableCell, fmt.Sprintf("%s in column %q, where all numbers of the first %d KiB have three digits behind a mark",
			clip(cell), c.name, sampleSize>>10))
		return 0, Unreadable
	}
	if !(math.Abs(toSI(v, c.scale)) < maxPascal) {
		t.issues.add(t.line, UnreadableCell, clip(cell)+" is beyond any pressure or temperature")
		return 0, Unreadable
	}
	return v, Good
}

// isSentinel reports whether v stands for no reading when it comes out of place.
func isSentinel(v float64, opts Options) bool {
	if opts.Sentinels != nil {
		return slices.Contains(opts.Sentinels, v)
	}
	switch v {
	case -999, -9999, -99999, 9999, 99999, 999999:
		return true
	}
	return false
}

// sentinel is isSentinel for the default values only where last, the reading
// before, is not near the positive ones.
func (t *Reader) sentinel(v, last float64) bool {
	return isSentinel(v, t.opts) && (t.opts.Sentinels != nil || v < 0 || !(last >= 0.9*v && last <= 1.1*v))
}

func toSI(v float64, s scale) float64 { return s.offset + s.factor*v }

// fillOthers reads temperature and second gauge; what is no number is left out
// and reported.
func (t *Reader) fillOthers(row *Row, cells [][]byte, line []byte) {
	if k := t.layout.at[temperatureColumn]; k >= 0 {
		c := &t.layout.columns[k]
		if v, ok := t.otherReading(cells[k], line, c, 0); ok {
			row.Temperature = units.Temperature(toSI(v, c.scale))
			if !(row.Temperature > 0) {
				t.issues.add(t.line, UnreadableCell, fmt.Sprintf("%s in column %q is below absolute zero", clip(cells[k]), c.name))
				row.Temperature = 0
			}
		}
	}
	if k := t.layout.at[secondColumn]; k >= 0 {
		c := &t.layout.columns[k]
		if v, ok := t.otherReading(cells[k], line, c, t.watch.lastSecond); ok {
			t.watch.lastSecond = v
			row.Second, row.HasSecond = units.Pressure(toSI(v, c.scale)), true
			if row.Second < 0 {
				t.issues.add(t.line, NegativePressure, fmt.Sprintf("%s in column %q", clip(cells[k]), c.name))
				row.Second, row.HasSecond = 0, false
			}
		}
	}
}

// otherReading reads a cell beside the pressure and reports it, by the name of
// its column, when it holds no number.
func (t *Reader) otherReading(cell, line []byte, c *column, last float64) (float64, bool) {
	v, state := t.reading(cell, c, last)
	switch {
	case state == Good:
		return v, true
	case t.otherUnit(cell, line, c):
	case state == Missing && len(cell) == 0:
		t.issues.add(t.line, MissingReading, fmt.Sprintf("blank in column %q", c.name))
	default:
		t.noReading(state, fmt.Sprintf("%s in column %q", clip(cell), c.name))
	}
	return 0, false
}

// rowTime reads the time of the current cells as seconds since the first row.
func (t *Reader) rowTime(cells [][]byte) (float64, bool) {
	l := t.layout
	cell := cells[l.at[timeColumn]]
	var seconds float64
	switch l.timeForm {
	case timeStamp:
		v, ok := t.stampTime(cell, cells)
		if !ok {
			return 0, false
		}
		seconds = v
	case timeNumber:
		v, ok := l.number(cell)
		if !ok || !(math.Abs(v*l.timeFactor) < maxSeconds) {
			return 0, false
		}
		seconds = v * l.timeFactor
	case timeClock:
		at, ok := l.stamps.parse(string(cell))
		if !ok {
			return 0, false
		}
		h, m, s := at.Clock()
		seconds = t.watch.unwrap(float64(h*3600+m*60+s)+float64(at.Nanosecond())/1e9, t.line, &t.issues)
	default:
		v, ok := clockSeconds(cell, l.timeForm)
		if !ok || v > maxSeconds {
			return 0, false
		}
		seconds = t.watch.unwrap(v, t.line, &t.issues)
	}
	return t.watch.since(seconds), true
}

// stampTime reads a time stamp as seconds since the first one.
func (t *Reader) stampTime(cell []byte, cells [][]byte) (float64, bool) {
	l := t.layout
	if s, ok := l.stamps.sameDay(cell); ok {
		return s, true
	}
	text := string(cell)
	if k := l.at[dateColumn]; k >= 0 {
		text = string(cells[k]) + " " + text
	}
	stamp, ok := l.stamps.parse(text)
	if !ok {
		return 0, false
	}
	if !t.watch.started {
		t.watch.start = stamp
	}
	seconds := stamp.Sub(t.watch.start).Seconds()
	if l.at[dateColumn] < 0 {
		l.stamps.remember(cell, stamp, seconds)
	}
	return seconds, true
}
