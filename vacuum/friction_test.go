package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The flow that the law answers takes the pressure difference that there is,
// with every segment's friction worked out by itself: Blasius's law and its bend
// into the laminar one. Flows with some segments laminar, some between and some
// turbulent are among those drawn.
func TestTurbulentFlowTakesThePressureThereIs(t *testing.T) {
	kinds := map[int]int{}
	rapid.Check(t, func(t *rapid.T) {
		p := drawPassage(t)
		var l law
		l.prepare(p, newMixture([]Gas{Air()}, room), room)
		p1 := math.Exp(rapid.Float64Range(math.Log(1e3), math.Log(1e6)).Draw(t, "up"))
		p2 := p1 * rapid.Float64Range(0, 0.999).Draw(t, "down share")
		n := l.single(p1, p2)
		m, drop, kind := n*l.last.perMole, n*n*l.last.h, 0
		for i, s := range l.segments {
			re := m * s.reynolds
			e, slope := excessFriction(re)
			drop += n * l.resist[i] * (1 + s.tube*e)
			if s.tube > 0 && re > reynoldsLaminar {
				kind |= 1
			}
			if s.tube > 0 && re > reynoldsTurbulent {
				kind |= 2
			}
			root := math.Sqrt(m)
			got, byLog := s.excess(m, root*math.Sqrt(root))
			if math.Abs(got-s.tube*e) > 1e-13*(1+e) || math.Abs(byLog-s.tube*re*slope) > 1e-12*(1+e) {
				t.Fatalf("Re %g: excess friction %g with slope %g, by itself %g and %g", re, got, byLog, s.tube*e, s.tube*re*slope)
			}
		}
		kinds[kind]++
		if math.Abs(drop-(p1-p2)) > 1e-13*p1 {
			t.Fatalf("the flow takes %.17g Pa of %.17g", drop, p1-p2)
		}
	})
	t.Logf("laminar %d, at most between %d, turbulent %d", kinds[0], kinds[1], kinds[3])
	if kinds[0] == 0 || kinds[3] == 0 {
		t.Error("a kind of flow is missing")
	}
}

// What a law remembers of its last point changes nothing: slopes after any other
// evaluation, and after a change of temperature, are those of a new law to the
// last bit.
func TestLawIsFreeOfItsPast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPassage(t)
		gases, up, down := drawMixture(t)
		if rapid.Bool().Draw(t, "pure") {
			gases, up, down = gases[:1], partials{up[0] + 1}, partials{down[0]}
		}
		slopes := func(l *law) (d flowSlopes) {
			var out partials
			l.flowSlopes(&up, &down, &out, &d)
			return d
		}
		var l, fresh, warm law
		var out partials
		for _, each := range []*law{&l, &fresh, &warm} {
			each.prepare(p, newMixture(gases, room), room)
		}
		want := slopes(&fresh)
		l.flow(&up, &down, &out)
		if slopes(&l) != want {
			t.Fatal("slopes after the flow at the same point differ")
		}
		swapped := partials{down[0], up[1], down[2], up[3]}
		l.flow(&swapped, &down, &out)
		if slopes(&l) != want {
			t.Fatal("slopes after the flow at another point differ")
		}
		l.own()
		l.setTemperature(room + 20)
		warm.prepare(p, newMixture(gases, room+20), room+20)
		if slopes(&l) != slopes(&warm) {
			t.Fatal("slopes after a change of temperature differ")
		}
	})
}
