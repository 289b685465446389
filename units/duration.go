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
// whole number of it.
var durationUnits = []struct {
	spellings string
	goUnit    string
	times     int64
}{
	{"ns", "ns", 1},
	{"us", "us", 1},
	{"ms", "ms", 1},
	{"s|~sec|~second|~seconds", "s", 1},
	{"min|~mins|~minute|~minutes", "m", 1},
	{"h|~hr|~hrs|~hour|~hours", "h", 1},
	{"d|~day|~days", "h", 24},
}

const durationAccepted = "ms, s, min, h, day"

// ParseDuration reads one or more decimal numbers, each with its unit. A bare
// "m" is ErrAmbiguous, since it is a metre elsewhere; after hours, as in
// "1h30m", it is read as minutes. A negative time is a RangeError, and so is one
// beyond the range of time.Duration, 292 years.
func ParseDuration(text string) (Duration, error) {
	const fn = "units.ParseDuration"
	rest, total, parts := text, int64(0), 0
	for ; parts == 0 || rest != ""; parts++ {
		number, tail, err := splitNumber(rest)
		if err != nil {
			return 0, refuse(fn, text, err.Error()+`; write for instance "20 min"`, ErrSyntax)
		}
		end := 0
		for end < len(tail) && !strings.ContainsRune("+-.0123456789 ", rune(tail[end])) {
			end++
		}
		part, err := durationPart(number, tail[:end], parts > 0)
		if err != nil {
			return 0, refuse(fn, text, err.Error(), sentinel(err))
		}
		if part > math.MaxInt64-total {
			return 0, refuse(fn, text, "longer than 292 years", ErrOutOfRange)
		}
		total += part
		rest = strings.TrimSpace(tail[end:])
	}
	return Duration(total), nil
}

// durationPart returns number times unit in nanoseconds.
func durationPart(number, unit string, later bool) (int64, error) {
	if strings.HasPrefix(number, "-") && !isZero(number) {
		return 0, &unitError{"accepted at least 0 s", ErrOutOfRange}
	}
	if unit == "" {
		return 0, &unitError{"the unit is missing; accepted: " + durationAccepted, ErrSyntax}
	}
	if unit == "m" {
		if !later {
			return 0, &unitError{"write min for minutes", ErrAmbiguous}
		}
		unit = "min"
	}
	for _, u := range durationUnits {
		if !spelled(normalise(unit), u.spellings) {
			continue
		}
		d, err := time.ParseDuration(number + u.goUnit)
		switch {
		case err != nil && strings.ContainsAny(number, "eE"):
			return 0, &unitError{"write the time without an exponent", ErrSyntax}
		case err != nil || int64(d) > math.MaxInt64/u.times:
			return 0, &unitError{"longer than 292 years", ErrOutOfRange}
		case d == 0 && !isZero(number):
			return 0, &unitError{"shorter than 1 ns", ErrOutOfRange}
		}
		return int64(d) * u.times, nil
	}
	return 0, &unitError{fmt.Sprintf("unit %s is not known; accepted: %s", quoteShort(unit), durationAccepted), ErrSyntax}
}

// Seconds returns d in s.
func (d Duration) Seconds() float64 { return time.Duration(d).Seconds() }

// String returns d in the largest two units that it fills, as "1 h 30 min",
// rounded to the second above one minute.
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
