package rise

import (
	"math"
	"slices"
	"time"

	"example.com/drydown/units"
)

// plausibleWeight is the probability from which a law is listed.
const plausibleWeight = 0.01

// PressureRange bounds a pressure, Pa.
type PressureRange struct{ Low, High units.Pressure }

// Average is the pressure that Fits predict together at time t since Fit.From,
// Pa: the mean by weight, and the central ranges at Confidence of the pressure
// itself and of one reading with the noise of the readings then. They hold
// time by time, not for a whole curve at once, and include that it is not
// known which law is true. All zero when nothing was fitted.
func (f Finding) Average(t time.Duration) (mean units.Pressure, law, reading PressureRange) {
	if len(f.Fits) == 0 {
		return 0, law, reading
	}
	x := t.Seconds()
	var pure, noisy posterior
	total := 0.0
	for i := range f.Fits {
		total += f.Fits[i].Weight
	}
	for i := range f.Fits {
		g := &f.Fits[i]
		c := part{weight: g.Weight / total, mean: float64(g.Pressure(t)), sd: math.Max(g.deviation(x), tiny)}
		mean += units.Pressure(c.weight * c.mean)
		pure.parts = append(pure.parts, c)
		c.sd = math.Hypot(c.sd, g.noise(x))
		noisy.parts = append(noisy.parts, c)
	}
	tail := (1 - f.Confidence) / 2
	between := func(p *posterior) PressureRange {
		for i := range p.parts { // so that the quantile is searched to a share of the range
			p.parts[i].mean -= float64(mean)
		}
		return PressureRange{mean + units.Pressure(p.quantile(tail)), mean + units.Pressure(p.quantile(1-tail))}
	}
	return mean, between(&pure), between(&noisy)
}

// plausible lists the laws that stay in the average. A model without a fit of
// its own passes its weight on to the one less its last source; one that would
// need a leak below zero has none, unless all would.
func (j *judge) plausible() {
	weights := j.post.model
	var fits, impossible []Fit
	for m := Predicted; m >= Steady; m-- {
		if weights[m] < plausibleWeight {
			continue
		}
		f, found, possible := j.represent(m)
		f.Weight = weights[m]
		switch {
		case !found:
			weights[without[m]] += weights[m]
		case !possible:
			impossible = append(impossible, f)
		default:
			fits = append(fits, f)
		}
	}
	if len(fits) == 0 {
		fits = impossible
	}
	total := 0.0
	for i := range fits {
		total += fits[i].Weight
	}
	for i := range fits {
		fits[i].Weight /= total
	}
	slices.SortStableFunc(fits, func(a, b Fit) int {
		switch {
		case a.Weight > b.Weight:
			return -1
		case a.Weight < b.Weight:
			return 1
		}
		return int(a.Model - b.Model)
	})
	j.f.Fits = fits
}

// without is each model less its last source.
var without = [...]Model{Steady: Steady, Vapour: Steady, TwoVapours: Vapour, PowerLaw: Steady, Settling: Steady, Predicted: Steady}

// represent is the best fit of one model, whether there is one, and whether it
// is possible.
func (j *judge) represent(m Model) (fit Fit, found, possible bool) {
	f := j.fits
	var p point
	switch m {
	case Steady:
		p, found = point{model: Steady, sol: f.steady}, f.has[Steady]
	case Vapour, Settling:
		p, found = j.oneSource(m)
	case TwoVapours:
		if p, found = f.two, f.has[TwoVapours]; !found {
			p, found = f.withTail()
		}
	case PowerLaw:
		if p, found = f.power, f.has[PowerLaw]; !found {
			p, found = f.powerNode()
		}
	case Predicted:
		fit, found = j.predictedFit()
		return fit, found, found
	}
	if !found {
		return fit, false, false
	}
	fit, possible = j.reported(&p)
	return fit, true, possible
}

// reported is a point in the caller's terms. Where its leak is negative though
// it may not be, the law is fitted again without one: what no leak can
// take away, its sources would have to bring in twice. False, and the point as it
// is, when the law does not describe the record then.
func (j *judge) reported(p *point) (Fit, bool) {
	if p.sol.beta[1] >= 0 || j.mayFall(p) {
		return j.fitOf(p), true
	}
	const much = 9 // of a squared standard deviation
	noise := p.sol.chi2 / float64(len(j.fits.sys.t)-p.parameters())
	q, ok := j.fits.withoutLeak(p)
	if !ok || q.sol.chi2-p.sol.chi2 > much*noise {
		return j.fitOf(p), false
	}
	return j.fitOf(&q), true
}

