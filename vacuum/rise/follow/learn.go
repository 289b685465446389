package follow

import "math"

// residual is what a fit leaves of the readings, in their standard deviations.
type residual struct {
	squares, steps float64 // Σ u², Σ (u_i - u_(i-1))²
	ends           float64 // u² of the first reading and of the last
	first          float64 // u² of the first reading
}

// neighbours is Σ u_i u_(i-1).
func (u *residual) neighbours() float64 { return u.squares - (u.ends+u.steps)/2 }

// chi2 is Σ of the squares of the innovations of lag-1 noise.
func (u *residual) chi2(phi float64) float64 {
	s := u.squares
	return (s-u.first-2*phi*u.neighbours()+phi*phi*(s-u.ends+u.first))/(1-phi*phi) + u.first
}

// curve is a fitted law's pressure less p0 and its slope, at the blocks, with
// the most probable drift.
func (w *work) curve(p *point, s *solution, level, slope *vector) {
	r := &w.rows
	w.law(p, s, level, slope)
	for j := range r.m {
		level[j] += s.drift * r.drift[j]
		slope[j] += s.drift * (r.y[j] + r.p0) / (r.dur * r.temperature)
	}
}

// law is the curve without drift.
func (w *work) law(p *point, s *solution, level, slope *vector) {
	r := &w.rows
	for j := range r.m {
		level[j] = s.start + s.leak*r.leak[j]
		slope[j] = s.leak / r.dur
	}
	for i := range s.k {
		tau := math.Exp(p.theta[i])
		if p.model == anySource && p.ends[i] {
			r.ramp(&w.raws[0], tau)
			for j := range r.m {
				level[j] += s.b[i] * w.raws[0][j]
				if r.t[j] < tau {
					slope[j] += s.b[i] / tau
				}
			}
			continue
		}
		r.vapour(&w.raws[0], &w.raws[1], tau)
		for j := range r.m {
			level[j] += s.b[i] * w.raws[0][j]
			slope[j] += s.b[i] * (1 - w.raws[0][j]) / tau
		}
	}
}

// squares is a block's sum of squares about a line of the given level, Pa, and
// slope, less what the bend of the curve adds: n ((bend/2)² ⟨(t²-⟨t²⟩)²⟩), which
// for equal steps is 0.2 n bend² variance².
func (b *block) squares(level, slope, bend float64) float64 {
	d := b.p - level
	about := max(b.pp-2*slope*b.tp+slope*slope*b.tt, 0)
	return max(about-0.2*bend*bend*b.tt*b.tt/b.n, 0.1*about) + b.n*d*d
}

// residualOf sums what a curve leaves.
func (w *work) residualOf(level, slope *vector) (u residual) {
	r := &w.rows
	before := 0.0 // what it leaves of the reading before, in its standard deviations
	for j := range r.m {
		b := &r.blocks[j]
		v := 1 / r.sigma[j]
		u.squares += v * v * b.squares(level[j]+r.p0, slope[j], bend(r, slope, j))
		u.steps += v * v * max(b.dd-2*slope[j]*b.sd+slope[j]*slope[j]*b.ss, 0)
		first := v * (b.pFirst - r.p0 - level[j] - slope[j]*(b.first-b.t))
		if j == 0 {
			u.first = first * first
		} else {
			u.steps += (first - before) * (first - before)
		}
		before = v * (b.pLast - r.p0 - level[j] - slope[j]*(b.last-b.t))
	}
	u.ends = u.first + before*before
	return u
}

// best is the candidate with the lowest Bayesian information criterion,
// n ln χ² + k ln n_eff (Schwarz 1978, from memory).
func (w *work) best() *point { return w.leastOf(vapour) }

// described is the same with any sources that fade among the candidates: what
// the noise is learnt from.
func (w *work) described() *point { return w.leastOf(anySource) }

func (w *work) leastOf(last model) *point {
	best := &w.point[steady]
	for m := steady; m <= last; m++ {
		p := &w.point[m]
		w.score[m] = math.Inf(1)
		if p.has {
			w.score[m] = w.criterion(p.sol.chi2, p.parameters())
		}
		if w.score[m] < w.score[best.model] {
			best = p
		}
	}
	return best
}

func (w *work) criterion(chi2 float64, params int) float64 {
	r := &w.rows
	return r.count*math.Log(chi2+w.within+1e-12*r.count) + float64(params)*math.Log(max(r.effective(), 3))
}

// parameters counts what a law fits, time constants included.
func (p *point) parameters() int {
	switch p.model {
	case vapour:
		return 4
	case anySource:
		return anyParameters(p.atoms)
	}
	return 2
}

