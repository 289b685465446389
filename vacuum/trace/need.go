package trace

import "errors"

// Need says which of the Options a log asks for: what its text leaves open and
// the caller may know.
type Need uint8

// The needs of a log.
const (
	NeedNothing      Need = iota // no option would help
	NeedAmbient                  // gauge pressures ask for Options.Ambient
	NeedPressureUnit             // Options.PressureUnit, or a unit in the header
	NeedTimeUnit                 // Options.TimeUnit, or a unit in the header
	NeedLayout                   // Options.Layouts, for time stamps in another order
	NeedDecimalMark              // Options.DecimalMark, where 1,250 may be 1250 or 1.25
)

// String is the need in words, as it ends an error message.
func (n Need) String() string {
	switch n {
	case NeedAmbient:
		return "Options.Ambient gives it, above 0 Pa"
	case NeedPressureUnit:
		return "Options.PressureUnit names a unit that the header does not"
	case NeedTimeUnit:
		return "Options.TimeUnit names a unit that the header does not"
	case NeedLayout:
		return "Options.Layouts gives other orders"
	case NeedDecimalMark:
		return "Options.DecimalMark declares it"
	}
	return ""
}

// needError gives an error what would settle it.
type needError struct {
	need Need
	err  error
}

func (e *needError) Error() string { return e.err.Error() }

func (e *needError) Unwrap() error { return e.err }

// needOf is what an error asks for.
func needOf(err error) Need {
	var n *needError
	if errors.As(err, &n) {
		return n.need
	}
	return NeedNothing
}
