package moisture

import (
	"math"
	"testing"

	"example.com/drydown/units"
	"pgregory.net/rapid"
)

// The closed forms agree with differences of the rates, fourth order, over
// liquid, ice, both, next to nothing and trial states below nothing, in
// evaporation and condensation, with dry gas from a millionth of it all to next to
// all. A difference is good to the round-off of the rates over its width.
func TestPuddleSlopesAreDerivatives(t *testing.T) {
	kinds := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		lg := func(lo, hi float64, name string) float64 {
			return math.Pow(10, rapid.Float64Range(lo, hi).Draw(t, name))
		}
		p := Puddle{
			Area: units.Area(lg(-4, -1, "lg area")), HeatSupply: units.HeatConductance(lg(-3, 1, "lg supply")),
			Film: units.Length(lg(-4, -1.5, "lg film")), EvaporationCoefficient: lg(-2, 0, "lg evaporation"),
		}
		fade := float64(p.FadeMass())
		m := fade * lg(-2, 4, "lg mass")
		if rapid.IntRange(0, 9).Draw(t, "below") == 0 {
			m = -fade * lg(-7, -4, "lg lack")
		}
		h := m * rapid.SampledFrom([]float64{heatOf(250), heatOf(272.9), -fusion - 20, -fusion + 30, -fusion / 2, -30, 40, heatOf(280), heatOf(300)}).Draw(t, "heat")
		pressure := lg(-1, 5, "lg p")
		vapour := pressure * (1 - lg(-6, -0.01, "lg dry"))
		state := []float64{m, h}
		at := Surroundings{Wall: 295, Pressure: units.Pressure(pressure), Vapour: units.Pressure(vapour)}
		got := NewSlopes(2)
		if !p.Slopes(&got, state, at) {
			t.Fatal("no derivatives")
		}
		s := p.at(state, at)
		if s.flux > 0 {
			kinds["evaporation"]++
		} else {
			kinds["condensation"]++
		}
		// Into dry gas or out of this: a solved flux is good to 1e-11.
		gross := float64(p.Area) * (s.saturation*s.surface.slope(pressure-vapour) + math.Abs(s.flux))
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
		vary := func(mass, heat, v, all float64) [2]float64 {
			out := make([]float64, 2)
			with := at
			with.Vapour += units.Pressure(v)
			with.Pressure += units.Pressure(all)
			p.Rates(out, []float64{m + mass, h + heat}, with)
			return [2]float64(out)
		}
		dry := pressure - vapour
		check("mass", 1e-4*math.Abs(m), func(x float64) [2]float64 { return vary(x, 0, 0, 0) }, func(i int) float64 { return got.State[2*i] })
		check("heat", 1*math.Abs(m), func(x float64) [2]float64 { return vary(0, x, 0, 0) }, func(i int) float64 { return got.State[2*i+1] })
		check("vapour", 1e-3*min(dry, vapour), func(x float64) [2]float64 { return vary(0, 0, x, 0) }, func(i int) float64 { return got.Vapour[i] })
		check("pressure", 1e-3*dry, func(x float64) [2]float64 { return vary(0, 0, 0, x) }, func(i int) float64 { return got.Pressure[i] })
	})
	t.Log(kinds)
	if kinds["evaporation"] == 0 || kinds["condensation"] == 0 {
		t.Error("a kind is missing")
	}
}

// There is no closed form across a gap and next to no dry gas, and no
// allocation where there is one.
func TestPuddleSlopesWhereThereAreNone(t *testing.T) {
	p := Puddle{Mass: 1e-3, Area: 1e-3, HeatSupply: 1, Film: 5e-3}
	state, dst := []float64{1e-3, 10}, NewSlopes(2)
	at := Surroundings{Wall: 295, Pressure: 1000, Vapour: 500}
	if !p.Slopes(&dst, state, at) {
		t.Error("none in humid air")
	}
	if n := testing.AllocsPerRun(100, func() { p.Slopes(&dst, state, at) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
	pure := at
	pure.Vapour = 1000
	if p.Slopes(&dst, state, pure) {
		t.Error("derivatives without dry gas")
	}
	p.Gap = 1e-3
	if p.Slopes(&dst, state, at) {
		t.Error("derivatives across a gap")
	}
}

// Room for fewer than no states is a programming mistake.
func TestNewSlopesPanics(t *testing.T) {
	defer func() { _ = recover() }()
	t.Error("no panic", NewSlopes(-1))
}

var _ Sloped = Puddle{}
