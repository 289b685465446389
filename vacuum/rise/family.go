package rise

import "math"

// family is a model with time constants: its columns depend on one or two
// parameters θ (logarithms of time constants; for the power law the logarithm
// of t0 and the exponent), everything else is linear.
type family struct {
	model  Model
	params int
	lo, hi [2]float64
}

// slowest is the longest time constant that is told from a leak, as a multiple
// of the record. A slower source counts as a leak, since no record of this
// length could show the difference.
const slowest = 5

func (s *system) shortestTau() float64 { return s.step / 8 }

func (s *system) vapourFamily() family {
	lo, hi := math.Log(s.shortestTau()), math.Log(slowest*s.dur)
	return family{model: Vapour, params: 1, lo: [2]float64{lo}, hi: [2]float64{hi}}
}

func (s *system) twoVapoursFamily() family {
	f := s.vapourFamily()
	f.model, f.params = TwoVapours, 2
	f.lo[1], f.hi[1] = f.lo[0], f.hi[0]
	return f
}

func (s *system) powerFamily() family {
	return family{
		model: PowerLaw, params: 2,
		lo: [2]float64{math.Log(s.step / 2), 0.4},
		hi: [2]float64{math.Log(s.dur / 2), 2},
	}
}

// familyOf is the family of a model with time constants.
func (s *system) familyOf(m Model) family {
	switch m {
	case TwoVapours:
		return s.twoVapoursFamily()
	case PowerLaw:
		return s.powerFamily()
	}
	return s.vapourFamily()
}

// terms is the number of linear terms beside start and leak.
func (f *family) terms() int {
	if f.model == TwoVapours {
		return 2
	}
	return 1
}

// column writes the k-th basis column at θ.
func (s *system) column(f *family, dst []float64, theta [2]float64, k int) {
	if f.model == PowerLaw {
		powerColumn(dst, s.t, math.Exp(theta[0]), theta[1])
		return
	}
	s.vapourColumn(dst, math.Exp(theta[k]))
}

// derivative writes amplitude × ∂column/∂θ_j, given the column itself; a
// vapour's column depends on its own θ only.
func (s *system) derivative(f *family, dst, col []float64, theta [2]float64, j int, amplitude float64) {
	if f.model == PowerLaw {
		powerDerivative(dst, col, s.t, math.Exp(theta[0]), theta[1], j, amplitude)
		return
	}
	scale := amplitude / math.Exp(theta[j])
	for i, ti := range s.t {
		dst[i] = -ti * scale * (1 - col[i])
	}
}

// vapourColumn is 1 - exp(-t/τ); with equal steps the exponentials are powers
// of one, whose rounding stays below n/2 units in the last place.
func (s *system) vapourColumn(dst []float64, tau float64) {
	if !s.uniform {
		vapourColumn(dst, s.t, tau)
		return
	}
	q, e := math.Exp(-s.step/tau), 1.0
	for i := range dst {
		dst[i] = 1 - e
		e *= q
	}
}

func vapourColumn(dst, t []float64, tau float64) {
	for i, ti := range t {
		dst[i] = 1 - math.Exp(-ti/tau)
	}
}

// powerColumn is the integral of (1 + t/t0)^-n over t/t0.
func powerColumn(dst, t []float64, t0, n float64) {
	m := 1 - n
	if math.Abs(m) < 1e-6 {
		for i, ti := range t {
			dst[i] = math.Log1p(ti / t0)
		}
		return
	}
	switch m {
	case 0.5:
		for i, ti := range t {
			dst[i] = 2 * (math.Sqrt(1+ti/t0) - 1)
		}
	case -0.5:
		for i, ti := range t {
			dst[i] = 2 * (1 - 1/math.Sqrt(1+ti/t0))
		}
	default:
		for i, ti := range t {
			dst[i] = (math.Exp(m*math.Log1p(ti/t0)) - 1) / m
		}
	}
}

// powerDerivative is amplitude times the derivative of powerColumn by ln t0
// (j = 0) or by n (j = 1), given the column.
func powerDerivative(dst, col, t []float64, t0, n float64, j int, amplitude float64) {
	m := 1 - n
	for i, ti := range t {
		if j == 0 {
			dst[i] = -amplitude * (1 + m*col[i]) * ti / (ti + t0)
			continue
		}
		u := math.Log1p(ti / t0)
		if math.Abs(m*u) < 1e-4 {
			dst[i] = -amplitude * u * u * (0.5 + m*u/3) // series of the line below
			continue
		}
		dst[i] = -amplitude * (u*(1+m*col[i]) - col[i]) / m
	}
}

