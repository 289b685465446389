package follow

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// Status is what the readings so far prove.
type Status struct {
	Verdict Verdict
	// Fault is true when the gauge repeated one value or was over its range for
	// more than a quarter of the readings.
	Fault bool
	// Low, Best and High are the leak and its 95 % interval, Pa·m³/s, not
	// negative; Low is zero when zero is not excluded.
	Low, Best, High units.Throughput
	// Rise is what the source that fades added so far, Pa, and TimeConstant its
	// τ; zero when none is shown.
	Rise         units.Pressure
	TimeConstant time.Duration
	// Decide foresees how long the record must be, from its first reading on, to
	// decide: the interval of the leak shrinks with the power 3/2 of time in
	// noise and with time itself in drift. It is zero when the record has decided
	// or no time is known.
	Decide time.Duration
	// Correlation of neighbouring readings' noise, 0 to below 1.
	Correlation float64
}

// Thresholds and prior weights; those of package rise, and a wider interval
// because power laws are not among the candidates here.
const (
	shown          = 0.99
	tailWeight     = 3
	priorSettling  = 0.1
	priorPower     = 0.5
	extraWidth     = 1.1
	powerShown     = 0.9
	solidGain      = 30   // of χ², from which a source that fades is beyond doubt
	nearLimit      = 1.25 // ratio of the upper bound to the limit that is too near to call
	overRangeShare = 0.25
	nodesPerBank   = 4
	confidenceZ    = 1.959963984540054 // of 95 %, two-sided
)

// candidates are all fits at one correlation of the noise.
type candidates struct {
	g     gram
	base  base
	nodes [Bank * nodesPerBank]fit
	n     int
	best  int // index of the least χ², -1 for none
}

// Verdict judges the readings so far. It depends on nothing but them and
// changes nothing.
func (f *Follower) Verdict() Status {
	var s Status
	switch {
	case float64(f.over) > overRangeShare*float64(f.n+f.over):
		s.Fault = true
		return s
	case f.n < MinReadings:
		return s
	case f.least == f.most:
		s.Fault = true
		return s
	}
	var c candidates
	if !f.fitAll(0, &c) {
		return s
	}
	s.Correlation = f.correlation(&c)
	if s.Correlation > 0 && !f.fitAll(s.Correlation, &c) {
		return s
	}
	m := f.weigh(&c, s.Correlation)
	f.decide(&c, &m, &s)
	return s
}

func (f *Follower) duration() float64 { return f.last - f.first }

// fitAll fits start and leak with every time constant of the bank, a few
// between each two, that the record can tell from a leak.
func (f *Follower) fitAll(phi float64, c *candidates) bool {
	f.gram(phi, &c.g)
	g := &c.g
	var ok bool
	if c.base, ok = g.base(); !ok {
		return false
	}
	c.n, c.best = 0, -1
	step := (f.logTau[1] - f.logTau[0]) / nodesPerBank
	longest := math.Log(slowest * f.duration())
	for k := range Bank {
		for i := range nodesPerBank {
			delta := (float64(i) - (nodesPerBank-1)/2.0) * step
			if f.logTau[k]+delta > longest {
				break
			}
			f.addNode(g, c, k, delta)
		}
	}
	f.refine(g, c)
	return true
}

func (f *Follower) addNode(g *gram, c *candidates, k int, delta float64) {
	r := c.base.with(g.source(k, delta))
	if !r.usable {
		return
	}
	r.k, r.delta, r.theta = k, delta, f.logTau[k]+delta
	c.nodes[c.n] = r
	if c.best < 0 || r.chi2 < c.nodes[c.best].chi2 {
		c.best = c.n
	}
	c.n++
}

// refine moves the best node to the lowest point of the parabola through it
// and its neighbours.
func (f *Follower) refine(g *gram, c *candidates) {
	i := c.best
	for range 2 {
		if i <= 0 || i >= c.n-1 {
			return
		}
		l, m, r := c.nodes[i-1], c.nodes[i], c.nodes[i+1]
		h1, h2 := m.theta-l.theta, r.theta-m.theta
		curve := (r.chi2-m.chi2)/h2 + (l.chi2-m.chi2)/h1
		if !(curve > 0) || h1 <= 0 || h2 <= 0 {
			return
		}
		slope := ((r.chi2-m.chi2)*h1/h2 - (l.chi2-m.chi2)*h2/h1) / (h1 + h2)
		shift := -slope * (h1 + h2) / (2 * curve)
		delta := m.delta + min(max(shift, -h1/2), h2/2)
		next := c.base.with(g.source(m.k, delta))
		if !next.usable || next.chi2 >= m.chi2 {
			return
		}
		next.k, next.delta, next.theta = m.k, delta, f.logTau[m.k]+delta
		c.nodes[i] = next
	}
}

