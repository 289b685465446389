package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// centralSlope is the derivative of a flow by one partial pressure from two
// central differences, extrapolated, and an estimate of its error.
func centralSlope(f func(p float64) float64, at, h float64) (d, err float64) {
	one := (f(at+h) - f(at-h)) / (2 * h)
	two := (f(at+h/2) - f(at-h/2)) / h
	d = two + (two-one)/3
	return d, math.Abs(two-one) + 1e-15*math.Abs(f(at))/h
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
