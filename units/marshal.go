package units

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
)

// Format returns q in the named unit with the given number of significant
// digits, 1 to 17, as in Format(p, "micron", 3) for "500 micron". The unit is one that
// parsing reads, as Accepted describes; another is refused with the same errors as
// there.
func Format[Q Quantity](q Q, unit string, digits int) (string, error) {
	const fn = "units.Format"
	if err := CheckRange(fn, "digits", float64(digits), 1, 17, ""); err != nil {
		return "", err
	}
	d := q.definition()
	unit = strings.TrimSpace(unit)
	u, err := d.find(unit)
	if err != nil {
		return "", refuse(fn, unit, err)
	}
	return roundTo(u.fromSI(float64(q)), digits) + " " + unit, nil
}

// Accepted lists the names of the units that the text of type Q may use, the SI
// unit first. Typographic variants of each name are accepted as well, and in brackets,
// as in "scf (60 °F)", any other temperature, or temperature and pressure.
func Accepted[Q Quantity]() []string {
	var q Q
	return q.definition().names()
}

// text is String: q rounded to four significant digits in a unit of suitable
// size.
func text[Q Quantity](q Q) string {
	d, v := q.definition(), float64(q)
	name := d.units[0].name
	for _, s := range d.shows {
		if math.Abs(v) >= s.from {
			name = s.unit
		}
	}
	for _, u := range d.units {
		if u.name != name {
			continue
		}
		if u.offset != 0 { // a shifted scale has no natural significant digits
			return trimZeros(strconv.FormatFloat(u.fromSI(v), 'f', 2, 64)) + " " + name
		}
		return roundTo(u.fromSI(v), 4) + " " + name
	}
	panic("units: " + d.name + " shows an unlisted unit " + name)
}

// roundTo rounds to significant digits and leaves out trailing zeros.
func roundTo(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'g', digits, 64)
	if s == "-0" {
		return "0"
	}
	return s
}

func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// marshalText writes q in SI with the fewest digits that read back to the same
// bits. It refuses what parsing refuses, so that nothing unreadable is written.
func marshalText[Q Quantity](q Q) ([]byte, error) {
	d := q.definition()
	if err := d.check("units."+d.name+".MarshalText", float64(q)); err != nil {
		return nil, err
	}
	u := d.units[0]
	b := strconv.AppendFloat(make([]byte, 0, 32), float64(q), 'g', -1, 64)
	if u.shift != 0 {
		b = append(b[:0], plain(shiftPoint(string(b), -u.shift))...)
	}
	return append(append(b, ' '), u.name...), nil
}

// plain writes a number with a small exponent without it, digits unchanged:
// "5.73e1" is "57.3".
func plain(number string) string {
	mantissa, exponent, _ := strings.Cut(number, "e")
	e, err := strconv.Atoi(exponent)
	if err != nil || e < 0 || e > 6 || strings.HasPrefix(mantissa, "-") {
		return number
	}
	whole, fraction, _ := strings.Cut(mantissa, ".")
	fraction += strings.Repeat("0", max(0, e-len(fraction)))
	whole = strings.TrimLeft(whole+fraction[:e], "0")
	if whole == "" {
		whole = "0"
	}
	if fraction[e:] == "" {
		return whole
	}
	return whole + "." + fraction[e:]
}

func unmarshalText[Q Quantity](q *Q, text []byte) error {
	v, err := parse[Q](string(text))
	if err != nil {
		return err
	}
	*q = v
	return nil
}

// unmarshalJSON reads a JSON string and refuses everything else, null included:
// a number would have lost its unit and null would pass for zero.
func unmarshalJSON[Q Quantity](q *Q, data []byte) error {
	var none Q
	text, err := jsonText[Q](data, none.definition().example)
	if err != nil {
		return err
	}
	return unmarshalText(q, []byte(text))
}

// jsonText returns the JSON string in data. For any other value the error is a
// json.UnmarshalTypeError, to which the decoder adds the name of the field.
func jsonText[T any](data []byte, example string) (string, error) {
	if len(data) == 0 || data[0] != '"' {
		return "", &json.UnmarshalTypeError{
			Value: fmt.Sprintf("%s (write text with a unit, such as %q)", shortJSON(data), example),
			Type:  reflect.TypeFor[T](),
		}
	}
	var text string
	err := json.Unmarshal(data, &text)
	return text, err
}

func shortJSON(data []byte) string {
	const most = 24
	if len(data) > most {
		return string(data[:most]) + "..."
	}
	return string(data)
}
