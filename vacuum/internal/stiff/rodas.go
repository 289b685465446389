package stiff

// Coefficients of RODAS, Hairer and Wanner, Solving ODEs II, section IV.7, in
// the transformed variables of equation (7.25): stage i solves
//
//	(I/(h gamma) - J) u[i] = f(t + node[i] h, y + sum a[i][j] u[j])
//	                         + sum c[i][j]/h u[j] + h slope[i] df/dt
//
// The fifth stage argument plus u[5] is the argument of the sixth, and that
// plus u[6] the new state; u[6] is the difference of the orders 4 and 3.
const (
	stages = 6
	gamma  = 0.25
)

// tableau holds the coefficients of the method; the zero value is of no use.
type tableau struct {
	a, c        [stages][stages - 1]float64
	node, slope [stages]float64
	dense       [2][stages - 1]float64
}

// newTableau returns the published coefficients.
func newTableau() tableau {
	return tableau{
		a: [stages][stages - 1]float64{
			{},
			{1.544},
			{0.9466785280815826, 0.2557011698983284},
			{3.314825187068521, 2.896124015972201, 0.9986419139977817},
			{1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950},
			{1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1},
		},
		c: [stages][stages - 1]float64{
			{},
			{-5.6688},
			{-2.430093356833875, -0.2063599157091915},
			{-0.1073529058151375, -9.594562251023355, -20.47028614809616},
			{7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160},
			{8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054},
		},
		node:  [stages]float64{0, 0.386, 0.21, 0.63, 1, 1},
		slope: [stages]float64{0.25, -0.1043, 0.1035, -0.0362, 0, 0},
		dense: [2][stages - 1]float64{
			{10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662},
			{-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872},
		},
	}
}

// trial tries one step of size h to time tNew from the state and Jacobian at
// hand. On success the new state is in s.yNew and its rates in s.fNew, and the
// error norm is finite. Otherwise the outcome names what failed, and where.
func (s *Solver) trial(h, tNew float64) outcome {
	s.stats.Factorisations++
	if variable, ok := s.lu.Factor(s.jacobian, 1/(h*gamma)); !ok {
		return outcome{reason: reasonPivot, variable: variable}
	}
	for i := range stages {
		if i == 0 {
			copy(s.rhs, s.f)
		} else {
			combine(s.argument, s.y, &s.u, &s.method.a[i], 1, i)
			if !finite(s.argument) {
				return s.notFinite(s.rhs, s.argument)
			}
			s.rates(s.t+s.method.node[i]*h, s.argument, s.rhs)
		}
		combine(s.rhs, s.rhs, &s.u, &s.method.c[i], 1/h, i)
		if s.driven {
			addScaled(s.rhs, h*s.method.slope[i], s.fTime)
		}
		s.lu.Solve(s.rhs, s.u[i])
		if s.restore != nil {
			s.restore.Restore(h*gamma, s.rhs, s.u[i])
		}
	}
	for i, u := range s.u[stages-1] {
		s.yNew[i] = s.argument[i] + u
	}
	if !finite(s.yNew) {
		return s.notFinite(s.rhs, s.yNew)
	}
	result := s.errorNorm(s.y, s.yNew, s.u[stages-1])
	if result.reason != reasonNone {
		return result
	}
	s.rates(tNew, s.yNew, s.fNew)
	if !finite(s.fNew) {
		return s.notFinite(s.fNew, s.fNew)
	}
	return result
}

// notFinite names the first variable whose rate is not finite, or else whose
// state is not.
func (s *Solver) notFinite(rates, state []float64) outcome {
	variable := firstNotFinite(rates)
	if variable < 0 {
		variable = firstNotFinite(state)
	}
	return outcome{reason: reasonNotFinite, variable: variable}
}

// combine sets dst = base + scale * sum of weights[j] u[j] over the first
// count vectors, in one pass. dst may be base.
func combine(dst, base []float64, u *[stages][]float64, weights *[stages - 1]float64, scale float64, count int) {
	n := len(base)
	dst = dst[:n]
	w0, w1, w2, w3, w4 := weights[0]*scale, weights[1]*scale, weights[2]*scale, weights[3]*scale, weights[4]*scale
	u0, u1, u2, u3, u4 := u[0][:n], u[1][:n], u[2][:n], u[3][:n], u[4][:n]
	switch count {
	case 0:
		copy(dst, base)
	case 1:
		for i, b := range base {
			dst[i] = b + w0*u0[i]
		}
	case 2:
		for i, b := range base {
			dst[i] = b + (w0*u0[i] + w1*u1[i])
		}
	case 3:
		for i, b := range base {
			dst[i] = b + (w0*u0[i] + w1*u1[i] + w2*u2[i])
		}
	case 4:
		for i, b := range base {
			dst[i] = b + (w0*u0[i] + w1*u1[i] + w2*u2[i] + w3*u3[i])
		}
	default:
		for i, b := range base {
			dst[i] = b + (w0*u0[i] + w1*u1[i] + w2*u2[i] + w3*u3[i] + w4*u4[i])
		}
	}
}

// addScaled adds factor*v to dst.
func addScaled(dst []float64, factor float64, v []float64) {
	for i, x := range v {
		dst[i] += factor * x
	}
}

// finite reports whether every entry is a number.
func finite(v []float64) bool {
	var sum float64
	for _, x := range v {
		sum += x - x // NaN from NaN and from infinities, else 0
	}
	return sum == 0
}

// firstNotFinite is the index of the first entry that is not a number, or -1.
func firstNotFinite(v []float64) int {
	for i := range v {
		if !finite(v[i : i+1]) {
			return i
		}
	}
	return -1
}
