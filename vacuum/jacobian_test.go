package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// centralSlope is the derivative of a flow by one partial pressure from two
// central differences, extrapolated, and an estimate of its error, infinite at a
// corner.
func centralSlope(f func(p float64) float64, at, h float64) (d, err float64) {
	one := (f(at+h) - f(at-h)) / (2 * h)
	two := (f(at+h/2) - f(at-h/2)) / h
	d = two + (two-one)/3
	here := f(at)
	if turn := (f(at+h) - 2*here + f(at-h)) / h; math.Abs(turn) > 1e-3*math.Abs(d) {
		return d, math.Inf(1)
	}
	return d, math.Abs(two-one) + 1e-15*math.Abs(here)/h
}

// The closed-form derivatives of the flow law against central differences of
// the law itself, at random states away from the corners of reversal, choking
// and turbulence.
func TestFlowSlopesAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPassage(t)
		gases, up, down := drawMixture(t)
		if rapid.Bool().Draw(t, "pure") {
			gases, up, down = gases[:1], partials{up[0] + 1}, partials{down[0]}
		}
		for i := range gases {
			up[i] += 1e-3
			down[i] += 1e-3
		}
		var l law
		var out, again partials
		var d flowSlopes
		l.prepare(p, newMixture(gases, room), room)
		l.linear = rapid.SampledFrom([]float64{0, 1e-6, 1e-2}).Draw(t, "linear")
		l.flowSlopes(&up, &down, &out, &d)
		l.flow(&up, &down, &again)
		size := 0.0
		for i := range gases {
			size = math.Max(size, math.Abs(out[i]))
		}
		if s1, s2 := sum(up), sum(down); math.Abs(s1-s2) < 1e-3*s1 {
			return // too close to reversal for differences
		}
		for i := range gases {
			if math.Abs(out[i]-again[i]) > 1e-12*size {
				t.Fatalf("flow %d: %g with slopes, %g without", i, out[i], again[i])
			}
			for j := range gases {
				for side, row := range []*[MaxSpecies]float64{&d.by1[i], &d.by2[i]} {
					at := up[j]
					if side == 1 {
						at = down[j]
					}
					flow := func(v float64) float64 {
						u, w, o := up, down, partials{}
						if side == 0 {
							u[j] = v
						} else {
							w[j] = v
						}
						l.flow(&u, &w, &o)
						return o[i]
					}
					want, err := centralSlope(flow, at, 1e-4*at)
					if math.Abs(row[j]-want) > 1e-6*math.Abs(want)+10*err+1e-9*size/at {
						t.Fatalf("species %d by side %d species %d: %.10g, differences %.10g ± %.2g", i, side+1, j, row[j], want, err)
					}
				}
			}
		}
	})
}

// jacobianRig is a circuit with every kind of part: passages inside and to the
// open air, a leak, a pump with its ballast open, a feed, and a puddle that feels
// the gas that passes.
func jacobianRig(t *rapid.T) *Simulation {
	air := Fill{Pressure: units.Atmosphere, Vapour: 1500}
	node := func(name string, v units.Volume) Node {
		return Node{Name: name, Volume: v, Temperature: room, Fill: air}
	}
	c := Circuit{
		Nodes: []Node{node("a", 2e-3), node("b", 3e-3), node("c", 1e-4), {Name: "out", Reservoir: true, Temperature: room, Fill: air}},
		Links: []Link{
			{Name: "ab", From: "a", To: "b", Passage: drawPassage(t)},
			{Name: "bc", From: "b", To: "c", Passage: drawPassage(t)},
			{Name: "vent", From: "a", To: "out", Passage: drawPassage(t)},
			{Name: "leak", From: "out", To: "b", Leak: Leak{Rate: 1e-3, Law: LeakLaw(rapid.IntRange(0, 2).Draw(t, "law"))}},
		},
		Pumps: []Pump{{Name: "pump", Node: "c", Displacement: 2e-3, BlankOff: 5, Ballast: true, VapourTolerance: 1500}},
		Feeds: []Feed{{Name: "feed", Node: "a", Flow: 1e-4}},
	}
	c.Nodes[1].Stores = []PlacedStore{{Name: "puddle", Store: moisture.Puddle{
		Mass: 5e-3, Area: 4e-3, HeatSupply: 0.8, Gap: rapid.SampledFrom([]units.Length{0, 2e-3}).Draw(t, "gap"), Film: 5e-3, Bore: 0.02,
	}}}
	sim, err := NewSimulation(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	return sim
}

// drawSystem is the rig in a random state, with its rates and its Jacobian there.
func drawSystem(t *rapid.T) (a *assembly, y, f, values []float64) {
	sim := jacobianRig(t)
	a, err := sim.assemble()
	if err != nil {
		t.Fatal(err)
	}
	y = drawState(t, sim, a)
	f, values = make([]float64, a.length), make([]float64, a.pattern.Len())
	a.Rates(0, y, f)
	a.Jacobian(0, y, f, values)
	return a, y, f, values
}

// drawState draws amounts of gas between 10 Pa and 1 bar, and a puddle between
// ice and warm water.
func drawState(t *rapid.T, s *Simulation, a *assembly) []float64 {
	y := make([]float64, a.length)
	s.gather(a, y)
	for i := range a.nodes {
		if n := &a.nodes[i]; n.state >= 0 && !n.oil {
			for k := n.state; k < n.state+a.ns; k++ {
				y[k] = math.Exp(rapid.Float64Range(math.Log(10), math.Log(1e5)).Draw(t, "pressure")) / n.perMole
			}
		}
	}
	st := &a.stores[0]
	y[st.state] = rapid.Float64Range(1e-5, 1e-2).Draw(t, "mass")
	y[st.state+1] = y[st.state] * rapid.Float64Range(-3.8e5, 1e5).Draw(t, "heat")
	return y
}

// The Jacobian of a whole system against central differences of its rates,
// column by column, wherever those settle; and every column keeps the balances.
func TestJacobianAgainstDifferences(t *testing.T) {
	compared, skipped := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		a, y, f, values := drawSystem(t)
		base := make([]float64, a.length)
		for i, v := range f {
			base[i] = math.Abs(v)
		}
		for j := range a.length {
			kept := make([]float64, len(a.held))
			size := 0.0
			for i := range a.length {
				entry := 0.0
				if k := a.pattern.Index(i, j); k >= 0 {
					entry = values[k]
				}
				kept[a.group[i]] += a.weight[i] * entry
				size = math.Max(size, math.Abs(a.weight[i]*entry))
				rate := func(v float64) float64 {
					x := append([]float64(nil), y...)
					x[j] = v
					a.Rates(0, x, f)
					return f[i]
				}
				want, off := centralSlope(rate, y[j], 1e-5*math.Abs(y[j]))
				if off > 1e-3*math.Abs(want)+1e-12*size {
					skipped++ // a corner or round-off
					continue
				}
				compared++
				// An entry that moves its rate by less than 1e-5 when
				// the state doubles is no matter.
				if math.Abs(entry-want) > 2e-3*math.Abs(want)+1e-9*size+1e-5*base[i]/math.Abs(y[j]) {
					t.Fatalf("d(rate %d)/d(state %d) = %g, differences %g ± %.2g", i, j, entry, want, off)
				}
			}
			for g, sum := range kept {
				if math.Abs(sum) > 1e-12*size {
					t.Fatalf("column %d does not keep balance %d: %g of %g", j, g, sum, size)
				}
			}
		}
	})
	t.Logf("%d entries compared, %d skipped", compared, skipped)
	if compared < 5*skipped {
		t.Errorf("%d entries compared, %d skipped", compared, skipped)
	}
}
