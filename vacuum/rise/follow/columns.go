package follow

import "math"

// Bank is the greatest number of time constants. They are equally spaced in
// their logarithm, by at most a ratio of bankRatio, from the shortest to slowest
// times the record, which are the nodes of package rise: what lies between two
// is averaged, and another grid would average to something else.
const (
	Bank      = 35
	bankRatio = 1.45
)

// slowest is the longest time constant told from a leak, in record lengths, and
// fastest the shortest, in steps: such a source is over within one reading.
const (
	slowest = 5
	fastest = 1.0 / 8
)

// column is a candidate's term: whitened, and as products once start, leak and
// drift are taken out of it.
type column struct {
	w    vector
	g, h [3]float64 // products with start, leak and drift; their coefficients in it
	y    float64    // product with the pressure
	cc   float64    // with itself
	left float64    // share of its square that is left without start and leak
}

// setBank chooses the bank's time constants.
func (r *rows) setBank() {
	r.lo, r.hi = math.Log(fastest*r.step), math.Log(slowest*r.dur)
	r.nodes = min(int(math.Ceil((r.hi-r.lo)/math.Log(bankRatio)))+1, Bank)
	r.spacing = (r.hi - r.lo) / float64(r.nodes-1)
}

// theta is ln τ of the bank's k-th, the fastest first.
func (r *rows) theta(k int) float64 { return r.lo + float64(k)*r.spacing }

// fade is the column of vapour alone.
func (r *rows) fade(col *vector, tau float64) {
	rate := 1 / tau
	bend := rate * rate / 2
	for j := range r.m {
		col[j] = 1 - r.decays.at(r.t[j]*rate)*(1+r.variance[j]*bend)
	}
}

// vapour makes the column of time constant tau, 1 - exp(-t/τ) as the mean over
// each block, and its derivative by ln τ.
func (r *rows) vapour(col, slope *vector, tau float64) {
	rate := 1 / tau
	bend := rate * rate / 2
	for j := range r.m {
		z := r.t[j] * rate
		e := r.decays.at(z) * (1 + r.variance[j]*bend)
		col[j], slope[j] = 1-e, -z*e
	}
}

// reduce whitens a raw column and takes its products.
func (r *rows) reduce(c *column, raw *vector) {
	m := r.m
	w, in, w1, wl, wd, wy := c.w[:m], raw[:m], r.w1[:m], r.wLeak[:m], r.wDrift[:m], r.wy[:m]
	weight, u, v, g := r.w[:m], r.u[:m], r.v[:m], r.g[:m]
	var g0, g1, g2, y, cc, sum float64
	for j, raw := range in {
		x := weight[j] * raw
		if r.phi > 0 { // as apply does
			x -= u[j] * sum
			sum = v[j]*sum + g[j]*raw
		}
		w[j] = x
		g0 += x * w1[j]
		g1 += x * wl[j]
		g2 += x * wd[j]
		y += x * wy[j]
		cc += x * x
	}
	if r.driftSD == 0 {
		g2 = 0
	}
	c.g = [3]float64{g0, g1, g2}
	b := &r.base
	for i := range 3 {
		c.h[i] = b.inv[i][0]*g0 + b.inv[i][1]*g1 + b.inv[i][2]*g2
	}
	c.y = y - b.beta[0]*g0 - b.beta[1]*g1 - b.beta[2]*g2
	c.cc = cc - c.h[0]*g0 - c.h[1]*g1 - c.h[2]*g2
	c.left = c.cc / (cc - g2*g2*b.drift)
}

// dependent is the share of a column's square, beside all others, from which on
// it cannot be told from them.
const dependent = 1e-11

// pair is the product of two columns once start, leak and drift are taken out.
func (r *rows) pair(a, b *column) float64 {
	m := r.m
	v, w := a.w[:m], b.w[:m]
	var s0, s1 float64
	j := 0
	for ; j+2 <= m; j += 2 {
		s0 += v[j] * w[j]
		s1 += v[j+1] * w[j+1]
	}
	if j < m {
		s0 += v[j] * w[j]
	}
	return s0 + s1 - a.h[0]*b.g[0] - a.h[1]*b.g[1] - a.h[2]*b.g[2]
}

// terms is the most columns a fit has beside start, leak and drift: those of a
// spectrum; two sources, their derivatives and a slower source are 5.
const terms = 8

// solution is a fit with k columns.
type solution struct {
	k                  int
	start, leak, drift float64 // Pa, Pa over the record, K
	varLeak            float64 // for the present noise
	b                  [terms]float64
	varB, cov          [terms]float64 // of the amplitudes; of leak and amplitude
	chi2               float64
}

// normal is the normal equations of some columns, in the form of the inverse of
// their Cholesky factor, to which a column can be added.
type normal struct {
	k     int
	inv   [terms][terms]float64 // lower triangle
	y, hl [terms]float64        // the factor's inverse times the products with pressure, and times the leak's coefficients
	col   [terms]*column
}

// push adds a column. ok is false when it is too nearly dependent on the rest.
func (r *rows) push(q *normal, c *column) (ok bool) {
	k := q.k
	var a, l [terms]float64
	rest, y, hl := c.cc, c.y, c.h[1]
	for i := range k {
		a[i] = r.pair(q.col[i], c)
		for j := 0; j <= i; j++ {
			l[i] += q.inv[i][j] * a[j]
		}
		rest -= l[i] * l[i]
		y -= l[i] * q.y[i]
		hl -= l[i] * q.hl[i]
	}
	if !(rest*c.left > dependent*c.cc) {
		return false
	}
	s := 1 / math.Sqrt(rest)
	for j := range k {
		sum := 0.0
		for i := j; i < k; i++ {
			sum += l[i] * q.inv[i][j]
		}
		q.inv[k][j] = -s * sum
	}
	q.inv[k][k], q.y[k], q.hl[k], q.col[k] = s, s*y, s*hl, c
	q.k++
	return true
}

// solution is the fit with the columns of q.
func (r *rows) solution(q *normal, s *solution) {
	b := &r.base
	*s = solution{k: q.k, start: b.beta[0], leak: b.beta[1], drift: b.beta[2], varLeak: b.inv[1][1], chi2: b.chi2}
	for i := range q.k {
		s.chi2 -= q.y[i] * q.y[i]
		s.varLeak += q.hl[i] * q.hl[i]
		for j := 0; j <= i; j++ {
			v := q.inv[i][j]
			s.b[j] += v * q.y[i]
			s.varB[j] += v * v
			s.cov[j] -= v * q.hl[i]
		}
	}
	s.chi2 = max(s.chi2, 0)
	for i := range q.k {
		h := &q.col[i].h
		s.start -= h[0] * s.b[i]
		s.leak -= h[1] * s.b[i]
		s.drift -= h[2] * s.b[i]
	}
}

// single is the fit with one column; k is zero where that cannot be told apart.
func (r *rows) single(c *column, s *solution) {
	if s.k = 0; !(c.left > dependent) {
		return
	}
	b := &r.base
	x, v := c.y/c.cc, 1/c.cc
	*s = solution{
		k: 1, start: b.beta[0] - c.h[0]*x, leak: b.beta[1] - c.h[1]*x, drift: b.beta[2] - c.h[2]*x,
		varLeak: b.inv[1][1] + c.h[1]*c.h[1]*v, chi2: max(b.chi2-c.y*x, 0),
	}
	s.b[0], s.varB[0], s.cov[0] = x, v, -c.h[1]*v
}
