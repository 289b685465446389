package vacuum

import (
	"math"
	"testing"

	"example.com/drydown/units"
)

const room = 293.15

// nitrogenAt is the pressure at which nitrogen at room temperature has
// rarefaction parameter delta in a bore of radius r.
func nitrogenAt(delta, r float64) units.Pressure {
	m := newMixture([]Gas{Nitrogen()}, room)
	return units.Pressure(delta * m.viscosity[0] * m.speed[0] / r)
}

// deviation is got/want - 1.
func deviation[T ~float64](got, want T) float64 { return float64(got)/float64(want) - 1 }

// The kinetic solution for long tubes: rows of the S-model column.
func TestLawFollowsKineticSolution(t *testing.T) {
	const r, length = 1e-3, 200.0
	worst := 0.0
	for _, row := range readRows(t, "recomputed/vacuum.csv") {
		if row.name != "reduced-flow" || row.num("delta") == 0 {
			continue
		}
		p := nitrogenAt(row.num("delta"), r)
		c := must(Tube(2*r, length).Conductance(Nitrogen(), p, p, room))
		g := float64(c) * 2 * length / (math.Pi * r * r * r * probableSpeed(float64(Nitrogen().MolarMass), room))
		worst = math.Max(worst, math.Abs(deviation(g, row.value)))
	}
	t.Logf("worst deviation from the S-model: %.2g %%", 100*worst)
	if !(worst < 0.001) {
		t.Errorf("off by %g, stated 0.1 %%, asked 0.5 %%", worst)
	}
}

// Clausing's transmission probabilities at any length, orifice included.
func TestLawIsExactInMolecularFlow(t *testing.T) {
	const r = 3e-3
	p := nitrogenAt(1e-5, r)
	aperture := must(ApertureConductance(units.Length(2*r).Circle(), Nitrogen().MolarMass, room))
	check := func(l, w float64) {
		for _, down := range []units.Pressure{0, p / 2, p} {
			c := must(Passage{{Bore: 2 * r, Length: units.Length(l * r)}}.Conductance(Nitrogen(), p, down, room))
			if d := deviation(float64(c), w*float64(aperture)); math.Abs(d) > 1e-3 {
				t.Errorf("L/R = %g, down %g Pa: off by %g", l, float64(down), d)
			}
		}
	}
	check(0, 1)
	for _, row := range readRows(t, "recomputed/vacuum.csv") {
		if row.name == "transmission-exact" {
			check(row.num("l"), row.value)
		}
	}
}

// Poiseuille's law for a compressible gas, with Sampson's end correction where
// the tube is an orifice.
func TestLawMeetsViscousLimits(t *testing.T) {
	const r = 1e-3
	mu := Nitrogen().ViscosityLaw(room)
	p := nitrogenAt(1e4, r)
	tube := must(Tube(2*r, 2).Conductance(Nitrogen(), p, p, room))
	want := must(LaminarConductance(2*r, 2, mu, p))
	slip := 4 * 1.018 / 1e4 // slip flow adds this to G = δ/4
	if d := deviation(tube, want); math.Abs(d-slip+3*math.Pi*r/(8*2)) > 2e-5 {
		t.Errorf("tube: off Poiseuille by %g, expected slip less end correction %g", d, slip-3*math.Pi*r/16)
	}
	// Sampson: Q = d³·Δp/(24µ), volume flow, so that C = p·d³/(24µ).
	hole := must(Orifice(2*r).Conductance(Nitrogen(), p, p*(1-1e-12), room))
	sampsonC := float64(p) * 8 * r * r * r / (24 * float64(mu))
	if d := deviation(float64(hole), sampsonC); math.Abs(d) > 1e-3 {
		t.Errorf("orifice: off Sampson by %g", d)
	}
	// A long capillary into vacuum takes the mean pressure.
	p1 := 100 * units.Kilopascal
	long := must(Capillary(0.6e-3, 30).Conductance(Nitrogen(), p1, 0, room))
	if d := deviation(long, must(LaminarConductance(0.6e-3, 30, mu, p1/2))); math.Abs(d) > 0.005 {
		t.Errorf("capillary into vacuum: off by %g", d)
	}
}

// The isentropic nozzle at every pressure ratio, for three kinds of gas.
func TestLawFollowsIsentropicNozzle(t *testing.T) {
	const bore, up = 5e-3, units.Pressure(1e6)
	for _, gas := range []Gas{Nitrogen(), Argon(), R134a()} {
		worst := 0.0
		for r := 0.0; r < 0.995; r += 0.01 {
			want := must(NozzleFlow(units.Length(bore).Circle(), gas, up, units.Pressure(r)*up, room))
			got := must(Passage{{Bore: bore, DischargeCoefficient: 1}}.MolarFlow(gas, up, units.Pressure(r)*up, room))
			worst = math.Max(worst, math.Abs(deviation(got, want)))
		}
		t.Logf("%s: worst deviation from the isentropic nozzle %.2g %%", gas.Name, 100*worst)
		if worst > 0.01 {
			t.Errorf("off by %g, stated 1 %%", worst)
		}
	}
}

