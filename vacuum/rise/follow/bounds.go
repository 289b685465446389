package follow

import "math"

// roundingError is the error of the leak over the record that rounding leaves
// however many readings there are: step/√6 exp(-2π² (σ/step)²).
func roundingError(step, sigma float64) float64 {
	x := sigma / step
	return step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*x*x)
}

// stepsCrossed is how many steps of the gauge a record would cross at the slope
// of its last third. A steady rise through m of them dithers the rounding as
// noise does: what is left of a sawtooth of m periods in its slope falls as 1/m.
func (w *work) stepsCrossed(p *point) float64 {
	r := &w.rows
	var level, slope vector
	w.law(p, &p.sol, &level, &slope)
	from, last := 0, r.m-1
	for r.t[from] < r.dur*2/3 && from < last-1 {
		from++
	}
	return math.Abs(level[last]-level[from]) / (r.t[last] - r.t[from]) * r.dur / (r.rounding * math.Sqrt(12))
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

// anyLeak is the leak beside any sources that fade, and its interval.
func (w *work) anyLeak() (lo, mid, hi float64) {
	p := &w.point[anySource]
	wide := confidenceZ * math.Hypot(w.mix.widen*math.Sqrt(p.sol.varLeak), w.mix.round)
	return p.sol.leak - wide, p.sol.leak, p.sol.leak + wide
}

// Shares of 5 % by which a leak may lie above what any sources that fade allow,
// as quantiles of the normal distribution: 92.5 % where a law describes the
// record, 96 % where none does, so that the sources' ends are searched for.
const (
	decayZ = 1.439531
	rampZ  = 1.750686
)

// ceilingSlack is the error of the ceiling, in upper halves of the interval: the
// blocks do not cut the record at two thirds. It exceeds 0.5 in a tenth of the
// records on which the margins were set.
const ceilingSlack = 0.5

// spectrumMargin is the error of what any source allows, as a share of its
// distance from the best, and nearTie that of the criterion that says whether a law
// describes the record. Set on the same records as the margins of a jury.
const (
	spectrumMargin = 0.1
	nearTie        = 3
)

// allow asks what any source that fades allows, and answers the largest leak, or
// hi if that is more.
func (w *work) allow(j *jury, hi float64) float64 {
	sp := &w.spectrum
	best := w.best()
	j.lawless = sp.full || w.criterion(sp.chi2, anyParameters(sp.best.k))+plausibleScore-nearTie < w.score[best.model]
	if j.lawless {
		return hi
	}
	z := decayZ
	if sp.ramps {
		z = rampZ
	}
	z *= w.mix.widen
	edge := sp.leak + math.Hypot(sp.edge(&w.rows, z), z*w.mix.round)
	slack := spectrumMargin * (edge - sp.leak)
	j.reaches = [2]bool{sp.tie || sp.ramps || edge+slack >= j.limit, edge-slack >= j.limit}
	return edge
}
