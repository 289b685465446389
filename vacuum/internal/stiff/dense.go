package stiff

import (
	"math"

	"example.com/drydown/units"
)

// finishDense forms the coefficients of the continuous solution of the step
// just tried, published with the method: between the states of both ends, with
// s the share of the step,
//
//	y = yOld (1-s) + s [yNew + (1-s) (first + s (second + s third))]
//
// It is of order 4 and meets both ends exactly. First, second and third are sums
// of stage vectors, so that linear invariants hold inside the step too.
func (s *Solver) finishDense() {
	h := &s.method.dense
	for i := range s.denseFirst {
		var first, second, third float64
		for j := range s.u {
			u := s.u[j][i]
			first += h[0][j] * u
			second += h[1][j] * u
			third += h[2][j] * u
		}
		s.denseFirst[i], s.denseSecond[i], s.denseThird[i] = first, second, third
	}
}

// Interpolate writes the continuous solution at t, inside the last accepted
// step, to dst, one entry per variable. It answers a units.RangeError when t
// lies outside the step.
func (s *Solver) Interpolate(t float64, dst []float64) error {
	if err := units.CheckRange("stiff.Interpolate", "t", t, s.tOld, s.t, "s"); err != nil {
		return err
	}
	for i := range s.y {
		dst[i] = s.At(i, t)
	}
	return nil
}

// At is variable i of the continuous solution at t, for searching events; NaN
// when t lies outside the last accepted step.
func (s *Solver) At(i int, t float64) float64 {
	if !(t >= s.tOld && t <= s.t) {
		return math.NaN()
	}
	if t == s.t { // also before the first step
		return s.y[i]
	}
	share := (t - s.tOld) / (s.t - s.tOld)
	rest := 1 - share
	return s.yOld[i]*rest + share*(s.y[i]+rest*(s.denseFirst[i]+share*(s.denseSecond[i]+share*s.denseThird[i])))
}
