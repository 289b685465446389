package units

import (
	"errors"
	"fmt"
)

// ErrOutOfRange is what errors.Is finds in every RangeError.
var ErrOutOfRange = errors.New("value out of range")

// ErrAmbiguous marks text whose unit has more than one meaning, such as "psi"
// (absolute or gauge) or "oz" (mass or fluid volume). The message lists the
// spellings that are accepted.
var ErrAmbiguous = errors.New("ambiguous unit")

// ErrSyntax marks text that is not a number followed by a known unit.
var ErrSyntax = errors.New("not a number with a known unit")

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
// 647.096 K". A bound at infinity is worded as "at least" or "at most".
func (e *RangeError) Error() string {
	prefix := ""
	if e.Func != "" {
		prefix = e.Func + ": "
	}
	unit := ""
	if e.Unit != "" {
		unit = " " + e.Unit
	}
	return fmt.Sprintf("%s%s = %s%s, accepted %s%s",
		prefix, e.Arg, shortFloat(e.Value), unit, acceptedBounds(e.Min, e.Max), unit)
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
