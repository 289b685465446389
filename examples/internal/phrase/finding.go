package phrase

import (
	"fmt"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// Noise words what the laws leave over. Where ice melts that is their misfit.
func Noise(f *rise.Finding) string {
	info := &f.Record
	if f.Reason == rise.MeltingStep {
		return fmt.Sprintf("the laws are fitted up to the end of the pause and none describes it: %s that they leave over there is their misfit and not noise of the gauge", Pressure(info.Noise))
	}
	return fmt.Sprintf("noise %s, worth %s independent readings", Pressure(info.Noise), Digits(info.Effective, 2))
}

// Source words the source that fades behind a finding, nothing without one;
// between is the usual time between readings, volume the isolated one.
func Source(f *rise.Finding, between time.Duration, volume units.Volume) string {
	water := fmt.Sprintf("%s, %s if all of it is water vapour", Pressure(f.VapourRise), Grams(f.Water))
	switch {
	case f.VapourRise <= 0:
		return ""
	case f.Reason == rise.MeltingStep:
		return "Up to the end of the pause the reading rose by " + water + "."
	}
	text := "A source that fades added " + water
	switch {
	case f.TimeConstant <= 0:
	case f.TimeConstant < between:
		text += ", with a time constant shorter than the " + Took(between) + " between readings"
	default:
		text += ", with a time constant of " + Took(f.TimeConstant)
	}
	if len(f.Fits) > 1 {
		own := units.Throughput(float64(f.Fit.Slope) * float64(volume))
		text += fmt.Sprintf("; so much by the law that fits best (%v), beside its own leak of %s micron/min, where the leak stated is an average over the laws", f.Fit.Model, PerMinute(own, volume))
	}
	return text + "."
}

// Between is the usual time between the usable readings of a log.
func Between(seconds []float64) time.Duration {
	if len(seconds) < 2 {
		return 0
	}
	return time.Duration(seconds[len(seconds)-1] / float64(len(seconds)-1) * float64(time.Second))
}
