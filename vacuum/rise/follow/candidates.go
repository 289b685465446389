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
	anySource = models // sources that fade by any law: describes a record, is no verdict's law
)

// point is a law at its time constants, of which theta are the logarithms: a steady
// rise, one source, any sources, or a power law, whose second theta is its exponent.
type point struct {
	model model
	has   bool // it could be fitted
	theta [terms]float64
	ends  [terms]bool   // sources of anySource that end, theta is ln of when
	atoms int           // how many it has
	sol   solution      // of its amplitudes
	full  solution      // with the derivative by theta; k is zero where that cannot be told apart
	step  [2]float64    // of theta to the least χ², linearised
	width [2]float64    // standard error of theta for the present noise
	cols  [terms]column // its columns; of a law that is refined, and the derivatives by theta
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

	powerRaw [powerTimes * len(powerExponents)]vector
	power    [powerTimes * len(powerExponents)]solution
	peak     point // the power law at its optimum

	point    [models + 1]point // refined, by model; settling has none
	spectrum spectrum
	next     point // of a step
	raws     [3]vector
	spare    column

	score  [models + 1]float64 // Bayesian information criterion
	coarse bool                // the blocks are too long for the best law
	within float64             // χ² of the readings about the means of their blocks
	mix    mixture
}

// start prepares what does not depend on the noise.
func (w *work) start(f *Follower) {
	r := &w.rows
	r.load(f)
	r.setBank()
	tau, ratio := math.Exp(r.lo), math.Exp(r.spacing)
	for k := range r.nodes {
		r.fade(&w.raw[k], tau)
		tau *= ratio
	}
	lo, hi := w.powerRange()
	for i := range powerTimes {
		w.fillPower(i, math.Exp(lo+(hi-lo)*float64(i)/(powerTimes-1)))
	}
}

// fillPower makes the columns of the grid's power laws with the i-th t0: the
// integral of (1 + t/t0)^-n over t/t0 as the mean over each block, which for
// exponents 0.5, 1 and 1.5 needs a root and a logarithm.
func (w *work) fillPower(i int, t0 float64) {
	r := &w.rows
	half, one, more := &w.powerRaw[i], &w.powerRaw[powerTimes+i], &w.powerRaw[2*powerTimes+i]
	for j := range r.m {
		x := r.t[j] / t0
		root := math.Sqrt(1 + x)
		bend := r.variance[j] / (2 * t0 * t0 * (1 + x) * (1 + x))
		half[j] = 2*(root-1) - 0.5*bend*root
		one[j] = math.Log(1+x) - bend
		more[j] = 2*(1-1/root) - 1.5*bend/root
	}
}

// describe fits what the noise is learnt from: a steady rise, one source, and any
// sources that fade, which describe all that two sources or a power law do.
func (w *work) describe() {
	w.fitSteady()
	w.fitVapour()
	w.measure()
	w.fitSpectrum(2)
	w.measure()
}

// fitSimple fits the laws with at most one time constant again.
func (w *work) fitSimple() {
	w.fitSteady()
	w.fitVapour()
	w.measure()
}

func (w *work) fitSteady() {
	b := &w.rows.base
	p := &w.point[steady]
	p.has = true
	p.sol = solution{start: b.beta[0], leak: b.beta[1], drift: b.beta[2], varLeak: b.inv[1][1], chi2: b.chi2}
}

// follow refits the candidates after a change of the noise, their time constants
// held.
func (w *work) follow() {
	for m := range w.point {
		if p := &w.point[m]; p.has {
			p.has = w.atPoint(p, &p.sol)
		}
	}
	w.measure()
}

// fitVapour fits one source with every time constant of the bank, and refines
// the best.
func (w *work) fitVapour() {
	best := -1
	for k := range w.rows.nodes {
		w.rows.reduce(&w.bank[k], &w.raw[k])
		w.rows.single(&w.bank[k], &w.node[k])
		if w.node[k].k > 0 && (best < 0 || w.node[k].chi2 < w.node[best].chi2) {
			best = k
		}
	}
	p := &w.point[vapour]
	p.model, p.has = vapour, false
	if best < 0 {
		return
	}
	p.theta[0] = w.rows.theta(best)
	w.refine(p, 6, math.Inf(1))
}

// powerRange is the range of ln t0.
func (w *work) powerRange() (lo, hi float64) {
	return math.Log(w.rows.step / 2), math.Log(w.rows.dur / 2)
}

// sources is the number of amplitudes of a point.
func (p *point) sources() int {
	switch p.model {
	case steady:
		return 0
	case anySource:
		return p.atoms
	}
	return 1
}

// lost is the ratio of χ² to the least one from which on a law says nothing about
// the noise.
const lost = 4