// point is a family at one θ, fitted.
type point struct {
	model Model
	theta [2]float64
	sol   solution // start, leak, terms
	full  solution // with one column per θ, whose covariance holds their error
	width [2]float64
	raw   [][]float64 // columns of a mixture
}

// term is the k-th amplitude.
func (p *point) term(k int) float64 { return p.sol.beta[2+k] }

// workspace is the memory of refine, so that its steps allocate nothing.
type workspace struct {
	raw       [2][]float64 // columns of the present point
	rawNext   [2][]float64
	cols      [2]wcol
	colsNext  [2]wcol
	derived   [2]wcol
	rawDerive []float64
}

func newWorkspace(n int) *workspace {
	w := &workspace{rawDerive: make([]float64, n)}
	for k := range 2 {
		w.raw[k], w.rawNext[k] = make([]float64, n), make([]float64, n)
		w.cols[k].w, w.colsNext[k].w, w.derived[k].w = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	return w
}

// evaluate fits a family at θ, leaving its columns in the workspace's next.
func (s *system) evaluate(f *family, theta [2]float64) (p point, ok bool) {
	w := s.work
	p.model, p.theta = f.model, theta
	var refs [2]*wcol
	for k := range f.terms() {
		s.column(f, w.rawNext[k], theta, k)
		s.fill(&w.colsNext[k], w.rawNext[k])
		refs[k] = &w.colsNext[k]
	}
	p.sol, ok = s.solve(refs[:f.terms()]...)
	return p, ok
}

// accept makes the next columns the present ones.
func (w *workspace) accept() {
	w.raw, w.rawNext = w.rawNext, w.raw
	w.cols, w.colsNext = w.colsNext, w.cols
}

// refine improves θ by Gauss-Newton steps on the separable problem: the
// coefficient of a derivative column is the step of its θ.
func (s *system) refine(f *family, theta [2]float64, steps int) (best point, ok bool) {
	best, ok = s.evaluate(f, theta)
	if !ok {
		return best, false
	}
	s.work.accept()
	for range steps {
		full, good := s.jacobian(f, &best)
		if !good {
			return best, true
		}
		s.keep(f, &best, full)
		next, moved := s.lineSearch(f, &best)
		if !moved {
			return best, true
		}
		gain := best.sol.chi2 - next.sol.chi2
		best = next
		s.work.accept()
		if gain < 1e-3*best.sol.chi2/float64(len(s.t)) {
			break
		}
	}
	if full, good := s.jacobian(f, &best); good {
		s.keep(f, &best, full)
	}
	return best, true
}

// keep stores the solution with derivatives and the widths of θ from it.
func (s *system) keep(f *family, p *point, full solution) {
	p.full = full
	for j := range f.params {
		p.width[j] = math.Sqrt(full.cov[2+f.terms()+j][2+f.terms()+j])
	}
}

// jacobian solves with the derivative columns added.
func (s *system) jacobian(f *family, p *point) (solution, bool) {
	var refs [4]*wcol
	n := f.terms()
	for k := range n {
		refs[k] = &s.work.cols[k]
	}
	for j := range f.params {
		k := min(j, n-1)
		s.derivative(f, s.work.rawDerive, s.work.raw[k], p.theta, j, p.term(k))
		s.fill(&s.work.derived[j], s.work.rawDerive)
		refs[n+j] = &s.work.derived[j]
	}
	return s.solve(refs[:n+f.params]...)
}

// lineSearch takes the Gauss-Newton step, shortened until χ² falls.
func (s *system) lineSearch(f *family, from *point) (next point, moved bool) {
	share := 1.0
	for range 3 {
		theta := from.theta
		for j := range f.params {
			step := from.full.beta[2+f.terms()+j] * share
			theta[j] = min(max(theta[j]+min(max(step, -1), 1), f.lo[j]), f.hi[j])
		}
		if theta == from.theta {
			return next, false
		}
		next, ok := s.evaluate(f, theta)
		if ok && next.sol.chi2 < from.sol.chi2 {
			return next, true
		}
		share /= 5
	}
	return next, false
}
