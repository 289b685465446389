package follow

import "math"

// prior is the weight of a law before the data, relative to start and leak
// alone. A pressure that falls is rare after isolation.
var prior = [models]float64{1, 1, 0.5, 0.5, 0.1}

// weigh collects the candidates. A law with more terms pays for each with the
// unit-information prior behind the Bayesian information criterion; time
// constants are averaged over a prior uniform in their logarithm (Kass and
// Raftery 1995, from memory). Package rise takes a law of two time constants at its
// optimum where that fits clearly better than what is averaged here; where it might,
// the mixture is sharper than it seems.
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
	m.sharper = false
	p := &w.point[vapour]
	m.shown = p.has && p.sol.b[0] > 0 && w.point[steady].sol.chi2-p.sol.chi2 > leastShown-almost
	if m.shown {
		w.weighTail(p, m.weightOf(vapour))
	}
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
		if w.node[k].k > 0 {
			least = min(least, w.node[k].chi2)
		}
	}
	m.floor = m.likelihood(least) + hopeless
	span := w.rows.hi - w.rows.lo
	from, to := math.Inf(1), math.Inf(-1) // window of the fine grid
	if p.has && p.full.k > 0 && p.width[0] < narrow*w.rows.spacing {
		step := fineStep * p.width[0]
		from, to = p.theta[0]-(fineHalf+0.5)*step, p.theta[0]+(fineHalf+0.5)*step
		var fine [2*fineHalf + 1]solution
		theta := func(i int) float64 { return p.theta[0] + float64(i-fineHalf)*step }
		for i := range fine {
			w.rows.fade(&w.raws[0], math.Exp(theta(i)))
			w.rows.reduce(&w.spare, &w.raws[0])
			w.rows.single(&w.spare, &fine[i])
		}
		for i := range fine {
			w.weighNode(fine[:], i, theta(i), step/span)
		}
	}
	for k := range w.rows.nodes {
		if theta := w.rows.theta(k); theta < from || theta > to {
			w.weighNode(w.node[:w.rows.nodes], k, theta, w.rows.spacing/span)
		}
	}
}

// cellSpread is the variance of the leak within the cell of a grid of time constants
// about its i-th, over which the leak changes in proportion to their logarithm:
// without it the distribution would be a staircase.
func cellSpread(grid []solution, i int) float64 {
	a, b := max(i-1, 0), min(i+1, len(grid)-1)
	if a == b || grid[a].k == 0 || grid[b].k == 0 {
		return 0
	}
	cell := (grid[b].leak - grid[a].leak) / float64(b-a)
	return cell * cell / 12
}

// weighNode adds the i-th time constant of a grid: rising sources up to the greatest
// rise, falling ones with a time constant up to half the record.
func (w *work) weighNode(grid []solution, i int, theta, share float64) {
	m := &w.mix
	base := m.occam + m.likelihood(grid[i].chi2)
	if grid[i].k == 0 || base < m.floor {
		return
	}
	base += math.Log(share)
	s := grid[i]
	s.varLeak += cellSpread(grid, i)
	m.add(vapour, math.Log(prior[vapour])+base, &s, 0, 0, m.rise)
	if theta <= math.Log(w.rows.dur/2) {
		m.add(settling, math.Log(prior[settling])+base, &s, 0, -m.fall, 0)
	}
}

// tailGap is how much slower than the source beside it a tail is at least,
// in ln τ.
const tailGap = 0.3

