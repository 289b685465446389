package trace

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// sampleSize is how much of a text decides its format.
const sampleSize = 64 << 10

// digitRows is how many rows of the sample show the last digit that is written;
// it tells no number from another, and looking at all of them costs time.
const digitRows = 500

// maxPreamble is how many lines may stand before the header.
const maxPreamble = 50

// layout is everything that is decided once about a text.
type layout struct {
	format     Format
	columns    []column
	width      int
	sep        byte
	comma      bool
	group      byte // may stand between thousands, zero for none
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
	if err := l.decideCells(rows, opts); err != nil {
		return l, err
	}
	l.decideDigit(rows[:min(len(rows), digitRows)])
	return l, nil
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
	declared := byte(opts.Separator)
	for i, line := range lines[:min(len(lines), maxPreamble)] {
		if i == 0 {
			sep, is, err := declaredSeparator(line)
			if declared == 0 && err != nil {
				return atLine(1, err)
			}
			if declared == 0 && is {
				declared = sep
				continue
			}
		}
		text := bytes.TrimSpace(line)
		if len(text) == 0 || text[0] == '#' {
			l.skip(i, text)
			continue
		}
		if text[0] == '{' {
			return l.jsonHeader(text, i, opts)
		}
		sep := declared
		if sep == 0 {
			sep = separatorOf(text)
		}
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
		if c.kind != pressureColumn {
			l.otherColumn(cols, i)
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

// otherColumn lists a pressure column that is read as the second gauge though it
// comes first, or that is not read.
func (l *layout) otherColumn(cols []column, i int) {
	gauge := slices.IndexFunc(cols, func(c column) bool { return c.kind == pressureColumn })
	name, unit := splitName(cols[i].name)
	second := cols[i].kind == secondColumn
	switch {
	case gauge < 0 || second && i > gauge:
	case second:
		l.preamble = append(l.preamble, Issue{l.format.Header, OtherColumn, fmt.Sprintf("the gauge is read from column %q, the second gauge from %q", cols[gauge].name, cols[i].name)})
	case cols[i].kind == ignored && kindOf(name, unit) == pressureColumn:
		l.preamble = append(l.preamble, Issue{l.format.Header, OtherColumn, fmt.Sprintf("the gauge is read from column %q, %q is not read", cols[gauge].name, cols[i].name)})
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
