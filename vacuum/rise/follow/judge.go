package follow

import (
	"math"
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
	// negative; Low is zero when zero is not excluded. Where the verdict is
	// Undetermined, High is at least what the slope of the last third allows.
	Low, Best, High units.Throughput
	// Rise is what the source that fades added so far, Pa, and TimeConstant its
	// τ; zero when none is shown.
	Rise         units.Pressure
	TimeConstant time.Duration
	// Decide foresees how long the record must be, from its first reading on, to
	// decide: the interval of the leak shrinks with the power 3/2 of time in
	// noise and with time itself in drift. It is zero when the record has decided
	// or no time is known, as for all reasons but TooWide, LawsDisagree and
	// FewIndependent.
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

// Verdict judges the readings so far. It depends on nothing but them, and
// changes nothing that a caller sees. It allocates nothing.
func (f *Follower) Verdict() Status {
	f.mustBeMade()
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
// melts, where a rise follows other laws. Its bounds are those by which package
// rise recognises a stuck gauge, saturation and a pause at the triple point, each
// a little wider, so that nothing that it may recognise is judged here.
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
	w.describe()
	for range 2 {
		if !r.whiten(w.learn(), 0) {
			return false
		}
		w.follow()
		if !(r.phi > doubtfulLow && r.phi < doubtfulHigh) {
			break
		}
	}
	w.fitSimple()
	s.Correlation = r.phi
	m := &w.mix
	best := w.best()
	m.widen = student(max(r.effective()-float64(best.parameters()), 3)) / confidenceZ
	noise := r.sigma[r.m/2]
	m.round = roundingError(r.rounding*math.Sqrt(12), math.Sqrt(max(noise*noise-r.rounding*r.rounding, 0))) / max(1, w.stepsCrossed(best))
	m.rise, m.fall = f.saturation, max(f.p0, 1e-9)
	return true
}

// The noise is learnt twice where the correlation is near smallCorrelation: on
// which side of it decides how it is learnt.
const (
	doubtfulLow  = 0.1
	doubtfulHigh = 0.3
)

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
