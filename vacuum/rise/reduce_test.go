package rise

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestReductionLosesUnderOnePercent compares the Fisher information on the leak
// in a whole record of 20,000 rows with that in its blocks, for sources that
// last ten blocks and longer; white noise, a block's variance is that of its
// rows divided by their number.
func TestReductionLosesUnderOnePercent(t *testing.T) {
	const rows = 20_000
	whole := &record{}
	for i := range rows {
		whole.t = append(whole.t, float64(i)*0.1)
		whole.p = append(whole.p, 100)
	}
	part := &record{t: append([]float64(nil), whole.t...), p: append([]float64(nil), whole.p...), row: make([]int, rows)}
	part.reduce()
	require.Equal(t, blocks, len(part.t))
	for _, share := range []float64{0.005, 0.02, 0.1, 0.5, 2} { // of the record; ten blocks are 0.005
		tau := share * whole.duration()
		full := leakVariance(t, whole.t, 1, tau)
		reduced := leakVariance(t, part.t, math.Sqrt(float64(blocks)/rows), tau)
		require.InEpsilon(t, full, reduced, 0.01, "τ = %g of the record", share)
	}
}

// leakVariance is the variance of the leak beside one source with unknown
// amplitude and time constant.
func leakVariance(t *testing.T, times []float64, sigma, tau float64) float64 {
	t.Helper()
	dur := times[len(times)-1]
	leak := make([]float64, len(times))
	for i, x := range times {
		leak[i] = x / dur
	}
	s := newSystem(times, make([]float64, len(times)), leak)
	for i := range s.sigma {
		s.sigma[i] = sigma
	}
	s.whiten()
	fam := s.vapourFamily()
	col, derived := make([]float64, len(times)), make([]float64, len(times))
	theta := [2]float64{math.Log(tau)}
	s.column(&fam, col, theta, 0)
	s.derivative(&fam, derived, col, theta, 0, 1)
	a, b := s.newCol(col), s.newCol(derived)
	sol, ok := s.solve(&a, &b)
	require.True(t, ok)
	return sol.cov[1][1]
}

// The analytic derivatives are those of the columns, by central differences.
func TestDerivatives(t *testing.T) {
	times := make([]float64, 50)
	for i := range times {
		times[i] = float64(i) * 7
	}
	s := newSystem(times, times, times)
	for _, fam := range []family{s.vapourFamily(), s.powerFamily()} {
		for _, theta := range [][2]float64{{2, 1}, {4, 0.7}, {5, 1.6}} {
			for j := range fam.params {
				const h = 1e-5
				up, down := theta, theta
				up[j] += h
				down[j] -= h
				col, hi, lo, got := make([]float64, 50), make([]float64, 50), make([]float64, 50), make([]float64, 50)
				s.column(&fam, col, theta, 0)
				s.column(&fam, hi, up, 0)
				s.column(&fam, lo, down, 0)
				s.derivative(&fam, got, col, theta, j, 3)
				for i := range got {
					require.InDelta(t, 3*(hi[i]-lo[i])/(2*h), got[i], 1e-4, "%v θ %v, parameter %d, row %d", fam.model, theta, j, i)
				}
			}
		}
	}
}

// The correction of the lag-1 correlation for fitted parameters: 400 records of
// 100 rows with φ = 0.5 and a fitted line have the right correlation on average.
func TestCorrelationBias(t *testing.T) {
	sum := 0.0
	const records, rows, phi = 400, 100, 0.5
	r := newLagSource(9)
	for range records {
		y := r.draw(rows, phi)
		times := make([]float64, rows)
		for i := range times {
			times[i] = float64(i)
		}
		s := newSystem(times, y, times)
		for i := range s.sigma {
			s.sigma[i] = 1
		}
		s.whiten()
		sol, ok := s.solve()
		require.True(t, ok)
		p := point{model: Steady, sol: sol}
		sum += s.correlation(s.residuals(&p), 2) / records
	}
	require.InDelta(t, phi, sum, 0.015) // three standard errors of the mean
}