// mayFall reports whether a law may have a leak below zero: where the interval
// has, but not beside a source that rises where the pressure falls, which has no
// merit but that leak.
func (j *judge) mayFall(p *point) bool {
	if !j.f.Falling {
		return false
	}
	curve := j.fits.sys.curve(&j.best)
	for k := range p.sol.k - 2 {
		if p.term(k) > 0 && curve[len(curve)-1] < curve[0] {
			return false
		}
	}
	return true
}

// withoutLeak is the law of a point fitted with the leak held at zero; false
// when a source changes its sign over that.
func (f *fits) withoutLeak(p *point) (point, bool) {
	s := *f.sys
	s.ll *= 1e12 // as if the leak were known to be none
	q := point{model: p.model}
	var ok bool
	if p.model == Steady {
		q.sol, ok = s.solve()
	} else {
		fam := s.familyOf(p.model)
		q, ok = s.refine(&fam, f.startWithout(&s, p), 20)
	}
	q.sol.beta[1], q.full.beta[1] = 0, 0
	for k := range p.sol.k - 2 {
		ok = ok && q.term(k)*p.term(k) > 0
	}
	return q, ok
}

// startWithout is where to begin: for one source the best of the grid.
func (f *fits) startWithout(s *system, p *point) [2]float64 {
	theta, least := p.theta, math.Inf(1)
	if p.model != Vapour {
		return theta
	}
	for i := range f.coarse {
		sol, ok := s.solve(&f.cols[i])
		if ok && sol.beta[2]*p.term(0) > 0 && sol.chi2 < least {
			theta, least = f.coarse[i].theta, sol.chi2
		}
	}
	return theta
}

// fitOf is a point in the caller's terms, with the rows it was fitted to.
func (j *judge) fitOf(p *point) Fit {
	s := j.fits.sys
	out := newFit(p, j.offset, s.dur)
	out.From, out.To = seconds(j.r.zero), seconds(j.r.zero+s.dur)
	out.rows = &fittedRows{s.t, s.leak, s.sigma}
	return out
}

// oneSource is the best single source that rises or, for Settling, falls: the
// refined one, or the best of the grid when that has the other sign.
func (j *judge) oneSource(m Model) (point, bool) {
	f := j.fits
	fits := func(p *point) bool {
		b := p.sol.beta[2]
		if m == Settling {
			return b < 0 && math.Exp(p.theta[0]) <= f.sys.dur/2
		}
		return b > 0 && b <= j.psatHigh*(1+gaugeError)
	}
	if f.has[Vapour] && f.vapour.sol.k > 2 && fits(&f.vapour) {
		return f.vapour, true
	}
	best := -1
	for i := range f.coarse {
		p := &f.coarse[i]
		if p.sol.k > 2 && fits(p) && (best < 0 || p.sol.chi2 < f.coarse[best].sol.chi2) {
			best = i
		}
	}
	if best < 0 {
		return point{}, false
	}
	fam := f.sys.vapourFamily()
	p, ok := f.sys.refine(&fam, f.coarse[best].theta, 0)
	return p, ok && p.sol.k > 2
}

// withTail is one source beside the slower one of the grid that fits best.
func (f *fits) withTail() (best point, found bool) {
	if !f.has[Vapour] || f.vapour.sol.k <= 2 {
		return best, false
	}
	fam := f.sys.twoVapoursFamily()
	for i := range f.coarse {
		theta := [2]float64{f.vapour.theta[0], f.coarse[i].theta[0]}
		if theta[1] < theta[0]+0.3 {
			continue
		}
		p, ok := f.sys.evaluate(&fam, theta)
		if ok && positive(&p) && (!found || p.sol.chi2 < best.sol.chi2) {
			best, found = p, true
		}
	}
	return f.withErrors(&fam, best, found)
}

// withErrors is a point with the errors of its time constants.
func (f *fits) withErrors(fam *family, p point, found bool) (point, bool) {
	if !found {
		return p, false
	}
	return f.sys.refine(fam, p.theta, 0)
}

// powerNode is the best rising power law of a grid.
func (f *fits) powerNode() (best point, found bool) {
	fam := f.sys.powerFamily()
	const steps = 6
	for _, exponent := range []float64{0.5, 1, 1.5} {
		for i := range steps {
			theta := [2]float64{fam.lo[0] + (fam.hi[0]-fam.lo[0])*float64(i)/(steps-1), exponent}
			p, ok := f.sys.evaluate(&fam, theta)
			if ok && positive(&p) && (!found || p.sol.chi2 < best.sol.chi2) {
				best, found = p, true
			}
		}
	}
	return f.withErrors(&fam, best, found)
}
