package moisture

import (
	"math"
	"testing"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestWrightOmega checks w + ln w = x, and the constant omega(0) = 0.5671432904.
func TestWrightOmega(t *testing.T) {
	constant, _ := wrightOmega(0)
	require.InDelta(t, 0.5671432904, constant, 1e-6) // omega constant, R. M. Corless et al. 1996
	for x := -40.0; x < 2000; x += 0.37 {
		w, off := wrightOmega(x)
		bound := 5e-6 * (1 + w)
		if math.Abs(off) < 3e-3 { // as good as rounding, which seriesFlux relies on
			bound = 1e-11 + 1e-15*w
		}
		require.InDeltaf(t, 1, w/math.Exp(x-w), bound, "x = %v", x)
	}
}

// TestSeriesFlux holds the fast solution to bisection of the equation itself, 1e-9 of
// the flux.
func TestSeriesFlux(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Pow(10, rapid.Float64Range(-12, 9).Draw(t, "lg a"))
		b := math.Pow(10, rapid.Float64Range(-6, 5).Draw(t, "lg b"))
		if rapid.Bool().Draw(t, "condensing") {
			b = -b
		}
		lo, hi := min(0, b), max(0, b)
		for range 200 {
			mid := (lo + hi) / 2
			if mid-b-a*math.Expm1(-mid) > 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
		// Rounding of a and b beside each other limits what any method can know.
		slack := 1e-9*math.Abs(lo) + 1e-15*(a+math.Abs(b))/(1+a*math.Exp(-lo))
		if q := seriesFlux(a, b); math.Abs(q-lo) > slack {
			t.Fatalf("a %v b %v: %v, bisection %v", a, b, q, lo)
		}
	})
}

// TestSurfaceFlux holds the flux to the two laws it puts in series, over all
// ratios of kinetics, film and dry gas.
func TestSurfaceFlux(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "lg p"))
		share := rapid.SampledFrom([]float64{0, 1e-6, 0.01, 0.5, 0.99, 1}).Draw(t, "share")
		pv, dry := p*share, p*(1-share)
		trace := rapid.Bool().Draw(t, "trace")
		if trace {
			pv, dry = p, p*math.Pow(10, rapid.Float64Range(-20, -2).Draw(t, "lg dry"))
		}
		ps := math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "lg ps"))
		s := surface{
			kinetic: 1e-3 * math.Pow(10, rapid.Float64Range(-5, 0).Draw(t, "lg k")),
			film:    math.Pow(10, rapid.Float64Range(-6, 1).Draw(t, "lg film")),
		}
		j := s.flux(ps, pv, dry)
		// j = kinetic (ps - pi) and p - pi = dry exp(-j/film), without the logarithm,
		// which loses digits when pi is near p; from a thousand times dry on along the
		// tangent.
		got := pv + dry - ps + j/s.kinetic
		want := 0.0
		if q := j / s.film; dry > 0 {
			want = dry * math.Exp(-q)
			if thousand := math.Log(1e3); q < -thousand {
				want = dry * 1e3 * (1 - thousand - q)
			}
		}
		slack := 1e-12 * (p + ps + math.Abs(j)/s.kinetic)
		if trace { // a solved flux is good to 1e-11, and the surface has e^-q times the trace
			slack += 1e-11 * math.Abs(j) / s.film * want
		}
		if !(math.Abs(got-want) <= slack) {
			t.Fatalf("dry gas at the surface %v Pa by kinetics, %v Pa by diffusion; pv %v dry %v ps %v %+v", got, want, pv, dry, ps, s)
		}
		if (j > 0) != (ps > pv) && ps != pv {
			t.Fatalf("flux %v against ps %v, pv %v", j, ps, pv)
		}
	})
}

// TestHertzKnudsenBound is the published limit of evaporation at coefficient 1
// without Schrage's factor, p/sqrt(2 pi R T): 3.409 kg/(m² s) at 25 °C and 0.687 at
// 0.01 °C (kinetic theory, recomputed with IAPWS-95 pressures).
func TestHertzKnudsenBound(t *testing.T) {
	for _, row := range []struct{ t, p, want float64 }{{298.15, 3169.93, 3.409}, {273.16, 611.65, 0.687}} {
		k := kineticCoefficient(1, row.t) / 2 // Schrage's factor is 2 at coefficient 1
		require.InDelta(t, row.want, k*row.p, 0.0005)
	}
}

