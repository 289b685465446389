package moisture

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// integrate follows a store in constant surroundings until the condition holds,
// by the linearly implicit Euler method with Richardson extrapolation and a
// difference Jacobian: small, stiff and accurate to about 1e-6, for tests only.
// The condition may shorten the last step: see bisect.
func integrate(t *testing.T, s Store, state []float64, at Surroundings, until func(elapsed float64, state []float64) bool) float64 {
	t.Helper()
	n := s.Len()
	scale := make([]float64, n)
	s.Scale(scale)
	elapsed, step := 0.0, 1e-6
	for range 200_000 {
		if until(elapsed, state) {
			return elapsed
		}
		once := implicitEuler(s, state, at, scale, step)
		twice := implicitEuler(s, implicitEuler(s, state, at, scale, step/2), at, scale, step/2)
		worst := 0.0
		for i := range n {
			worst = max(worst, math.Abs(twice[i]-once[i])/(1e-5*(math.Abs(state[i])+scale[i])))
			twice[i] += twice[i] - once[i]
		}
		if worst <= 1 {
			if until(elapsed+step, twice) && step > 1e-9*elapsed { // bisect onto the event
				step /= 2
				continue
			}
			elapsed += step
			copy(state, twice)
		}
		step *= min(2, max(0.2, 0.9/math.Sqrt(worst+1e-9)))
	}
	t.Fatal("did not end")
	return 0
}

// implicitEuler takes one step (I - h J) d = h f by Gaussian elimination.
func implicitEuler(s Store, state []float64, at Surroundings, scale []float64, h float64) []float64 {
	n := len(state)
	f, moved := make([]float64, n), make([]float64, n)
	s.Rates(f, state, at)
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = make([]float64, n+1)
		rows[i][i], rows[i][n] = 1, h*f[i]
	}
	for j := range n {
		x := append([]float64(nil), state...)
		d := 1e-7 * (math.Abs(x[j]) + scale[j])
		x[j] += d
		s.Rates(moved, x, at)
		for i := range n {
			rows[i][j] -= h * (moved[i] - f[i]) / d
		}
	}
	next := append([]float64(nil), state...)
	for i, d := range solve(rows) {
		next[i] += d
	}
	return next
}

// solve does Gaussian elimination with row pivoting on an augmented matrix.
func solve(rows [][]float64) []float64 {
	n := len(rows)
	for k := range n {
		for i := k + 1; i < n; i++ {
			if math.Abs(rows[i][k]) > math.Abs(rows[k][k]) {
				rows[i], rows[k] = rows[k], rows[i]
			}
		}
		for i := k + 1; i < n; i++ {
			factor := rows[i][k] / rows[k][k]
			for j := k; j <= n; j++ {
				rows[i][j] -= factor * rows[k][j]
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		x[i] = rows[i][n]
		for j := i + 1; j < n; j++ {
			x[i] -= rows[i][j] * x[j]
		}
		x[i] /= rows[i][i]
	}
	return x
}

// run starts a store and integrates it.
func run(t *testing.T, s Store, at Surroundings, until func(elapsed float64, state []float64) bool) (state []float64, elapsed float64) {
	t.Helper()
	require.NoError(t, s.Check())
	state = make([]float64, s.Len())
	s.Start(state, at)
	return state, integrate(t, s, state, at, until)
}
