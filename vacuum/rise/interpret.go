package rise

import (
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// Interpret says what a record of rising pressure after isolation proves.
//
// Candidate laws are fitted by weighted separable least squares: start, leak
// and amplitudes exactly, time constants over a logarithmic grid and then by
// Gauss-Newton steps. Noise is learnt from the record: its proportional share,
// its lag-1 correlation, its outliers; a first reading and up to two last
// ones that stand apart are set aside before. A first one that is less than ten
// times too low, as one would be that water followed at once, is kept where the
// verdict rests on it, and the sentence says what it would be without. The
// leak's interval is a mixture over
// all laws that stay plausible; the verdict follows from it:
//
//   - Undetermined exactly when the interval contains both zero and
//     o.LeakLimit, unless a plateau at saturation or a step at the triple point
//     proves water, or the rise exceeds what water can do;
//   - Leak or LeakAndMoisture when the interval excludes zero and reaches the
//     limit, by whether a source that fades is shown as well;
//   - otherwise Equalising, Moisture, Outgassing or Tight, by whether a fall
//     or a fading source is shown. A leak below the limit may exist then;
//     Finding.Leak.High is the largest one compatible with the record.
//
// Equalising is claimed only when the pressure falls, two gauges approach one
// another, or the record agrees with o.Equalisation, as a model of the circuit
// foresees it. That law is then one of the candidates; a leak beside it is Leak,
// and a record that does not agree with it is judged as without, as the sentence
// then says. A record that is stuck, or shorter than MinSamples, or
// has more than a quarter of its rows over range, or missing and unreadable, is Undetermined
// with that reason and the line of the first such row. One that shows a single value is Tight with
// reason ConstantReading when the resolution of the gauge explains it and a
// leak at the limit would have shown at least follow.ManySteps steps, with the
// caution that a stuck gauge looks the same; otherwise Undetermined with what
// would settle it, or with InstrumentFault where a second gauge moved meanwhile.
// A column of temperatures or of a second gauge that lacks at most a quarter of its
// readings is filled in by straight lines, and rows at the ends without one are left
// out; a column that lacks more is not used. Assumptions say so. Errors are for
// options out of range, times that do not increase, pressures outside 0 to 1.05
// times the ambient and columns of other lengths than the times.
//
// The result depends on nothing but its arguments. It is safe for concurrent
// use.
func Interpret(log trace.Log, o Options) (Finding, error) {
	const fn = "rise.Interpret"
	o, err := o.check()
	if err != nil {
		return Finding{}, err
	}
	r, err := newRecord(fn, log, float64(o.Ambient))
	if err != nil {
		return Finding{}, err
	}
	for i := range o.Equalisation {
		if err := o.Equalisation[i].covers(fn, fmt.Sprintf("Equalisation[%d]", i), r); err != nil {
			return Finding{}, err
		}
	}
	j, err := interpret(r, o, true)
	if err != nil || !r.doubtfulStart() {
		return j.f, err
	}
	// Water may have come out before the second reading: what the first decides,
	// it decides, with the other answer beside it.
	if r, err = newRecord(fn, log, float64(o.Ambient)); err != nil {
		return Finding{}, err
	}
	with, err := interpret(r, o, false)
	if err != nil || with.f.Verdict == j.f.Verdict {
		return j.f, err
	}
	with.f.FirstDecides = true
	with.f.Sentence += fmt.Sprintf(" This rests on the first reading, %s, with the next at %s: if the gauge had not settled yet, the verdict is %v.",
		sayPressure(units.Pressure(r.p[0])), sayPressure(units.Pressure(r.p[1])), j.f.Verdict)
	return with.f, nil
}

// interpret judges a record, whose first reading is kept in any case unless
// first is true.
func interpret(r *record, o Options, first bool) (*judge, error) {
	if o.Resolution > 0 {
		r.step = float64(o.Resolution)
	}
	r.trim(first)
	j := &judge{o: o, r: r}
	j.admitEnds()
	if err := j.saturation(); err != nil {
		return &judge{}, err
	}
	if j.unusable() {
		j.say()
		return j, nil
	}
	j.prepare()
	j.fit()
	j.decide()
	j.describe()
	j.say()
	return j, nil
}

// judge carries one record through its interpretation.
type judge struct {
	o        Options
	r        *record
	f        Finding
	volume   float64 // m³
	psat     float64 // at site temperature, Pa
	psatLow  float64 // at the lower bound of site temperature
	psatHigh float64
	shape    shape
	fits     *fits
	post     posterior
	best     point
	offset   float64   // subtracted from pressures before the fit
	drift    float64   // standard error of the leak by temperature drift, Pa over the record
	round    float64   // the same by rounding
	settles  bool      // the record agrees with what is foreseen
	open     bool      // it does, and another law is more probable in a record that is not decided
	foreseen *foreseen // what Options.Equalisation foresees, fitted; nil without it
	lo, hi   float64   // bounds of the leak, Pa over the record
	fall     float64   // of a standing test's pressure, Pa over the record
	allowed  float64   // of it for the temperature
	masked   bool      // that allowance decides
	second   string    // caution that a second gauge went another way; empty without
}

// saturation finds the vapour pressure of water at the site.
func (j *judge) saturation() error {
	t := j.o.SiteTemperature
	for _, c := range []struct {
		at  units.Temperature
		dst *float64
	}{{t, &j.psat}, {t - siteError, &j.psatLow}, {t + siteError, &j.psatHigh}} {
		p, _, err := moisture.SaturationPressure(c.at)
		if err != nil {
			return fmt.Errorf("rise.Interpret: %w", err)
		}
		*c.dst = float64(p)
	}
	j.f.Saturation, j.f.Limit, j.f.Confidence = units.Pressure(j.psat), j.o.LeakLimit, j.o.Confidence
	j.volume = float64(j.o.Volume)
	return nil
}

// prepare corrects for temperature, averages two sides of known volume,
// reduces long records, and looks at the shape.
func (j *judge) prepare() {
	r := j.r
	j.f.Record.TemperatureCorrected = r.temp != nil
	r.correct()
	r.reduce()
	j.shape = shapeOf(r, j.psatLow, j.psatHigh)
	j.admitSecond()
	if r.second != nil && j.o.SecondVolume > 0 {
		v1, v2 := j.volume, float64(j.o.SecondVolume)
		for i := range r.p {
			r.p[i] = (v1*r.p[i] + v2*r.second[i]) / (v1 + v2)
		}
		j.volume += v2
	}
	if j.shape.melt {
		end := j.shape.pauseEnd
		r.t, r.p, r.row = r.t[:end], r.p[:end], r.row[:end]
	}
	if j.o.Drift == 0 {
		j.o.Drift = DefaultDrift
		if r.temp != nil {
			j.o.Drift = -1
		} else {
			why := "no temperature column: "
			if r.gaps[0] != "" {
				why = "" // it is there and not used, which is said
			}
			j.f.Assumptions = append(j.f.Assumptions, fmt.Sprintf(
				"%sthe gas temperature is taken to drift by %g K (standard deviation) over the record", why, float64(DefaultDrift)))
		}
	}
	j.f.Assumptions = append(j.f.Assumptions,
		fmt.Sprintf("a source with a time constant beyond %d times the record counts as a leak", slowest))
}

// admitSecond says that a second gauge went another way than the first where its
// volume is not known, so that the leak counts what comes in at the first alone.
func (j *judge) admitSecond() {
	r := j.r
	if r.second == nil || j.o.SecondVolume > 0 {
		return
	}
	tenth := max(len(r.p)/10, 3)
	change := func(p []float64) float64 { return median(p[len(p)-tenth:]) - median(p[:tenth]) }
	first, second := change(r.p), change(r.second)
	noise := math.Hypot(scatter(r.p), scatter(r.second))
	if math.Abs(second-first) <= movedSteps*float64(j.f.Record.Resolution)+movedNoise*noise/math.Sqrt(float64(tenth)) {
		return
	}
	j.second = fmt.Sprintf("the second gauge went by %s and the first by %s; the volume at the second is not given, and what comes in there does not count",
		saySigned(second), saySigned(first))
	j.f.Assumptions = append(j.f.Assumptions, j.second)
}

// leakColumn is the leak's rise as a share of what a constant leak brings over
// the record: time, or the integral of the leak law where pressures count.
func (j *judge) leakColumn() []float64 {
	r, pa := j.r, float64(j.o.Ambient)
	out := make([]float64, len(r.t))
	dur := r.duration()
	law := func(p float64) float64 {
		x := min(p/pa, 0.995) // so that the column does not vanish at ambient
		switch j.o.Law {
		case Molecular:
			return 1 - x
		case Choked:
			return 1
		}
		return (1 - x) * (1 + x)
	}
	start := law(r.p[0])
	for i := 1; i < len(out); i++ {
		out[i] = out[i-1] + (r.t[i]-r.t[i-1])/dur*(law(r.p[i])+law(r.p[i-1]))/(2*start)
	}
	return out
}

// fit fits all candidates and collects them into the posterior of the leak.
func (j *judge) fit() {
	r := j.r
	leak := j.leakColumn()
	j.offset = r.p[0]
	p := make([]float64, len(r.p))
	for i := range p {
		p[i] = r.p[i] - j.offset
	}
	q := problem{
		t: r.t, p: p, leak: leak, offset: j.offset,
		temperature: float64(j.o.SiteTemperature), driftK: max(float64(j.o.Drift), 0), step: j.rounding(),
	}
	j.fits, j.f.Record.Outliers = q.fit()
	j.f.Record.Outliers += r.apart
	if j.o.Drift > 0 {
		j.drift = mean(r.p) * float64(j.o.Drift) / float64(j.o.SiteTemperature)
	}
	j.bound(limits{rise: j.psatHigh * (1 + gaugeError), fall: max(r.p[0], 1e-9)})
}

// The tails of the mixture below and above the interval, as shares of 1 -
// Confidence. Slow sources make the mixture wider below than any one truth
// needs, so that the true leak lies below the interval in under 1 % of records;
// the upper share is larger by what the lower side leaves unused. The study in
// the tests holds the sum to Confidence.
const (
	lowerTail = 0.5
	upperTail = 0.7
)

// bound finds the interval of the leak from the fits.
func (j *judge) bound(lim limits) {
	j.best = j.fits.best()
	s := j.fits.sys
	lim.widen = widening(j.o.Confidence, s.effective(), parameters(j.best.model))
	noise := s.sigma[len(s.sigma)/2]
	lim.round = roundingError(s.rounding*math.Sqrt(12), math.Sqrt(max(noise*noise-s.rounding*s.rounding, 0))) / max(1, s.stepsCrossed(&j.best))
	j.round = lim.round
	j.fitForeseen()
	lim.more = j.weighForeseen
	j.post = j.fits.weigh(lim)
	tail := 1 - j.o.Confidence
	j.lo, j.hi = j.post.quantile(lowerTail*tail), j.post.quantile(1-upperTail*tail)
	if j.settlingShare() < 1-shown {
		j.widenToSpectrum(lim)
		j.hi = min(j.hi, max(s.ceiling(lim.widen), j.post.quantile(0.5)))
	}
	toFlow := j.volume / s.dur
	flow := func(rise float64) units.Throughput { return units.Throughput(max(rise*toFlow, 0)) }
	j.f.Leak = Interval{Low: flow(j.lo), Best: flow(j.post.quantile(0.5)), High: flow(j.hi)}
	j.f.Falling = j.hi < 0
}

// rounding is the step by which readings are rounded, Pa: the caller's, or the
// one seen when at least half the readings repeat another.
func (j *judge) rounding() float64 {
	step := float64(j.f.Record.Resolution)
	if j.o.Resolution > 0 {
		return step
	}
	seen := map[float64]bool{}
	for _, p := range j.r.p {
		seen[p] = true
	}
	if 2*len(seen) > len(j.r.p) {
		return 0
	}
	return step
}
