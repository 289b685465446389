package rise

import (
	"math"
	"time"
)

// timeToDecide foresees the length of a record under the same noise, with the
// source that was fitted, at which the leak's interval becomes narrower than
// the limit; then it cannot contain both zero and the limit.
func (j *judge) timeToDecide() (time.Duration, bool) {
	s := j.fits.sys
	w := watch{step: s.step, sigma: s.sigma[len(s.sigma)/2], phi: s.phi}
	fit := j.f.Fit
	if j.slowPossible() && fit.Model == Steady && j.fits.has[Vapour] {
		fit = newFit(&j.fits.vapour, j.offset, s.dur)
	}
	switch fit.Model {
	case Vapour, Settling, TwoVapours:
		for k, b := range fit.Amplitude {
			if b != 0 {
				w.tau, w.rise = append(w.tau, fit.Time[k].Seconds()), append(w.rise, float64(b))
			}
		}
	case PowerLaw:
		return 0, false // a power law has no end to wait for
	}
	limit := float64(j.o.LeakLimit) / j.volume
	z := normalQuantile((1 + j.o.Confidence) / 2)
	end, ok := shortestDuration(1.2*s.dur, func(d float64) bool {
		w.duration = d
		systematic := math.Hypot(j.drift, j.round) / d
		return 2*z*math.Hypot(w.leakError(), systematic) < limit && d >= 2*largest(w.tau)
	})
	if !ok {
		return 0, false
	}
	return j.later(end)
}

// later rounds the end of a record up to full minutes. It is later than the
// record itself by a tenth at least, which may have gone on beyond its last
// usable reading; what is beyond longestWatch is not known.
func (j *judge) later(end float64) (time.Duration, bool) {
	end = math.Ceil(max(end, 1.1*j.r.span)/60) * 60
	if !(end <= longestWatch) {
		return 0, false
	}
	return seconds(end), true
}

// foresee states a time that should decide.
func (j *judge) foresee(end float64) { j.f.Decide, j.f.DecideKnown = j.later(end) }

// slowPossible reports whether a slow source keeps the record open.
func (j *judge) slowPossible() bool { return j.f.Reason == SlowSource }

func largest(v []float64) float64 {
	most := 0.0
	for _, x := range v {
		most = max(most, x)
	}
	return most
}
