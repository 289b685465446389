package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Duration is a time.Duration with a text of its own, for job files: "20 min",
// "90 s", "1h30m", "1 h 30 min", "2 days". It is valid from 0 up, in steps of
// 1 ns. Convert it with time.Duration(d).
type Duration time.Duration

// durationUnits maps each spelling to the unit of time.ParseDuration and a
// whole number of it, and to s for the wording of errors.
var durationUnits = []struct {
	spellings string
	goUnit    string
	times     int64
	seconds   float64
}{
	{"ns", "ns", 1, 1e-9},
	{"us", "us", 1, 1e-6},
	{"ms", "ms", 1, 1e-3},
	{"s|~sec|~second|~seconds", "s", 1, 1},
	{"min|~mins|~minute|~minutes", "m", 1, 60},
	{hours, "h", 1, 3600},
	{"d|~day|~days", "h", 24, 86400},
}

// hours are the spellings after which a bare "m" can only be minutes.
const hours = "h|~hr|~hrs|~hour|~hours"

const durationAccepted = "ms, s, min, h, day"

// ParseDuration reads one or more decimal numbers, each with its unit. A bare
// "m" is ErrAmbiguous, since it is a metre elsewhere; directly after hours, as in
// "1h30m", it is read as minutes. A negative time is a RangeError, and so are one
// beyond the range of time.Duration, 292 years, and one that is not zero and shorter
// than 1 ns. Everything else that cannot be read is ErrSyntax.
func ParseDuration(text string) (Duration, error) {
	const fn = "units.ParseDuration"
	rest, total, afterHours := text, int64(0), false
	for first := true; first || rest != ""; first = false {
		number, tail, err := splitNumber(rest)
		if err != nil {
			return 0, refuse(fn, text, fmt.Errorf(`%w; write for instance "20 min"`, err))
		}
		end := 0
		for end < len(tail) && !strings.ContainsRune("+-.0123456789 ", rune(tail[end])) {
			end++
		}
		unit := normalise(tail[:end])
		part, err := durationPart(number, unit, afterHours)
		if err == nil && part > math.MaxInt64-total {
			err = durationRange(float64(total)/1e9+float64(part)/1e9, 0)
		}
		if err != nil {
			return 0, refuse(fn, text, err)
		}
		total, afterHours = total+part, spelled(unit, hours)
		rest = strings.TrimSpace(tail[end:])
	}
	return Duration(total), nil
}

// durationPart returns number times unit, normalised, in nanoseconds.
func durationPart(number, unit string, afterHours bool) (int64, error) {
	if unit == "" {
		return 0, &unitError{"the unit is missing; accepted: " + durationAccepted, ErrSyntax}
	}
	if unit == "m" {
		if !afterHours {
			return 0, &unitError{"write min for minutes", ErrAmbiguous}
		}
		unit = "min"
	}
	for _, u := range durationUnits {
		if !spelled(unit, u.spellings) {
			continue
		}
		if strings.ContainsAny(number, "eE") {
			return 0, &unitError{"write the time without an exponent", ErrSyntax}
		}
		x, err := strconv.ParseFloat(number, 64)
		if err != nil {
			return 0, &unitError{"the number cannot be read", ErrSyntax}
		}
		seconds := x * u.seconds
		d, err := time.ParseDuration(number + u.goUnit)
		switch {
		case seconds < 0 || err != nil || int64(d) > math.MaxInt64/u.times:
			return 0, durationRange(seconds, 0)
		case d == 0 && x != 0:
			return 0, durationRange(seconds, 1e-9)
		}
		return int64(d) * u.times, nil
	}
	return 0, &unitError{fmt.Sprintf("unit %s is not known; accepted: %s", quoteShort(unit), durationAccepted), ErrSyntax}
}

// durationRange refuses a time in s of which at least least is accepted.
func durationRange(seconds, least float64) error {
	return &RangeError{Arg: "duration", Unit: "s", Value: seconds, Min: least, Max: Duration(math.MaxInt64).Seconds()}
}

// Seconds returns d in s.
func (d Duration) Seconds() float64 { return time.Duration(d).Seconds() }

// String returns d for reading, as "1 h 30 min": below one second in ms and below one
// minute in s, rounded to four digits; below one hour in min and s, rounded to the
// second; from one hour on in h and min, rounded to the minute, with no days. A second
// part of zero is left out.
func (d Duration) String() string {
	t := time.Duration(d)
	switch {
	case t < time.Second:
		return strconv.FormatFloat(float64(t)/1e6, 'g', 4, 64) + " ms"
	case t < time.Minute:
		return strconv.FormatFloat(t.Seconds(), 'g', 4, 64) + " s"
	case t < time.Hour:
		return twoUnits(int64(t.Round(time.Second)/time.Second), 60, "min", "s")
	}
	return twoUnits(int64(t.Round(time.Minute)/time.Minute), 60, "h", "min")
}

func twoUnits(n, per int64, large, small string) string {
	s := fmt.Sprintf("%d %s", n/per, large)
	if n%per != 0 {
		s += fmt.Sprintf(" %d %s", n%per, small)
	}
	return s
}

// MarshalText writes d in seconds, exactly.
func (d Duration) MarshalText() ([]byte, error) {
	if d < 0 {
		return nil, &RangeError{
			Func: "units.Duration.MarshalText", Arg: "duration", Unit: "s",
			Value: d.Seconds(), Min: 0, Max: Duration(math.MaxInt64).Seconds(),
		}
	}
	const second = int64(time.Second)
	s := strconv.FormatInt(int64(d)/second, 10)
	if rest := int64(d) % second; rest != 0 {
		s += strings.TrimRight(fmt.Sprintf(".%09d", rest), "0")
	}
	return []byte(s + " s"), nil
}

// UnmarshalText reads what ParseDuration reads.
func (d *Duration) UnmarshalText(text []byte) error {
	v, err := ParseDuration(string(text))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// UnmarshalJSON reads a JSON string as ParseDuration does; a bare number or null
// is refused.
func (d *Duration) UnmarshalJSON(data []byte) error {
	text, err := jsonText[Duration](data, "20 min")
	if err != nil {
		return err
	}
	return d.UnmarshalText([]byte(text))
}