// parameters of the better of the two models by the Bayesian information
// criterion: start and leak, or these with a source and its time constant.
func (f *Follower) parameters(c *candidates, effective float64) int {
	if c.best < 0 {
		return 2
	}
	n := float64(f.n)
	gain := n * math.Log((c.base.chi2+1e-300)/(c.nodes[c.best].chi2+1e-300))
	if gain > 2*math.Log(max(effective, 3)) {
		return 4
	}
	return 2
}

// correlation is the lag-1 correlation of the residuals: of the better model,
// or the larger of the two where neither is clearly better.
func (f *Follower) correlation(c *candidates) float64 {
	if c.best < 0 {
		return f.correlationOf(c, 2)
	}
	n := float64(f.n)
	gain := n*math.Log((c.base.chi2+1e-300)/(c.nodes[c.best].chi2+1e-300)) - 2*math.Log(n)
	const beyond = 6
	switch {
	case gain > beyond:
		return f.correlationOf(c, 4)
	case gain < -beyond:
		return f.correlationOf(c, 2)
	}
	return max(f.correlationOf(c, 2), f.correlationOf(c, 4))
}

// correlationOf is the lag-1 correlation of the residuals of the model with k
// parameters, with the bias of fitting them, (k + (k+2) φ)/n, taken out.
func (f *Follower) correlationOf(c *candidates, k int) float64 {
	var coef [7]float64 // of 1, time, source and its two derivatives, pressure, time × pressure
	coef[5] = -1
	bank := 0
	coef[0], coef[1] = c.base.beta[0], c.base.beta[1]
	if k == 4 {
		m := c.nodes[c.best]
		bank = m.k
		coef[1] = m.leak
		coef[2], coef[3], coef[4] = m.b, m.b*m.delta, m.b*m.delta*m.delta/2
		col := c.g.source(m.k, m.delta)
		coef[0] = c.base.inv[0][0]*(c.base.vy[0]-m.b*col.c0) + c.base.inv[0][1]*(c.base.vy[1]-m.b*col.c1)
	}
	c.g.takeDrift(bank, &coef)
	den := quadratic(&f.zero, bank, &coef)
	num := quadratic(&f.one, bank, &coef) / 2
	if !(den > 0) {
		return 0
	}
	phi := num / den
	return min(max(phi+(float64(k)+float64(k+2)*phi)/float64(f.n), 0), 0.99)
}

// takeDrift takes the most probable drift out of the residuals described by
// coef: minus the residual's product with c, over 1/Drift² + c·c, times c.
func (g *gram) takeDrift(bank int, coef *[7]float64) {
	if g.share == 0 {
		return
	}
	ce := 0.0
	for i, x := range coef {
		switch {
		case i >= 2 && i <= 4:
			ce += x * g.bc[bank][i-2]
		case i == 6:
		default:
			ce += x * g.vc[column4(i)]
		}
	}
	d := -ce * g.share // coef describes fit minus pressure
	coef[0] += d * g.drift[0]
	coef[5] += d * g.drift[2]
	coef[6] += d * g.drift[3]
}

// column4 is the index in v of column i of a residual.
func column4(i int) int {
	if i < 2 {
		return i
	}
	return i - 3
}

// quadratic is coefᵀ S coef over the columns of one bank value.
func quadratic(s *sums, k int, coef *[7]float64) float64 {
	at := func(i, j int) float64 {
		switch {
		case i >= 2 && i <= 4 && j >= 2 && j <= 4:
			return s.bb[k][i-2][j-2]
		case i >= 2 && i <= 4:
			return s.bv[k][i-2][column4(j)]
		case j >= 2 && j <= 4:
			return s.bv[k][j-2][column4(i)]
		}
		return s.vv[column4(i)][column4(j)]
	}
	sum := 0.0
	for i := range coef {
		for j := range coef {
			sum += coef[i] * coef[j] * at(i, j)
		}
	}
	return sum
}

// component is one normal part of what the readings say about the leak.
type component struct{ weight, mean, sd float64 }

// mixture is what the readings say about the leak, per longest record, and how
// probable a source that fades or a settling pressure is.
type mixture struct {
	parts                        [Bank*nodesPerBank*2 + 2*Bank + 1]component
	n                            int
	fades, settles, total, occam float64
	power                        float64 // of fades, the part by a power law
	scale                        float64 // variance of unit weight
	widen, round                 float64
}

