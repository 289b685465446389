package vacuum

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.com/drydown/vacuum/internal/stiff"
)

// After Restore a step keeps every balance to the round-off of what the circuit
// holds, also one so long that the bare solution of its equations does not, and
// is otherwise left as it was.
func TestRestoreKeepsBalances(t *testing.T) {
	worstBare := 0.0
	rapid.Check(t, func(t *rapid.T) {
		a, y, f, values := drawSystem(t)
		after := make([]float64, a.length)
		scale := math.Exp(rapid.Float64Range(0, 9).Draw(t, "step"))
		lu := stiff.Analyse(a.pattern)
		if _, ok := lu.Factor(values, 1/scale); !ok {
			return // no step of that size is taken
		}
		lu.Solve(f, after)
		for i, v := range y {
			after[i] += v
		}
		bare, size := loss(a, y, after)
		worstBare = math.Max(worstBare, bare/size)
		solved := append([]float64(nil), after...)
		a.Restore(y, after)
		if off, _ := loss(a, y, after); off > 1e-14*size {
			t.Fatalf("balance off by %g of %g", off, size)
		}
		for i := range after {
			if math.Abs(after[i]-solved[i]) > bare*(1+1e-9)+4e-16*math.Abs(after[i]) {
				t.Fatalf("state %d moves by %g, the loss is %g", i, after[i]-solved[i], bare)
			}
		}
	})
	t.Logf("worst relative loss without: %.2g", worstBare)
}

// loss is the largest change of a balance, and the size of its largest term.
func loss(a *assembly, before, after []float64) (worst, size float64) {
	sums := make([]float64, len(a.held))
	for i := range after {
		sums[a.group[i]] += a.weight[i] * (before[i] - after[i])
		size = math.Max(size, math.Abs(a.weight[i])*math.Max(math.Abs(before[i]), math.Abs(after[i])))
	}
	for _, s := range sums {
		worst = math.Max(worst, math.Abs(s))
	}
	return worst, size
}
