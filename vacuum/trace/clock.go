package trace

import (
	"bytes"
	"fmt"
	"strings"
	"time"
)

// stampLayouts are the built-in layouts. Fractions of a second follow the
// seconds in any of them. Day-first with full stops is the one national order
// that no other country writes; orders with slashes that start with day or
// month are left to the caller.
var stampLayouts = [...]string{
	time.RFC3339,
	"2006-01-02T15:04:05Z0700",
	"2006-01-02T15:04:05",
	"2006-01-02T15:04Z07:00",
	"2006-01-02T15:04",
	"2006/01/02T15:04:05Z07:00",
	"2006/01/02T15:04:05",
	"2006/01/02T15:04",
	"20060102T150405Z0700",
	"20060102T150405",
	"02.01.2006T15:04:05",
	"02.01.2006T15:04",
}

// acceptedStamps says in words what stampLayouts holds.
const acceptedStamps = "2006-01-02T15:04:05Z (RFC 3339, blank or T, zone optional), 2006/01/02 15:04:05, " +
	"20060102T150405, 02.01.2006 15:04:05"

// stampParser parses time stamps in the one layout that the first row fits.
type stampParser struct {
	layout   string
	own      bool // the layout is the caller's: text goes to it unchanged
	zone     bool // the layout has a zone
	location *time.Location

	// The last stamp read in full, when it is of the form
	// 2006-01-02T15:04:05 with a zone or in UTC: others of the same day and zone
	// differ from it in the time of day only.
	last        [40]byte
	lastLen     int
	lastSeconds float64 // since the first stamp, of 0:00:00 on that day
}

// remember keeps a stamp for sameDay.
func (p *stampParser) remember(text []byte, at time.Time, seconds float64) {
	p.lastLen = 0
	if p.own || !p.zone && p.location != time.UTC || len(text) < 19 || len(text) > len(p.last) ||
		text[4] != '-' || text[10] != 'T' || text[13] != ':' || text[16] != ':' || len(text) > 19 && text[19] == '.' {
		return
	}
	if day, ok := timeOfDay(text[11:19]); ok && at.Nanosecond() == 0 {
		p.lastLen = copy(p.last[:], text)
		p.lastSeconds = seconds - day
	}
}

// sameDay reads a stamp of the same day, zone and form as the last one.
func (p *stampParser) sameDay(text []byte) (float64, bool) {
	n := p.lastLen
	if n == 0 || len(text) != n || !bytes.Equal(text[:11], p.last[:11]) || !bytes.Equal(text[19:], p.last[19:n]) {
		return 0, false
	}
	day, ok := timeOfDay(text[11:19])
	return p.lastSeconds + day, ok
}

// timeOfDay reads hh:mm:ss below 24:00:00 as seconds.
func timeOfDay(b []byte) (float64, bool) {
	h, okH := twoDigits(b[0], b[1])
	m, okM := twoDigits(b[3], b[4])
	s, okS := twoDigits(b[6], b[7])
	return float64(h*3600 + m*60 + s), okH && okM && okS && h < 24 && m < 60 && s < 60 && b[2] == ':' && b[5] == ':'
}

func twoDigits(a, b byte) (int, bool) {
	x, y := a-'0', b-'0'
	return int(x)*10 + int(y), x <= 9 && y <= 9
}

// newStampParser finds the layout that reads text.
func newStampParser(text string, opts Options) (stampParser, bool) {
	loc := opts.Location
	if loc == nil {
		loc = time.UTC
	}
	for _, layout := range opts.Layouts {
		if _, err := time.ParseInLocation(layout, text, loc); err == nil {
			return stampParser{layout: layout, own: true, zone: hasZone(layout), location: loc}, true
		}
	}
	for _, layout := range stampLayouts {
		p := stampParser{layout: layout, zone: hasZone(layout), location: loc}
		if _, ok := p.parse(text); ok {
			return p, true
		}
	}
	return stampParser{}, false
}

func hasZone(layout string) bool {
	return strings.Contains(layout, "Z07") || strings.Contains(layout, "-07") || strings.Contains(layout, "MST")
}

// hasDate reports whether two dates on the same day of the week look different
// in a layout; the day of the week alone is no date.
func hasDate(layout string) bool {
	a := time.Date(2001, time.February, 3, 16, 5, 6, 0, time.UTC)
	b := time.Date(2010, time.November, 13, 16, 5, 6, 0, time.UTC)
	return a.Format(layout) != b.Format(layout)
}