// weigh averages the candidates as package rise does: likelihood, the
// unit-information price of a term, a prior uniform in the logarithm of the
// time constant, amplitudes between their physical bounds.
func (f *Follower) weigh(c *candidates, phi float64) mixture {
	effective := max(float64(f.n)*(1-phi)/(1+phi), 2)
	k := f.parameters(c, effective)
	least := c.base.chi2
	if c.best >= 0 {
		least = min(least, c.nodes[c.best].chi2)
	}
	m := mixture{
		scale: least / max(float64(f.n-k), 1), occam: math.Sqrt(2 * math.Pi / max(effective, 2*math.Pi)),
		widen: extraWidth * student(max(effective-float64(k), 3)) / confidenceZ,
	}
	m.scale = max(m.scale, 1e-300)
	m.round = f.rounding(m.scale)
	m.add(math.Exp(-(c.base.chi2-least)/(2*m.scale)), c.base.beta[1], c.base.inv[1][1])
	fading := f.weighNodes(c, &m, least)
	f.weighTails(c, &m, fading)
	f.weighPower(c, &m, least)
	return m
}

func (m *mixture) add(weight, mean, variance float64) {
	m.total += weight
	m.parts[m.n] = component{weight, mean, math.Hypot(m.widen*math.Sqrt(max(variance, 0)*m.scale), m.round)}
	m.n++
}

// rounding is the error of the leak, per longest record, that rounding leaves
// however many readings there are: step/√6 exp(-2π² (scatter/step)²) over the
// record.
func (f *Follower) rounding(scale float64) float64 {
	step, noise, share := float64(f.cfg.Resolution), float64(f.cfg.Noise), f.cfg.NoiseShare*f.p0
	variance := scale*(step*step/12+noise*noise+share*share) - step*step/12
	x := max(variance, 0) / (step * step)
	return step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*x) * f.cfg.Longest.Seconds() / f.duration()
}

// weighNodes adds the one-source fits and answers the weight of fading ones.
func (f *Follower) weighNodes(c *candidates, m *mixture, least float64) (fading float64) {
	if c.n == 0 {
		return 0
	}
	// The prior covers the same range of time constants as the bank that is
	// used; the refined node stands for its cell.
	share := 1 / float64(c.n)
	half := math.Log(f.duration() / 2)
	for i := range c.n {
		node := &c.nodes[i]
		weight := share * m.occam * math.Exp(-(node.chi2-least)/(2*m.scale))
		if !(weight > 1e-12) {
			continue
		}
		w := m.truncated(weight, node, 0, f.saturation)
		fading += w
		m.fades += w
		if node.theta <= half {
			m.settles += m.truncated(priorSettling*weight, node, -max(f.p0, 1e-9), 0)
		}
	}
	return fading
}

// weighTails adds a slower source beside the best fading one; it counts
// whenever it fits as well. Its weight stands for all sources that are not
// among the candidates here.
func (f *Follower) weighTails(c *candidates, m *mixture, fading float64) {
	if c.best < 0 || c.nodes[c.best].b <= 0 || !(fading > 0) {
		return
	}
	g := &c.g
	best := &c.nodes[c.best]
	longest := math.Log(slowest * f.duration())
	var tails [Bank]fit
	n := 0
	for k := best.k + 1; k < Bank && f.logTau[k] <= longest; k++ {
		if f.logTau[k] < best.theta+0.3 {
			continue
		}
		if r, ok := g.withTail(best, k); ok && r.first > 0 {
			tails[n] = r
			n++
		}
	}
	for i := range n {
		gain := math.Exp(min((best.chi2-tails[i].chi2)/(2*m.scale), 300))
		gain = min(gain, max(1, gain*m.occam))
		m.fades += m.truncated(tailWeight*fading*gain/float64(n), &tails[i], 0, f.saturation)
	}
}

// weighPower adds power laws over a grid of t0 and three exponents.
func (f *Follower) weighPower(c *candidates, m *mixture, least float64) {
	g := &c.g
	var p pairs
	g.pairs(&p)
	lo, hi := math.Log(f.cfg.Interval.Seconds()/2), math.Log(f.duration()/2)
	const points = 6
	for _, n := range [...]float64{0.5, 1, 1.5} {
		for i := range points {
			t0 := math.Exp(lo + (hi-lo)*float64(i)/(points-1))
			r := c.base.with(g.power(&p, t0, n, slowest*f.duration()))
			if r.usable {
				weight := priorPower * m.occam / (3 * points) * math.Exp(-(r.chi2-least)/(2*m.scale))
				m.power += m.truncated(min(weight, 1e100), &r, 0, math.Inf(1))
			}
		}
	}
	m.fades += m.power
}

// truncated adds a fit whose amplitude lies between lo and hi, as the normal
// with the mean and variance that this leaves the leak. It answers the weight.
func (m *mixture) truncated(weight float64, r *fit, lo, hi float64) float64 {
	sb := m.widen * math.Sqrt(r.varB*m.scale)
	if !(sb > 0) {
		return 0
	}
	a, b := (lo-r.b)/sb, (hi-r.b)/sb
	mass := normalCDF(b) - normalCDF(a)
	if !(mass > 1e-9) {
		return 0
	}
	shift := (density(a) - density(b)) / mass
	spread := 1 + (edge(a)-edge(b))/mass - shift*shift
	slope := r.cov / r.varB
	mean := r.leak + slope*sb*shift
	variance := r.varL + slope*r.cov*(max(spread, 0)-1)
	m.add(weight*mass, mean, variance)
	return weight * mass
}