// TestWaterHeat compares the puddle's linear heat capacities with the reference
// equations over the range that it claims.
func TestWaterHeat(t *testing.T) {
	for x := 274.0; x <= 323.15; x += 5 {
		require.InDelta(t, sr186LiquidHeat(x), heatOf(x), 1000, "liquid %v K", x)
		require.InEpsilon(t, vaporisationHeat(x), vapourHeat(x)-heatOf(x), 5e-4, "vaporisation %v K", x)
	}
	for x := 213.15; x < tripleT; x += 5 {
		require.InDelta(t, iceHeat(x), heatOf(x), 1000, "ice %v K", x)
		require.InEpsilon(t, sublimationHeat(x), vapourHeat(x)-heatOf(x), 5e-4, "sublimation %v K", x)
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(coldestWater+1, hottestWater-1).Draw(t, "t")
		// The corners at the triple point are rounded by 5 mK.
		if back := temperatureOf(heatOf(x)); math.Abs(back-x) > 5e-3 || math.Abs(x-tripleT) > 1 && math.Abs(back-x) > 3e-5 {
			t.Fatalf("%v K came back as %v K", x, back)
		}
	})
	require.InDelta(t, tripleT, temperatureOf(-fusion/2), 1e-6)
}

// TestAdiabaticFreezing pulls the vapour off a puddle at the triple point that
// gets almost no heat: the share that evaporates before the rest is ice is
// 333.4449/(2500.915+333.445) = 0.11764 (energy balance, recomputed).
func TestAdiabaticFreezing(t *testing.T) {
	p := Puddle{Mass: 10e-3, Temperature: TriplePoint, Area: 1e-3, HeatSupply: 1e-9, Film: 1e-3, Fade: 1e-9}
	at := Surroundings{Wall: TriplePoint, Vapour: 100}
	state, _ := run(t, p, at, func(_ float64, s []float64) bool { return -s[1] >= s[0]*fusion })
	require.InDelta(t, 0.11764, 1-state[0]/10e-3, 0.00005)
	c := p.Content(state)
	require.InDelta(t, state[0], float64(c.Ice), 1e-12)
	require.InDelta(t, 0, float64(c.Liquid), 1e-12)
}

// TestPuddleWarmsToItsWall leaves ice on a warm wall under saturated vapour: it
// melts and ends at wall temperature.
func TestPuddleWarmsToItsWall(t *testing.T) {
	p := Puddle{Mass: 1e-3, Temperature: 263.15, Area: 1e-6, HeatSupply: 1, Film: 5e-3}
	at := Surroundings{Wall: 293.15, Vapour: 2339, Dry: 101325 - 2339}
	state, elapsed := run(t, p, at, func(elapsed float64, _ []float64) bool { return elapsed > 300 })
	require.InDelta(t, 293.15, p.at(state, at).temperature, 0.02)
	require.Greater(t, elapsed, 300.0)
	require.Zero(t, p.Content(state).Ice)
}

// TestCondensationStartsFromNothing puts an empty puddle on a wall below the dew
// point: water appears, on a warm wall it does not.
func TestCondensationStartsFromNothing(t *testing.T) {
	p := Puddle{Area: 1e-3, HeatSupply: 5, Film: 5e-3}
	rates := make([]float64, 2)
	cold := Surroundings{Wall: 278.15, Vapour: 2000, Dry: 101325 - 2000}
	require.Negative(t, p.Rates(rates, []float64{0, 0}, cold))
	require.Positive(t, rates[0])
	taken := rates[0]
	warm := cold
	warm.Wall = 303.15
	// The rounded corner leaves next to nothing of what the cold wall takes.
	require.Less(t, math.Abs(p.Rates(rates, []float64{0, 0}, warm)), 1e-5*taken)
	state, _ := run(t, p, cold, func(elapsed float64, _ []float64) bool { return elapsed > 100 })
	require.Positive(t, state[0])
	require.Zero(t, p.Content(state).Ice)
}

