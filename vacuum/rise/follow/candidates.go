package follow

import "math"

// model is one of the candidate laws.
type model int

// The candidate laws beside start, leak and drift.
const (
	steady     model = iota
	vapour           // B (1 - exp(-t/τ))
	twoVapours       // two of these
	powerLaw         // a release that falls as (1 + t/t0)^-n
	settling         // vapour with B < 0
	models
)

// parameters counts what a law fits, time constants included.
var parameters = [models]int{2, 4, 6, 5, 4}

// point is a law at its time constants: logarithms of τ, or ln t0 and n.
type point struct {
	model model
	has   bool // it could be fitted
	theta [2]float64
	sol   solution   // of its amplitudes
	full  solution   // with the derivatives by theta; k is zero where these cannot be told apart
	step  [2]float64 // to the least χ², linearised
	width [2]float64 // standard error of theta for the present noise
	cols  [4]column  // its columns, and their derivatives by theta
}

// powerTimes and powerExponents are the grid of power laws.
const powerTimes = 6

var powerExponents = [...]float64{0.5, 1, 1.5}

// work is all that Verdict needs to remember on its way.
type work struct {
	rows rows
	raw  [Bank]vector
	bank [Bank]column
	node [Bank]solution // fits with one of the bank each
	fits [Bank]bool

	powerRaw [powerTimes * len(powerExponents)]vector
	power    [powerTimes * len(powerExponents)]solution
	powerFit [powerTimes * len(powerExponents)]bool

	steady solution
	point  [powerLaw + 1]point // refined, by model; steady has none
	next   point               // of a step
	other  point               // one source, at another optimum
	raws   [4]vector
	spare  column

	score  [powerLaw + 1]float64 // Bayesian information criterion
	coarse bool                  // the blocks are too long for the best law
	within float64               // χ² of the readings about the means of their blocks
	mix    mixture
}

// start prepares what does not depend on the noise.
func (w *work) start(f *Follower) {
	r := &w.rows
	r.load(f)
	r.setBank()
	for k := range r.nodes {
		r.fade(&w.raw[k], math.Exp(r.theta(k)))
	}
	lo, hi := w.powerRange()
	for i := range powerTimes {
		w.fillPower(i, math.Exp(lo+(hi-lo)*float64(i)/(powerTimes-1)))
	}
}

// fillPower makes the columns of the grid's power laws with the i-th t0, as
// power does: with exponents 0.5, 1 and 1.5 they need a root and a logarithm.
func (w *work) fillPower(i int, t0 float64) {
	r := &w.rows
	half, one, more := &w.powerRaw[i], &w.powerRaw[powerTimes+i], &w.powerRaw[2*powerTimes+i]
	for j := range r.m {
		x := r.t[j] / t0
		root := math.Sqrt(1 + x)
		bend := r.variance[j] / (2 * t0 * t0 * (1 + x) * (1 + x))
		half[j] = 2*(root-1) - 0.5*bend*root
		one[j] = math.Log1p(x) - bend
		more[j] = 2*(1-1/root) - 1.5*bend/root
	}
}

// fitAll fits every candidate to the whitened rows: from the grids, or again
// after the noise was learnt, from where the fits before ended.
func (w *work) fitAll(again bool) {
	b := &w.rows.base
	w.steady = solution{start: b.beta[0], leak: b.beta[1], drift: b.beta[2], varLeak: b.inv[1][1], chi2: b.chi2}
	w.fitVapour()
	w.fitTwoVapours(again)
	w.fitPower(again)
}

// fitVapour fits one source with every time constant of the bank, and refines
// the best from the lowest point of the parabola through it and its neighbours.
func (w *work) fitVapour() {
	best := -1
	for k := range w.rows.nodes {
		w.rows.reduce(&w.bank[k], &w.raw[k])
		w.fits[k] = w.rows.single(&w.bank[k], &w.node[k])
		if w.fits[k] && (best < 0 || w.node[k].chi2 < w.node[best].chi2) {
			best = k
		}
	}
	p := &w.point[vapour]
	p.model, p.has = vapour, false
	if best < 0 {
		return
	}
	p.theta[0] = w.rows.theta(best)
	if best > 0 && best < w.rows.nodes-1 && w.fits[best-1] && w.fits[best+1] {
		l, m, r := w.node[best-1].chi2, w.node[best].chi2, w.node[best+1].chi2
		if curve := l - 2*m + r; curve > 0 {
			p.theta[0] += w.rows.spacing * (l - r) / (2 * curve)
		}
	}
	w.refine(p, 4)
}

// fitTwoVapours looks for the best pair of sources among every second time
// constant of the bank, and refines it.
func (w *work) fitTwoVapours(again bool) {
	p := &w.point[twoVapours]
	if again {
		if p.has {
			w.refine(p, 3)
			p.has = p.has && p.positive()
		}
		return
	}
	p.model, p.has = twoVapours, false
	least, fast, slow := math.Inf(1), 0, 0
	b := &w.rows.base
	for i := 0; i < w.rows.nodes; i += 2 {
		for j := i + 2; j < w.rows.nodes; j += 2 {
			c, d := &w.bank[i], &w.bank[j]
			if !(c.left > dependent) || !(d.left > dependent) {
				continue
			}
			cd := w.rows.pair(c, d)
			det := c.cc*d.cc - cd*cd
			x, y := c.y*d.cc-d.y*cd, d.y*c.cc-c.y*cd
			if !(det*min(c.left, d.left) > dependent*c.cc*d.cc) || x <= 0 || y <= 0 {
				continue
			}
			if chi2 := b.chi2 - (x*c.y+y*d.y)/det; chi2 < least {
				least, fast, slow = chi2, i, j
			}
		}
	}
	if math.IsInf(least, 1) {
		return
	}
	p.theta = [2]float64{w.rows.theta(fast), w.rows.theta(slow)}
	w.refine(p, 5)
	p.has = p.has && p.positive()
}

