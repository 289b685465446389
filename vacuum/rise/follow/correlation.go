package follow

import (
	"math"
)

// parameters of the better of the two models by the Bayesian information
// criterion: start and leak, or these with a source and its time constant.
func (f *Follower) parameters(c *candidates, effective float64) int {
	if c.best < 0 {
		return 2
	}
	n := float64(f.n)
	gain := n * math.Log((c.base.chi2+1e-300)/(c.nodes[c.best].chi2+1e-300))
	if gain > 2*math.Log(max(effective, 3)) {
		return 4
	}
	return 2
}

// correlation is the lag-1 correlation of the residuals: of the better model,
// or the larger of the two where neither is clearly better.
func (f *Follower) correlation(c *candidates) float64 {
	if c.best < 0 {
		return f.correlationOf(c, 2)
	}
	n := float64(f.n)
	gain := n*math.Log((c.base.chi2+1e-300)/(c.nodes[c.best].chi2+1e-300)) - 2*math.Log(n)
	const beyond = 6
	switch {
	case gain > beyond:
		return f.correlationOf(c, 4)
	case gain < -beyond:
		return f.correlationOf(c, 2)
	}
	return max(f.correlationOf(c, 2), f.correlationOf(c, 4))
}

// correlationOf is the lag-1 correlation of the residuals of the model with k
// parameters, with the bias of fitting them, (k + (k+2) φ)/n, taken out.
func (f *Follower) correlationOf(c *candidates, k int) float64 {
	var coef [7]float64 // of 1, time, source and its two derivatives, pressure, time × pressure
	coef[5] = -1
	bank := 0
	coef[0], coef[1] = c.base.beta[0], c.base.beta[1]
	if k == 4 {
		m := c.nodes[c.best]
		bank = m.k
		coef[1] = m.leak
		coef[2], coef[3], coef[4] = m.b, m.b*m.delta, m.b*m.delta*m.delta/2
		col := c.g.source(m.k, m.delta)
		coef[0] = c.base.inv[0][0]*(c.base.vy[0]-m.b*col.c0) + c.base.inv[0][1]*(c.base.vy[1]-m.b*col.c1)
	}
	c.g.takeDrift(bank, &coef)
	den := quadratic(&f.zero, bank, &coef)
	num := quadratic(&f.one, bank, &coef) / 2
	if !(den > 0) {
		return 0
	}
	phi := num / den
	return min(max(phi+(float64(k)+float64(k+2)*phi)/float64(f.n), 0), 0.99)
}

// takeDrift takes the most probable drift out of the residuals described by
// coef: minus the residual's product with c, over 1/Drift² + c·c, times c.
func (g *gram) takeDrift(bank int, coef *[7]float64) {
	if g.share == 0 {
		return
	}
	ce := 0.0
	for i, x := range coef {
		switch {
		case i >= 2 && i <= 4:
			ce += x * g.bc[bank][i-2]
		case i == 6:
		default:
			ce += x * g.vc[column4(i)]
		}
	}
	d := -ce * g.share // coef describes fit minus pressure
	coef[0] += d * g.drift[0]
	coef[5] += d * g.drift[2]
	coef[6] += d * g.drift[3]
}

// column4 is the index in v of column i of a residual.
func column4(i int) int {
	if i < 2 {
		return i
	}
	return i - 3
}

// quadratic is coefᵀ S coef over the columns of one bank value.
func quadratic(s *sums, k int, coef *[7]float64) float64 {
	at := func(i, j int) float64 {
		switch {
		case i >= 2 && i <= 4 && j >= 2 && j <= 4:
			return s.bb[k][i-2][j-2]
		case i >= 2 && i <= 4:
			return s.bv[k][i-2][column4(j)]
		case j >= 2 && j <= 4:
			return s.bv[k][j-2][column4(i)]
		}
		return s.vv[column4(i)][column4(j)]
	}
	sum := 0.0
	for i := range coef {
		for j := range coef {
			sum += coef[i] * coef[j] * at(i, j)
		}
	}
	return sum
}
