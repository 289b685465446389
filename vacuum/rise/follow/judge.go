package follow

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// Status is what the readings so far prove.
type Status struct {
	Verdict Verdict
	// Fault is true when the gauge was over its range for more than a quarter of
	// the readings, or repeated one value where one that works would not have.
	Fault bool
	// Constant is true when the gauge repeated one value and its resolution
	// explains that: a tight circuit, or a gauge that is stuck, which looks the
	// same. Prove that the gauge is alive: open the valve for a moment.
	Constant bool
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
	nearFading     = 2    // the same beside a source that fades
	nearZero       = 0.3  // share of the best value above which the lower bound must lie
	loose          = 0.15 // of the half-width, by which the weight of slower sources may move the best value
	fewest         = 60   // independent readings
	slowestSure    = 0.2  // time constant that is sure, in record lengths
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
		f.constant(&s)
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

// constant judges a record of one value as ConstantRecord does.
func (f *Follower) constant(s *Status) {
	volume, dur := float64(f.cfg.Volume), f.duration()
	step := float64(f.cfg.Resolution)
	drift := f.p0 * float64(f.cfg.Drift) / float64(f.cfg.SiteTemperature)
	high, explained := ConstantRecord(f.p0, step, drift)
	if !explained {
		s.Fault = true
		return
	}
	s.Constant = true
	s.High = units.Throughput(high * volume / dur)
	limit := float64(f.cfg.LeakLimit) * dur / volume
	if high < limit && limit >= ManySteps*step {
		s.Verdict = Tight
		return
	}
	if d := dur * max(high/limit, ManySteps*step/limit, 1.1); d < 30*86400 {
		s.Decide = time.Duration(math.Ceil(d) * 1e9)
	}
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

// decide turns the mixture into a verdict.
func (f *Follower) decide(c *candidates, m *mixture, s *Status) {
	fades, settles, power := m.fades/m.total, m.settles/m.total, m.power/m.total
	m.prune()
	perRecord := float64(f.cfg.Volume) / f.cfg.Longest.Seconds()
	lo, hi := m.quantile(0.025), m.quantile(0.975)
	cautious := max(m.quantile(0.5), 0)
	m.level()
	mid := min(max(m.quantile(0.5), lo), hi)
	astray := max(mid, 0)-cautious > loose*(max(hi, 0)-max(lo, 0))/2
	flow := func(x float64) units.Throughput { return units.Throughput(max(x*perRecord, 0)) }
	s.Low, s.Best, s.High = flow(lo), flow(mid), flow(hi)
	excludes, reaches := lo > 0, hi*perRecord >= float64(f.cfg.LeakLimit)
	open := fades > 0.3 && fades < shown // a source that may well be there
	if fades >= shown && c.best >= 0 {
		f.describe(&c.nodes[c.best], s)
		solid := (c.base.chi2 - c.nodes[c.best].chi2) / m.scale
		open = s.Rise < 3*f.cfg.Resolution || solid < solidGain
	}
	open = open || settles > 0.3 && settles < shown || astray || f.unsure(s, lo/mid, hi*perRecord)
	switch {
	case excludes && reaches && fades >= shown && !open:
		s.Verdict = LeakAndMoisture
	case excludes && reaches && !open:
		s.Verdict = Leak
	case reaches || open:
		s.Verdict = Undetermined
		s.Decide = f.foresee(lo, hi, perRecord, c)
	case settles >= shown && f.fall(c) > 3*float64(f.cfg.Resolution):
		s.Verdict = Equalising
	case f.fall(c) > float64(f.cfg.Resolution) && m.below(0) > 0.98:
		s.Verdict = Undetermined // tight, and either settling or not
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

// unsure reports whether the batch interpretation, which learns the noise and
// knows more laws, may see the readings otherwise: too few independent ones, a
// time constant that is not small against the record, a bound near zero or near
// the limit. lowShare is the lower bound over the best value.
func (f *Follower) unsure(s *Status, lowShare, high float64) bool {
	if float64(f.n)*(1-s.Correlation)/(1+s.Correlation) < fewest {
		return true
	}
	if s.TimeConstant.Seconds() > slowestSure*f.duration() {
		return true
	}
	margin := float64(nearLimit)
	if s.Rise > 0 {
		margin = nearFading
	}
	ratio := high / float64(f.cfg.LeakLimit)
	if ratio > 1/margin && ratio < margin {
		return true
	}
	return s.Low > 0 && lowShare < nearZero
}

// fall is by how much the most probable fit ends below its start, Pa.
func (f *Follower) fall(c *candidates) float64 {
	x := f.duration() / f.cfg.Longest.Seconds()
	fall := -c.base.beta[1] * x
	if c.best >= 0 {
		b := &c.nodes[c.best]
		fall = max(fall, -b.leak*x+b.b*math.Expm1(-f.duration()/math.Exp(b.theta)))
	}
	return fall
}

// describe the source that fades.
func (f *Follower) describe(best *fit, s *Status) {
	tau := math.Exp(best.theta)
	s.Rise = units.Pressure(-best.b * math.Expm1(-f.duration()/tau))
	s.TimeConstant = time.Duration(min(tau*1e9, math.MaxInt64/2))
}

// foresee is when the interval will be narrower than the limit by the margin
// that a verdict needs, always later than now; zero beyond 30 days.
func (f *Follower) foresee(lo, hi, perRecord float64, c *candidates) time.Duration {
	ratio := nearFading * (hi - lo) * perRecord / float64(f.cfg.LeakLimit)
	longer := max(math.Pow(ratio, 2.0/3), 1.1)
	d := f.duration() * longer
	if c.best >= 0 {
		d = max(d, min(2*math.Exp(c.nodes[c.best].theta), 10*f.duration()))
	}
	if !(d < 30*86400) {
		return 0
	}
	return time.Duration(math.Ceil(d) * 1e9)
}
