package purge

import (
	"errors"
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// ErrNoLimit is what a question for the value of a dry limit gives when there
// is none: the break cannot condense vapour, or vapour condenses without it.
var ErrNoLimit = errors.New("no break pressure is the limit")

// BreakMixing says how the nitrogen of a break meets the gas that is inside.
type BreakMixing int

// The three ways. A real break lies between WellMixed and Piston.
const (
	// WellMixed: nitrogen mixes at once. The partial pressure of the vapour
	// stays what it was.
	WellMixed BreakMixing = iota + 1
	// Piston: nitrogen pushes the gas ahead of it without mixing, into the far
	// end. The partial pressure of the vapour rises with the pressure.
	Piston
	// DeadLeg: nitrogen pushes into a closed branch and diffuses into the gas
	// ahead of it meanwhile. Break.Leg and Break.Rate say how far and how fast.
	DeadLeg
)

// String returns the way in words.
func (m BreakMixing) String() string {
	switch m {
	case WellMixed:
		return "well mixed"
	case Piston:
		return "piston"
	case DeadLeg:
		return "dead leg"
	}
	return fmt.Sprintf("BreakMixing(%d)", int(m))
}

// Break is a vacuum about to be broken with dry nitrogen.
type Break struct {
	// Low is the pressure before the break, Pa absolute, above 0.
	Low units.Pressure
	// Vapour is the mole fraction of water vapour in the gas before the break,
	// 0 to 1. Late in the pull on a wet circuit it is near 1.
	Vapour units.MoleFraction
	// Wall is the temperature of the coldest wall that the gas touches, K: the
	// site temperature unless a part is colder. DeadLeg accepts 233.15 K and
	// more, the range of moisture.Diffusivity.
	Wall units.Temperature
	// Leg is the length of the closed branch, m, above 0. Only DeadLeg reads it.
	Leg units.Length
	// Rate is how fast the pressure rises during the break, Pa/s, above 0. Only
	// DeadLeg reads it.
	Rate units.PressureRate
}

// Check reports the first field that is missing or out of range for the given
// mixing.
func (b Break) Check(mixing BreakMixing) error {
	const fn = "purge.Break"
	if err := units.CheckRange(fn, "mixing", float64(mixing), float64(WellMixed), float64(DeadLeg), ""); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Low", float64(b.Low), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"); err != nil {
		return err
	}
	if err := units.CheckRange(fn, "Vapour", float64(b.Vapour), 0, 1, ""); err != nil {
		return err
	}
	if mixing != DeadLeg {
		return nil
	}
	if err := units.CheckRange(fn, "Leg", float64(b.Leg), 1e-6, 1e6, "m"); err != nil {
		return err
	}
	return units.CheckRange(fn, "Rate", float64(b.Rate), 1e-6, 1e9, "Pa/s")
}