// TestRatesAreContinuous walks states and pressures across the seams (melting,
// boiling, condensation, the last of the water) in small steps: the release must
// not jump.
func TestRatesAreContinuous(t *testing.T) {
	p := samplePuddle()
	rates := make([]float64, 2)
	at := Surroundings{Wall: 293.15, Vapour: 650, Dry: 850}
	release := func(m, h, vapour, dry, wall float64) float64 {
		at := at
		at.Vapour, at.Dry, at.Wall = units.Pressure(vapour), units.Pressure(dry), units.Temperature(wall)
		return p.Rates(rates, []float64{m, m * h}, at)
	}
	s := p.at([]float64{1e-3, 0}, Surroundings{Wall: 293, Vapour: 2000})
	bound := (2000 - s.saturation - logMost*s.surface.film/s.surface.kinetic) / (mostEnriched - 1) // Pa of dry gas
	seams := map[string]func(x float64) float64{
		"liquid to melting": func(x float64) float64 { return release(1e-3, x, 400, 1100, 293) },
		"melting to ice":    func(x float64) float64 { return release(1e-3, -fusion+x, 400, 1100, 293) },
		"dew point":         func(x float64) float64 { return release(1e-3, 0, 611.657+x, 900, 293) },
		"no dry gas":        func(x float64) float64 { return release(1e-3, 0, 500, math.Abs(x)*1e-9, 293) },
		"no dry gas, dew":   func(x float64) float64 { return release(1e-3, 0, 2000, math.Abs(x)*1e-9, 293) },
		"film's bound":      func(x float64) float64 { return release(1e-3, 0, 2000, bound*(1+x*1e-2), 293) },
		"boiling":           func(x float64) float64 { return release(1e-3, 0, 100, 511.657+x, 293) },
		"last of the water": func(x float64) float64 { return release(math.Abs(x)*1e-9, 0, 100, 1400, 293) },
		"wall through 0 °C": func(x float64) float64 { return release(1e-12, 0, 100, 1400, 273.16+x*1e-3) },
		"flow from standing": func(x float64) float64 {
			at := at
			at.ThroughFlow = units.MolarFlow(math.Abs(x) * 1e-9)
			return p.Rates(rates, []float64{1e-3, 0}, at)
		},
	}
	for name, f := range seams {
		size := math.Abs(f(0)) + math.Abs(f(1))
		for _, side := range []float64{-1, 1} {
			near, far := math.Abs(f(side*1e-7)-f(0)), math.Abs(f(side*1e-4)-f(0))
			require.LessOrEqualf(t, near, 1e-4*size+0.5*far+1e-18, "%s jumps", name)
		}
	}
}

// TestSherwood checks the sweep film against its limits: Schlünder's laminar 3.66
// for a long tube and a thin film for turbulent flow.
func TestSherwood(t *testing.T) {
	gas := dryGas{293.15}
	require.InEpsilon(t, 0.0079/3.66, sweptFilm(0.0079/3.66, 0.0079, 1000, 1e-5, gas), 1e-3)
	thick := sweptFilm(5e-3, 0.0079, 0.25, 1e-4, gas)
	thin := sweptFilm(5e-3, 0.0079, 0.25, 1e-1, gas)
	require.Less(t, thin, thick)
	require.Less(t, thick, 5e-3)
	// Gnielinski 1975 at Re = 10^4, Pr = 0.7, long tube: f = 0.03078 and Nu = 32.3 by hand.
	f := math.Pow(1.8*4-1.5, -2)
	byHand := f / 8 * 1e4 * 0.7 / (1 + 12.7*math.Sqrt(f/8)*(math.Pow(0.7, 2.0/3)-1))
	require.InEpsilon(t, byHand, gnielinski(1e4, 0.7, 0), 1e-12)
	require.InDelta(t, 32.3, byHand, 0.05)
	before, after := sweptFilm(5e-3, 0.0079, 0.25, flowAtReynolds(gas, 2299.99), gas), sweptFilm(5e-3, 0.0079, 0.25, flowAtReynolds(gas, 2300.01), gas)
	require.InEpsilon(t, before, after, 1e-4)
}

func flowAtReynolds(g dryGas, re float64) float64 {
	return re * math.Pi * 0.0079 * g.viscosity() / (4 * nitrogenMolarMass)
}

// TestGapHeat checks the gas-carried heat: independent of pressure near
// atmosphere, falling only when the mean free path nears the gap.
func TestGapHeat(t *testing.T) {
	gas := dryGas{293.15}
	still := gas.conductivity(gas.viscosity()) / 5e-3
	require.InEpsilon(t, still, gas.gapConductance(5e-3, 3.3, 1e4, 5), 0.001)
	require.InEpsilon(t, still, gas.gapConductance(5e-3, 3.3, 1000, 5), 0.01)
	lambda := gas.meanFreePath(gas.viscosity())
	require.InEpsilon(t, still/2, gas.gapConductance(5e-3, 3.3, 3.3*lambda/5e-3, 5), 1e-9)
	require.Zero(t, gas.gapConductance(5e-3, 3.3, 0, 5))
	require.Greater(t, gas.gapConductance(20e-3, 3.3, 101325, 20), 1.5*gas.conductivity(gas.viscosity())/20e-3)
}

