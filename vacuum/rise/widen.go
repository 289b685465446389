package rise

import (
	"math"
	"sort"
)

// stepsCrossed is how many steps of the gauge a record would cross at the slope
// of its last third. A steady rise through m of them dithers the rounding as
// noise does: what is left of a sawtooth of m periods in its slope falls as 1/m.
func (s *system) stepsCrossed(p *point) float64 {
	if s.rounding == 0 {
		return 0
	}
	curve, from := s.curve(p), sort.SearchFloat64s(s.t, s.dur*2/3)
	last := len(curve) - 1
	if from >= last {
		return 0
	}
	slope := math.Abs(curve[last]-curve[from]) / (s.t[last] - s.t[from])
	return slope * s.dur / (s.rounding * math.Sqrt(12))
}

// Shares of 1 - Confidence by which a leak may lie above what any sources that
// fade allow: where a law describes the record, and where none does, so that the
// sources' ends are searched for as well. Set by the coverage of the blind study.
const (
	decayTail = 1.5
	rampTail  = 0.8
)

// widenToSpectrum extends the interval to what any source that fades allows:
// upwards always, since a law that is not quite right takes a part of the leak
// for its own slow end, downwards when none of the laws describes the record. A
// settling that the circuit foresees is a law that is known.
func (j *judge) widenToSpectrum(lim limits) {
	f, sp := j.fits, j.fits.spectrum
	if j.post.model[Predicted] > 0.5 || !(sp.ll > 0) {
		return
	}
	best := f.best()
	lawless := f.criterionOf(sp)+plausibleScore < f.score(&best)
	share := decayTail
	if sp.ramps {
		share = rampTail
	}
	z := lim.widen * normalQuantile(1-share*(1-j.o.Confidence))
	reach := func(sign float64) float64 {
		return sign * math.Hypot(sp.edge(z, sign)-sp.leak, z*lim.round)
	}
	j.hi = max(j.hi, sp.leak+reach(1))
	if lawless {
		j.lo = min(j.lo, sp.leak+reach(-1))
		j.f.Assumptions = append(j.f.Assumptions,
			"none of the fitted laws describes the record well: the interval of the leak allows any source that fades or stops")
	}
}
