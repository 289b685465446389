package trace

import (
	"errors"
	"fmt"
	"time"

	"example.com/drydown/units"
)

// ErrFormat is what errors.Is finds in every FormatError.
var ErrFormat = errors.New("log format not understood")

// FormatError says where and why a log could not be read.
type FormatError struct {
	Name string // Options.Name, usually a file name; may be empty
	Line int    // line in the text, from 1; zero means the file as a whole
	Text string // what is wrong and what would be accepted
	// Need is what the caller could add to Options to have the log read; Text
	// does not name it, so that programs can word it as their own input.
	Need Need

	cause error
}

// Error reads like "rise.csv:3: pressure column has no unit, accepted ...".
func (e *FormatError) Error() string {
	name := e.Name
	if name == "" {
		name = "log"
	}
	text := e.Text
	if e.Need != NeedNothing {
		text += "; " + e.Need.String()
	}
	if e.Line == 0 {
		return fmt.Sprintf("%s: %s", name, text)
	}
	return fmt.Sprintf("%s:%d: %s", name, e.Line, text)
}

// Is makes errors.Is(err, ErrFormat) true.
func (e *FormatError) Is(target error) bool { return target == ErrFormat }

// Unwrap returns what was met while reading, so that errors.Is finds for example
// units.ErrAmbiguous; it may be nil.
func (e *FormatError) Unwrap() error { return e.cause }

// State says whether a row carries a usable reading.
type State uint8

// The states of a row. Only Good rows have a pressure that counts.
const (
	Good       State = iota // a reading at a time later than all before
	OverRange               // the gauge said it was over its range
	UnderRange              // the gauge said it was under its range
	Missing                 // blank cell or sentinel value
	Unreadable              // text that is no number, a negative absolute pressure, another unit
	Repeated                // same time stamp as the row before
	Backward                // time stamp before the latest one
)

// String returns the state in words.
func (s State) String() string {
	names := [...]string{"good", "over range", "under range", "missing", "unreadable", "repeated time", "backward time"}
	if int(s) < len(names) {
		return names[s]
	}
	return "unknown"
}

// Kind sorts issues.
type Kind uint8

// The kinds of issue a log can have.
const (
	OverRangeReading  Kind = iota // an over-range word
	UnderRangeReading             // an under-range word
	MissingReading                // a blank cell
	SentinelReading               // a value that stands for no reading
	UnreadableCell                // a cell that is not what its column holds
	NegativePressure              // an absolute pressure below zero
	RepeatedTime                  // a time stamp twice
	BackwardTime                  // a time stamp before an earlier row's
	TimeGap                       // a step far longer than the usual one
	CrossedMidnight               // a clock time that wrapped to the next day
	StuckReading                  // the same reading many rows in a row
	UnitConflict                  // a cell or later header in another unit
	RaggedRow                     // too few or too many cells
	TornEnd                       // the file ends in the middle of a row
	NoLineEnd                     // the last row has no line end, its last digit may be cut
	SkippedLine                   // text before the header, or a comment
	MissingZone                   // time stamps without a zone, read as Options.Location
	MoreIssues                    // further issues were counted, not listed
	OtherColumn                   // a pressure column left of the one that is read, or not read at all
)

// String returns the kind in words.
func (k Kind) String() string {
	names := [...]string{
		"over range", "under range", "missing reading", "sentinel value", "unreadable cell",
		"negative pressure", "repeated time", "backward time", "time gap", "crossed midnight",
		"stuck reading", "unit conflict", "ragged row", "torn end", "no line end", "skipped line",
		"missing zone", "more issues", "other column",
	}
	if int(k) < len(names) {
		return names[k]
	}
	return "unknown"
}

// Issue is something about a log that its reader should know.
type Issue struct {
	Line int // line in the text, from 1
	Kind Kind
	Text string
}

// String reads like "line 12: over range: OL".
func (i Issue) String() string { return fmt.Sprintf("line %d: %s: %s", i.Line, i.Kind, i.Text) }

// Row is one line of a log.
type Row struct {
	Line  int     // line in the text, from 1
	Time  float64 // seconds since the first row
	State State   // whether Pressure counts
	// Pressure is the absolute pressure in Pa when State is Good, Repeated or
	// Backward, and zero otherwise.
	Pressure units.Pressure
	// Temperature in K; zero when there is no such column or no reading.
	Temperature units.Temperature
	// Second is the absolute pressure of a second gauge in Pa, counted only
	// when HasSecond is set.
	Second    units.Pressure
	HasSecond bool
}

// Log is a whole record. All slices that are not empty have one entry per row.
type Log struct {
	// Start is the time stamp of the first row, zero when the log has elapsed
	// or clock times only.
	Start time.Time
	// Times are seconds since the first row.
	Times []float64
	// Pressures are absolute pressures in Pa; an entry counts only where
	// States says Good.
	Pressures []units.Pressure
	// States says row by row whether the pressure counts.
	States []State
	// Lines are line numbers in the text; empty for a log that was not read.
	Lines []int
	// Temperatures in K; empty when there is no such column, zero where a
	// reading is missing.
	Temperatures []units.Temperature
	// Second holds the readings of a second gauge in Pa; empty when there is
	// no such column, negative where a reading is missing.
	Second []units.Pressure
	// Issues lists what was wrong, in the order of lines.
	Issues []Issue
	// Format says how the text was understood.
	Format Format
}

