package rise

import (
	"math"
)

// numericalFloor is the least noise assumed, as a share of the pressure.
const numericalFloor = 1e-6

// tiny keeps a perfect vacuum from having no noise at all, Pa.
const tiny = 1e-12

// problem is what is fitted: pressures p less offset (Pa), or the fall of the
// pressure with minus the pressure as offset, so that a loss fits like a gain;
// the column of the
// leak, and a temperature (K) that drifts by driftK.
type problem struct {
	t, p, leak  []float64
	offset      float64
	temperature float64
	driftK      float64
	step        float64 // resolution of the readings, Pa
}

// newSystem starts from a problem with a first guess of the noise.
func (q *problem) newSystem() *system {
	s := newSystem(q.t, q.p, q.leak)
	s.offset, s.driftK, s.rounding = q.offset, q.driftK, q.step/math.Sqrt(12)
	s.drift = make([]float64, len(q.t))
	s.setDrift(q.p, q.temperature)
	s.firstSigma()
	return s
}

// setDrift makes the drift column for a pressure curve (Pa less offset).
func (s *system) setDrift(curve []float64, temperature float64) {
	for i, c := range curve {
		s.drift[i] = (c + s.offset) * (s.t[i]/s.dur - 0.5) / temperature
	}
}

// fit fits all candidates several times, each time with the noise learnt from
// the best of the candidates before, and drops outliers after the first. It
// answers the last fits and the number of rows dropped.
func (q *problem) fit() (f *fits, outliers int) {
	s := q.newSystem()
	g := newGrids(s)
	f = fitAll(s, g)
	if keep := f.inliers(); len(keep) < len(q.t) {
		outliers = len(q.t) - len(keep)
		q.keep(keep)
		s = q.newSystem()
		g = newGrids(s)
		f = fitAll(s, g)
	}
	for range 2 {
		best := f.described()
		s.setDrift(s.curve(&best), q.temperature)
		s.learn(f)
		f.follow()
	}
	s.rescale(f)
	return f.again(g), outliers
}

// firstSigma starts with a noise in proportion to the pressure, beside a floor
// of a thousandth of the largest.
func (s *system) firstSigma() {
	top := 0.0
	for _, y := range s.y {
		top = max(top, math.Abs(y+s.offset))
	}
	for i, y := range s.y {
		s.sigma[i] = 1e-3*math.Abs(y+s.offset) + 3e-4*top + tiny
	}
}

// inliers lists the rows within six robust standard deviations of the best
// fit. When more than 3 % lie outside, the fit is at fault, not the rows, and
// all are kept. The first row is kept in any case: where the fit misses it, a
// source was too fast for the candidates (trimEnds has judged it already).
func (f *fits) inliers() []int {
	s := f.sys
	best := f.described()
	u := s.residuals(&best)
	size := make([]float64, len(u))
	for i := range u {
		u[i] /= s.sigma[i]
		size[i] = math.Abs(u[i])
	}
	scale := 1.4826 * median(size) // of a normal distribution
	var keep []int
	for i := range u {
		if size[i] <= 6*scale || i == 0 {
			keep = append(keep, i)
		}
	}
	if scale == 0 || len(u)-len(keep) > max(1, 3*len(u)/100) {
		keep = keep[:0]
		for i := range u {
			keep = append(keep, i)
		}
	}
	return keep
}

// keep narrows the problem to some of its rows. Time and the leak's column
// begin at the first of them again, and the column stays a share of the
// duration.
func (q *problem) keep(rows []int) {
	before := q.t[len(q.t)-1]
	q.t, q.p, q.leak = pick(q.t, rows), pick(q.p, rows), pick(q.leak, rows)
	start, level := q.t[0], q.leak[0]
	stretch := before / (q.t[len(q.t)-1] - start)
	for i := range q.t {
		q.t[i] -= start
		q.leak[i] = (q.leak[i] - level) * stretch
	}
}

func pick(v []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for i, k := range at {
		out[i] = v[k]
	}
	return out
}

// learn sets variance and correlation from the residuals of the fits.
func (s *system) learn(f *fits) {
	best := f.described()
	curve := s.curve(&best)
	for i := range curve {
		curve[i] += s.offset
	}
	s.learnVariance(s.residuals(&best), curve, best.parameters())
	s.learnCorrelation(f)
}

// learnVariance fits σ² = c (1 - q + q p²/⟨p²⟩) by the greatest likelihood over
// the share q of proportional noise.
func (s *system) learnVariance(e, curve []float64, k int) {
	n := float64(len(e))
	square := 0.0
	for _, c := range curve {
		square += c * c / n
	}
	bestL, bestQ, bestC := math.Inf(-1), 0.0, 0.0
	for _, q := range []float64{0, 0.2, 0.5, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995, 0.999, 1} {
		sum, logs := 0.0, 0.0
		for i := range e {
			v := 1 - q + q*max(curve[i]*curve[i]/square, 1e-4)
			sum += e[i] * e[i] / v
			logs += math.Log(v)
		}
		c := sum / max(n-float64(k), 1)
		if l := -n*math.Log(sum+1e-300) - logs; l > bestL {
			bestL, bestQ, bestC = l, q, c
		}
	}
	for i := range s.sigma {
		share := 1 - bestQ + bestQ*max(curve[i]*curve[i]/square, 1e-4)
		floor := numericalFloor * max(math.Abs(curve[i]), math.Sqrt(square))
		s.sigma[i] = max(math.Sqrt(bestC*share+floor*floor), s.rounding) + tiny
	}
}