// powerRange is the range of ln t0.
func (w *work) powerRange() (lo, hi float64) {
	return math.Log(w.rows.step / 2), math.Log(w.rows.dur / 2)
}

// fitPower fits power laws over their grid and refines the best.
func (w *work) fitPower(again bool) {
	lo, hi := w.powerRange()
	p := &w.point[powerLaw]
	had, theta := p.has, p.theta
	p.model, p.has = powerLaw, false
	least := math.Inf(1)
	for i := range w.power {
		w.rows.reduce(&w.spare, &w.powerRaw[i])
		s := &w.power[i]
		w.powerFit[i] = w.rows.single(&w.spare, s)
		if w.powerFit[i] && s.b[0] > 0 && s.chi2 < least {
			least = s.chi2
			p.theta = [2]float64{lo + (hi-lo)*float64(i%powerTimes)/(powerTimes-1), powerExponents[i/powerTimes]}
		}
	}
	if again && had {
		grid := p.theta
		p.theta = theta
		if w.evaluate(p); !p.has || p.sol.chi2 > least {
			p.theta = grid
		}
	} else if math.IsInf(least, 1) {
		return
	}
	steps := 5
	if again {
		steps = 3
	}
	w.refine(p, steps)
	p.has = p.has && p.positive()
}

// positive reports whether all amplitudes are.
func (p *point) positive() bool {
	return p.sol.b[0] > 0 && (p.model != twoVapours || p.sol.b[1] > 0)
}

// sources is the number of amplitudes of a law.
func (p *point) sources() int {
	if p.model == twoVapours {
		return 2
	}
	return 1
}

// evaluate fits a law at its time constants.
func (w *work) evaluate(p *point) {
	r, raw := &w.rows, &w.raws
	n, k := p.sources(), 2
	switch p.model {
	case powerLaw:
		r.power(&raw[0], &raw[1], &raw[2], math.Exp(p.theta[0]), p.theta[1])
		k = 3
	case twoVapours:
		r.vapour(&raw[0], &raw[2], math.Exp(p.theta[0]))
		r.vapour(&raw[1], &raw[3], math.Exp(p.theta[1]))
		k = 4
	default:
		r.vapour(&raw[0], &raw[1], math.Exp(p.theta[0]))
	}
	var q normal
	p.has, p.full.k = false, 0
	for i := range k {
		r.reduce(&p.cols[i], &raw[i])
		if !r.push(&q, &p.cols[i]) {
			return
		}
		if i == n-1 {
			p.has = true
			r.solution(&q, &p.sol)
		}
	}
	r.solution(&q, &p.full)
	for i := range k - n {
		b := p.sol.b[min(i, n-1)]
		p.step[i] = p.full.b[n+i] / b
		p.width[i] = math.Sqrt(p.full.varB[n+i]) / math.Abs(b)
	}
}

// refine improves a point by at most steps Gauss-Newton steps on the separable
// problem: the coefficient of a derivative is the step of its time constant.
func (w *work) refine(p *point, steps int) {
	w.clamp(p)
	w.evaluate(p)
	share := 1.0
	for range steps {
		if w.hopeless(p) || !p.has || p.full.k == 0 || p.sol.chi2-p.full.chi2 < enough*p.sol.chi2/float64(w.rows.m) {
			return
		}
		next := &w.next
		next.model, next.theta = p.model, p.theta
		for i := range p.full.k - p.sol.k {
			next.theta[i] += min(max(p.step[i]*share, -1), 1)
		}
		w.clamp(next)
		if next.theta == p.theta {
			return
		}
		w.evaluate(next)
		if !next.has || !(next.sol.chi2 < p.sol.chi2) {
			if share /= 5; share < 0.01 {
				return
			}
			continue
		}
		*p = *next
		share = 1
	}
}

// lost is the ratio of χ² to that of the best law with one source from which on
// a law need not be refined.
const lost = 4

// hopeless reports whether refining a law is a waste beside a source that is
// beyond doubt: a second one is taken from it, or the linearised problem promises
// too little.
func (w *work) hopeless(p *point) bool {
	one := &w.point[vapour]
	if p.model == vapour || !p.has || !one.has || !(one.sol.b[0] > 0 && one.sol.chi2 < w.rows.base.chi2/lost) {
		return false
	}
	return !p.positive() || p.full.k > 0 && p.full.chi2 > lost*one.sol.chi2
}

// enough is the gain of χ² that the linearised problem promises, in units of its
// noise, below which another step does not pay.
const enough = 1e-3

// clamp keeps time constants in their ranges.
func (w *work) clamp(p *point) {
	lo, hi := w.rows.lo, w.rows.hi
	if p.model == powerLaw {
		lo, hi = w.powerRange()
		p.theta[0] = min(max(p.theta[0], lo), hi)
		p.theta[1] = min(max(p.theta[1], leastExponent), mostExponent)
		return
	}
	p.theta[0], p.theta[1] = min(max(p.theta[0], lo), hi), min(max(p.theta[1], lo), hi)
}

// leastExponent and mostExponent bound the exponent of a power law.
const (
	leastExponent = 0.4
	mostExponent  = 2
)