// Len is the number of rows.
func (l Log) Len() int { return len(l.Times) }

// Usable is the number of rows whose pressure counts.
func (l Log) Usable() int {
	n := 0
	for _, s := range l.States {
		if s == Good {
			n++
		}
	}
	return n
}

// Until is the part of the log with times up to t, s since the first row. It
// shares the memory of l and has no issues of its own.
func (l Log) Until(t float64) Log {
	n := 0
	for n < len(l.Times) && l.Times[n] <= t {
		n++
	}
	l.Times, l.Pressures = l.Times[:n], l.Pressures[:min(n, len(l.Pressures))]
	l.States, l.Lines = l.States[:min(n, len(l.States))], l.Lines[:min(n, len(l.Lines))]
	l.Temperatures, l.Second = l.Temperatures[:min(n, len(l.Temperatures))], l.Second[:min(n, len(l.Second))]
	l.Issues = nil
	return l
}

// Line is the line of row i in the text, or i+1 when the log was not read from
// text.
func (l Log) Line(i int) int {
	if i < len(l.Lines) {
		return l.Lines[i]
	}
	return i + 1
}

// Count is the number of listed issues of one kind.
func (l Log) Count(k Kind) int {
	n := 0
	for _, is := range l.Issues {
		if is.Kind == k {
			n++
		}
	}
	return n
}

func (l *Log) append(r Row, hasTemperature, hasSecond bool) {
	if len(l.Times) == cap(l.Times) {
		l.grow(max(1024, 2*len(l.Times)))
	}
	l.Times = append(l.Times, r.Time)
	l.Pressures = append(l.Pressures, r.Pressure)
	l.States = append(l.States, r.State)
	l.Lines = append(l.Lines, r.Line)
	if hasTemperature {
		l.Temperatures = append(l.Temperatures, r.Temperature)
	}
	if hasSecond {
		second := r.Second
		if !r.HasSecond {
			second = -1
		}
		l.Second = append(l.Second, second)
	}
}

// grow makes room for n rows at once, where append would do so by halves.
func (l *Log) grow(n int) {
	l.Times = append(make([]float64, 0, n), l.Times...)
	l.Pressures = append(make([]units.Pressure, 0, n), l.Pressures...)
	l.States = append(make([]State, 0, n), l.States...)
	l.Lines = append(make([]int, 0, n), l.Lines...)
}

// Options tell the reader what the text does not say. The zero value is legal.
type Options struct {
	// Name goes in front of error messages, usually the file name.
	Name string
	// PressureUnit is the unit of the pressure when the header names none, in
	// the spellings of the header; empty means the header must name it.
	PressureUnit string
	// TimeUnit is the unit of a number in the time column when the header
	// names none ("s", "min", "h", "h:mm:ss", "mm:ss", "h:mm"); empty means the
	// header must name it.
	TimeUnit string
	// Ambient is the absolute ambient pressure in Pa, above 0; zero means
	// unknown, and gauge pressures are refused.
	Ambient units.Pressure
	// Separator is what stands between cells, one of , ; | ~ ^ and the tab; zero
	// means that it is detected: a first line such as "sep=|" declares it, else
	// it is a tab, semicolon or comma, whichever of them the header has first in
	// this order. JSON lines have none.
	Separator rune
	// DecimalMark is '.' or ','; zero means that it is detected. Where 1,250 may
	// be 1250 or 1.25 it must be given. Once it is, the other of the two may stand
	// between thousands. JSON numbers have the full stop; it is for the others.
	DecimalMark rune
	// Layouts are further layouts of package time for the time stamps, tried
	// before the built-in ones. Times in one without a date are clock times that
	// may cross midnight.
	Layouts []string
	// Location is the zone of time stamps without one; nil means UTC, which
	// is reported as an issue.
	Location *time.Location
	// Sentinels are values, in the file's unit, that stand for no reading. Nil
	// means -999, -9999 and -99999, and 9999, 99999 or 999999 when the last
	// reading is not within 10 % of it. An empty slice means none.
	Sentinels []float64
	// StuckAfter is the number of equal readings in a row that is reported,
	// at least 2; zero means 30.
	StuckAfter int
}

// Format is what the reader decided about a text, once.
type Format struct {
	JSONLines    bool
	Gzip         bool
	Separator    rune   // zero for JSON lines
	DecimalComma bool   // numbers have a decimal comma
	Header       int    // line of the header; zero when there is none
	Pressure     string // unit of the pressure column as written
	// Digit is the place value of the last digit that the pressure column
	// writes, the finest seen in the first rows, Pa: a log that says 225 micron
	// cannot show less than one micron. Zero when no row says.
	Digit       units.Pressure
	Second      string // unit of the second gauge, empty when there is none
	Temperature string // unit of the temperature column, empty when there is none
	Time        string // "s", "min", "h", "h:mm:ss", "mm:ss", "h:mm", "time stamp" or "clock time"
}
