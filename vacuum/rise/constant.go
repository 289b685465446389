package rise

import (
	"fmt"
	"math"
	"slices"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise/follow"
)

// constant judges a record of one value. What the gauge can resolve is the
// caller's Resolution or else the last digit that the log writes; the drift of
// the temperature is what a gauge that works would have shown at least. A tight
// circuit on a coarse display and a stuck gauge look the same, unless a second
// gauge moves, where the display
// explains the constancy: then it is Tight with the caution to prove the gauge,
// provided that a leak at the limit would have shown many steps.
func (j *judge) constant() {
	r, f := j.r, &j.f
	p := r.p[0]
	step := float64(j.o.Resolution)
	if step == 0 {
		step = r.digit
	}
	f.Record.Resolution = units.Pressure(step)
	f.Record.First, f.Record.Last = units.Pressure(p), units.Pressure(p)
	high, explained := follow.ConstantRecord(p, step, j.constantDrift(p))
	if !explained {
		f.Reason = InstrumentFault
		return
	}
	f.Reason = ConstantReading
	volume := j.volume
	if r.second != nil {
		volume += float64(j.o.SecondVolume)
	}
	dur := r.duration()
	f.Leak.High = units.Throughput(high * volume / dur)
	limit := float64(j.o.LeakLimit) * dur / volume
	if high < limit && limit >= follow.ManySteps*step {
		f.Verdict = Tight
		return
	}
	j.foresee(dur * max(high/limit, follow.ManySteps*step/limit))
}

// A second gauge moved when its readings spread over more than movedSteps steps of
// the coarser gauge, and by movedNoise times their noise.
const (
	movedSteps = 4
	movedNoise = 10
)

// secondMoved is over how much the readings of a second gauge spread, Pa, where
// that is more than steps and noise explain, and otherwise zero.
func (j *judge) secondMoved() float64 {
	second := j.r.second
	if second == nil {
		return 0
	}
	step := max(float64(j.o.Resolution), j.r.digit)
	if own := (&record{p: second}).resolution(); !math.IsInf(own, 0) {
		step = max(step, own)
	}
	spread := slices.Max(second) - slices.Min(second)
	if spread <= movedSteps*step+movedNoise*scatter(second) {
		return 0
	}
	return spread
}

// constantDrift is what the temperature should have done to pressure p over the
// record, Pa: the range of the temperature column, or the standard deviation of
// an unknown drift.
func (j *judge) constantDrift(p float64) float64 {
	if t := j.r.temp; t != nil {
		return p * (slices.Max(t) - slices.Min(t)) / mean(t)
	}
	drift := float64(j.o.Drift)
	if drift == 0 {
		drift = float64(DefaultDrift)
	}
	return p * max(drift, 0) / float64(j.o.SiteTemperature)
}

// steps is how many steps of the gauge a leak at the limit would have shown.
func (j *judge) steps() float64 {
	f := &j.f
	return math.Round(float64(f.Limit) / float64(f.Leak.High) * math.Hypot(1, j.constantDrift(j.r.p[0])*normalQuantile(0.975)/float64(f.Record.Resolution)))
}

func (j *judge) sayConstant() string {
	f := &j.f
	const prove = "open the valve for a moment and see the reading move"
	if f.Verdict == Tight {
		return fmt.Sprintf("Tight to the limit if the gauge is alive: it showed %s throughout, where a leak at the limit would have shown %.0f steps more; %s. "+
			"A stuck gauge looks the same: %s.", sayPressure(f.Record.Last), j.steps(), j.sayNoLeak(), prove)
	}
	s := fmt.Sprintf("Not decided: the gauge showed one value, %s, and a leak at the limit would have shown only %.0f steps of it. "+
		"To settle it, prove the gauge (%s)", sayPressure(f.Record.Last), j.steps(), prove)
	if f.DecideKnown {
		return s + fmt.Sprintf(" and watch for about %s in all.", sayTime(f.Decide))
	}
	return s + " and use one that resolves more."
}

func (j *judge) sayStuck() string {
	first, run := longestRun(j.r.p)
	s := fmt.Sprintf("No verdict: the gauge repeated one value, %s, from line %d to line %d, too long to be a measurement",
		sayPressure(units.Pressure(j.r.p[first])), j.r.line(j.r.row[first]), j.r.line(j.r.row[first+run-1]))
	if moved := j.secondMoved(); moved > 0 && run == len(j.r.p) {
		return s + fmt.Sprintf(": the readings of the second gauge spread over %s meanwhile. Open the valve for a moment: if the reading moves, "+
			"look for a shut valve between the gauges; if not, the first gauge is at fault.", sayPressure(units.Pressure(moved)))
	}
	if run == len(j.r.p) {
		if step := j.f.Record.Resolution; step > 0 {
			s += fmt.Sprintf(": it resolves %.2g Pa and shows no drift of the temperature", float64(step))
		}
		return s + ". Open the valve for a moment: if the reading moves, state what the gauge resolves and repeat the test; if not, the gauge is at fault."
	}
	return s + ". Repeat the test with another gauge."
}
