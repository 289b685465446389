package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.com/drydown/vacuum/internal/stiff"
)

// After Restore the solution of a step's equations keeps every balance to its
// own round-off, also over steps so long that the bare solution does not, and is
// otherwise left as it was.
func TestRestoreKeepsBalances(t *testing.T) {
	worstBare := 0.0
	rapid.Check(t, func(t *rapid.T) {
		sim := jacobianRig(t)
		a, err := sim.assemble()
		if err != nil {
			t.Fatal(err)
		}
		y := drawState(t, sim, a)
		f, values, u := make([]float64, a.length), make([]float64, a.pattern.Len()), make([]float64, a.length)
		a.Rates(0, y, f)
		a.Jacobian(0, y, f, values)
		scale := math.Exp(rapid.Float64Range(0, 9).Draw(t, "step"))
		lu := stiff.Analyse(a.pattern)
		if _, ok := lu.Factor(values, 1/scale); !ok {
			return // no step of that size is taken
		}
		lu.Solve(f, u)
		bare, size := loss(a, scale, f, u)
		worstBare = math.Max(worstBare, bare/size)
		before := append([]float64(nil), u...)
		a.Restore(scale, f, u)
		if after, _ := loss(a, scale, f, u); after > 1e-14*size {
			t.Fatalf("balance off by %g of %g", after, size)
		}
		for i := range u {
			if math.Abs(u[i]-before[i]) > bare*(1+1e-9)+4e-16*math.Abs(u[i]) {
				t.Fatalf("state %d moves by %g, the loss is %g", i, u[i]-before[i], bare)
			}
		}
	})
	t.Logf("worst relative loss without: %.2g", worstBare)
}

// loss is the largest defect of c·u = scale·c·rhs over all balances, and the
// size of its largest term.
func loss(a *assembly, scale float64, rhs, u []float64) (worst, size float64) {
	sums := make([]float64, len(a.held))
	for i := range u {
		term := a.weight[i] * (scale*rhs[i] - u[i])
		sums[a.group[i]] += term
		size = math.Max(size, math.Abs(term))
		size = math.Max(size, math.Abs(a.weight[i]*u[i]))
	}
	for _, s := range sums {
		worst = math.Max(worst, math.Abs(s))
	}
	return worst, size
}
