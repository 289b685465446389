package moisture

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// Walls is water adsorbed on metal surfaces. It leaves and returns by kinetics: the
// share Sticking of the molecules that strike the surface stays, and at equilibrium
// as many leave. Its one state is the water in kg.
type Walls struct {
	// Area of the surface with its roughness, m², above 0.
	Area units.Area
	// Capacity is the water per area at saturation, kg/m², above 0 to 1. One layer of
	// molecules is about 3e-7 kg/m² (1e19 per m²; from memory); wiped metal in humid
	// air carries several (common practice).
	Capacity float64
	// Coverage is the share of Capacity at the start, 0 to 1. Zero is a bare
	// surface; EquilibriumCoverage gives that of a surface left in humid air.
	Coverage float64
	// Isotherm relates coverage and humidity; required.
	Isotherm Isotherm
	// Sticking is the share of molecules that stay, above 0 to 1. Required: it sets
	// how fast the surface answers, 1e-4 to 1 (common practice).
	Sticking float64
	// Fade is the mass over which the last water disappears, kg: desorption is
	// multiplied by m/(m + Fade). Zero means a thousandth of Area × Capacity, at most
	// 10 mg.
	Fade units.Mass
}

// Check reports the first field that is out of range as a RangeError.
func (w Walls) Check() error {
	c := checks{fn: "moisture.Walls"}
	c.positive("Area", float64(w.Area), "m²")
	c.within("Capacity", w.Capacity, math.SmallestNonzeroFloat64, 1, "kg/m²")
	c.within("Coverage", w.Coverage, 0, 1, "")
	c.within("Sticking", w.Sticking, math.SmallestNonzeroFloat64, 1, "")
	c.atLeastZero("Fade", float64(w.Fade), "kg")
	c.isotherm(w.Isotherm)
	return c.err
}

// isotherm requires an isotherm and its own check.
func (c *checks) isotherm(i Isotherm) {
	if c.err != nil {
		return
	}
	if i == nil {
		c.err = missing(c.fn + ": Isotherm")
		return
	}
	c.err = i.Check()
}

// EquilibriumCoverage returns the coverage in equilibrium with air of relative
// humidity rh, 0 to 1, at t, 200 to 400 K. Outside the ranges the error is a
// RangeError.
func EquilibriumCoverage(i Isotherm, rh units.RelativeHumidity, t units.Temperature) (float64, error) {
	c := checks{fn: "moisture.EquilibriumCoverage"}
	c.isotherm(i)
	c.within("rh", float64(rh), 0, 1, "")
	c.within("t", float64(t), 200, 400, "K")
	if c.err != nil {
		return 0, c.err
	}
	return i.Coverage(float64(rh), float64(t)), nil
}

// Len is 1: the adsorbed water.
func (w Walls) Len() int { return 1 }

// Start writes the initial water.
func (w Walls) Start(state []float64, _ Surroundings) { state[0] = w.Coverage * w.full() }

// Pattern says that the rate depends on the state and on the gas.
func (w Walls) Pattern() Pattern { return oneState() }

// Content is the adsorbed water.
func (w Walls) Content(state []float64) Content { return Content{Adsorbed: units.Mass(state[0])} }

// Scale writes the fade mass.
func (w Walls) Scale(dst []float64) { dst[0] = float64(w.FadeMass()) }

// FadeMass is Fade or its default.
func (w Walls) FadeMass() units.Mass {
	if w.Fade > 0 {
		return w.Fade
	}
	return units.Mass(min(w.full()/1000, 10e-6))
}

func (w Walls) full() float64 { return float64(w.Area) * w.Capacity }

// Rates writes the rate of the adsorbed water and returns the desorption in kg/s,
// negative for adsorption: Area × Sticking (equilibrium pressure - vapour
// pressure)/sqrt(2 pi R T).
func (w Walls) Rates(dst, state []float64, at Surroundings) float64 {
	release := w.release(state[0], at)
	dst[0] = -release
	return release
}

