package rise

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// prior is the weight of a model before the data, relative to a record with
// start and leak alone. A pressure that falls is rare after isolation.
var prior = [...]float64{Steady: 1, Vapour: 1, TwoVapours: 0.5, PowerLaw: 0.5, Settling: 0.1}

// part is one normal component of what the record says about the leak; mean
// and sd are rises over the record, Pa.
type part struct {
	model    Model
	weight   float64
	mean, sd float64
}

// posterior is what a record says about the leak: a mixture of normal
// components from all models that remain plausible. The leak is left free in
// sign; that it cannot be negative is applied to the interval at the end, so
// that the interval keeps its frequency of covering.
type posterior struct {
	parts []part
	model [6]float64 // probability of each model
}

// limits of what is physically possible for a source.
type limits struct {
	rise  float64        // greatest rise by vapour, Pa
	fall  float64        // greatest fall, Pa
	widen float64        // factor on standard errors, Student's t over normal
	round float64        // error of the leak by rounding that does not average out, Pa over the record
	more  func(*weigher) // adds what is not among the candidates; nil adds nothing
}

// weigh collects the candidates into a posterior. A model with more terms pays
// for each with √(2π/n_eff), the unit-information prior behind the Bayesian
// information criterion; time constants are averaged over a prior uniform in
// their logarithm (Kass and Raftery 1995, from memory).
func (f *fits) weigh(lim limits) posterior {
	least := math.Inf(1)
	for _, p := range f.points() {
		least = min(least, p.sol.chi2)
	}
	occam := math.Log(2*math.Pi/max(f.sys.effective(), 2*math.Pi)) / 2
	w := weigher{lim: lim, least: least, occam: occam}
	w.add(Steady, math.Log(prior[Steady])+w.likelihood(f.steady.chi2), f.steady.beta[1], f.steady.cov[1][1])
	f.weighVapour(&w)
	one := f.steady.chi2 // least χ² of at most one source, with a tail or without
	if f.has[Vapour] && f.vapour.term(0) > 0 && f.steady.chi2-f.vapour.sol.chi2 > 2*adequate {
		one = f.weighTail(&w, &f.vapour, w.weightOf(Vapour))
	}
	f.weighTwoVapours(&w, one)
	f.weighPower(&w)
	if lim.more != nil {
		lim.more(&w)
	}
	return w.finish()
}

// weigher collects parts; all weights are logarithms until finish, since the
// best candidate may be one that physics excludes.
type weigher struct {
	lim   limits
	least float64
	occam float64
	post  posterior
}

// likelihood is the logarithm of a likelihood relative to the best fit's.
func (w *weigher) likelihood(chi2 float64) float64 { return -(chi2 - w.least) / 2 }

func (w *weigher) add(m Model, weight, mean, variance float64) {
	if math.IsNaN(weight) || math.IsInf(weight, -1) || !(variance > 0) {
		return
	}
	w.post.parts = append(w.post.parts, part{m, weight, mean, math.Hypot(w.lim.widen*math.Sqrt(variance), w.lim.round)})
}

// Evidence between a spread of time constants and a power law counts by a third
// up to untrusted (natural logarithm), in full beyond.
const (
	untrusted   = 9
	trustedPart = 1.0 / 3
)

// temper draws the weights of the two kinds of fading source together: no real
// source follows either law exactly, so that which of them happens to fit better
// is weaker evidence than its likelihood says, and the two disagree about the
// leak.
func (w *weigher) temper() {
	vapour := math.Max(w.weightOf(Vapour), w.weightOf(TwoVapours))
	ratio := vapour - w.weightOf(PowerLaw)
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return
	}
	change := math.Copysign(min(math.Abs(ratio), untrusted)*(1-trustedPart), ratio)
	for i := range w.post.parts {
		p := &w.post.parts[i]
		switch {
		case p.model == PowerLaw && change > 0:
			p.weight += change
		case (p.model == Vapour || p.model == TwoVapours) && change < 0:
			p.weight -= change
		}
	}
}

// weightOf is the logarithm of a model's weight so far.
func (w *weigher) weightOf(m Model) float64 {
	most := math.Inf(-1)
	for _, p := range w.post.parts {
		if p.model == m {
			most = max(most, p.weight)
		}
	}
	sum := 0.0
	for _, p := range w.post.parts {
		if p.model == m {
			sum += math.Exp(p.weight - most)
		}
	}
	return most + math.Log(sum)
}

// negligible is the share of the total weight below which a part is left out.
const negligible = 1e-5

func (w *weigher) finish() posterior {
	w.temper()
	most := math.Inf(-1)
	for _, p := range w.post.parts {
		most = max(most, p.weight)
	}
	total := 0.0
	for i := range w.post.parts {
		p := &w.post.parts[i]
		p.weight = math.Exp(p.weight - most)
		total += p.weight
	}
	kept := w.post.parts[:0]
	for _, p := range w.post.parts {
		p.weight /= total
		w.post.model[p.model] += p.weight
		if p.weight > negligible {
			kept = append(kept, p)
		}
	}
	w.post.parts = kept
	return w.post
}

