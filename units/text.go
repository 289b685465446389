package units

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Quantity is any of the quantity types of this package, for the generic
// functions Format and Accepted.
type Quantity interface {
	~float64
	fmt.Stringer
	definition() *definition
}

// definition is what parsing and printing need to know about one type.
type definition struct {
	name    string  // of the type, as in ParseName
	noun    string  // in words, for error texts
	example string  // text that is accepted
	lo, hi  float64 // accepted values in SI, inclusive
	units   []unit  // the first is the SI unit, or percent
	shows   []show  // for String, ascending; empty means the SI unit
	refuses []refusal
	gas     []referenceVolume // volumes of gas that stand for the quantity
}

// unit is one unit with its spellings; an amount x of it is (x + offset) factor
// / per in SI. Two integers round once where one decimal factor rounds twice,
// so that "7.9 mm" is the float64 nearest to 0.0079.
type unit struct {
	name     string // as printed
	factor   float64
	per      float64 // zero means 1
	also     string  // more spellings, split by "|"; "~" in front: in any letter case
	offset   float64
	shift    int  // power of ten, applied to the decimal digits before rounding
	positive bool // refuses numbers below zero: a depth of vacuum
}

// show says that String uses the named unit from this SI magnitude up.
type show struct {
	from float64
	unit string
}

// refusal is a spelling that is known and not accepted, with what to write.
type refusal struct {
	spellings string // split by "|", "~" as in unit
	say       string
	err       error
}

// Bounds of the quantities that have none of their own: every finite value.
const (
	mostNegative = -math.MaxFloat64
	mostPositive = math.MaxFloat64
)

// toSI converts x of unit u to SI. With a shift x is in SI already.
func (u unit) toSI(x float64) float64 {
	if u.shift != 0 {
		return x
	}
	if u.offset != 0 {
		x += u.offset
	}
	x *= u.factor
	if u.per != 0 {
		x /= u.per
	}
	return x
}

// fromSI converts an SI value to unit u.
func (u unit) fromSI(v float64) float64 {
	if u.per != 0 {
		v *= u.per
	}
	return v/u.factor - u.offset
}

// parse reads a number with a unit as a value of type Q.
func parse[Q Quantity](text string) (Q, error) {
	var none Q
	d := none.definition()
	v, err := d.parse(text)
	if err != nil {
		return none, err
	}
	return Q(v), nil
}

// parse returns the SI value of text.
func (d *definition) parse(text string) (float64, error) {
	number, rest, err := splitNumber(text)
	if err != nil {
		return 0, d.fail(text, fmt.Errorf("%w; write for instance %q", err, d.example))
	}
	u, err := d.find(rest)
	if err != nil {
		return 0, d.fail(text, err)
	}
	x, err := strconv.ParseFloat(shiftPoint(number, u.shift), 64)
	if err != nil && !errors.Is(err, strconv.ErrRange) { // an overflow goes on as an infinity
		return 0, d.fail(text, errors.New("the number cannot be read"))
	}
	if u.positive {
		if err := CheckRange(d.function(), d.noun, x, 0, mostPositive, u.name); err != nil {
			return 0, err
		}
	}
	v := u.toSI(x)
	if v == 0 && u.offset == 0 && !isZero(number) {
		// What was read is not zero, but no float64 is nearer.
		return 0, d.fail(text, &unitError{"too close to zero to be held", &RangeError{
			Func: d.function(), Arg: d.noun, Unit: u.name, Value: 0, Min: math.SmallestNonzeroFloat64, Max: mostPositive,
		}})
	}
	return v, d.check(d.function(), v)
}

// check refuses SI values outside the range of the type.
func (d *definition) check(fn string, v float64) error {
	if v >= d.lo && v <= d.hi {
		return nil
	}
	u := d.units[0]
	return CheckRange(fn, d.noun, u.fromSI(v), u.fromSI(d.lo), u.fromSI(d.hi), u.name)
}

func (d *definition) function() string { return "units.Parse" + d.name }

