package rise

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// gramOf is the matrix of inner products of random columns, scaled to unit
// length, and their products with a random y.
func gramOf(t *rapid.T) (gram [][]float64, b []float64) {
	n := rapid.IntRange(1, 9).Draw(t, "atoms")
	const rows = 12
	value := rapid.Float64Range(-1, 1)
	cols := make([][]float64, n+1)
	for i := range cols {
		cols[i] = make([]float64, rows)
		for k := range cols[i] {
			cols[i][k] = value.Draw(t, "value") + 0.5
		}
		if length := math.Sqrt(dot(cols[i], cols[i])); i < n && length > 0 {
			for k := range cols[i] {
				cols[i][k] /= length
			}
		}
	}
	gram, b = square(n), make([]float64, n)
	for i := range n {
		for j := range n {
			gram[i][j] = dot(cols[i], cols[j])
		}
		b[i] = dot(cols[i], cols[n])
	}
	return gram, b
}

// The Karush-Kuhn-Tucker conditions prove a minimum of a convex problem: nothing
// is negative, no atom outside the fit would improve it, and those inside cannot
// be changed for the better.
func TestNonNegativeIsTheMinimum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gram, b := gramOf(t)
		x, used, gain := nonNegative(gram, b, nil)
		require.LessOrEqual(t, len(used), len(b))
		value := 0.0
		for i := range b {
			require.GreaterOrEqual(t, x[i], 0.0)
			g := b[i]
			for k := range x {
				g -= gram[i][k] * x[k]
			}
			require.LessOrEqual(t, g, 2*leastGradient)
			if x[i] > 0 {
				require.InDelta(t, 0, g, 1e-6)
			}
			value += x[i] * (b[i] + g)
		}
		require.InDelta(t, value, gain, 1e-6) // 2bᵀx - xᵀGx
		again, _, same := nonNegative(gram, b, used)
		require.InDelta(t, gain, same, 1e-6)
		require.Len(t, again, len(x))
	})
}

// noisyRise is a record of 300 rows fitted with the given source, Pa at a share of
// the record, a leak of 20 Pa over it and white noise of 0.1 Pa.
func noisyRise(seed uint64, source func(x float64) float64) *fits {
	const rows, sd = 300, 0.1
	t, y, leak := make([]float64, rows), newLagSource(seed).draw(rows, 0), make([]float64, rows)
	for i := range t {
		x := float64(i) / (rows - 1)
		t[i], y[i], leak[i] = 600*x, 20*x+source(x)+sd*y[i], x
	}
	s := newSystem(t, y, leak)
	for i := range s.sigma {
		s.sigma[i] = sd
	}
	return fitAll(s, newGrids(s))
}

// Without a source the upper edge is that of a straight line: the standard error
// of a slope over n rows is σ √(12 (n-1)/(n (n+1))) over the record. It varies
// with what sources the noise suggests. A slow source makes far smaller leaks
// compatible.
func TestSpectrumOfAStraightLine(t *testing.T) {
	const n, z = 300.0, 1.645
	se := 0.1 * math.Sqrt(12*(n-1)/(n*(n+1)))
	var above []float64
	for seed := range uint64(30) {
		f := noisyRise(seed, func(float64) float64 { return 0 })
		above = append(above, (f.spectrum.edge(z, 1)-f.steady.beta[1])/se)
		require.Less(t, f.spectrum.edge(z, -1), 20-3*se)
	}
	require.InDelta(t, z, median(above), 0.5)
	require.Less(t, slices.Max(above), z+1)
}

// Sources that none of the fitted laws describes: the true leak stays between
// the edges at three standard errors, and they are no wider than the sources ask
// for.
func TestSpectrumHoldsTheLeak(t *testing.T) {
	for name, source := range map[string]func(x float64) float64{
		"stretched":   func(x float64) float64 { return -40 * math.Expm1(-math.Pow(x/0.1, 0.6)) },
		"square root": func(x float64) float64 { return 40 * math.Min(math.Sqrt(x/0.4), 1) },
		"three": func(x float64) float64 {
			return -10 * (math.Expm1(-x/0.02) + math.Expm1(-x/0.1) + math.Expm1(-x/0.5))
		},
		"stopped": func(x float64) float64 { return 40 * math.Min(x/0.33, 1) },
	} {
		for seed := range uint64(10) {
			f := noisyRise(seed, source)
			lo, hi := f.spectrum.edge(3, -1), f.spectrum.edge(3, 1)
			require.LessOrEqual(t, lo, 20.0, name)
			require.GreaterOrEqual(t, hi, 20.0, name)
			require.Less(t, hi, 26.0, name)
		}
	}
}