// weighTail adds, beside a source that fades, a slower one that the record
// cannot rule out: real sources come as a spread of time constants, and the
// slowest part is what looks like a leak. The tail shares the weight of its
// law, so that it counts whenever it fits as well; amplitude and time constant of
// the law follow linearly.
func (w *work) weighTail(p *point, weight float64) {
	if p.full.k == 0 {
		return
	}
	m := &w.mix
	var q normal
	for i := range p.full.k {
		w.rows.push(&q, &p.cols[i])
	}
	var tails [Bank]solution
	n := 0
	least, pair := p.sol.chi2, math.Inf(1) // χ² with a tail or without, and of any other source beside this one
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
			pair = min(pair, s.chi2)
		}
		if math.Abs(s.b[1]) <= mostMove*math.Abs(p.sol.b[0]) && slower > 0 {
			least = min(least, s.chi2)
			n++
		}
	}
	for i := range n {
		gain := (p.sol.chi2 - tails[i].chi2) / 2
		gain = min(gain, max(0, gain+m.occam)) // a better fit pays for its term
		m.add(twoVapours, weight-math.Log(float64(n))+gain, &tails[i], tails[i].k-1, 0, m.rise)
	}
	m.sharper = pair < least-clearGain+almost
}

// leastShown is how much one source must lower χ² for a tail beside it.
const leastShown = 10

// mostMove is how far the logarithm of a time constant may follow linearly.
const mostMove = 2

// clearGain is by how much the optimum of a law of two time constants must lower χ²
// before package rise takes it instead of an average, and almost the error of that.
const (
	clearGain = 3
	almost    = 1
)

// weighPower adds the power law over its grid.
func (w *work) weighPower() {
	m := &w.mix
	least, best, n := math.Inf(1), -1, 0
	for i := range w.power {
		w.rows.reduce(&w.spare, &w.powerRaw[i])
		s := &w.power[i]
		w.rows.single(&w.spare, s)
		if s.k == 0 {
			continue
		}
		n++
		least = min(least, s.chi2)
		if s.b[0] > 0 && (best < 0 || s.chi2 < w.power[best].chi2) {
			best = i
		}
	}
	if best >= 0 && w.better(least-clearGain) {
		w.findPeak(best)
		m.sharper = m.sharper || w.peak.has && w.peak.sol.chi2 < least-clearGain+almost && w.peakCounts()
	}
	base := math.Log(prior[powerLaw]/float64(n)) + m.occam
	m.floor = m.likelihood(least) + hopeless
	for i := range w.power {
		if w.power[i].k > 0 {
			m.add(powerLaw, base+m.likelihood(w.power[i].chi2), &w.power[i], 0, 0, math.Inf(1))
		}
	}
}

// better reports whether any sources that fade, at the times found before the noise
// was learnt, come to less than chi2: a release that falls as a power of time, which
// is such a sum of sources, comes to no less.
func (w *work) better(chi2 float64) bool {
	p := &w.point[anySource]
	return !p.has || p.sol.chi2 < chi2+almost
}

// findPeak searches the optimum of the power law from the best of its grid, unless
// that is far from any law that counts.
func (w *work) findPeak(best int) {
	p := &w.peak
	lo, hi := w.powerRange()
	p.model = powerLaw
	p.theta[0] = lo + (hi-lo)*float64(best%powerTimes)/(powerTimes-1)
	p.theta[1] = powerExponents[best/powerTimes]
	w.refine(p, 4, w.mix.least+2*untrusted)
	p.has = p.has && p.full.k > 0 && p.sol.b[0] > 0
}

// peakCounts reports whether the power law at its optimum has a weight worth counting,
// by Laplace's method, unless its time constants are too wide for that.
func (w *work) peakCounts() bool {
	m, p := &w.mix, &w.peak
	weight := math.Log(prior[powerLaw]) + m.likelihood(p.sol.chi2) + m.occam
	for j, most := range [2]float64{widestTime, widestExponent} {
		if p.width[j] > most {
			return false
		}
		lo, hi := w.bounds(powerLaw, j)
		weight += math.Log(min(math.Sqrt(2*math.Pi)*p.width[j]/(hi-lo), 1))
	}
	rival := max(m.weightOf(vapour), m.weightOf(twoVapours))
	weight += (1 - trustedPart) * min(max(rival-weight, 0), untrusted)
	return weight-max(rival, m.weightOf(steady)) > math.Log(faint)
}

// widestTime and widestExponent are a little more than the standard errors up to which
// package rise takes a power law at its optimum.
const (
	widestTime     = 1.2
	widestExponent = 0.6
)