// numericalFloor is the least noise assumed, as a share of the pressure; tiny
// keeps a perfect vacuum from having none, Pa.
const (
	numericalFloor = 1e-6
	tiny           = 1e-12
)

// firstSigma starts with a noise in proportion to the pressure, beside a floor.
func (w *work) firstSigma(most float64) {
	r := &w.rows
	for j := range r.m {
		r.sigma[j] = 1e-3*math.Abs(r.y[j]+r.p0) + 3e-4*most + tiny
	}
}

// groups is how many groups of blocks the variance is learnt from.
const groups = 8

// shares are the shares of proportional noise that are tried.
var shares = [...]float64{0, 0.2, 0.5, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995, 0.999, 1}

// learnVariance fits σ² = c (1 - q + q p²/⟨p²⟩) by the greatest likelihood over
// the share q of proportional noise.
func (w *work) learnVariance(level, slope *vector, k int) {
	r := &w.rows
	var squares, mean, count [groups]float64
	all := 0.0
	for j := range r.m {
		b := &r.blocks[j]
		g := j * groups / r.m
		p := level[j] + r.p0
		squares[g] += b.squares(p, slope[j], bend(r, slope, j))
		mean[g] += b.n * p * p
		count[g] += b.n
		all += b.n * p * p / r.count
	}
	bestL, bestQ, bestC := math.Inf(-1), 0.0, 0.0
	for _, q := range shares {
		sum, logs := 0.0, 0.0
		for g := range groups {
			if count[g] > 0 {
				v := 1 - q + q*max(mean[g]/(count[g]*all), 1e-4)
				sum += squares[g] / v
				logs += count[g] * math.Log(v)
			}
		}
		if l := -r.count*math.Log(sum+1e-300) - logs; l > bestL {
			bestL, bestQ, bestC = l, q, sum/max(r.count-float64(k), 1)
		}
	}
	root := math.Sqrt(all)
	for j := range r.m {
		p := math.Abs(level[j] + r.p0)
		share := 1 - bestQ + bestQ*max(p*p/all, 1e-4)
		floor := numericalFloor * max(p, root)
		r.sigma[j] = max(math.Sqrt(bestC*share+floor*floor), r.rounding) + tiny
	}
}

// measure sets the χ² of the readings about their blocks, from the fit with the
// least.
func (w *work) measure() {
	least := &w.point[steady]
	for m := range w.point {
		if p := &w.point[m]; p.has && p.sol.chi2 < least.sol.chi2 {
			least = p
		}
	}
	var level, slope vector
	w.curve(least, &least.sol, &level, &slope)
	u := w.residualOf(&level, &slope)
	w.within = max(u.chi2(w.rows.phi)-least.sol.chi2, 0)
}

// learn sets the noise from the best fit and answers its correlation.
func (w *work) learn() float64 {
	r := &w.rows
	best := w.described()
	k := best.parameters()
	var level, slope, law, lawSlope vector
	w.curve(best, &best.sol, &level, &slope)
	w.law(best, &best.sol, &law, &lawSlope)
	r.setDrift(&law)
	w.learnVariance(&level, &slope, k)
	u := w.residualOf(&level, &slope)
	phi := w.learnCorrelation(&u, k)
	scale := math.Sqrt(u.chi2(phi) / max(r.count-float64(k), 1))
	for j := range r.m {
		r.sigma[j] = max(r.sigma[j]*scale, r.rounding, tiny)
	}
	w.coarse = w.bends(&slope)
	// The drift acts on the pressure that the law gives, which depends on it.
	var again solution
	if r.whiten(phi, 0) && w.atPoint(best, &again) {
		w.law(best, &again, &law, &lawSlope)
		r.setDrift(&law)
	}
	return phi
}

// bend is the curvature of a curve at block j from the slopes beside it, Pa/s².
func bend(r *rows, slope *vector, j int) float64 {
	i, k := max(j-1, 0), min(j+1, r.m-1)
	return (slope[k] - slope[i]) / (r.t[k] - r.t[i])
}

// mostBend is the deviation of a block's readings from a line, in standard
// deviations of a reading, that can be taken out.
const mostBend = 3

// bends reports whether a curve of the given slopes is too much bent within a
// block.
func (w *work) bends(slope *vector) bool {
	r := &w.rows
	for j := range r.m {
		if math.Sqrt(0.2)*math.Abs(bend(r, slope, j))*r.variance[j] > mostBend*r.sigma[j] {
			return true
		}
	}
	return false
}
