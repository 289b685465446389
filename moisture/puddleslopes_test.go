package moisture

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

// The closed forms agree with differences of the rates, fourth order, over
// liquid, ice, both, next to nothing and trial states below nothing, in
// evaporation and condensation, with and without a gap, with dry gas from a trace far
// below the bound of the film to next to all. A difference is good to the round-off of
// the rates over its width.
func TestPuddleSlopesAreDerivatives(t *testing.T) {
	kinds := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		lg := func(lo, hi float64, name string) float64 {
			return math.Pow(10, rapid.Float64Range(lo, hi).Draw(t, name))
		}
		p := Puddle{
			Area: units.Area(lg(-4, -1, "lg area")), HeatSupply: units.HeatConductance(lg(-3, 1, "lg supply")),
			Film: units.Length(lg(-4, -1.5, "lg film")), EvaporationCoefficient: lg(-2, 0, "lg evaporation"),
			Gap: rapid.SampledFrom([]units.Length{0, 2e-3, 2e-2}).Draw(t, "gap"),
		}
		fade := float64(p.FadeMass())
		m := fade * lg(-2, 4, "lg mass")
		if rapid.IntRange(0, 9).Draw(t, "below") == 0 {
			m = -fade * lg(-7, -4, "lg lack")
		}
		h := m * rapid.SampledFrom([]float64{heatOf(250), heatOf(272.9), -fusion - 20, -fusion + 30, -fusion / 2, -30, 40, heatOf(280), heatOf(300)}).Draw(t, "heat")
		pressure := lg(-1, 5, "lg p")
		dry := pressure * lg(-15, -0.01, "lg dry")
		if rapid.IntRange(0, 3).Draw(t, "dense") == 0 { // condensing, most often beyond the bound of the film
			pressure = lg(3.5, 4, "lg dense")
			dry = pressure * lg(-15, -9, "lg trace")
		}
		vapour := pressure - dry
		state := []float64{m, h}
		at := Surroundings{Wall: 295, Vapour: units.Pressure(vapour), Dry: units.Pressure(dry)}
		got := NewSlopes(2)
		p.Slopes(&got, state, at)
		s := p.at(state, at)
		if p.Gap > 0 {
			gas := dryGas{295}
			nusselt := func(p2 float64) float64 {
				return gas.freeConvection(gas.viscosity(), float64(p.Gap), p2, 295-s.temperature)
			}
			if nusselt(0.99*pressure) == 1 && nusselt(1.01*pressure) > 1 {
				return // differences would reach across the corner where convection begins
			}
		}
		if s.flux > 0 {
			kinds["evaporation"]++
		} else {
			kinds["condensation"]++
		}
		if s.flux < -s.surface.film*logMost {
			kinds["beyond the bound"]++
		}
		// Into dry gas or out of this: a solved flux is good to 1e-11.
		gross := float64(p.Area) * (s.saturation*s.surface.slope(dry) + math.Abs(s.flux))
		scale := [2]float64{gross, gross*vapourHeat(s.temperature) + s.supply*(300+s.temperature)}
		check := func(name string, d float64, rates func(x float64) [2]float64, by func(i int) float64) {
			if most := 1e-5 * gross / math.Abs(by(0)); most < d { // well within the rounded corner of faded
				d = most
			}
			a, b, c, e := rates(-2*d), rates(-d), rates(d), rates(2*d)
			for i := range 2 {
				want := (a[i] - 8*b[i] + 8*c[i] - e[i]) / (12 * d)
				wider := (c[i] - b[i]) / (2 * d) // where both differ, the width shows
				slack := 1e-11*scale[i]/d + 2*math.Abs(want-wider) + 1e-7*math.Abs(want)
				if math.Abs(by(i)-want) > slack {
					t.Fatalf("rate %d by %s: %g, differences %g ± %g; %+v, %+v", i, name, by(i), want, slack, p, s)
				}
			}
		}
		vary := func(mass, heat, v, d float64) [2]float64 {
			out := make([]float64, 2)
			with := at
			with.Vapour += units.Pressure(v)
			with.Dry += units.Pressure(d)
			p.Rates(out, []float64{m + mass, h + heat}, with)
			return [2]float64(out)
		}
		check("mass", 1e-4*math.Abs(m), func(x float64) [2]float64 { return vary(x, 0, 0, 0) }, func(i int) float64 { return got.State[2*i] })
		check("heat", 1*math.Abs(m), func(x float64) [2]float64 { return vary(0, x, 0, 0) }, func(i int) float64 { return got.State[2*i+1] })
		check("vapour", 1e-3*vapour, func(x float64) [2]float64 { return vary(0, 0, x, 0) }, func(i int) float64 { return got.Vapour[i] })
		check("dry gas", 1e-3*dry, func(x float64) [2]float64 { return vary(0, 0, 0, x) }, func(i int) float64 { return got.Dry[i] })
	})
	t.Log(kinds)
	if len(kinds) < 3 {
		t.Error("a kind is missing")
	}
}

// Without dry gas the derivative by it is that of the first trace, and nothing is
// allocated.
func TestPuddleSlopesWithoutDryGas(t *testing.T) {
	p := Puddle{Mass: 1e-3, Area: 1e-3, HeatSupply: 1, Gap: 1e-3, Film: 5e-3}
	state, dst, pure, trace := []float64{1e-3, 10}, NewSlopes(2), make([]float64, 2), make([]float64, 2)
	for _, c := range []struct{ vapour, dry units.Pressure }{{500, 1e-5}, {2000, 1e-12}} {
		at := Surroundings{Wall: 295, Vapour: c.vapour}
		p.Slopes(&dst, state, at)
		p.Rates(pure, state, at)
		at.Dry = c.dry
		p.Rates(trace, state, at)
		for i := range 2 {
			require.InEpsilonf(t, (trace[i]-pure[i])/float64(c.dry), dst.Dry[i], 1e-2, "rate %d, %v", i, c)
		}
		require.Zero(t, testing.AllocsPerRun(100, func() { p.Slopes(&dst, state, at) }))
	}
}

// Room for fewer than no states is a programming mistake.
func TestNewSlopesPanics(t *testing.T) {
	defer func() { _ = recover() }()
	t.Error("no panic", NewSlopes(-1))
}

var _ Sloped = Puddle{}
