package moisture

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// SaturationPoint is one known water content of oil at saturation.
type SaturationPoint struct {
	Temperature units.Temperature  // K, 200 to 450
	Content     units.MassFraction // water per oil, above 0 to 0.1
}

// SaturationLaw is the water content of an oil at saturation against
// temperature, log10(content) = B + A/T, the usual form (common practice). Make it
// with FitSaturation. No oil has constants built in: published isotherms with
// numbers were not found, so they are the caller's, from a data sheet or a
// measurement. Rough levels (common practice): ester oils show free water from
// about 1500 mg/kg, mineral oils saturate at 200 to 300 mg/kg at 20 °C.
type SaturationLaw struct {
	A float64 // K
	B float64 // decimal logarithm of the content as a fraction
}

// FitSaturation returns the law through two points at temperatures 0.1 K or more
// apart. Out-of-range points are refused with a RangeError that names the point.
func FitSaturation(first, second SaturationPoint) (SaturationLaw, error) {
	c := checks{fn: "moisture.FitSaturation"}
	for i, p := range []SaturationPoint{first, second} {
		name := []string{"first", "second"}[i]
		c.within(name+".Temperature", float64(p.Temperature), 200, 450, "K")
		c.within(name+".Content", float64(p.Content), math.SmallestNonzeroFloat64, 0.1, "kg/kg")
	}
	apart := math.Abs(float64(first.Temperature - second.Temperature))
	c.within("temperature difference of the points", apart, 0.1, 250, "K")
	if c.err != nil {
		return SaturationLaw{}, c.err
	}
	l1, l2 := math.Log10(float64(first.Content)), math.Log10(float64(second.Content))
	a := (l1 - l2) / (1/float64(first.Temperature) - 1/float64(second.Temperature))
	return SaturationLaw{A: a, B: l1 - a/float64(first.Temperature)}, nil
}

// Content returns the water per oil at saturation at t, 200 to 450 K. Outside the
// range, and when the law gives more than 1 or underflows to 0, the error is a
// RangeError.
func (l SaturationLaw) Content(t units.Temperature) (units.MassFraction, error) {
	const fn = "moisture.SaturationLaw.Content"
	if err := units.CheckRange(fn, "t", float64(t), 200, 450, "K"); err != nil {
		return 0, err
	}
	w := l.content(float64(t))
	if err := units.CheckRange(fn, "content", w, math.SmallestNonzeroFloat64, 1, "kg/kg"); err != nil {
		return 0, err
	}
	return units.MassFraction(w), nil
}

func (l SaturationLaw) content(t float64) float64 { return math.Exp(math.Ln10 * (l.B + l.A/t)) }

// VapourPressure returns the equilibrium pressure in Pa of water over oil of the
// given water content, at least 0 and at most saturated, at t, 200 to 450 K: water
// activity, content over content at saturation (a straight isotherm, as ASTM D4056
// takes it), times the saturation pressure over the phase stable at t. It holds for
// a pump's oil as well. Outside the ranges the error is a RangeError.
func (l SaturationLaw) VapourPressure(content units.MassFraction, t units.Temperature) (units.Pressure, error) {
	most, err := l.Content(t)
	if err != nil {
		return 0, err
	}
	const slack = 1e-9 // for a content that was computed as saturated
	if err := units.CheckRange("moisture.SaturationLaw.VapourPressure", "content", float64(content), 0, float64(most)*(1+slack), "kg/kg"); err != nil {
		return 0, err
	}
	return units.Pressure(min(float64(content)/float64(most), 1) * stablePressure(float64(t))), nil
}

// Oil is water dissolved in oil that exchanges with the gas at a rate of the first
// order. Its one state is the water in kg. Hydrolysis of ester oil, which consumes
// water and makes acid, and free water under the oil are left out.
type Oil struct {
	// Mass of the oil without water, kg, above 0.
	Mass units.Mass
	// WaterContent is the water per oil at the start, 0 to 0.1 kg/kg.
	WaterContent units.MassFraction
	// Law is the content at saturation against temperature; see SaturationLaw.
	Law SaturationLaw
	// Exchange is the time in which the distance to equilibrium falls to 1/e while
	// the gas stays the same, above 0. Practice suggests minutes for a thin or
	// stirred film, hours to days for a deep sump at rest (common practice); it is
	// the number to measure.
	Exchange time.Duration
	// Fade is the mass below which the store counts as empty, kg. The exchange is
	// proportional to what is left, so nothing is cut off. Zero means 1 mg/kg of the
	// oil, at most 10 mg.
	Fade units.Mass
}

// Check reports the first field that is out of range as a RangeError.
func (o Oil) Check() error {
	c := checks{fn: "moisture.Oil"}
	c.positive("Mass", float64(o.Mass), "kg")
	c.within("WaterContent", float64(o.WaterContent), 0, 0.1, "kg/kg")
	c.within("Law at 293.15 K", o.Law.content(293.15), 1e-9, 0.1, "kg/kg")
	c.within("Law.A", o.Law.A, -1e4, 1e4, "K")
	c.positive("Exchange", o.Exchange.Seconds(), "s")
	c.atLeastZero("Fade", float64(o.Fade), "kg")
	return c.err
}

