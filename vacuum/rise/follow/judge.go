package follow

import (
	"math"
	"slices"
	"time"

	"example.com/drydown/units"
)

// Status is what the readings so far prove.
type Status struct {
	Verdict Verdict
	// Reason says why the verdict is Undetermined.
	Reason Reason
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

// Thresholds of the decision; those of package rise.
const (
	confidenceZ    = 1.959963984540054 // of 95 %, two-sided
	lowerTail      = 0.025             // quantiles of the interval
	upperTail      = 0.965
	shown          = 0.95
	fallShown      = 0.998
	powerShown     = 0.75
	overRangeShare = 0.25
)

// doubt is the factor by which the weight of a law is uncertain.
const doubt = 1.6

// Verdict judges the readings so far. It depends on nothing but them, and
// changes nothing that a caller sees. It allocates nothing.
func (f *Follower) Verdict() Status {
	var s Status
	switch {
	case float64(f.over) > overRangeShare*float64(f.n+f.over):
		s.Fault, s.Reason = true, GaugeFault
	case f.n < MinReadings:
		s.Reason = TooFewReadings
	case f.least == f.most:
		f.constant(&s)
	case f.interpret(&s):
		f.decide(&s)
	default:
		s.Reason = TooFewReadings
	}
	return s
}

// special is a reason that the pressures themselves give to leave the verdict
// open: a gauge that repeats one value, and pressures at which water boils or
// melts, where a rise follows other laws.
func (f *Follower) special() Reason {
	rise := f.most - f.p0
	fromBelow := f.p0 < 0.82*f.saturationLow && f.most > 0.96*f.saturationLow
	switch {
	case f.longest >= mostRepeats && 2.2*float64(f.longest) > float64(f.n):
		return Repeats
	case fromBelow, rise > 0.97*f.saturation, f.melting >= 5 && float64(f.melting) > 0.05*float64(f.n):
		return WaterNear
	}
	return Decided
}

// mostRepeats is how often a gauge may repeat a value.
const mostRepeats = 20

// interpret fits all candidates with a first guess of the noise, learns the
// noise from the best, fits again and weighs them.
func (f *Follower) interpret(s *Status) bool {
	w := &f.w
	r := &w.rows
	w.start(f)
	w.firstSigma(f.most)
	r.setDrift(&r.y)
	if !r.whiten(0, 0) {
		return false
	}
	w.fitAll(false)
	if !r.whiten(w.learn(), 0) {
		return false
	}
	w.fitAll(true)
	w.measure()
	s.Correlation = r.phi
	m := &w.mix
	_, _, k := w.fitOf(w.best())
	m.widen = student(max(r.effective()-float64(k), 3)) / confidenceZ
	noise := r.sigma[r.m/2]
	m.round = roundingError(r.rounding*math.Sqrt(12), math.Sqrt(max(noise*noise-r.rounding*r.rounding, 0)))
	m.rise, m.fall = f.saturation, max(f.p0, 1e-9)
	w.weigh()
	return true
}

// roundingError is the error of the leak over the record that rounding leaves
// however many readings there are: step/√6 exp(-2π² (σ/step)²).
func roundingError(step, sigma float64) float64 {
	x := sigma / step
	return step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*x*x)
}

// ceilingZ is how many standard errors above the slope of its last third a
// record's leak may lie.
const ceilingZ = 3

// ceiling bounds the leak from above, in Pa over the record: sources that fade
// only add to the pressure, so that no leak is steeper than the last third of
// the record by more than its error. It is infinite for a third that is too
// short.
func (w *work) ceiling() float64 {
	r := &w.rows
	from, n := r.m, 0.0
	for from > 0 && r.blocks[from-1].first >= r.dur*2/3 {
		from--
		n += r.blocks[from].n
	}
	if n < MinReadings || !r.whiten(r.phi, from) {
		return math.Inf(1)
	}
	return r.base.beta[1] + ceilingZ*w.mix.widen*math.Sqrt(r.base.inv[1][1])
}

// constant judges a record of one value as ConstantRecord does.
func (f *Follower) constant(s *Status) {
	volume, dur := float64(f.cfg.Volume), f.last
	step := float64(f.cfg.Resolution)
	drift := f.p0 * float64(f.cfg.Drift) / float64(f.cfg.SiteTemperature)
	high, explained := ConstantRecord(f.p0, step, drift)
	if !explained {
		s.Fault, s.Reason = true, GaugeFault
		return
	}
	s.Constant = true
	s.High = units.Throughput(high * volume / dur)
	limit := float64(f.cfg.LeakLimit) * dur / volume
	if high < limit && limit >= ManySteps*step {
		s.Verdict = Tight
		return
	}
	s.Reason = TooWide
	if d := dur * max(high/limit, ManySteps*step/limit, 1.1); d < 30*86400 {
		s.Decide = time.Duration(math.Ceil(d) * 1e9)
	}
}

