package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Isotherm relates the water on a solid to the humidity it is in equilibrium
// with. Coverage is the water over that at saturation, activity the vapour
// pressure over that of saturation; both run from 0 to 1 and reach 1 together. The
// parameters are the caller's: they differ by surface and history more than any
// published set would suggest.
type Isotherm interface {
	// Check reports the first parameter that is missing or out of range.
	Check() error
	// Activity returns the activity over a coverage, for a coverage of 0 or more, at
	// t in K. It neither errs nor allocates.
	Activity(coverage, t float64) float64
	// Coverage inverts Activity, for an activity of 0 or more.
	Coverage(activity, t float64) float64
}

// Freundlich is the isotherm coverage = activity^(1/Exponent) (H. Freundlich 1906):
// the higher the exponent, the more tightly the last water is held.
type Freundlich struct {
	// Exponent is 1 (proportional, Henry's law) to 20.
	Exponent float64
}

// Check reports an Exponent outside 1 to 20 as a RangeError.
func (f Freundlich) Check() error {
	return units.CheckRange("moisture.Freundlich", "Exponent", f.Exponent, 1, 20, "")
}

// Activity is coverage^Exponent, 0 for a negative coverage.
func (f Freundlich) Activity(coverage, _ float64) float64 {
	return math.Pow(max(coverage, 0), f.Exponent)
}

// Coverage is activity^(1/Exponent).
func (f Freundlich) Coverage(activity, _ float64) float64 {
	return math.Pow(max(activity, 0), 1/f.Exponent)
}

// Temkin is the isotherm of a heat of adsorption that falls evenly with coverage
// (M. I. Temkin and V. Pyzhev 1940): activity = exp(-Span (1 - coverage)/(R T)). Over
// an emptying surface it makes the rate of outgassing fall as 1/t, as metals do.
type Temkin struct {
	// Span is the heat of adsorption of the first water less that of the last,
	// J/mol, 1e3 to 1e5.
	Span float64
}

// Check reports a Span outside 1e3 to 1e5 J/mol as a RangeError.
func (s Temkin) Check() error {
	return units.CheckRange("moisture.Temkin", "Span", s.Span, 1e3, 1e5, "J/mol")
}

// Activity is exp(-Span (1 - coverage)/(R T)); an empty surface keeps a small
// activity, which the stores fade out.
func (s Temkin) Activity(coverage, t float64) float64 {
	return math.Exp(-s.Span * (1 - max(coverage, 0)) / (molarGas * t))
}

// Coverage is 1 + R T/Span ln(activity), and 0 where that is negative.
func (s Temkin) Coverage(activity, t float64) float64 {
	if !(activity > 0) {
		return 0
	}
	return max(1+molarGas*t/s.Span*math.Log(activity), 0)
}
