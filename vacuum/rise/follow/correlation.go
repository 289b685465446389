package follow

import "math"

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
	return w.scanCorrelation(phi, phi-0.25)
}

// scanCorrelation fits the models with correlation phi, their time constants
// held, and answers the largest of the correlations, from from on, that suit the
// residuals of the plausible ones.
func (w *work) scanCorrelation(phi, from float64) float64 {
	r := &w.rows
	if !r.whiten(phi, 0) {
		return phi
	}
	var score, suits [models + 1]float64
	least, chi2 := math.Inf(1), math.Inf(1)
	for m := range w.point {
		if p := &w.point[m]; p.has {
			chi2 = min(chi2, p.sol.chi2)
		}
	}
	var level, slope vector
	for m := range w.point {
		score[m] = math.Inf(1)
		p := &w.point[m]
		var s solution
		if !p.has || p.sol.chi2 > lost*chi2 || !w.atPoint(p, &s) {
			continue
		}
		w.curve(p, &s, &level, &slope)
		u := w.residualOf(&level, &slope)
		for _, x := range scannedPhi {
			if x < from {
				continue
			}
			v := r.count*math.Log(u.chi2(x)+1e-300) + (r.count-1)*math.Log(1-x*x) +
				float64(p.parameters())*math.Log(max(r.count*(1-x)/(1+x), 3))
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
		if p.model == anySource && p.ends[i] {
			r.ramp(&w.raws[0], math.Exp(p.theta[i]))
		} else {
			r.fade(&w.raws[0], math.Exp(p.theta[i]))
		}
		r.reduce(&p.cols[i], &w.raws[0])
		if !r.push(&q, &p.cols[i]) {
			return false
		}
	}
	r.solution(&q, s)
	return true
}