func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

func edge(z float64) float64 {
	if !(math.Abs(z) < 38) {
		return 0
	}
	return z * density(z)
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// student is the 97.5 % quantile of Student's t with nu degrees of freedom, at
// least 3, to 1 % (Cornish-Fisher expansion, Abramowitz and Stegun 26.7.5).
func student(nu float64) float64 {
	const z = confidenceZ
	g1 := (z*z*z + z) / 4
	g2 := (5*math.Pow(z, 5) + 16*z*z*z + 3*z) / 96
	g3 := (3*math.Pow(z, 7) + 19*math.Pow(z, 5) + 17*z*z*z - 15*z) / 384
	return z + g1/nu + g2/(nu*nu) + g3/(nu*nu*nu)
}

// prune drops parts below a thousandth of the weight and makes the rest add up
// to 1.
func (m *mixture) prune() {
	kept, sum := 0, 0.0
	for i := range m.n {
		if p := m.parts[i]; p.weight > 1e-3*m.total {
			m.parts[kept] = p
			kept++
			sum += p.weight
		}
	}
	m.n = kept
	for i := range kept {
		m.parts[i].weight /= sum
	}
}

// quantile of the leak, by bisection.
func (m *mixture) quantile(q float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range m.n {
		p := &m.parts[i]
		lo, hi = min(lo, p.mean-6*p.sd), max(hi, p.mean+6*p.sd)
	}
	for range 26 {
		mid := lo + (hi-lo)/2
		sum := 0.0
		for i := range m.n {
			p := &m.parts[i]
			sum += p.weight * normalCDF((mid-p.mean)/p.sd)
		}
		if sum < q {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}

// decide turns the mixture into a verdict.
func (f *Follower) decide(c *candidates, m *mixture, s *Status) {
	fades, settles, power := m.fades/m.total, m.settles/m.total, m.power/m.total
	m.prune()
	perRecord := float64(f.cfg.Volume) / f.cfg.Longest.Seconds()
	lo, mid, hi := m.quantile(0.025), m.quantile(0.5), m.quantile(0.975)
	flow := func(x float64) units.Throughput { return units.Throughput(max(x*perRecord, 0)) }
	s.Low, s.Best, s.High = flow(lo), flow(mid), flow(hi)
	excludes, reaches := lo > 0, hi*perRecord >= float64(f.cfg.LeakLimit)
	open := fades > 0.3 && fades < shown // a source that may well be there
	if fades >= shown && c.best >= 0 {
		f.describe(&c.nodes[c.best], s)
		solid := (c.base.chi2 - c.nodes[c.best].chi2) / m.scale
		open = s.Rise < 3*f.cfg.Resolution || solid < solidGain
	}
	ratio := hi * perRecord / float64(f.cfg.LeakLimit)
	near := ratio > 1/nearLimit && ratio < nearLimit
	switch {
	case excludes && reaches && fades >= shown && !open:
		s.Verdict = LeakAndMoisture
	case excludes && reaches && !open && !near:
		s.Verdict = Leak
	case reaches || open || near && excludes:
		s.Verdict = Undetermined
		s.Decide = f.foresee(lo, hi, perRecord, c)
	case settles >= shown && f.most-f.p0 < f.p0-f.least:
		s.Verdict = Equalising
	case fades >= shown && power > powerShown:
		s.Verdict = Outgassing
	case fades >= shown && power < 1-powerShown:
		s.Verdict = Moisture
	case fades >= shown:
		s.Verdict = Undetermined // no leak, but moisture or outgassing
	default:
		s.Verdict = Tight
	}
}

// describe the source that fades.
func (f *Follower) describe(best *fit, s *Status) {
	tau := math.Exp(best.theta)
	s.Rise = units.Pressure(-best.b * math.Expm1(-f.duration()/tau))
	s.TimeConstant = time.Duration(min(tau*1e9, math.MaxInt64/2))
}

// foresee is when the interval will be narrower than the limit.
func (f *Follower) foresee(lo, hi, perRecord float64, c *candidates) time.Duration {
	ratio := (hi - lo) * perRecord / float64(f.cfg.LeakLimit)
	longer := max(math.Pow(ratio, 2.0/3), 1.1)
	d := f.duration() * longer
	if c.best >= 0 {
		d = max(d, min(2*math.Exp(c.nodes[c.best].theta), 10*f.duration()))
	}
	return time.Duration(min(math.Ceil(d)*1e9, 30*86400e9))
}
