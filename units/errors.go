package units

import (
	"errors"
	"math"
	"strconv"
)

// ErrOutOfRange is what errors.Is finds in every RangeError.
var ErrOutOfRange = errors.New("value out of range")

// ErrAmbiguous marks text whose unit has more than one meaning, such as "psi"
// (absolute or gauge) or "oz" (mass or fluid volume). The message lists the
// spellings that are accepted.
var ErrAmbiguous = errors.New("ambiguous unit")

// ErrSyntax marks text that is not a number followed by a known unit.
var ErrSyntax = errors.New("not a number with a known unit")

// ErrNoAmbient marks a gauge pressure that was to become absolute without an
// ambient pressure.
var ErrNoAmbient = errors.New("gauge pressure without an ambient pressure")

// ErrMissing marks a value that was needed and never given.
var ErrMissing = errors.New("value not given")

// ErrNoConvergence marks an iteration that ended without meeting its
// tolerance; the message gives the iterations and the residual.
var ErrNoConvergence = errors.New("no convergence")

// RangeError reports an argument outside the range that a function accepts.
// Both bounds are inclusive. errors.Is(err, ErrOutOfRange) holds for it.
type RangeError struct {
	Func string // function that refused, as package.Name; empty is left out
	Arg  string // name of the argument or field
	Unit string // unit of Value, Min and Max; empty for pure numbers
	Value,
	Min, Max float64 // offending value and accepted bounds, in Unit
}

// Error reads like "moisture.SaturationPressure: t = 200 K, accepted 273.15 to
// 647.096 K". A bound at infinity or at the largest float64 is worded as "at
// least" or "at most", a lower bound at the smallest one as "above 0".
func (e *RangeError) Error() string {
	prefix := ""
	if e.Func != "" {
		prefix = e.Func + ": "
	}
	value := shortFloat(e.Value)
	if value == shortFloat(e.Min) || value == shortFloat(e.Max) { // rounding would hide the reason
		value = strconv.FormatFloat(e.Value, 'g', -1, 64)
	}
	return prefix + e.Arg + " = " + withUnit(value, e.Unit) + ", accepted " + e.accepted()
}

// Is makes errors.Is(err, ErrOutOfRange) true.
func (e *RangeError) Is(target error) bool { return target == ErrOutOfRange }

// CheckRange returns nil when lo <= value <= hi, and a RangeError otherwise.
// A NaN value is always refused. It allocates only when it refuses.
func CheckRange(fn, arg string, value, lo, hi float64, unit string) error {
	if value >= lo && value <= hi {
		return nil
	}
	return &RangeError{Func: fn, Arg: arg, Unit: unit, Value: value, Min: lo, Max: hi}
}

func shortFloat(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// accepted words the accepted range.
func (e *RangeError) accepted() string {
	noTop, noBottom := e.Max >= math.MaxFloat64, e.Min <= -math.MaxFloat64
	lower := withUnit("at least "+shortFloat(e.Min), e.Unit)
	if e.Min == math.SmallestNonzeroFloat64 {
		lower = withUnit("above 0", e.Unit)
	}
	switch {
	case noTop && noBottom:
		return "any finite value"
	case noTop:
		return lower
	case noBottom:
		return withUnit("at most "+shortFloat(e.Max), e.Unit)
	case e.Min == math.SmallestNonzeroFloat64:
		return "above 0 to " + withUnit(shortFloat(e.Max), e.Unit)
	}
	return shortFloat(e.Min) + " to " + withUnit(shortFloat(e.Max), e.Unit)
}

func withUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}
