package rise

import (
	"math"
)

// clearGain is by how much a refined optimum must lower χ² below the grid
// before it replaces the grid.
const clearGain = 3

// weighTwoVapours adds two sources at their common optimum, by Laplace's
// method, where they fit clearly better than one does, of which one is the χ².
func (f *fits) weighTwoVapours(w *weigher, one float64) {
	if !f.has[TwoVapours] || f.two.sol.chi2 > one-clearGain {
		return
	}
	fam := f.sys.vapourFamily()
	span := fam.hi[0] - fam.lo[0]
	if weight, ok := f.laplace(w, f.two, span, span); ok {
		f.weighTail(w, &f.two, weight)
	}
}

// weighTail adds, beside a source that fades, a slower one that the record
// cannot rule out: real sources come as a spread of time constants, and the
// slowest part is what looks like a leak. The tail shares the weight of its
// model, so that it counts whenever it fits as well; amplitude and time
// constants of the model follow linearly. It answers the least χ² found, with a tail or
// without.
func (f *fits) weighTail(w *weigher, p *point, weight float64) (least float64) {
	s := f.sys
	least = p.sol.chi2
	if p.full.k == 0 {
		return least
	}
	cols := f.tangent(p)
	slowestTheta := p.theta[0]
	if p.model == TwoVapours {
		slowestTheta = max(p.theta[0], p.theta[1])
	}
	var nodes []solution
	for i := range f.cols {
		if p.model != PowerLaw && f.coarse[i].theta[0] < slowestTheta+0.3 {
			continue
		}
		if sol, ok := s.solve(append(cols, &f.cols[i])...); ok && near(&sol, p) && sol.beta[2] > 0 {
			nodes = append(nodes, sol)
			least = min(least, sol.chi2)
		}
	}
	model := p.model
	if model == Vapour {
		model = TwoVapours
	}
	for i := range nodes {
		gain := (p.sol.chi2 - nodes[i].chi2) / 2
		if p.model == PowerLaw && gain > adequate {
			continue // the tail would be the law, and the power law its tail
		}
		gain = min(gain, max(0, gain+w.occam)) // a better fit pays for its term
		w.addTruncated(model, weight-math.Log(float64(len(nodes)))+gain, &nodes[i], nodes[i].k-1, 0, w.lim.rise)
	}
	return least
}

// adequate is by how much more a law may raise the log-likelihood while one without
// it is still adequate: a power law without its tail, a steady rise without a source.
// Beside a source that is not needed no tail is weighed.
const adequate = 5

// near reports whether time constants that followed linearly stayed where that is a
// fair picture.
func near(sol *solution, p *point) bool {
	for j := p.sol.k; j < sol.k-1; j++ {
		if math.Abs(sol.beta[j]) > mostMove(p.model, j-p.sol.k) {
			return false
		}
	}
	return true
}

// mostMove is how far the j-th time constant of a model may follow linearly: its
// logarithm by 2, the exponent of a power law by 0.5.
func mostMove(m Model, j int) float64 {
	if m == PowerLaw && j == 1 {
		return 0.5
	}
	return 2
}

// tangent is a point's columns and their derivatives by its time constants.
func (f *fits) tangent(p *point) []*wcol {
	s := f.sys
	fam := s.familyOf(p.model)
	var out, derived []*wcol
	for j := range fam.params {
		k := min(j, fam.terms()-1)
		raw, change := make([]float64, len(s.t)), make([]float64, len(s.t))
		s.column(&fam, raw, p.theta, k)
		if j < fam.terms() {
			c := s.newCol(raw)
			out = append(out, &c)
		}
		s.derivative(&fam, change, raw, p.theta, j, p.term(k))
		c := s.newCol(change)
		derived = append(derived, &c)
	}
	return append(out, derived...)
}

// weighPower adds the power law over its coarse grid, or at its optimum where
// that fits clearly better.
func (f *fits) weighPower(w *weigher) {
	least := math.Inf(1)
	for _, p := range f.powerNodes {
		least = min(least, p.chi2)
	}
	fam := f.sys.powerFamily()
	if f.has[PowerLaw] && f.power.sol.chi2 < least-clearGain {
		if weight, ok := f.laplace(w, f.power, fam.hi[0]-fam.lo[0], fam.hi[1]-fam.lo[1]); ok {
			f.weighTail(w, &f.power, weight)
			return
		}
	}
	base := math.Log(prior[PowerLaw]) + w.occam - math.Log(float64(len(f.powerNodes)))
	for i := range f.powerNodes {
		p := &f.powerNodes[i]
		w.addTruncated(PowerLaw, base+w.likelihood(p.chi2), p, 2, 0, math.Inf(1))
	}
}

// laplace adds a two-parameter family by Laplace's method at its optimum; span
// is the prior range of each parameter. It answers the logarithm of the weight, and
// false where a time constant is known to no better than a factor e, or an exponent to no
// better than mostMove: what follows linearly would claim leaks that no reading speaks for.
func (f *fits) laplace(w *weigher, p point, span ...float64) (weight float64, ok bool) {
	if p.full.k == 0 {
		return 0, false
	}
	weight = math.Log(prior[p.model]) + w.likelihood(p.sol.chi2) + float64(p.sol.k-2)*w.occam
	for j := range span {
		if p.width[j] > min(mostMove(p.model, j), 1) {
			return 0, false
		}
		weight += math.Log(min(math.Sqrt(2*math.Pi)*p.width[j]/span[j], 1))
	}
	slow := 2 // the amplitude that is most like a leak
	if p.model == TwoVapours && p.theta[1] > p.theta[0] {
		slow = 3
	}
	full := p.full
	full.beta[1], full.beta[slow] = p.sol.beta[1], p.sol.beta[slow]
	w.addTruncated(p.model, weight, &full, slow, 0, math.Inf(1))
	return weight, true
}