// VapourAfterBreak returns the highest partial pressure of water vapour, Pa,
// that the break reaches anywhere on its way to the pressure high, Pa absolute,
// at least Low, as if nothing condensed. Compare it with the saturation
// pressure at the wall.
//
//   - WellMixed: y Low, whatever high is.
//   - Piston: y high.
//   - DeadLeg: y p erf[a/√(p² - Low²)] with a = Leg Low/(δ √2) and δ the
//     DiffusionLayer, at the closed end. It is the exact solution for a gas
//     compressed at constant rate in a uniform leg, isothermal, D p constant,
//     with nitrogen beyond the plug: in coordinates that move with the gas the
//     layer is a plain diffusion problem in the variable ∫c²D dt.
func VapourAfterBreak(b Break, mixing BreakMixing, high units.Pressure) (units.Pressure, error) {
	if err := b.Check(mixing); err != nil {
		return 0, err
	}
	if err := units.CheckRange("purge.VapourAfterBreak", "high", float64(high), float64(b.Low), math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	start := float64(b.Vapour) * float64(b.Low)
	switch mixing {
	case Piston:
		return units.Pressure(float64(b.Vapour) * float64(high)), nil
	case DeadLeg:
		leg, err := b.leg()
		if err != nil {
			return 0, err
		}
		top := math.Min(float64(high), leg.peak())
		return units.Pressure(float64(b.Vapour) * leg.compressed(top)), nil
	}
	return units.Pressure(start), nil
}

// Bound says what kind of answer HighestDryBreakPressure gave.
type Bound int

// The kinds of answer.
const (
	// Bounded: above DryLimit.Pressure vapour condenses.
	Bounded Bound = iota + 1
	// Unbounded: no break pressure condenses vapour, however high. The pressure
	// rating of the circuit is another matter and still holds.
	Unbounded
	// AlreadyWet: the vapour is above saturation at the wall before any
	// nitrogen comes in; it condenses there with or without a break.
	AlreadyWet
)

// String returns the kind in words.
func (b Bound) String() string {
	switch b {
	case Bounded:
		return "bounded"
	case Unbounded:
		return "unbounded"
	case AlreadyWet:
		return "already wet"
	}
	return fmt.Sprintf("Bound(%d)", int(b))
}

// DryLimit is the highest pressure to which a break stays dry.
type DryLimit struct {
	Bound Bound
	// Pressure is the limit, Pa absolute, when Bound is Bounded. It is +Inf when
	// Unbounded, so that any pressure compares as below it, and 0 when
	// AlreadyWet, so that none does.
	Pressure units.Pressure
	// Saturation is the saturation pressure at the wall that the limit was
	// judged by, Pa.
	Saturation units.Pressure
}

// Gauge returns the limit as a gauge pressure at the ambient pressure of the
// site, Pa absolute, above 0. It fails with ErrNoLimit unless Bound is Bounded.
func (d DryLimit) Gauge(ambient units.Pressure) (units.GaugePressure, error) {
	if d.Bound != Bounded {
		return 0, fmt.Errorf("purge.DryLimit.Gauge: %w: %v", ErrNoLimit, d.Bound)
	}
	if err := units.CheckRange("purge.DryLimit.Gauge", "ambient", float64(ambient), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	return d.Pressure.Gauge(ambient), nil
}

// nearSaturation is the relative margin within which vapour counts as just
// saturated, not above saturation. It is far above round-off and far below
// the uncertainty of any saturation equation.
const nearSaturation = 1e-9

// HighestDryBreakPressure returns the highest pressure to which the vacuum can
// be broken without vapour condensing on the wall.
//
//   - WellMixed at one wall temperature: Unbounded. Adding nitrogen leaves the
//     partial pressure of the vapour as it was, so a break cannot condense it;
//     this is a result, not a missing value.
//   - Piston: p_sat/y.
//   - DeadLeg: where the closed end reaches saturation; Unbounded when the
//     diffusion layer grows through the compressed plug before that.
//
// A wall colder than the dew point of the gas gives AlreadyWet for each. The
// answer says nothing about the pressure rating of the circuit.
func HighestDryBreakPressure(b Break, mixing BreakMixing) (DryLimit, error) {
	if err := b.Check(mixing); err != nil {
		return DryLimit{}, err
	}
	saturation, _, err := moisture.SaturationPressure(b.Wall)
	if err != nil {
		return DryLimit{}, err
	}
	limit := DryLimit{Bound: Unbounded, Pressure: units.Pressure(math.Inf(1)), Saturation: saturation}
	y, sat := float64(b.Vapour), float64(saturation)
	if y*float64(b.Low) > sat*(1+nearSaturation) {
		limit.Bound, limit.Pressure = AlreadyWet, 0
		return limit, nil
	}
	switch mixing {
	case Piston:
		if highest := sat / y; highest < math.MaxFloat64 {
			limit.Bound, limit.Pressure = Bounded, max(b.Low, units.Pressure(highest))
		}
	case DeadLeg:
		leg, err := b.leg()
		if err != nil {
			return DryLimit{}, err
		}
		if y*leg.highest() > sat*(1+nearSaturation) {
			limit.Bound, limit.Pressure = Bounded, units.Pressure(leg.reaches(sat/y))
		}
	}
	return limit, nil
}

// PistonMoleFraction returns the highest mole fraction of water vapour that a
// piston-like break to the pressure high, Pa absolute, leaves uncondensed at
// wall temperature t: p_sat/high, at most 1.
func PistonMoleFraction(t units.Temperature, high units.Pressure) (units.MoleFraction, error) {
	saturation, _, err := moisture.SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	if err := units.CheckRange("purge.PistonMoleFraction", "high", float64(high), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	return units.MoleFraction(math.Min(1, float64(saturation/high))), nil
}

// DiffusionLayer returns √(D₀p₀/(dp/dt)), the depth in m to which nitrogen and
// vapour interdiffuse during a break whose pressure rises at rate, Pa/s, above
// 0, at temperature t. It does not depend on the pressure: while the pressure
// rises, D falls as fast as the time grows.
func DiffusionLayer(t units.Temperature, rate units.PressureRate) (units.Length, error) {
	if err := units.CheckRange("purge.DiffusionLayer", "rate", float64(rate), 1e-6, 1e9, "Pa/s"); err != nil {
		return 0, err
	}
	dp, err := diffusivityTimesPressure(t)
	if err != nil {
		return 0, err
	}
	return units.Length(math.Sqrt(dp / float64(rate))), nil
}

// leg is a dead leg under compression in its own variables, Pa.
type leg struct {
	low   float64 // pressure before the break
	scale float64 // a = Leg Low/(δ √2)
}

func (b Break) leg() (leg, error) {
	layer, err := DiffusionLayer(b.Wall, b.Rate)
	if err != nil {
		return leg{}, err
	}
	return leg{float64(b.Low), float64(b.Leg) * float64(b.Low) / (float64(layer) * math.Sqrt2)}, nil
}

// compressed is the partial pressure at the closed end over the mole fraction
// before the break, at pressure p. At +Inf it is the limit 2a/√π.
func (l leg) compressed(p float64) float64 {
	if math.IsInf(p, 1) {
		return l.scale * 2 / math.SqrtPi
	}
	rise := math.Sqrt((p - l.low) * (p + l.low))
	if rise == 0 {
		return l.low
	}
	return p * math.Erf(l.scale/rise)
}

// peak is the pressure at which the closed end is wettest, +Inf when it only
// ever grows wetter. The slope of compressed has the sign of
// erf x - x(1 + κx²) erf'x with x = a/√(p²-Low²) and κ = (Low/a)², whose own
// slope is x² erf'x (2 - 3κ + 2κx²): one root when κ > 2/3, none otherwise.
func (l leg) peak() float64 {
	kappa := (l.low / l.scale) * (l.low / l.scale)
	if !(kappa > 2.0/3) {
		return math.Inf(1)
	}
	slope := func(x float64) float64 {
		return math.Erf(x) - x*(1+kappa*x*x)*2/math.SqrtPi*math.Exp(-x*x)
	}
	// The minimum of slope lies at lo; beyond it slope rises to 1.
	lo := math.Sqrt((3*kappa - 2) / (2 * kappa))
	hi := lo + 1
	for slope(hi) < 0 {
		hi++
	}
	for range 100 {
		if mid := (lo + hi) / 2; slope(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Hypot(l.low, l.scale/hi)
}

// highest is the largest value of compressed.
func (l leg) highest() float64 { return l.compressed(l.peak()) }

// reaches is the pressure at which compressed first equals want, which lies
// between low and highest.
func (l leg) reaches(want float64) float64 {
	lo, hi := l.low, l.peak()
	if math.IsInf(hi, 1) {
		for hi = 2 * lo; l.compressed(hi) < want && hi < math.MaxFloat64/4; {
			hi *= 2
		}
	}
	for range 200 {
		mid := lo + (hi-lo)/2
		if l.compressed(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
