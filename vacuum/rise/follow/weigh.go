package follow

import "math"

// prior is the weight of a law before the data, relative to start and leak
// alone. A pressure that falls is rare after isolation.
var prior = [models]float64{1, 1, 0.5, 0.5, 0.1}

// weigh collects the candidates. A law with more terms pays for each with the
// unit-information prior behind the Bayesian information criterion; time
// constants are averaged over a prior uniform in their logarithm (Kass and
// Raftery 1995, from memory).
func (w *work) weigh() {
	m, r := &w.mix, &w.rows
	m.n = 0
	m.model = [models]float64{}
	m.occam = math.Log(2*math.Pi/max(r.effective(), 2*math.Pi)) / 2
	m.least = w.steady.chi2
	for i := vapour; i <= powerLaw; i++ {
		if w.point[i].has {
			m.least = min(m.least, w.point[i].sol.chi2)
		}
	}
	c := m.next()
	*c = candidate{model: steady, weight: m.likelihood(w.steady.chi2), leak: w.steady.leak, varLeak: w.steady.varLeak, free: true}
	w.weighVapour()
	m.floor = math.Inf(-1)
	m.foreign = m.likelihood(min(w.steady.chi2, w.point[vapour].sol.chi2)) < -strange
	tail := math.Inf(1)
	if p := &w.point[vapour]; p.has && p.sol.b[0] > 0 {
		tail = w.weighTail(p, m.weightOf(vapour))
	}
	m.doubt = [models]float64{doubt, doubt, doubt, doubt, doubt}
	m.missed, m.refined, m.edge, m.slowly = false, false, false, false
	m.chance = math.IsInf(tail, 1) && m.likelihood(w.steady.chi2) > -adequate
	if m.chance {
		w.weighOtherTail()
	}
	if p := &w.point[vapour]; p.has && p.sol.chi2 > m.least+clearlyWorse {
		m.doubt[twoVapours], m.doubt[powerLaw] = grave, grave
	} else if p.has && p.theta[0] > w.rows.hi-math.Log(slowest/slowPart) {
		m.doubt[twoVapours] = 2 * grave
		m.slowly = true
	}
	w.weighTwoVapours(tail)
	w.weighPower()
	m.temper()
	m.normalise()
	m.split()
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
	for k := range w.rows.nodes {
		if w.fits[k] {
			m.slow = math.Sqrt(w.node[k].varLeak)
		}
	}
	m.floor = m.likelihood(least) + hopeless
	span := w.rows.hi - w.rows.lo
	from, to := math.Inf(1), math.Inf(-1) // window of the fine grid
	if p.has && p.full.k > 0 && p.width[0] < narrow*w.rows.spacing {
		step := fineStep * p.width[0]
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

// adequate is by how much a tail may raise the log-likelihood of a power law
// that counts as the law of the record.
const adequate = 5

// weighTail adds, beside a source that fades, a slower one that the record
// cannot rule out: real sources come as a spread of time constants, and the
// slowest part is what looks like a leak. The tail shares the weight of its
// law, so that it counts whenever it fits as well; amplitude and time constants
// of the law follow linearly. It answers the least χ² found.
func (w *work) weighTail(p *point, weight float64) (least float64) {
	least = math.Inf(1)
	if p.full.k == 0 {
		return least
	}
	slow := p.theta[0]
	if p.model == twoVapours {
		slow = max(p.theta[0], p.theta[1])
	}
	var q normal
	for i := range p.full.k {
		w.rows.push(&q, &p.cols[i])
	}
	var tails [Bank]solution
	n := 0
	for k := range w.rows.nodes {
		if p.model != powerLaw && w.rows.theta(k) < slow+tailGap {
			continue
		}
		with := q
		if !w.rows.push(&with, &w.bank[k]) {
			continue
		}
		s := &tails[n]
		w.rows.solution(&with, s)
		if p.near(s) && s.b[0] > 0 {
			least = min(least, s.chi2)
			n++
		}
	}
	law := p.model
	if law == vapour {
		law = twoVapours
	}
	m := &w.mix
	for i := range n {
		gain := (p.sol.chi2 - tails[i].chi2) / 2
		if p.model == powerLaw && gain > adequate {
			continue // the tail would be the law, and the power law its tail
		}
		gain = min(gain, max(0, gain+m.occam)) // a better fit pays for its term
		m.add(law, weight-math.Log(float64(n))+gain, &tails[i], tails[i].k-1, 0, m.rise)
	}
	return least
}

// weighOtherTail adds a slow source beside one that fades where the best fit
// with one leaves no room for it. Where a steady rise fits as well, that fit may
// lie anywhere and have either sign: another that is as good may have room.
func (w *work) weighOtherTail() {
	best, least := -1, w.point[vapour].sol.chi2+asGood
	for k := range w.rows.nodes {
		s := &w.node[k]
		if w.fits[k] && w.rows.theta(k) < w.rows.hi-tailGap && s.chi2 < least && s.b[0] > -asGood*math.Sqrt(s.varB[0]) {
			best, least = k, s.chi2
		}
	}
	if best < 0 {
		return
	}
	p := &w.other
	p.model, p.theta[0] = vapour, w.rows.theta(best)
	w.mix.doubt[twoVapours], w.mix.missed = grave, true
	if w.refine(p, 4); p.has && p.sol.b[0] > 0 {
		w.mix.missed = math.IsInf(w.weighTail(p, w.mix.weightOf(vapour)), 1)
	}
}

// asGood is a difference of χ², and of an amplitude in standard errors, that is
// chance.
const asGood = 1.5

// strange is a loss of log-likelihood with which no law with at most one time
// constant explains the readings. The verdict is open then, and slower sources
// beside other laws are not looked for.
const strange = 15

// near reports whether time constants that followed linearly stayed where that
// is a fair picture: logarithms within 2, the exponent of a power law within
// 0.5.
func (p *point) near(s *solution) bool {
	n := p.sources()
	for i := n; i < s.k-1; i++ {
		most := 2 * math.Abs(p.sol.b[min(i-n, n-1)])
		if p.model == powerLaw && i == n+1 {
			most /= 4
		}
		if math.Abs(s.b[i]) > most {
			return false
		}
	}
	return true
}

// clearGain is by how much a refined optimum must lower χ² before it replaces
// what there is.
const clearGain = 3

// The weights of two sources and of a power law are doubted gravely where a
// small change adds or drops them: within nearlyClear of clearGain, beside a
// refined power law, whose tails come and go, and where one source is worse than
// the best law by clearlyWorse.
const (
	nearlyClear  = 2
	clearlyWorse = 5
	grave        = 4
)

// slowPart is the time constant, in record lengths, from which slower sources
// beside the one that fades are told from it by little more than chance.
const slowPart = 0.5

// weighTwoVapours adds two sources at their common optimum, by Laplace's method,
// where they fit clearly better than one source with a slow tail.
func (w *work) weighTwoVapours(tail float64) {
	p := &w.point[twoVapours]
	if p.has && math.Abs(p.sol.chi2-tail+clearGain) < nearlyClear {
		w.mix.doubt[twoVapours] = grave
		w.mix.edge = w.point[vapour].sol.chi2 > w.mix.least+clearlyWorse
	}
	if !p.has || p.sol.chi2 > tail-clearGain {
		return
	}
	span := w.rows.hi - w.rows.lo
	if weight, ok := w.laplace(p, span, span); ok && !w.mix.foreign {
		w.weighTail(p, weight)
	}
}

// weighPower adds the power law over its grid, or at its optimum where that
// fits clearly better.
func (w *work) weighPower() {
	m, p := &w.mix, &w.point[powerLaw]
	least, n := math.Inf(1), 0
	for i := range w.power {
		if w.powerFit[i] {
			least = min(least, w.power[i].chi2)
			n++
		}
	}
	if p.has && math.Abs(p.sol.chi2-least+clearGain) < nearlyClear {
		m.doubt[powerLaw] = grave
	}
	if p.has && p.sol.chi2 < least-clearGain {
		m.doubt[powerLaw], m.refined = grave, true
		lo, hi := w.powerRange()
		if weight, ok := w.laplace(p, hi-lo, mostExponent-leastExponent); ok {
			if !m.foreign {
				w.weighTail(p, weight)
			}
			return
		}
	}
	base := math.Log(prior[powerLaw]/float64(n)) + m.occam
	m.floor = m.likelihood(least) + hopeless
	for i := range w.power {
		if w.powerFit[i] {
			m.add(powerLaw, base+m.likelihood(w.power[i].chi2), &w.power[i], 0, 0, math.Inf(1))
		}
	}
}

// laplace adds a law of two time constants, with prior ranges span0 and span1,
// by Laplace's method at its optimum. It answers the logarithm of the weight.
func (w *work) laplace(p *point, span0, span1 float64) (weight float64, ok bool) {
	if p.full.k == 0 {
		return 0, false
	}
	m := &w.mix
	weight = math.Log(prior[p.model]) + m.likelihood(p.sol.chi2) + float64(p.sol.k)*m.occam
	weight += math.Log(min(math.Sqrt(2*math.Pi)*p.width[0]/span0, 1))
	weight += math.Log(min(math.Sqrt(2*math.Pi)*p.width[1]/span1, 1))
	slow := 0 // the amplitude that is most like a leak
	if p.model == twoVapours && p.theta[1] > p.theta[0] {
		slow = 1
	}
	s := p.full
	s.leak, s.b[slow] = p.sol.leak, p.sol.b[slow]
	m.add(p.model, weight, &s, slow, 0, math.Inf(1))
	return weight, true
}