// Len is 1: the dissolved water.
func (o Oil) Len() int { return 1 }

// Start writes the initial water.
func (o Oil) Start(state []float64, _ Surroundings) {
	state[0] = float64(o.Mass) * float64(o.WaterContent)
}

// Pattern says that the rate depends on the state and on the gas.
func (o Oil) Pattern() Pattern { return oneState() }

func oneState() Pattern {
	p := DensePattern(1)
	p.Flow = false
	return p
}

// Content is the dissolved water.
func (o Oil) Content(state []float64) Content { return Content{Dissolved: units.Mass(state[0])} }

// Scale writes the fade mass.
func (o Oil) Scale(dst []float64) { dst[0] = float64(o.FadeMass()) }

// FadeMass is Fade or its default.
func (o Oil) FadeMass() units.Mass {
	if o.Fade > 0 {
		return o.Fade
	}
	return min(o.Mass*1e-6, 10e-6)
}

// Rates writes the rate of the dissolved water and returns the release in kg/s:
// (m - m in equilibrium with the gas)/Exchange.
func (o Oil) Rates(dst, state []float64, at Surroundings) float64 {
	release := (state[0] - o.equilibrium(at)) / o.Exchange.Seconds()
	dst[0] = -release
	return release
}

// equilibrium is the water in kg that the oil holds against the gas.
func (o Oil) equilibrium(at Surroundings) float64 {
	return float64(o.Mass) * o.slope(float64(at.Wall)) * float64(at.Vapour)
}

// slope is water per oil and pressure in equilibrium, 1/Pa, at the wall's
// temperature.
func (o Oil) slope(wall float64) float64 {
	t := min(max(wall, coldestWater), hottestWater)
	return o.Law.content(t) / stablePressure(t)
}

// Report names the exchange, which is the only step.
func (o Oil) Report(state []float64, at Surroundings) Report {
	release := (state[0] - o.equilibrium(at)) / o.Exchange.Seconds()
	return oneStep(at, release, OilExchange)
}

func oneStep(at Surroundings, release float64, step Resistance) Report {
	r := Report{Temperature: at.Wall, Release: units.MassFlow(release)}
	if release != 0 {
		r.Governing, r.Share = step, 1
	}
	return r
}

// Rise is how the pressure of an isolated circuit approaches equilibrium with a
// store: p(t) = Final - (Final - start) exp(-t/TimeConstant).
type Rise struct {
	Start        units.Pressure // of the vapour at isolation, Pa
	Final        units.Pressure // in equilibrium, Pa
	TimeConstant time.Duration  // above 0
}

// At returns the pressure at time t after isolation, in Pa; t must not be
// negative, or the error is a RangeError.
func (r Rise) At(t time.Duration) (units.Pressure, error) {
	c := checks{fn: "moisture.Rise.At"}
	c.atLeastZero("t", t.Seconds(), "s")
	c.positive("TimeConstant", r.TimeConstant.Seconds(), "s")
	if c.err != nil {
		return 0, c.err
	}
	gone := -math.Expm1(-t.Seconds() / r.TimeConstant.Seconds())
	return r.Start + units.Pressure(gone)*(r.Final-r.Start), nil
}

// Rise returns the rise that this oil, with WaterContent at the start, makes in an
// isolated circuit of gas volume v, above 0 m³, at temperature t, 200 to 450 K, from
// vapour pressure start, at least 0 Pa. Water moves between C p in the gas, C = v M/(R
// t), and K p in the oil at equilibrium, K = Mass × content/saturation pressure, so
// that the time constant is Exchange/(1 + K/C): shorter than Exchange, much so in a
// small volume. Balance of water; out of range is a RangeError, also when Final
// exceeds saturation, where free water would form instead.
func (o Oil) Rise(v units.Volume, t units.Temperature, start units.Pressure) (Rise, error) {
	const fn = "moisture.Oil.Rise"
	if err := o.Check(); err != nil {
		return Rise{}, err
	}
	c := checks{fn: fn}
	c.positive("v", float64(v), "m³")
	c.within("t", float64(t), 200, 450, "K")
	c.atLeastZero("start", float64(start), "Pa")
	if c.err != nil {
		return Rise{}, c.err
	}
	inGas := float64(v) * float64(MolarMass) / (molarGas * float64(t))
	inOil := float64(o.Mass) * o.slope(float64(t))
	final := (float64(o.Mass)*float64(o.WaterContent) + inGas*float64(start)) / (inGas + inOil)
	if err := units.CheckRange(fn, "final pressure", final, 0, stablePressure(float64(t)), "Pa"); err != nil {
		return Rise{}, err
	}
	constant, err := seconds(fn, o.Exchange.Seconds()/(1+inOil/inGas))
	return Rise{start, units.Pressure(final), constant}, err
}
