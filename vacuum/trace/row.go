package trace

import (
	"bytes"
	"fmt"
	"math"

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
	t.fillPressure(&row, cells[l.at[pressureColumn]])
	if !ended && t.torn(&row, before) {
		t.issues.add(t.line, TornEnd, "the file ends within a reading: "+clip(line))
		row.State, row.Pressure = Unreadable, 0
	}
	t.fillOthers(&row, cells)
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
func (t *Reader) fillPressure(row *Row, cell []byte) {
	c := t.layout.at[pressureColumn]
	v, state := t.reading(cell, &t.layout.columns[c], t.watch.lastRaw)
	row.State = state
	switch state {
	case Good:
		t.watch.lastRaw = v
		row.Pressure = units.Pressure(toSI(v, t.layout.columns[c].scale))
		if row.Pressure < 0 {
			t.issues.add(t.line, NegativePressure, clip(cell)+" "+t.layout.columns[c].unit)
			row.State, row.Pressure = Unreadable, 0
		}
	case OverRange:
		t.issues.add(t.line, OverRangeReading, clip(cell))
	case UnderRange:
		t.issues.add(t.line, UnderRangeReading, clip(cell))
	case Missing:
		if len(cell) == 0 {
			t.issues.add(t.line, MissingReading, "blank pressure")
		} else {
			t.issues.add(t.line, SentinelReading, clip(cell))
		}
	}
}

// reading parses a cell that should hold a number.
func (t *Reader) reading(cell []byte, c *column, last float64) (float64, State) {
	v, ok := parseNumber(cell, t.layout.comma)
	if !ok {
		if state, word := parseState(cell); word {
			return 0, state
		}
		number, unit := splitUnit(cell)
		v, ok = parseNumber(number, t.layout.comma)
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
	if !(math.Abs(toSI(v, c.scale)) < maxPascal) {
		t.issues.add(t.line, UnreadableCell, clip(cell)+" is beyond any pressure or temperature")
		return 0, Unreadable
	}
	return v, Good
}

func (t *Reader) sentinel(v, last float64) bool {
	if t.opts.Sentinels != nil {
		for _, s := range t.opts.Sentinels {
			if v == s {
				return true
			}
		}
		return false
	}
	switch v {
	case -999, -9999, -99999:
		return true
	case 9999, 99999, 999999:
		return !(last >= 0.9*v && last <= 1.1*v)
	}
	return false
}

func toSI(v float64, s scale) float64 { return s.offset + s.factor*v }

// fillOthers reads temperature and second gauge; what is no number is left out
// and reported.
func (t *Reader) fillOthers(row *Row, cells [][]byte) {
	if c := t.layout.at[temperatureColumn]; c >= 0 {
		if v, state := t.reading(cells[c], &t.layout.columns[c], 0); state == Good {
			row.Temperature = units.Temperature(toSI(v, t.layout.columns[c].scale))
			if !(row.Temperature > 0) {
				t.issues.add(t.line, UnreadableCell, "temperature below absolute zero: "+clip(cells[c]))
				row.Temperature = 0
			}
		}
	}
	if c := t.layout.at[secondColumn]; c >= 0 {
		if v, state := t.reading(cells[c], &t.layout.columns[c], t.watch.lastSecond); state == Good {
			t.watch.lastSecond = v
			row.Second = units.Pressure(toSI(v, t.layout.columns[c].scale))
			row.HasSecond = row.Second >= 0
		}
	}
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
		v, ok := parseNumber(cell, l.comma)
		if !ok || !(math.Abs(v*l.timeFactor) < maxSeconds) {
			return 0, false
		}
		seconds = v * l.timeFactor
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
