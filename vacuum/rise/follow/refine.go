package follow

import "math"

// constants is how many time constants a law that is refined has: one source has one,
// a power law its t0 and its exponent.
func (m model) constants() int {
	if m == powerLaw {
		return 2
	}
	return 1
}

// leastExponent and mostExponent are the range of a power law's exponent.
const (
	leastExponent = 0.4
	mostExponent  = 2
)

// bounds of the j-th time constant of a law.
func (w *work) bounds(m model, j int) (lo, hi float64) {
	switch {
	case m == vapour:
		return w.rows.lo, w.rows.hi
	case j == 0:
		return w.powerRange()
	}
	return leastExponent, mostExponent
}

// evaluate fits a law with one amplitude at its time constants, without and with its
// derivatives: since the amplitude is fitted exactly, the coefficient of a derivative is
// the step of its time constant.
func (w *work) evaluate(p *point) {
	r, raw := &w.rows, &w.raws
	if p.model == powerLaw {
		r.power(&raw[0], &raw[1], &raw[2], math.Exp(p.theta[0]), p.theta[1])
	} else {
		r.vapour(&raw[0], &raw[1], math.Exp(p.theta[0]))
	}
	var q normal
	p.full.k = 0
	r.reduce(&p.cols[0], &raw[0])
	if p.has = r.push(&q, &p.cols[0]); !p.has {
		return
	}
	r.solution(&q, &p.sol)
	for j := range p.model.constants() {
		r.reduce(&p.cols[1+j], &raw[1+j])
		if !r.push(&q, &p.cols[1+j]) {
			return
		}
	}
	r.solution(&q, &p.full)
	b := p.sol.b[0]
	for j := range p.model.constants() {
		p.step[j], p.width[j] = p.full.b[1+j]/b, math.Sqrt(p.full.varB[1+j])/math.Abs(b)
	}
}

// refine improves a point by at most steps Gauss-Newton steps, each shortened until χ²
// falls. It gives up where a step is not expected to come half way down to wanted.
func (w *work) refine(p *point, steps int, wanted float64) {
	w.evaluate(p)
	share := 1.0
	for range steps {
		if !p.has || p.full.k == 0 {
			return
		}
		gain := p.sol.chi2 - p.full.chi2
		if gain < enough*p.sol.chi2/float64(w.rows.m) || p.full.chi2-wanted > gain {
			return
		}
		next := &w.next
		next.model = p.model
		for j := range p.model.constants() {
			lo, hi := w.bounds(p.model, j)
			next.theta[j] = min(max(p.theta[j]+min(max(p.step[j]*share, -1), 1), lo), hi)
		}
		if next.theta == p.theta {
			return
		}
		w.evaluate(next)
		if !next.has || !(next.sol.chi2 < p.sol.chi2) {
			if share /= 5; share < 0.01 {
				return
			}
			continue
		}
		*p = *next
		share = 1
	}
}

// enough is the gain of χ² that the linearised problem promises, in units of its
// noise, below which another step does not pay.
const enough = 1e-3

// power makes the column of a power law, ((1 + t/t0)^(1-n) - 1)/(1-n) as the mean
// over each block, and its derivatives by ln t0 and by n, at the mean time.
func (r *rows) power(col, byTime, byExponent *vector, t0, n float64) {
	m := 1 - n
	for j := range r.m {
		x := r.t[j] / t0
		u := math.Log(1 + x)
		c, rate := u, 1.0 // of n = 1; (1+x)^m
		if math.Abs(m) > 1e-6 {
			rate = math.Exp(m * u)
			c = (rate - 1) / m
		}
		byTime[j] = -rate * x / (1 + x)
		byExponent[j] = -u * u * (0.5 + m*u/3)
		if math.Abs(m*u) > 1e-4 {
			byExponent[j] = -(u*rate - c) / m
		}
		col[j] = c - n*rate*r.variance[j]/(2*t0*t0*(1+x)*(1+x))
	}
}