// Adiabatic flow with friction, choked at the end, against the law for the same
// friction and a loss-free entrance.
func TestLawAgainstFanno(t *testing.T) {
	const bore = 5e-3
	gas, worst, at := Air(), 0.0, 0.0
	for _, mach := range []float64{0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7} {
		const p0 = 1e5
		// Stagnation state, to static state at the entrance, to molar flux.
		k := 1 + 0.2*mach*mach
		flux := p0 * math.Sqrt(1.4/(float64(gas.MolarMass)*units.GasConstant*room)) * mach / (k * k * k)
		area := float64(units.Length(bore).Circle())
		n := flux * area
		friction := must(FannoFriction(1.4, mach))
		// The tube whose friction at this flow is the Fanno one, f = Blasius / 4.
		re := n * float64(gas.MolarMass) / float64(gas.ViscosityLaw(room)) * 4 / (math.Pi * bore)
		length := friction * bore / (0.3164 / math.Sqrt(math.Sqrt(re)))
		got := must(Passage{{Bore: bore, Length: units.Length(length), DischargeCoefficient: 1}}.MolarFlow(gas, p0, 0, room))
		if d := deviation(float64(got), n); math.Abs(d) > math.Abs(worst) {
			worst, at = d, mach
		}
		t.Logf("Mach %.2f, 4fL/D = %.3g, L/D = %.3g, Re = %.3g: %+.1f %%", mach, friction, length/bore, re, 100*deviation(float64(got), n))
	}
	t.Logf("worst deviation from Fanno flow: %+.1f %% at entrance Mach %g", 100*worst, at)
	if math.Abs(worst) > 0.11 {
		t.Errorf("off by %g, stated 11 %%", worst)
	}
}

// The friction law: Δp = f·(L/d)·ρV²/2 with Blasius's f, in a long pipe at a
// small pressure drop; and the laminar one just below Re = 2300.
func TestLawFollowsBlasius(t *testing.T) {
	const bore, length, p = 0.02, 200.0, 5e5
	gas := Nitrogen()
	mu, m := float64(gas.ViscosityLaw(room)), float64(gas.MolarMass)
	for _, c := range []struct{ re, f float64 }{
		{2250, 64.0 / 2250},
		{5e3, 0.3164 / math.Pow(5e3, 0.25)},
		{2e4, 0.3164 / math.Pow(2e4, 0.25)},
		{8e4, 0.3164 / math.Pow(8e4, 0.25)},
	} {
		rho := p * m / (units.GasConstant * room)
		v := c.re * mu / (rho * bore)
		dp := c.f * length / bore * rho * v * v / 2
		want := v * math.Pi / 4 * bore * bore * rho / m
		got := must(Tube(bore, length).MolarFlow(gas, p+units.Pressure(dp/2), p-units.Pressure(dp/2), room))
		if d := deviation(float64(got), want); math.Abs(d) > 0.006 { // the entrance loss takes 0.3 to 0.5 %
			t.Errorf("Re %g: off by %g", c.re, d)
		}
	}
}

// Knudsen's formula of 1909 lies 0 to 5.05 % above the law.
func TestLawAgainstKnudsen(t *testing.T) {
	const r, length = 2e-3, 400.0
	for delta := 1e-3; delta < 1e3; delta *= 1.3 {
		p := nitrogenAt(delta, r)
		got := must(Tube(2*r, length).Conductance(Nitrogen(), p, p, room))
		if d := deviation(must(KnudsenConductance(2*r, length, Nitrogen(), p, room)), got); d < -0.001 || d > 0.0505 {
			t.Errorf("δ = %g: Knudsen's formula off by %g", delta, d)
		}
	}
}

// The lumped law of a series against its segments solved one by one with the
// pressure between them.
func TestSeriesAgainstIntermediatePressure(t *testing.T) {
	gas := Nitrogen()
	chain := func(p Passage, up, down units.Pressure) float64 {
		low, high := down, up // pressure between, where the flows agree
		for range 80 {
			mid := (low + high) / 2
			if must(p[:1].MolarFlow(gas, up, mid, room)) > must(p[1:].MolarFlow(gas, mid, down, room)) {
				low = mid
			} else {
				high = mid
			}
		}
		return float64(must(p[:1].MolarFlow(gas, up, low, room)))
	}
	for _, c := range []struct {
		name     string
		p        Passage
		allowed  float64
		pressure []units.Pressure
	}{
		{"molecular", Passage{{Bore: 8e-3, Length: 1}, {Bore: 2e-3, Length: 0.01}}, 2e-3, []units.Pressure{1e-3}},
		{"viscous", Passage{{Bore: 1e-3, Length: 5}, {Bore: 0.7e-3, Length: 3}}, 0.03, []units.Pressure{3e3, 1e4}},
		{"hose and core, all pressures", Passage{{Bore: 6e-3, Length: 1.5}, {Bore: 2.2e-3, Length: 0.01}}, 0.13, []units.Pressure{1e-2, 1e-1, 1, 10, 100, 1e3, 1e4, 1e5}},
		{"two equal orifices", Passage{{Bore: 3e-3}, {Bore: 3e-3}}, 0.13, []units.Pressure{1e-2, 1, 100, 1e4, 1e5}},
	} {
		worst, at := 0.0, units.Pressure(0)
		for _, up := range c.pressure {
			for _, ratio := range []units.Pressure{0, 0.3, 0.7, 0.95} {
				d := deviation(float64(must(c.p.MolarFlow(gas, up, ratio*up, room))), chain(c.p, up, ratio*up))
				if math.Abs(d) > math.Abs(worst) {
					worst, at = d, up
				}
			}
		}
		t.Logf("%s: lumped against solved %+.1f %% at %g Pa", c.name, 100*worst, float64(at))
		if math.Abs(worst) > c.allowed {
			t.Errorf("%s: off by %g, stated %g", c.name, worst, c.allowed)
		}
	}
}
