package rise

import (
	"math"
	"math/rand/v2"
)

// lagSource draws lag-1 noise of unit variance.
type lagSource struct{ r *rand.Rand }

func newLagSource(seed uint64) lagSource { return lagSource{rand.New(rand.NewPCG(seed, 1))} }

func (l lagSource) draw(rows int, phi float64) []float64 {
	out := make([]float64, rows)
	e := l.r.NormFloat64()
	for i := range out {
		out[i] = e
		e = phi*e + math.Sqrt(1-phi*phi)*l.r.NormFloat64()
	}
	return out
}