// fail words a refusal of text.
func (d *definition) fail(text string, why error) error {
	return refuse(d.function(), text, why)
}

// refuse words a refusal of text by function fn, so that errors.Is finds the sentinel
// and errors.As a RangeError inside why.
func refuse(fn, text string, why error) error {
	return fmt.Errorf("%s: %w: %s: %w", fn, sentinel(why), quoteShort(text), why)
}

// find returns the unit spelled by text.
func (d *definition) find(text string) (unit, error) {
	if text == "" {
		return unit{}, &unitError{"the unit is missing; accepted: " + d.accepted(), ErrSyntax}
	}
	if strings.HasPrefix(text, ",") {
		return unit{}, &unitError{"the decimal mark is a point", ErrSyntax}
	}
	if strings.HasPrefix(text, "/") {
		return unit{}, &unitError{"fractions are not read; write a decimal number", ErrSyntax}
	}
	norm := normalise(text)
	for _, u := range d.units {
		if spelled(norm, u.name) || spelled(norm, u.also) {
			return u, nil
		}
	}
	for _, r := range d.refuses {
		if spelled(norm, r.spellings) {
			return unit{}, &unitError{r.say, r.err}
		}
	}
	if u, found, err := referenceUnit(norm, d.gas); found || err != nil {
		return u, err
	}
	return unit{}, &unitError{fmt.Sprintf("unit %s is not known; accepted: %s", quoteShort(text), d.accepted()), ErrSyntax}
}

// accepted lists the unit names in the order of the tables.
func (d *definition) accepted() string { return strings.Join(d.names(), ", ") }

func (d *definition) names() []string {
	names := make([]string, 0, len(d.units)+len(d.gas))
	for _, u := range d.units {
		names = append(names, u.name)
	}
	for _, r := range d.gas {
		names = append(names, r.stated())
	}
	return names
}

// unitError is the reason why a unit was refused; it becomes part of a longer
// message.
type unitError struct {
	say string
	err error
}

func (e *unitError) Error() string { return e.say }
func (e *unitError) Unwrap() error { return e.err }

// sentinel returns which of the package's sentinels err stands for, ErrSyntax when it
// names none.
func sentinel(err error) error {
	for _, s := range []error{ErrAmbiguous, ErrNoAmbient, ErrOutOfRange} {
		if errors.Is(err, s) {
			return s
		}
	}
	return ErrSyntax
}

// spelling maps typographic variants of unit signs onto one.
var spelling = strings.NewReplacer(
	"µ", "u", "μ", "u", "²", "2", "³", "3", "^", "",
	"·", ".", "⋅", ".", "*", ".", "℃", "°C", "℉", "°F", "º", "°", "Δ", "Δ", "∆", "Δ",
)

// tighten removes the blanks that do not matter.
var tighten = strings.NewReplacer(
	" / ", "/", " . ", ".", " , ", ",",
	" /", "/", "/ ", "/", " .", ".", ". ", ".", " (", "(", "( ", "(", " )", ")", ") ", ")",
	" ,", ",", ", ", ",", "° ", "°", "Δ ", "Δ",
)

// normalise returns text with one sign for each typographic variant and
// without the blanks that do not matter.
func normalise(text string) string {
	return tighten.Replace(strings.Join(strings.Fields(spelling.Replace(text)), " "))
}

// spelled reports whether norm is one of the spellings, which are split by "|".
func spelled(norm, spellings string) bool {
	return slices.ContainsFunc(strings.Split(spellings, "|"), func(s string) bool {
		if s, anyCase := strings.CutPrefix(s, "~"); anyCase {
			return strings.EqualFold(norm, normalise(s))
		}
		return s != "" && norm == normalise(s)
	})
}

// quoteShort quotes text, cut to a readable length.
func quoteShort(text string) string {
	const most = 60
	if len(text) > most {
		return strconv.Quote(text[:most]) + "..."
	}
	return strconv.Quote(text)
}