// TestReportNamesTheGoverningStep covers each step once.
func TestReportNamesTheGoverningStep(t *testing.T) {
	p := samplePuddle()
	state := make([]float64, 2)
	at := Surroundings{Wall: 293.15, Vapour: 100, Dry: 101325 - 100}
	p.Start(state, at)
	r := p.Report(state, at)
	require.Equal(t, GasFilm, r.Governing)
	require.Greater(t, r.Share, 0.9)
	require.InDelta(t, 293.15, float64(r.Temperature), 1e-5)

	at.Vapour, at.Dry = 300, 0
	require.Equal(t, Kinetic, p.Report(state, at).Governing)

	cold := []float64{5e-3, 5e-3 * heatOf(tripleT)}
	at.Vapour, at.Dry = 600, 0
	require.Equal(t, HeatSupply, p.Report(cold, at).Governing)

	require.Equal(t, NoResistance, p.Report([]float64{0, 0}, at).Governing)
}

// TestPuddleRefusesBadFields gives each field a bad value in turn.
func TestPuddleRefusesBadFields(t *testing.T) {
	bad := map[string]func(*Puddle){
		"Mass":                   func(p *Puddle) { p.Mass = -1 },
		"Temperature":            func(p *Puddle) { p.Temperature = 20 },
		"Area":                   func(p *Puddle) { p.Area = 0 },
		"EvaporationCoefficient": func(p *Puddle) { p.EvaporationCoefficient = 1.5 },
		"HeatSupply":             func(p *Puddle) { p.HeatSupply = units.HeatConductance(math.NaN()) },
		"HeatSupply (while":      func(p *Puddle) { p.HeatSupply, p.Gap = 0, 0 },
		"Gap":                    func(p *Puddle) { p.Gap = units.Length(math.Inf(1)) },
		"JumpFactor":             func(p *Puddle) { p.JumpFactor = -1 },
		"Film":                   func(p *Puddle) { p.Film = -1 },
		"Bore (while":            func(p *Puddle) { p.Film, p.Bore = 0, 0 },
		"Bore":                   func(p *Puddle) { p.Bore = units.Length(math.NaN()) },
		"Wetted":                 func(p *Puddle) { p.Wetted = -1 },
		"Fade":                   func(p *Puddle) { p.Fade = -1 },
	}
	for field, spoil := range bad {
		p := samplePuddle()
		require.NoError(t, p.Check())
		spoil(&p)
		err := p.Check()
		require.ErrorIs(t, err, units.ErrOutOfRange, field)
		require.ErrorContains(t, err, field)
	}
}

// TestFadeMassDefault is a film of 50 µm, at most 10 mg.
func TestFadeMassDefault(t *testing.T) {
	require.InDelta(t, 5e-6, float64(Puddle{Area: 1e-4}.FadeMass()), 1e-12)
	require.InDelta(t, 10e-6, float64(Puddle{Area: 1e-2}.FadeMass()), 1e-12)
	require.InDelta(t, 3e-6, float64(Puddle{Area: 1e-2, Fade: 3e-6}.FadeMass()), 1e-12)
}

// TestStoreDiffusion holds the stores' cheap diffusion to the published equation.
func TestStoreDiffusion(t *testing.T) {
	for x := 200.0; x <= 400; x += 2.5 {
		require.InEpsilon(t, diffusivityTimesPressure(x), dryGas{x}.diffusion(), 1e-5, "%v K", x)
	}
}

// TestRampIsSmooth: value and slope meet 0 and x where the rounding ends, and at the
// corner itself the rounding is 3/16 of its half width (quartic, by hand).
func TestRampIsSmooth(t *testing.T) {
	require.InDelta(t, 0, ramp(-50+1e-3), 1e-12)
	require.InDelta(t, 50-1e-3, ramp(50-1e-3), 1e-12)
	require.InDelta(t, 50.0*3/16, ramp(0), 1e-12)
	require.Zero(t, ramp(-51))
	require.InDelta(t, 51, ramp(51), 1e-15)
}