func (w Walls) release(m float64, at Surroundings) float64 {
	t := min(max(float64(at.Wall), coldestWater), hottestWater)
	// Beyond Capacity the water lies free, at saturation; a trial state may lie below
	// zero, where an isotherm promises nothing.
	over := stablePressure(t) * w.Isotherm.Activity(min(max(m/w.full(), 0), 1), t)
	rate := float64(w.Area) * w.Sticking / math.Sqrt(2*math.Pi*GasConstantWater*t) * (over - float64(at.Vapour))
	if rate > 0 {
		m = max(m, 0)
		rate *= m / (m + float64(w.FadeMass()))
	}
	return rate
}

// Report names desorption, which is the only step.
func (w Walls) Report(state []float64, at Surroundings) Report {
	return oneStep(at, w.release(state[0], at), WallDesorption)
}

// Desiccant is water in a drying agent, such as that of a filter drier. Diffusion in
// the grains makes it answer with a time constant (linear driving force, E.
// Glueckauf 1955): m goes towards equilibrium with the gas at the rate (m -
// equilibrium)/Exchange. Its one state is the water in kg; the heat of adsorption is
// left out.
type Desiccant struct {
	// Mass of the dry agent, kg, above 0.
	Mass units.Mass
	// Capacity is the water per dry agent at saturation, kg/kg, above 0 to 1.
	Capacity float64
	// Coverage is the share of Capacity at the start, 0 to 1.
	Coverage float64
	// Isotherm relates coverage and humidity; required.
	Isotherm Isotherm
	// Exchange is the time constant, above 0: minutes for beads in a stream of gas,
	// far longer at rest (common practice).
	Exchange time.Duration
	// Fade is the mass below which the agent counts as dry, kg; nothing is cut off.
	// Zero means a thousandth of Mass × Capacity, at most 10 mg.
	Fade units.Mass
}

// Check reports the first field that is out of range as a RangeError.
func (d Desiccant) Check() error {
	c := checks{fn: "moisture.Desiccant"}
	c.positive("Mass", float64(d.Mass), "kg")
	c.within("Capacity", d.Capacity, math.SmallestNonzeroFloat64, 1, "kg/kg")
	c.within("Coverage", d.Coverage, 0, 1, "")
	c.positive("Exchange", d.Exchange.Seconds(), "s")
	c.atLeastZero("Fade", float64(d.Fade), "kg")
	c.isotherm(d.Isotherm)
	return c.err
}

// Len is 1: the adsorbed water.
func (d Desiccant) Len() int { return 1 }

// Start writes the initial water.
func (d Desiccant) Start(state []float64, _ Surroundings) { state[0] = d.Coverage * d.full() }

// Pattern says that the rate depends on the state and on the gas.
func (d Desiccant) Pattern() Pattern { return oneState() }

// Content is the adsorbed water.
func (d Desiccant) Content(state []float64) Content { return Content{Adsorbed: units.Mass(state[0])} }

// Scale writes the fade mass.
func (d Desiccant) Scale(dst []float64) { dst[0] = float64(d.FadeMass()) }

// FadeMass is Fade or its default.
func (d Desiccant) FadeMass() units.Mass {
	if d.Fade > 0 {
		return d.Fade
	}
	return units.Mass(min(d.full()/1000, 10e-6))
}

func (d Desiccant) full() float64 { return float64(d.Mass) * d.Capacity }

// Rates writes the rate of the adsorbed water and returns the release in kg/s,
// negative for uptake.
func (d Desiccant) Rates(dst, state []float64, at Surroundings) float64 {
	release := d.release(state[0], at)
	dst[0] = -release
	return release
}

func (d Desiccant) release(m float64, at Surroundings) float64 {
	t := min(max(float64(at.Wall), coldestWater), hottestWater)
	equilibrium := d.full() * d.Isotherm.Coverage(min(float64(at.Vapour)/stablePressure(t), 1), t)
	return (m - equilibrium) / d.Exchange.Seconds()
}

// Report names desorption, which is the only step.
func (d Desiccant) Report(state []float64, at Surroundings) Report {
	return oneStep(at, d.release(state[0], at), WallDesorption)
}
