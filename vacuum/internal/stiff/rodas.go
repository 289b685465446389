package stiff

// Coefficients of RODAS5P, G. Steinebach, Construction of Rosenbrock-Wanner
// method Rodas5P and numerical benchmarks within the Julia Differential Equations
// package, BIT Numer. Math. 63 (2023) 27, in the transformed variables of Hairer
// and Wanner, Solving ODEs II, equation (IV.7.25): stage i solves
//
//	(I/(h gamma) - J) u[i] = f(t + node[i] h, y + sum a[i][j] u[j])
//	                         + sum c[i][j]/h u[j] + h slope[i] df/dt
//
// From the sixth stage on, its argument plus its u is the argument of the next,
// and behind the last the new state; the last u is the difference of the orders
// 5 and 4.
const (
	stages = 8
	gamma  = 0.21193756319429014
)

// summing is the index of the stage from which on arguments grow by u alone.
const summing = 5

// tableau holds the coefficients of the method; the zero value is of no use.
type tableau struct {
	a, c        [][]float64 // by stage; a to the stage summing
	node, slope [stages]float64
	dense       [3][stages]float64
}

// newTableau returns the published coefficients.
func newTableau() tableau {
	return tableau{
		a: [][]float64{
			{},
			{3.0},
			{2.849394379747939, 0.45842242204463923},
			{-6.954028509809101, 2.489845061869568, -10.358996098473584},
			{2.8029986275628964, 0.5072464736228206, -0.3988312541770524, -0.04721187230404641},
			{-7.502846399306121, 2.561846144803919, -11.627539656261098, -0.18268767659942256, 0.030198172008377946},
		},
		c: [][]float64{
			{},
			{-14.155112264123755},
			{-17.97296035885952, -2.859693295451294},
			{147.12150275711716, -1.41221402718213, 71.68940251302358},
			{165.43517024871676, -0.4592823456491126, 42.90938336958603, -5.961986721573306},
			{24.854864614690072, -3.0009227002832186, 47.4931110020768, 5.5814197821558125, -0.6610691825249471},
			{30.91273214028599, -3.1208243349937974, 77.79954646070892, 34.28646028294783, -19.097331116725623, -28.087943162872662},
			{37.80277123390563, -3.2571969029072276, 112.26918849496327, 66.9347231244047, -40.06618937091002, -54.66780262877968, -9.48861652309627},
		},
		node:  [stages]float64{0, 0.6358126895828704, 0.4095798393397535, 0.9769306725060716, 0.4288403609558664, 1, 1, 1},
		slope: [stages]float64{0.21193756319429014, -0.42387512638858027, -0.3384627126235924, 1.8046452872882734, 2.325825639765069},
		dense: [3][stages]float64{
			{25.948786856663858, -2.5579724845846235, 10.433815404888879, -2.3679251022685204, 0.524948541321073, 1.1241088310450404, 0.4272876194431874, -0.17202221070155493},
			{-9.91568850695171, -0.9689944594115154, 3.0438037242978453, -24.495224566215796, 20.176138334709044, 15.98066361424651, -6.789040303419874, -6.710236069923372},
			{11.419903575922262, 2.8879645146136994, 72.92137995996029, 80.12511834622643, -52.072871366152654, -59.78993625266729, -0.15582684282751913, 4.883087185713722},
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
			s.advance(i)
			if !finite(s.argument) {
				return s.notFinite(s.rhs, s.argument)
			}
			s.rates(s.t+s.method.node[i]*h, s.argument, s.rhs)
		}
		combine(s.rhs, s.rhs, s.u[:], s.method.c[i], 1/h)
		if s.driven {
			addScaled(s.rhs, h*s.method.slope[i], s.fTime)
		}
		s.lu.Solve(s.rhs, s.u[i])
	}
	for i, u := range s.u[stages-1] {
		s.yNew[i] = s.argument[i] + u
	}
	if !finite(s.yNew) {
		return s.notFinite(s.rhs, s.yNew)
	}
	if s.restore != nil {
		s.restore.Restore(s.y, s.yNew)
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

// advance sets the argument of stage i, 1 or more.
func (s *Solver) advance(i int) {
	if i <= summing {
		combine(s.argument, s.y, s.u[:], s.method.a[i], 1)
		return
	}
	addScaled(s.argument, 1, s.u[i-1])
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

// combine sets dst = base + scale * sum of weights[j] u[j], two vectors at a
// time. dst may be base.
func combine(dst, base []float64, u [][]float64, weights []float64, scale float64) {
	n := len(base)
	dst = dst[:n]
	copy(dst, base)
	if len(weights)%2 == 1 {
		addScaled(dst, weights[0]*scale, u[0])
	}
	for j := len(weights) % 2; j < len(weights); j += 2 {
		w0, w1 := weights[j]*scale, weights[j+1]*scale
		u0, u1 := u[j][:n], u[j+1][:n]
		for i := range dst {
			dst[i] += w0*u0[i] + w1*u1[i]
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
