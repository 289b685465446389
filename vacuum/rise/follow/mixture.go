package follow

import "math"

// prior is the weight of a law before the data, relative to start and leak
// alone. A pressure that falls is rare after isolation.
var prior = [models]float64{1, 1, 0.5, 0.5, 0.1}

// candidate is one fit as the mixture sees it: a leak, and an amplitude that
// physics bounds.
type candidate struct {
	model         model
	weight        float64 // logarithm
	leak, varLeak float64 // Pa over the record
	b, varB, cov  float64 // amplitude, Pa, and its covariance with the leak
	low, high     float64 // bounds of the amplitude in standard errors about b
	below, mass   float64 // probability below the lower bound, and between both
	free          bool    // the bounds do not matter
}

// component is one normal part of what the readings say about the leak.
type component struct {
	weight, mean, inv float64 // inv is 1/(standard deviation)
	model             model
}

// Sizes of the mixture.
const (
	mostCandidates = 4*Bank + 2*fineHalf + 32
	mostParts      = 512
)

// mixture is what the readings say about the leak over the record, and how
// probable each law is.
type mixture struct {
	list    [mostCandidates]candidate
	n       int
	parts   [mostParts]component
	m       int
	low     float64 // below all parts
	high    float64 // above all parts
	model   [models]float64
	normal  table
	least   float64         // χ² of the best fit
	floor   float64         // logarithm of the weight below which candidates are left out
	chance  bool            // whether there is room for a second source is chance
	foreign bool            // no law with at most one time constant explains the readings
	missed  bool            // a second source may have been missed
	refined bool            // the power law stands at its optimum
	slowly  bool            // the source that fades is hardly told from a leak
	edge    bool            // two sources are neither clearly needed nor clearly not
	slow    float64         // standard error of the leak beside the slowest source
	doubt   [models]float64 // factor by which the weight of each law is uncertain
	occam   float64         // logarithm of the price of a term, √(2π/n_eff)
	widen   float64         // Student's t over the normal quantile
	round   float64         // error of the leak by rounding that does not average out, Pa over the record
	rise    float64         // greatest rise by vapour, Pa
	fall    float64         // greatest fall, Pa
}

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

// fading is the probability of a source that fades.
func (m *mixture) fading() float64 { return m.model[vapour] + m.model[twoVapours] + m.model[powerLaw] }

// next is room for another candidate; the last one is given again when there is
// none, which the sizes exclude.
func (m *mixture) next() *candidate {
	m.n = min(m.n+1, mostCandidates)
	return &m.list[m.n-1]
}

func (m *mixture) likelihood(chi2 float64) float64 { return -(chi2 - m.least) / 2 }

// hopeless is the logarithm of a weight, relative to the best likelihood of the
// same law, that is not worth its bounds.
const hopeless = -40

// add takes the fit with amplitude k between lo and hi, by the mass that lies
// there.
func (m *mixture) add(law model, weight float64, s *solution, k int, lo, hi float64) {
	sb := m.widen * math.Sqrt(s.varB[k])
	if !(sb > 0) || weight < m.floor {
		return
	}
	a, b := (lo-s.b[k])/sb, (hi-s.b[k])/sb
	below := normalCDF(a)
	mass := normalCDF(b) - below
	if !(mass > 1e-9) {
		return
	}
	*m.next() = candidate{
		model: law, weight: weight + math.Log(mass), leak: s.leak, varLeak: s.varLeak,
		b: s.b[k], varB: s.varB[k], cov: s.cov[k], low: a, high: b, below: below, mass: mass, free: mass > 1-1e-4,
	}
}

// weightOf is the logarithm of a law's weight so far.
func (m *mixture) weightOf(law model) float64 {
	most, sum := math.Inf(-1), 0.0
	for i := range m.n {
		if c := &m.list[i]; c.model == law {
			most = max(most, c.weight)
		}
	}
	for i := range m.n {
		if c := &m.list[i]; c.model == law && c.weight > most-30 {
			sum += math.Exp(c.weight - most)
		}
	}
	return most + math.Log(sum)
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

// Evidence between a spread of time constants and a power law counts by a third
// up to untrusted (natural logarithm), in full beyond.
const (
	untrusted   = 9
	trustedPart = 1.0 / 3
)

// temper draws the weights of the two kinds of fading source together: no real
// source follows either law exactly, so that which of them happens to fit better
// is weaker evidence than its likelihood says, and the two disagree about the
// leak.
func (m *mixture) temper() {
	ratio := max(m.weightOf(vapour), m.weightOf(twoVapours)) - m.weightOf(powerLaw)
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return
	}
	change := math.Copysign(min(math.Abs(ratio), untrusted)*(1-trustedPart), ratio)
	for i := range m.n {
		c := &m.list[i]
		switch {
		case c.model == powerLaw && change > 0:
			c.weight += change
		case (c.model == vapour || c.model == twoVapours) && change < 0:
			c.weight -= change
		}
	}
}

// normalise makes shares of the logarithms of the weights.
func (m *mixture) normalise() {
	most, total := math.Inf(-1), 0.0
	for i := range m.n {
		most = max(most, m.list[i].weight)
	}
	for i := range m.n {
		c := &m.list[i]
		c.weight = math.Exp(c.weight - most)
		total += c.weight
	}
	for i := range m.n {
		c := &m.list[i]
		c.weight /= total
		m.model[c.model] += c.weight
	}
}

// negligible is the share of the weight below which a candidate is left out.
const negligible = 3e-4

