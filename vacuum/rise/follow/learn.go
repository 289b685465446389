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
		if p.model == powerLaw {
			t0 := math.Exp(p.theta[0])
			r.power(&w.raws[0], &w.raws[1], &w.raws[2], t0, p.theta[1])
			for j := range r.m {
				level[j] += s.b[i] * w.raws[0][j]
				slope[j] -= s.b[i] * w.raws[1][j] / max(r.t[j], 1e-9*t0)
			}
			continue
		}
		tau := math.Exp(p.theta[i])
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
// n ln χ² + k ln n_eff (Schwarz 1978, from memory); nil is the steady one.
func (w *work) best() *point {
	r := &w.rows
	n := r.count
	effective := math.Log(max(r.effective(), 3))
	w.score[steady] = n*math.Log(w.steady.chi2+w.within+1e-12*n) + float64(parameters[steady])*effective
	least := w.score[steady]
	var best *point
	for m := vapour; m <= powerLaw; m++ {
		p := &w.point[m]
		w.score[m] = math.Inf(1)
		if !p.has {
			continue
		}
		w.score[m] = n*math.Log(p.sol.chi2+w.within+1e-12*n) + float64(parameters[m])*effective
		if w.score[m] < least {
			least, best = w.score[m], p
		}
	}
	return best
}

// law of a point and its fit, with nil for the steady one.
func (w *work) fitOf(p *point) (*point, *solution, int) {
	if p == nil {
		w.next.model = steady
		return &w.next, &w.steady, parameters[steady]
	}
	return p, &p.sol, parameters[p.model]
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
const groups = 16

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

// plausibleScore is how far above the best a model's criterion may lie for its
// correlation to count; exp(-6/2) is 1 in 20.
const plausibleScore = 6

// smallCorrelation is the correlation below which the residuals of the best
// fit are trusted as they are.
const smallCorrelation = 0.2

// scannedPhi are the correlations of which the most probable is looked for.
var scannedPhi = [...]float64{0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.96, 0.98, 0.99}

// learnCorrelation answers the lag-1 correlation of the noise: that of the best
// model's residuals, with the bias (k + (k+2) φ)/n of fitting k parameters taken
// out, when it is small; else the largest among the models that are plausible,
// each with the one that suits it best: a law with too many terms swallows slow
// noise, and its small φ would make every interval too narrow.
func (w *work) learnCorrelation(u *residual, k int) float64 {
	r := &w.rows
	if !(u.squares > 0) {
		return 0
	}
	phi := u.neighbours() / u.squares
	phi = min(max(phi+(float64(k)+float64(k+2)*phi)/r.count, 0), 0.99)
	if phi < smallCorrelation {
		return phi
	}
	from := phi - 0.25
	for range 2 {
		next := w.scanCorrelation(phi, from)
		if next == phi {
			break
		}
		phi = next
	}
	return phi
}

// scanCorrelation fits the models with correlation phi, their time constants
// held, and answers the largest of the correlations, from from on, that suit the
// residuals of the plausible ones.
func (w *work) scanCorrelation(phi, from float64) float64 {
	r := &w.rows
	if !r.whiten(phi, 0) {
		return phi
	}
	var score, suits [powerLaw + 1]float64
	least, chi2 := math.Inf(1), w.steady.chi2
	for m := vapour; m <= powerLaw; m++ {
		if p := &w.point[m]; p.has {
			chi2 = min(chi2, p.sol.chi2)
		}
	}
	var level, slope vector
	for m := steady; m <= powerLaw; m++ {
		score[m] = math.Inf(1)
		p := &w.point[m]
		if m == steady && w.steady.chi2 > lost*chi2 || m > steady && p.sol.chi2 > lost*chi2 {
			continue
		}
		var s solution
		if m == steady {
			b := &r.base
			s = solution{start: b.beta[0], leak: b.beta[1], drift: b.beta[2]}
		} else if !p.has || !w.atPoint(p, &s) {
			continue
		}
		w.curve(p, &s, &level, &slope)
		u := w.residualOf(&level, &slope)
		for _, x := range scannedPhi {
			if x < from {
				continue
			}
			v := r.count*math.Log(u.chi2(x)+1e-300) + (r.count-1)*math.Log(1-x*x) +
				float64(parameters[m])*math.Log(max(r.count*(1-x)/(1+x), 3))
			if v < score[m] {
				score[m], suits[m] = v, x
			}
		}
		least = min(least, score[m])
	}
	most := 0.0
	for m := range score {
		if score[m] <= least+plausibleScore {
			most = max(most, suits[m])
		}
	}
	return most
}

// atPoint fits a law's amplitudes at its time constants to the rows as whitened
// now.
func (w *work) atPoint(p *point, s *solution) (ok bool) {
	r := &w.rows
	var q normal
	for i := range p.sources() {
		if p.model == powerLaw {
			r.power(&w.raws[0], &w.raws[1], &w.raws[2], math.Exp(p.theta[0]), p.theta[1])
		} else {
			r.vapour(&w.raws[0], &w.raws[1], math.Exp(p.theta[i]))
		}
		r.reduce(&p.cols[i], &w.raws[0])
		if !r.push(&q, &p.cols[i]) {
			return false
		}
	}
	r.solution(&q, s)
	return true
}

// measure sets the χ² of the readings about their blocks, from the fit with the
// least.
func (w *work) measure() {
	least := &w.next
	least.model = steady
	s := &w.steady
	for m := vapour; m <= powerLaw; m++ {
		if p := &w.point[m]; p.has && p.sol.chi2 < s.chi2 {
			least, s = p, &p.sol
		}
	}
	var level, slope vector
	w.curve(least, s, &level, &slope)
	u := w.residualOf(&level, &slope)
	w.within = max(u.chi2(w.rows.phi)-s.chi2, 0)
}

// learn sets the noise from the best fit and answers its correlation.
func (w *work) learn() float64 {
	r := &w.rows
	w.measure()
	best, s, k := w.fitOf(w.best())
	var level, slope, law, lawSlope vector
	w.curve(best, s, &level, &slope)
	w.law(best, s, &law, &lawSlope)
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
	if best != &w.next && r.whiten(phi, 0) && w.atPoint(best, &again) {
		w.law(best, &again, &law, &lawSlope)
		r.setDrift(&law)
	} else if best == &w.next && r.whiten(phi, 0) {
		b := &r.base
		again = solution{start: b.beta[0], leak: b.beta[1]}
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
