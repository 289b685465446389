package stiff

import (
	"math"

	"example.com/drydown/units"
)

// finishDense forms the coefficients of the continuous solution of the step
// just tried, Hairer and Wanner, Solving ODEs II, section IV.7: between the
// states of both ends, with s the share of the step,
//
//	y = yOld (1-s) + s [yNew + (1-s) (second + s last)]
//
// It is of order 3 and meets both ends exactly. Second and last are sums of
// stage vectors, so that linear invariants hold inside the step too.
func (s *Solver) finishDense() {
	u0, u1, u2, u3, u4 := s.u[0], s.u[1], s.u[2], s.u[3], s.u[4]
	p, q := &s.method.dense[0], &s.method.dense[1]
	for i := range s.denseSecond {
		a, b, c, d, e := u0[i], u1[i], u2[i], u3[i], u4[i]
		s.denseSecond[i] = p[0]*a + p[1]*b + p[2]*c + p[3]*d + p[4]*e
		s.denseLast[i] = q[0]*a + q[1]*b + q[2]*c + q[3]*d + q[4]*e
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
	return s.yOld[i]*rest + share*(s.y[i]+rest*(s.denseSecond[i]+share*s.denseLast[i]))
}