// weighVapour integrates the one-source model over its time constant: the
// coarse grid, with a fine grid about the optimum when that is narrower.
func (f *fits) weighVapour(w *weigher) {
	if len(f.coarse) < 2 {
		return
	}
	fam := f.sys.vapourFamily()
	span := fam.hi[0] - fam.lo[0]
	spacing := span / float64(len(f.coarse)-1)
	from, to := math.Inf(1), math.Inf(-1) // window of the fine grid
	if f.has[Vapour] && f.vapour.full.k > 0 && f.vapour.width[0] < 0.8*spacing {
		const half = 5 // points on each side, 0.7 standard errors apart
		step := 0.7 * f.vapour.width[0]
		from, to = f.vapour.theta[0]-(half+0.5)*step, f.vapour.theta[0]+(half+0.5)*step
		var fine []point
		for i := -half; i <= half; i++ {
			theta := [2]float64{f.vapour.theta[0] + float64(i)*step}
			if p, ok := f.sys.evaluate(&fam, theta); ok {
				fine = append(fine, p)
			}
		}
		for i := range fine {
			f.weighNode(w, &fine[i], step/span, cellSpread(fine, i))
		}
	}
	for i := range f.coarse {
		p := &f.coarse[i]
		if p.theta[0] >= from && p.theta[0] <= to {
			continue
		}
		f.weighNode(w, p, spacing/span, cellSpread(f.coarse, i))
	}
}

// cellSpread is the variance of the leak within the cell of a grid of time constants
// about its i-th, over which the leak changes in proportion to their logarithm:
// without it the distribution would be a staircase.
func cellSpread(grid []point, i int) float64 {
	a, b := max(i-1, 0), min(i+1, len(grid)-1)
	if a == b || math.IsInf(grid[a].sol.chi2, 1) || math.IsInf(grid[b].sol.chi2, 1) {
		return 0
	}
	cell := (grid[b].sol.beta[1] - grid[a].sol.beta[1]) / float64(b-a)
	return cell * cell / 12
}

// weighNode adds one time constant: rising sources with 0 ≤ B ≤ the greatest
// rise, falling ones with a time constant up to half the record.
func (f *fits) weighNode(w *weigher, p *point, share, spread float64) {
	base := math.Log(share) + w.occam + w.likelihood(p.sol.chi2)
	sol := p.sol
	sol.cov[1][1] += spread
	w.addTruncated(Vapour, math.Log(prior[Vapour])+base, &sol, 2, 0, w.lim.rise)
	if math.Exp(p.theta[0]) <= f.sys.dur/2 {
		w.addTruncated(Settling, math.Log(prior[Settling])+base, &sol, 2, -w.lim.fall, 0)
	}
}

// slices of a truncated amplitude; each is equally probable.
const truncationSlices = 25

// addTruncated adds the leak's distribution given amplitude k between lo and hi: as it is when the bounds are far away, otherwise cut into slices of the
// amplitude, each with its own conditional normal.
func (w *weigher) addTruncated(m Model, weight float64, sol *solution, k int, lo, hi float64) {
	b, sb := sol.beta[k], w.lim.widen*math.Sqrt(sol.cov[k][k])
	if !(sb > 0) {
		return
	}
	pLo, pHi := normalCDF((lo-b)/sb), normalCDF((hi-b)/sb)
	mass := pHi - pLo
	if !(mass > 1e-12) {
		return
	}
	weight += math.Log(mass)
	if mass > 1-1e-6 {
		w.add(m, weight, sol.beta[1], sol.cov[1][1])
		return
	}
	slope := sol.cov[1][k] / sol.cov[k][k]
	rest := max(sol.cov[1][1]-slope*sol.cov[1][k], 0)
	for i := range truncationSlices {
		q := pLo + mass*(float64(i)+0.5)/truncationSlices
		bi := b + sb*normalQuantile(q)
		w.add(m, weight-math.Log(truncationSlices), sol.beta[1]+slope*(bi-b), rest)
	}
}

// ceilingZ is how many standard errors above the slope of its last third a
// record's leak may lie.
const ceilingZ = 3

// ceiling bounds the leak from above, in Pa over the record: sources that fade
// only add to the pressure, so that no leak is steeper than the last third of
// the record by more than its error. It is infinite for a third that is too
// short.
func (s *system) ceiling(widen float64) float64 {
	from := sort.SearchFloat64s(s.t, s.dur*2/3)
	if len(s.t)-from < MinSamples {
		return math.Inf(1)
	}
	part := newSystem(s.t[from:], s.y[from:], s.leak[from:])
	part.phi, part.driftK = s.phi, s.driftK
	copy(part.sigma, s.sigma[from:])
	part.drift = s.drift[from:]
	// The lag is counted in steps of the whole record.
	part.step, part.uniform = s.step, false
	part.whiten()
	sol, ok := part.solve()
	if !ok {
		return math.Inf(1)
	}
	return sol.beta[1] + ceilingZ*widen*math.Sqrt(sol.cov[1][1])
}

// cdf is the probability of a rise by leak below x.
func (p *posterior) cdf(x float64) float64 {
	sum := 0.0
	for _, c := range p.parts {
		switch z := (x - c.mean) / c.sd; {
		case z > 7:
			sum += c.weight
		case z > -7:
			sum += c.weight * normalCDF(z)
		}
	}
	return sum
}

// quantile inverts cdf by bisection.
func (p *posterior) quantile(q float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range p.parts {
		lo, hi = min(lo, c.mean-9*c.sd), max(hi, c.mean+9*c.sd)
	}
	for range 60 {
		mid := lo + (hi-lo)/2
		if p.cdf(mid) < q {
			lo = mid
		} else {
			hi = mid
		}
		if hi-lo <= 1e-6*(math.Abs(lo)+math.Abs(hi)) {
			break
		}
	}
	return lo + (hi-lo)/2
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func normalQuantile(q float64) float64 {
	return -math.Sqrt2 * math.Erfcinv(2*min(max(q, 1e-300), 1-1e-16))
}

// widening is Student's t over the normal quantile at the given confidence,
// for the effective number of samples less the parameters of the model.
func widening(confidence, effective float64, params int) float64 {
	nu := max(effective-float64(params), 2)
	if nu > 1e5 {
		return 1
	}
	q := (1 + confidence) / 2
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}
	return t.Quantile(q) / normalQuantile(q)
}
