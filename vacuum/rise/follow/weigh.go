package follow

import "math"

// prior is the weight of a law before the data, relative to start and leak
// alone. A pressure that falls is rare after isolation.
var prior = [models]float64{1, 1, 0.5, 0.5, 0.1}

// weigh collects the candidates. A law with more terms pays for each with the
// unit-information prior behind the Bayesian information criterion; time
// constants are averaged over a prior uniform in their logarithm (Kass and
// Raftery 1995, from memory). Where one source leaves no room for a tail for sure,
// package rise may find two at an optimum, the phantom, or a tail beside another one,
// which is hidden here.
func (w *work) weigh() {
	m, r := &w.mix, &w.rows
	m.n = 0
	m.model = [models]float64{}
	m.occam = math.Log(2*math.Pi/max(r.effective(), 2*math.Pi)) / 2
	m.least = w.point[steady].sol.chi2
	if p := &w.point[vapour]; p.has {
		m.least = min(m.least, p.sol.chi2)
	}
	c := m.next()
	*c = candidate{model: steady, weight: m.likelihood(w.point[steady].sol.chi2), leak: w.point[steady].sol.leak, varLeak: w.point[steady].sol.varLeak, free: true}
	w.weighVapour()
	m.floor = math.Inf(-1)
	tail, firm := math.Inf(1), false
	m.pair = math.Inf(1)
	if p := &w.point[vapour]; p.has && p.sol.b[0] > 0 {
		tail, firm = w.weighTail(p, m.weightOf(vapour))
	}
	m.sharper[twoVapours] = m.pair < tail-clearGain+almost && !math.IsInf(tail, 1)
	m.phantom = math.Inf(-1)
	if (!firm || w.steadyFits()) && w.paired() {
		m.phantom = math.Log(prior[twoVapours]) + m.likelihood(w.risingChi2()) + 2*m.occam
	}
	w.weighPower()
	m.temper()
	m.normalise()
	m.split()
	m.hidden = 0
	if math.IsInf(tail, 1) && w.steadyFits() {
		m.hidden = max(hiddenShare*m.model[vapour]-m.phantom, 0)
	}
}

// hiddenShare is the weight, as a share of that of one source, of the tails that
// package rise may find beside it where none is found here: by chance, where a steady
// rise fits as well. Set on the same records as the margins of a jury.
const hiddenShare = 0.4

// steadyFits reports whether a steady rise fits nearly as well as one source.
func (w *work) steadyFits() bool {
	return w.mix.likelihood(w.point[steady].sol.chi2) > -adequate
}

// risingChi2 is the least χ² of at most one source that rises.
func (w *work) risingChi2() float64 {
	least := w.point[steady].sol.chi2
	if p := &w.point[vapour]; p.has && p.sol.b[0] > 0 {
		return min(least, p.sol.chi2)
	}
	for k := range w.rows.nodes {
		if s := &w.node[k]; w.fits[k] && s.b[0] > 0 {
			least = min(least, s.chi2)
		}
	}
	return least
}

// The optimum is integrated on a fine grid of its own where it is narrower than
// narrow steps of the bank: fineHalf points on each side, fineStep standard
// errors apart.
const (
	narrow   = 0.8
	fineHalf = 5
	fineStep = 0.7
)

// weighVapour integrates the law with one source over its time constant.
func (w *work) weighVapour() {
	m, p := &w.mix, &w.point[vapour]
	least := math.Inf(1)
	for k := range w.rows.nodes {
		if w.fits[k] {
			least = min(least, w.node[k].chi2)
		}
	}
	m.floor = m.likelihood(least) + hopeless
	span := w.rows.hi - w.rows.lo
	from, to := math.Inf(1), math.Inf(-1) // window of the fine grid
	if p.has && p.full.k > 0 && p.width < narrow*w.rows.spacing {
		step := fineStep * p.width
		from, to = p.theta[0]-(fineHalf+0.5)*step, p.theta[0]+(fineHalf+0.5)*step
		for i := -fineHalf; i <= fineHalf; i++ {
			theta := p.theta[0] + float64(i)*step
			var s solution
			w.rows.fade(&w.raws[0], math.Exp(theta))
			w.rows.reduce(&w.spare, &w.raws[0])
			if w.rows.single(&w.spare, &s) {
				w.weighNode(&s, theta, step/span)
			}
		}
	}
	for k := range w.rows.nodes {
		if theta := w.rows.theta(k); w.fits[k] && (theta < from || theta > to) {
			w.weighNode(&w.node[k], theta, w.rows.spacing/span)
		}
	}
}