// plausibleScore is how far above the best a model's criterion may lie for its
// correlation to count; exp(-6/2) is 1 in 20.
const plausibleScore = 6

// smallCorrelation is the correlation below which the residuals of the best
// fits are trusted as they are.
const smallCorrelation = 0.2

// scannedPhi are the correlations at which slow noise is looked for.
var scannedPhi = [...]float64{0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.96, 0.98, 0.99}

// learnCorrelation sets φ to the largest among the plausible models, each with
// the correlation that suits it best: a law with too many terms swallows slow
// noise, and its small φ would make every interval too narrow.
func (s *system) learnCorrelation(f *fits) {
	best := f.described()
	s.phi = s.correlation(s.residuals(&best), best.parameters())
	if s.phi >= smallCorrelation {
		s.scanCorrelation(f.describing())
	}
}

// scanCorrelation fits the candidates at each of scannedPhi, their time
// constants held, and compares their profile likelihoods, n ln χ² + Σ ln(1-ρ²) + k ln n_eff.
func (s *system) scanCorrelation(points []point) {
	n := float64(len(s.t))
	for m := range points {
		points[m].raw = s.rawColumns(&points[m])
	}
	score := make([]float64, len(points))
	phi := make([]float64, len(points))
	least := math.Inf(1)
	for m := range score {
		score[m] = math.Inf(1)
	}
	from := s.phi - 0.25 // slow noise is missed, not invented
	for _, phi0 := range scannedPhi {
		if phi0 < from {
			continue
		}
		s.phi = phi0
		s.whiten()
		logs := 0.0
		for _, r := range s.norm {
			logs -= 2 * math.Log(r)
		}
		for m := range points {
			chi2 := points[m].sol.chi2
			if sol, ok := s.solveRaw(points[m].raw); ok {
				chi2 = sol.chi2
			}
			v := n*math.Log(chi2) + logs + float64(points[m].parameters())*math.Log(max(s.effective(), 3))
			if v < score[m] {
				score[m], phi[m] = v, s.phi
			}
			least = min(least, v)
		}
	}
	s.phi = 0
	for m := range points {
		if score[m] <= least+plausibleScore {
			s.phi = max(s.phi, phi[m])
		}
	}
}

// refit follows a candidate to the present noise model in a few steps and
// answers its χ².
func (s *system) refit(p *point, steps int) float64 {
	switch p.model {
	case Steady:
		sol, _ := s.solve()
		return sol.chi2
	case mixture:
		if sol, ok := s.solveRaw(p.raw); ok {
			p.sol = sol
		}
		return p.sol.chi2
	}
	fam := s.familyOf(p.model)
	if next, ok := s.refine(&fam, p.theta, steps); ok {
		*p = next
	}
	return p.sol.chi2
}

// rawColumns are a point's columns beside start and leak.
func (s *system) rawColumns(p *point) [][]float64 {
	if p.raw != nil {
		return p.raw
	}
	f := family{model: p.model}
	raw := make([][]float64, p.sol.k-2)
	for k := range raw {
		raw[k] = make([]float64, len(s.t))
		s.column(&f, raw[k], p.theta, k)
	}
	return raw
}

// solveRaw fits start, leak and the given columns under the present noise model.
func (s *system) solveRaw(raw [][]float64) (solution, bool) {
	for len(s.spare) < len(raw) {
		s.spare = append(s.spare, wcol{w: make([]float64, len(s.t))})
	}
	var cols [maxTerms - 2]*wcol
	for k, r := range raw {
		s.fill(&s.spare[k], r)
		cols[k] = &s.spare[k]
	}
	return s.solve(cols[:len(raw)]...)
}

// correlation is the lag-1 correlation of residuals e, corrected for the
// downward bias that fitting k parameters causes, (k + (k+2) φ)/n (Marriott
// and Pope 1954 for k = 1, extended to a fitted trend; from memory).
func (s *system) correlation(e []float64, k int) float64 {
	n := float64(len(e))
	var num, den float64
	for i := range e {
		u := e[i] / s.sigma[i]
		den += u * u
		if i > 0 {
			num += u * e[i-1] / s.sigma[i-1]
		}
	}
	if !(den > 0) {
		return 0
	}
	phi := num / den
	return min(max(phi+(float64(k)+float64(k+2)*phi)/n, 0), 0.99)
}

// rescale makes the whitened residuals of the best fit have unit variance.
func (s *system) rescale(f *fits) {
	best := f.described()
	scale := math.Sqrt(best.sol.chi2 / max(float64(len(s.t)-best.parameters()), 1))
	for i := range s.sigma {
		s.sigma[i] = max(s.sigma[i]*scale, numericalFloor*math.Abs(s.y[i]+s.offset), s.rounding, tiny)
	}
}
