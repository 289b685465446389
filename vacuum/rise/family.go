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

func (s *system) shortestTau() float64 { return max(2*s.step, s.dur/400) }

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

// column writes the k-th basis column at θ; each reaches its final size as the
// source fades.
func (f *family) column(dst, t []float64, theta [2]float64, k int) {
	if f.model == PowerLaw {
		powerColumn(dst, t, math.Exp(theta[0]), theta[1])
		return
	}
	vapourColumn(dst, t, math.Exp(theta[k]))
}

// derivative writes ∂column/∂θ_j; a vapour's column depends on its own θ only.
func (f *family) derivative(dst, t []float64, theta [2]float64, j int) {
	if f.model != PowerLaw {
		tau := math.Exp(theta[j])
		for i, ti := range t {
			dst[i] = -ti / tau * math.Exp(-ti/tau)
		}
		return
	}
	const h = 1e-4 // of ln t0 and of n: difference error about h²
	up, down := theta, theta
	up[j] += h
	down[j] -= h
	other := make([]float64, len(t))
	powerColumn(dst, t, math.Exp(up[0]), up[1])
	powerColumn(other, t, math.Exp(down[0]), down[1])
	for i := range dst {
		dst[i] = (dst[i] - other[i]) / (2 * h)
	}
}

// vapourColumn is 1 - exp(-t/τ).
func vapourColumn(dst, t []float64, tau float64) {
	for i, ti := range t {
		dst[i] = 1 - math.Exp(-ti/tau)
	}
}

// powerColumn is the integral of (1 + t/t0)^-n over t/t0.
func powerColumn(dst, t []float64, t0, n float64) {
	if math.Abs(n-1) < 1e-9 {
		for i, ti := range t {
			dst[i] = math.Log1p(ti / t0)
		}
		return
	}
	for i, ti := range t {
		dst[i] = math.Expm1((1-n)*math.Log1p(ti/t0)) / (1 - n)
	}
}

// point is a family at one θ, fitted.
type point struct {
	model Model
	theta [2]float64
	sol   solution // start, leak, terms
	full  solution // with one column per θ, whose covariance holds their error
	width [2]float64
}

// sd is the standard error of the leak with the time constants free.
func (p *point) leakVariance() float64 {
	if p.full.k > 0 {
		return p.full.cov[1][1]
	}
	return p.sol.cov[1][1]
}

// term is the k-th amplitude.
func (p *point) term(k int) float64 { return p.sol.beta[2+k] }

// evaluate fits a family at θ.
func (s *system) evaluate(f *family, theta [2]float64, raw []float64) (p point, cols [2]wcol, ok bool) {
	p.model, p.theta = f.model, theta
	refs := make([]*wcol, f.terms())
	for k := range refs {
		f.column(raw, s.t, theta, k)
		cols[k] = s.newCol(raw)
		refs[k] = &cols[k]
	}
	p.sol, ok = s.solve(refs...)
	return p, cols, ok
}

// refine improves θ by Gauss-Newton steps on the separable problem: the
// coefficient of a derivative column is the step of its θ.
func (s *system) refine(f *family, theta [2]float64, steps int) (best point, ok bool) {
	raw := make([]float64, len(s.t))
	best, cols, ok := s.evaluate(f, theta, raw)
	if !ok {
		return best, false
	}
	for range steps {
		full, good := s.jacobian(f, &best, &cols, raw)
		if !good {
			break
		}
		best.full = full
		next, nextCols, moved := s.lineSearch(f, &best, full, raw)
		if !moved {
			break
		}
		gain := best.sol.chi2 - next.sol.chi2
		best, cols = next, nextCols
		if gain < 1e-3*best.sol.chi2/float64(len(s.t)) {
			break
		}
	}
	if full, good := s.jacobian(f, &best, &cols, raw); good {
		best.full = full
		for j := range f.params {
			best.width[j] = math.Sqrt(full.cov[2+f.terms()+j][2+f.terms()+j])
		}
	}
	return best, true
}

// jacobian solves with the derivative columns added.
func (s *system) jacobian(f *family, p *point, cols *[2]wcol, raw []float64) (solution, bool) {
	refs := make([]*wcol, 0, 4)
	for k := range f.terms() {
		refs = append(refs, &cols[k])
	}
	for j := range f.params {
		f.derivative(raw, s.t, p.theta, j)
		amplitude := p.term(min(j, f.terms()-1))
		for i := range raw {
			raw[i] *= amplitude
		}
		c := s.newCol(raw)
		refs = append(refs, &c)
	}
	return s.solve(refs...)
}

// lineSearch takes the Gauss-Newton step, shortened until χ² falls.
func (s *system) lineSearch(f *family, from *point, full solution, raw []float64) (next point, cols [2]wcol, moved bool) {
	share := 1.0
	for range 4 {
		theta := from.theta
		for j := range f.params {
			step := full.beta[2+f.terms()+j] * share
			theta[j] = min(max(theta[j]+min(max(step, -1), 1), f.lo[j]), f.hi[j])
		}
		if theta == from.theta {
			return next, cols, false
		}
		next, cols, ok := s.evaluate(f, theta, raw)
		if ok && next.sol.chi2 < from.sol.chi2 {
			return next, cols, true
		}
		share /= 4
	}
	return next, cols, false
}