func (p *stampParser) parse(text string) (time.Time, bool) {
	t, err := time.ParseInLocation(p.layout, text, p.location)
	if err == nil {
		return t, true
	}
	if p.own {
		return time.Time{}, false
	}
	return p.parseTolerant(text)
}

// parseTolerant accepts what RFC 3339 allows in its notes and package time
// refuses: blank or lower-case t, lower-case z, second 60, hour 24.
func (p *stampParser) parseTolerant(text string) (time.Time, bool) {
	text = strings.ToUpper(strings.TrimSpace(text))
	for _, blank := range []string{"  ", " "} {
		text = strings.Replace(text, blank, "T", 1)
	}
	text = strings.ReplaceAll(text, " ", "")
	var extra time.Duration
	if strings.Contains(text, "T24:00") {
		text, extra = strings.Replace(text, "T24:00", "T00:00", 1), 24*time.Hour
	}
	if i := strings.Index(text, ":60"); i > 0 && strings.Count(text[:i], ":") == 1 {
		text, extra = text[:i]+":59"+text[i+3:], extra+time.Second
	}
	t, err := time.ParseInLocation(p.layout, text, p.location)
	return t.Add(extra), err == nil
}

// clockParts splits h:mm:ss or two of the three into numbers. Seconds may have
// a fraction with either mark; minutes and seconds are below 60.
func clockParts(b []byte) (parts [3]float64, n int, ok bool) {
	for n < 3 {
		i := bytes.IndexByte(b, ':')
		cell := b
		if i >= 0 {
			cell = b[:i]
		}
		v, good := parseNumber(cell, bytes.IndexByte(cell, ',') >= 0)
		if !good || v < 0 || (n > 0 && v >= 60) {
			return parts, 0, false
		}
		parts[n] = v
		n++
		if i < 0 {
			return parts, n, n >= 2
		}
		b = b[i+1:]
	}
	return parts, 0, false
}

// clockSeconds reads a clock or elapsed time in the given form as seconds.
func clockSeconds(b []byte, form timeForm) (float64, bool) {
	p, n, ok := clockParts(b)
	switch {
	case !ok:
		return 0, false
	case form == timeHMS && n == 3:
		return p[0]*3600 + p[1]*60 + p[2], true
	case form == timeHM && n == 2:
		return p[0]*3600 + p[1]*60, true
	case form == timeMS && n == 2:
		return p[0]*60 + p[1], true
	}
	return 0, false
}

// decideTime finds the form of the time column from its unit and the first
// cell that holds a time.
func decideTime(l *layout, cell, date string, opts Options) error {
	unit := l.timeUnit
	if unit == "" {
		unit = opts.TimeUnit
	}
	if unit != "" {
		form, factor, ok := timeUnit(unit)
		if !ok {
			return fmt.Errorf("unknown time unit %q, accepted %s", unit, AcceptedTimeUnits)
		}
		if _, number := l.number([]byte(cell)); number == (form == timeNumber) && date == "" {
			l.timeForm, l.timeFactor, l.format.Time = form, factor, unit
			if form == timeNumber {
				l.format.Time = squeeze(unit)
			}
			return nil
		}
	}
	if date == "" {
		if _, ok := clockSeconds([]byte(cell), timeHMS); ok {
			l.timeForm, l.format.Time = timeHMS, "h:mm:ss"
			return nil
		}
	}
	stamp := strings.TrimSpace(date + " " + cell)
	if p, ok := newStampParser(stamp, opts); ok {
		l.timeForm, l.stamps, l.format.Time = timeStamp, p, "time stamp"
		if p.own && date == "" && !hasDate(p.layout) {
			l.timeForm, l.format.Time = timeClock, "clock time"
		}
		return nil
	}
	if _, ok := l.number([]byte(cell)); ok {
		return &needError{NeedTimeUnit, fmt.Errorf("time column has no unit, accepted in the header, as \"time [s]\": %s", AcceptedTimeUnits)}
	}
	return &needError{NeedLayout, fmt.Errorf("time %q not understood, accepted: a number with a unit in the header (%s), h:mm:ss, or %s",
		stamp, AcceptedTimeUnits, acceptedStamps)}
}