// weighNode adds one time constant: rising sources up to the greatest rise,
// falling ones with a time constant up to half the record.
func (w *work) weighNode(s *solution, theta, share float64) {
	m := &w.mix
	base := m.occam + m.likelihood(s.chi2)
	if base < m.floor {
		return
	}
	base += math.Log(share)
	m.add(vapour, math.Log(prior[vapour])+base, s, 0, 0, m.rise)
	if theta <= math.Log(w.rows.dur/2) {
		m.add(settling, math.Log(prior[settling])+base, s, 0, -m.fall, 0)
	}
}

// tailGap is how much slower than the source beside it a tail is at least,
// in ln τ.
const tailGap = 0.3

// weighTail adds, beside a source that fades, a slower one that the record
// cannot rule out: real sources come as a spread of time constants, and the
// slowest part is what looks like a leak. The tail shares the weight of its
// law, so that it counts whenever it fits as well; amplitude and time constant of
// the law follow linearly. It answers the least χ² found, and whether a tail is there
// for sure.
func (w *work) weighTail(p *point, weight float64) (least float64, firm bool) {
	least = math.Inf(1)
	if p.full.k == 0 {
		return least, false
	}
	var q normal
	for i := range p.full.k {
		w.rows.push(&q, &p.cols[i])
	}
	var tails [Bank]solution
	n := 0
	for k := range w.rows.nodes {
		slower := w.rows.theta(k) - p.theta[0]
		if math.Abs(slower) < tailGap {
			continue
		}
		with := q
		if !w.rows.push(&with, &w.bank[k]) {
			continue
		}
		s := &tails[n]
		w.rows.solution(&with, s)
		if !(s.b[0] > 0) {
			continue
		}
		if s.b[s.k-1] > 0 {
			w.mix.pair = min(w.mix.pair, s.chi2)
		}
		if math.Abs(s.b[1]) <= mostMove*math.Abs(p.sol.b[0]) && slower > 0 {
			least = min(least, s.chi2)
			firm = firm || math.Abs(s.b[1]) <= firmMove*math.Abs(p.sol.b[0]) && s.b[0] > firmShare*math.Sqrt(s.varB[0])
			n++
		}
	}
	m := &w.mix
	for i := range n {
		gain := (p.sol.chi2 - tails[i].chi2) / 2
		gain = min(gain, max(0, gain+m.occam)) // a better fit pays for its term
		m.add(twoVapours, weight-math.Log(float64(n))+gain, &tails[i], tails[i].k-1, 0, m.rise)
	}
	return least, firm
}

// adequate is by how much the log-likelihood of a steady rise may lie below the best
// where the fit of a source that fades beside it may still lie anywhere.
const adequate = 5

// mostMove is how far the logarithm of a time constant may follow linearly. A tail
// is firm, and not there by chance, when that moved by at most firmMove and the
// source beside it is left with firmShare of its error. Both were set on the same
// records as the margins of a jury.
const (
	mostMove  = 2
	firmMove  = 1
	firmShare = 0.5
)

// clearGain is by how much the optimum of a law of two time constants must lower χ²
// before package rise takes it instead of a grid. It is not searched for here: where
// it may be so, and the law counts, the verdict is open.
const clearGain = 3

// weighPower adds the power law over its grid.
func (w *work) weighPower() {
	m := &w.mix
	w.fitPower()
	least, n := math.Inf(1), 0
	for i := range w.power {
		if w.powerFit[i] {
			least = min(least, w.power[i].chi2)
			n++
		}
	}
	m.sharper[powerLaw] = w.better(least - clearGain)
	base := math.Log(prior[powerLaw]/float64(n)) + m.occam
	m.floor = m.likelihood(least) + hopeless
	for i := range w.power {
		if w.powerFit[i] {
			m.add(powerLaw, base+m.likelihood(w.power[i].chi2), &w.power[i], 0, 0, math.Inf(1))
		}
	}
}