// split turns candidates into normal components: as they are where the bounds
// of the amplitude are far away, otherwise one for each slice of it.
func (m *mixture) split() {
	m.m = 0
	m.low, m.high = math.Inf(1), math.Inf(-1)
	for i := range m.n {
		c := &m.list[i]
		if !(c.weight > negligible) || !(c.varLeak > 0) {
			continue
		}
		if c.free {
			m.part(c.model, c.weight, c.leak, c.varLeak)
			continue
		}
		m.slice(c)
	}
}

// sliceEdges cut an amplitude that a bound limits, in units of its mean
// distance from that bound: close together next to it, where the leak is
// most unlike the unbounded fit.
// Candidates with a weight below light get every third.
var sliceEdges = [...]float64{0, 0.03, 0.08, 0.2, 0.35, 0.55, 0.8, 1.2, 1.8, 1e3}

const light = 0.01

// slice adds a candidate with a bounded amplitude, each slice of it as a normal
// with its own mean.
func (m *mixture) slice(c *candidate) {
	slope := c.cov / c.varB
	rest := max(c.varLeak-slope*c.cov, 0)
	move := slope * m.widen * math.Sqrt(c.varB)
	// Measure z from the nearer bound inwards.
	near, far, sign := c.low, c.high, 1.0
	if c.low < -c.high {
		near, far, sign = -c.high, -c.low, -1
	}
	from, edge := normalCDF(-near), normalDensity(near)
	scale := edge/from - near
	if !(from > 0) || !(scale > 0) {
		return
	}
	if move*move < mild*mild*rest {
		shift, spread := truncated(near, far)
		m.part(c.model, c.weight, c.leak+sign*move*shift, rest+move*move/(m.widen*m.widen)*spread)
		return
	}
	last := near
	stride := 1
	if c.weight < light {
		stride = 3
	}
	for i := stride; i < len(sliceEdges); i += stride {
		z := min(near+scale*sliceEdges[i], far)
		to, next := normalCDF(-z), normalDensity(z)
		if share := from - to; share > 0 {
			width := min(z-last, 1) * move / m.widen
			m.part(c.model, c.weight*share/c.mass, c.leak+sign*move*(edge-next)/share, rest+width*width/12)
		}
		if z == far {
			return
		}
		from, edge, last = to, next, z
	}
}

// mild is the ratio of what the amplitude does to the leak to the rest of its
// error below which a bounded amplitude leaves a normal.
const mild = 0.7

// truncated is mean and variance of the standard normal between two bounds.
func truncated(lo, hi float64) (mean, variance float64) {
	mass := normalCDF(-lo) - normalCDF(-hi)
	a, b := normalDensity(lo), normalDensity(hi)
	mean = (a - b) / mass
	variance = 1 - mean*mean
	if a > 0 {
		variance += lo * a / mass
	}
	if b > 0 {
		variance -= hi * b / mass
	}
	return mean, max(variance, 0)
}

func (m *mixture) part(law model, weight, mean, variance float64) {
	if m.m < mostParts {
		sd := math.Hypot(m.widen*math.Sqrt(variance), m.round)
		m.parts[m.m] = component{weight, mean, 1 / max(sd, 1e-300), law}
		m.m++
		m.low, m.high = min(m.low, mean-tableEnd*sd), max(m.high, mean+tableEnd*sd)
	}
}

func normalDensity(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// The normal distribution, tabulated from -tableEnd to tableEnd: linear between
// its values it is exact to 3e-5.
const (
	tableEnd   = 5
	tableSteps = 32 // per unit
	tableSize  = 2*tableEnd*tableSteps + 1
)

// table of the normal distribution.
type table [tableSize]float64

func (t *table) fill() {
	for i := range t {
		t[i] = normalCDF(float64(i)/tableSteps - tableEnd)
	}
}

// at answers the distribution and the density at z.
func (t *table) at(z float64) (below, density float64) {
	x := (z + tableEnd) * tableSteps
	if !(x > 0) {
		return 0, 0
	}
	if x >= tableSize-1 {
		return 1, 0
	}
	i := int(x)
	rise := t[i+1] - t[i]
	return t[i] + (x-float64(i))*rise, rise * tableSteps
}

// below is the probability of a leak under x, and its density there.
func (m *mixture) below(x float64) (below, density float64) {
	for i := range m.m {
		p := &m.parts[i]
		b, d := m.normal.at((x - p.mean) * p.inv)
		below += p.weight * b
		density += p.weight * d * p.inv
	}
	return below, density
}

// enoughShare is how near a quantile is found, as a share of its tail.
const enoughShare = 3e-3

// quantile of the leak by Newton's steps from x, or by bisection where these
// leave the bracket.
func (m *mixture) quantile(q, x float64) float64 {
	lo, hi := m.low, m.high
	for range 30 {
		b, d := m.below(x)
		if math.Abs(b-q) < enoughShare*min(q, 1-q) {
			break
		}
		if b < q {
			lo = x
		} else {
			hi = x
		}
		next := x - (b-q)/d
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		x = next
	}
	return x
}

// student is the 97.5 % quantile of Student's t with nu degrees of freedom, at
// least 3, to 1 % (Cornish-Fisher expansion, Abramowitz and Stegun 26.7.5).
func student(nu float64) float64 {
	const z = confidenceZ
	const z2 = z * z
	const g1 = (z2 + 1) * z / 4
	const g2 = ((5*z2+16)*z2 + 3) * z / 96
	const g3 = (((3*z2+19)*z2+17)*z2 - 15) * z / 384
	return z + g1/nu + g2/(nu*nu) + g3/(nu*nu*nu)
}
