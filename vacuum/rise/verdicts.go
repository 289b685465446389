package rise

import (
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// shown is the probability from which a feature counts as shown.
const shown = 0.95

// fallShown is the probability of a falling pressure from which it counts as
// settling and not as chance.
const fallShown = 0.998

// powerShown is the probability from which a fading source counts as
// outgassing and not as vapour.
const powerShown = 0.75

// fades reports whether a source that fades is shown, and grew by more than
// two steps of the gauge.
func (j *judge) fades() bool {
	m, best := j.post.model, j.fitOf(&j.best)
	share, rise := m[Vapour]+m[TwoVapours]+m[PowerLaw], best.sources(j.fits.sys.dur)
	if j.agrees() && j.foreseenChange() > 0 {
		share, rise = share+m[Predicted], max(rise, j.foreseenChange())
	}
	return share >= shown && rise > 2*float64(j.f.Record.Resolution)
}

// settlingShare is the probability of a pressure that falls to a limit.
func (j *judge) settlingShare() float64 {
	share := j.post.model[Settling]
	if f := j.foreseen; f != nil && f.best.of != nil && f.best.of.Least < 0 {
		share += j.post.model[Predicted]
	}
	return share
}

// drops reports whether the fitted pressure ends below its start, by more than
// two steps of the gauge.
func (j *judge) drops() bool {
	curve := j.fits.sys.curve(&j.best)
	return curve[0]-curve[len(curve)-1] > 2*float64(j.f.Record.Resolution)
}

// decide turns interval and shape into a verdict.
func (j *judge) decide() {
	limit := float64(j.o.LeakLimit) * j.fits.sys.dur / j.volume
	excludesZero, reaches := j.lo > 0, j.hi >= limit
	fades := j.fades()
	falls := (j.post.cdf(0) > fallShown || j.settlingShare() > shown) && j.drops()
	j.settles = (fades || falls) && j.agrees()
	f := &j.f
	switch {
	case j.shape.above || excludesZero && reaches:
		f.Verdict = Leak
		switch {
		case j.shape.melt || fades && !j.settles:
			f.Verdict = LeakAndMoisture
		case j.settles:
			f.Reason = CircuitModel
		}
		if j.shape.above {
			f.Reason = AboveSaturation
		}
	case j.shape.melt:
		f.Verdict, f.Reason = Moisture, MeltingStep
	case j.shape.saturated:
		f.Verdict, f.Reason = Moisture, AtSaturation
	case !excludesZero && reaches:
		f.Verdict, f.Reason = Undetermined, j.whyNot(limit)
	case j.settles:
		f.Verdict, f.Reason = Equalising, CircuitModel
	case falls:
		f.Verdict, f.Reason = Equalising, FallingPressure
	case fades && j.shape.approach:
		f.Verdict, f.Reason = Equalising, SecondGauge
	case fades && j.post.model[PowerLaw] > powerShown:
		f.Verdict = Outgassing
	case fades:
		f.Verdict = Moisture
	default:
		f.Verdict = Tight
	}
}

// whyNot says what keeps a record from deciding.
func (j *judge) whyNot(limit float64) Reason {
	z := normalQuantile((1 + j.o.Confidence) / 2)
	steady := z * math.Sqrt(j.fits.steady.cov[1][1])
	switch {
	case 2*z*j.drift > limit:
		return DriftHides
	case 2*steady < limit:
		return SlowSource
	}
	return TooShort
}

// describe fills in the numbers beside the verdict.
func (j *judge) describe() {
	f, s := &j.f, j.fits.sys
	f.Models = j.post.model
	j.plausible()
	best, possible := j.reported(&j.best)
	if len(f.Fits) > 0 && (!possible || j.settles && f.Fits[0].Model == Predicted) {
		best = f.Fits[0]
	}
	f.Fit = best
	for _, other := range f.Fits {
		if other.Model == best.Model {
			f.Fit.Weight = other.Weight
		}
	}
	j.open = j.settles && f.Verdict == Undetermined && best.Model != Predicted
	info := &f.Record
	info.FirstRow, info.LastRow = j.r.row[0], j.r.row[len(j.r.row)-1]
	info.First, info.Last = f.Fit.Pressure(0), f.Fit.Pressure(f.Fit.To-f.Fit.From)
	info.Noise = units.Pressure(s.sigma[len(s.sigma)/2])
	info.Correlation, info.Effective = s.phi, s.effective()
	if j.settles && !j.open {
		f.Settled = units.Pressure(j.foreseenChange())
	} else if j.fades() {
		f.VapourRise = units.Pressure(f.Fit.sources(s.dur))
		if f.Fit.Model != PowerLaw {
			f.FinalRise = f.Fit.Amplitude[0] + f.Fit.Amplitude[1]
		}
		if f.Fit.Model == Vapour {
			f.TimeConstant = f.Fit.Time[0]
		}
	}
	if j.shape.melt || j.shape.saturated {
		f.VapourRise = max(f.VapourRise, units.Pressure(median(j.r.p[len(j.r.p)-3:])-j.r.p[0]))
	}
	f.Water = units.Mass(float64(f.VapourRise) * j.volume * float64(moisture.MolarMass) /
		(units.GasConstant * float64(j.o.SiteTemperature)))
	if f.Verdict == Undetermined {
		f.Decide, f.DecideKnown = j.timeToDecide()
	}
}