// decide turns the mixture into a verdict.
func (f *Follower) decide(s *Status) {
	w := &f.w
	m := &w.mix
	best, fit, _ := w.fitOf(w.best())
	sources, falls := w.change(best, fit)
	mid := m.quantile(0.5, fit.leak)
	lo, hi := m.quantile(lowerTail, mid), m.quantile(upperTail, mid)
	ceiling := math.Inf(1)
	if m.model[settling] < 1-shown {
		ceiling = max(w.ceiling(), mid)
	}
	toFlow := float64(f.cfg.Volume) / f.last
	s.Low, s.Best, s.High = flow(lo*toFlow), flow(mid*toFlow), flow(min(hi, ceiling)*toFlow)
	limit := float64(f.cfg.LeakLimit) / toFlow
	j := jury{
		step: float64(f.cfg.Resolution), sources: [2]float64{sources, sources}, falls: [2]float64{falls, falls},
		ceiling: ceiling, limit: limit, falling: m.model[settling] >= 1-shown,
	}
	w.rivals(&j)
	j.hear(m, lo, mid, min(hi, ceiling), w.rows.phi)
	if m.fading() >= shown && sources > 2*j.step {
		s.Rise = units.Pressure(sources)
		if best.model == vapour {
			s.TimeConstant = time.Duration(min(math.Exp(best.theta[0])*1e9, math.MaxInt64/2))
		}
	}
	s.Verdict, s.Reason = j.verdict()
	if r := f.special(); r != Decided {
		s.Verdict, s.Reason = Undetermined, r
	} else if w.coarse {
		s.Verdict, s.Reason = Undetermined, TooFast
	} else if n := w.rows.effective(); f.n < fewestRead || n < fewest || n < fewestSlow && (m.model[settling] >= 1-shown || w.rows.phi > slowNoise) {
		s.Verdict, s.Reason = Undetermined, FewIndependent
	}
	if s.Verdict == Undetermined {
		s.Decide = f.foresee(lo, hi, limit, best)
	}
}

// flow is a leak as stated: none below zero.
func flow(x float64) units.Throughput { return units.Throughput(max(x, 0)) }

// change is what the sources of a law add over the record, and by how much its
// pressure falls, Pa.
func (w *work) change(p *point, s *solution) (sources, falls float64) {
	for i := range s.k {
		z := w.rows.dur / math.Exp(p.theta[i])
		column := -math.Expm1(-z)
		if p.model == powerLaw {
			m := 1 - p.theta[1]
			u := math.Log1p(z)
			column = u * (1 + m*u/2)
			if math.Abs(m*u) > 1e-4 {
				column = math.Expm1(m*u) / m
			}
		}
		sources += s.b[i] * column
	}
	return sources, -sources - s.leak
}

// rivals widens what sources add and how much the pressure falls by the laws
// that are nearly as good as the best, and by a margin.
func (w *work) rivals(j *jury) {
	least := slices.Min(w.score[:])
	margin := marginSteps * j.step
	for m := vapour; m <= powerLaw; m++ {
		if p := &w.point[m]; p.has && w.score[m] < least+plausibleScore {
			sources, falls := w.change(p, &p.sol)
			j.sources = [2]float64{min(j.sources[0], sources), max(j.sources[1], sources)}
			j.falls = [2]float64{min(j.falls[0], falls), max(j.falls[1], falls)}
		}
	}
	if w.score[steady] < least+plausibleScore {
		j.sources[0] = min(j.sources[0], 0)
	}
	j.sources[0], j.sources[1] = j.sources[0]-margin, j.sources[1]+margin
	j.falls[0], j.falls[1] = j.falls[0]-margin, j.falls[1]+margin
}

// foresee is when the interval will be narrower than the limit, always later
// than now; zero beyond 30 days.
func (f *Follower) foresee(lo, hi, limit float64, best *point) time.Duration {
	d := f.last * max(math.Pow(2*(hi-lo)/limit, 2.0/3), 1.1) // twice, for the margins of a verdict
	if best.model == vapour || best.model == twoVapours {
		d = max(d, min(2*math.Exp(best.theta[0]), 10*f.last))
	}
	if !(d < 30*86400) {
		return 0
	}
	return time.Duration(math.Ceil(d) * 1e9)
}
