package follow

import "math"

// gram gives the products of whitened columns for lag-1 correlation φ:
//
//	[S0 - first - φ S1 + φ² (S0 - last)]/(1-φ²) + first
//
// where S0 sums over all readings, S1 over neighbours both ways round, and
// first and last are the products within those readings.
//
// An unknown drift of the temperature by d over the record, d ~ N(0, Drift²),
// adds d c with c = p (t/duration - 1/2)/T. Taking it out of every product,
//
//	a·b - (a·c)(b·c)/(1/Drift² + c·c)
//
// averages over all drifts.
type gram struct {
	f         *Follower
	phi, norm float64
	drift     [4]float64 // c in terms of the columns v
	share     float64    // 1/(1/Drift² + c·c), zero without drift
	vc        [3]float64
	bc        [Bank][3]float64
}

func (f *Follower) gram(phi float64, g *gram) {
	*g = gram{f: f, phi: phi, norm: 1 / (1 - phi*phi)}
	sd := float64(f.cfg.Drift)
	if sd == 0 {
		return
	}
	temperature := float64(f.cfg.SiteTemperature)
	g.drift = [4]float64{
		-f.p0 / (2 * temperature), 0, -1 / (2 * temperature),
		f.cfg.Longest.Seconds() / (f.duration() * temperature),
	}
	cc := 0.0
	for i := range 4 {
		for j := range 4 {
			cc += g.drift[i] * g.drift[j] * g.rawVV(i, j)
		}
		for j := range 3 {
			g.vc[j] += g.drift[i] * g.rawVV(i, j)
		}
		for k := range Bank {
			for j := range 3 {
				g.bc[k][j] += g.drift[i] * g.rawBV(k, j, i)
			}
		}
	}
	g.share = 1 / (1/(sd*sd) + cc)
}

func (g *gram) mix(zero, one, first, last float64) float64 {
	return (zero-first-g.phi*one+g.phi*g.phi*(zero-last))*g.norm + first
}

func (g *gram) rawVV(i, j int) float64 {
	f := g.f
	return g.mix(f.zero.vv[i][j], f.one.vv[i][j], f.head.v[i]*f.head.v[j], f.tail.v[i]*f.tail.v[j])
}

func (g *gram) rawBV(k, i, j int) float64 {
	f := g.f
	return g.mix(f.zero.bv[k][i][j], f.one.bv[k][i][j], f.head.b[k][i]*f.head.v[j], f.tail.b[k][i]*f.tail.v[j])
}

func (g *gram) vv(i, j int) float64 { return g.rawVV(i, j) - g.share*g.vc[i]*g.vc[j] }

func (g *gram) bv(k, i, j int) float64 { return g.rawBV(k, i, j) - g.share*g.bc[k][i]*g.vc[j] }

func (g *gram) bb(k, i, j int) float64 {
	f := g.f
	return g.mix(f.zero.bb[k][i][j], f.one.bb[k][i][j], f.head.b[k][i]*f.head.b[k][j], f.tail.b[k][i]*f.tail.b[k][j]) -
		g.share*g.bc[k][i]*g.bc[k][j]
}

func (g *gram) cross(k, m, i int) float64 {
	f := g.f
	return g.mix(f.zero.cross[k][m][i], f.one.cross[k][m][i], f.head.b[k][i]*f.head.b[m][0], f.tail.b[k][i]*f.tail.b[m][0]) -
		g.share*g.bc[k][i]*g.bc[m][0]
}

// base is the fit of start and leak alone, and what takes both out of another
// column.
type base struct {
	inv  [2][2]float64 // inverse of the products of 1 and time
	beta [2]float64    // start and leak
	chi2 float64
	vy   [2]float64
}

func (g *gram) base() (b base, ok bool) {
	a, c, d := g.vv(0, 0), g.vv(0, 1), g.vv(1, 1)
	det := a*d - c*c
	if !(det > 1e-12*a*d) {
		return b, false
	}
	b.inv = [2][2]float64{{d / det, -c / det}, {-c / det, a / det}}
	b.vy = [2]float64{g.vv(0, 2), g.vv(1, 2)}
	for i := range 2 {
		b.beta[i] = b.inv[i][0]*b.vy[0] + b.inv[i][1]*b.vy[1]
	}
	b.chi2 = max(g.vv(2, 2)-b.beta[0]*b.vy[0]-b.beta[1]*b.vy[1], 0)
	return b, true
}

// column is one source's column as products: with 1, time, pressure, itself.
type column struct{ c0, c1, cy, cc float64 }

// source is the column of time constant τ_k exp(δ), as a Taylor series about
// bank value k.
func (g *gram) source(k int, delta float64) column {
	t := [3]float64{1, delta, delta * delta / 2}
	var c column
	for i := range 3 {
		c.c0 += t[i] * g.bv(k, i, 0)
		c.c1 += t[i] * g.bv(k, i, 1)
		c.cy += t[i] * g.bv(k, i, 2)
		for j := range 3 {
			c.cc += t[i] * t[j] * g.bb(k, i, j)
		}
	}
	return c
}

// pairs are the products of the bank's own columns with one another.
type pairs [Bank][Bank]float64

func (g *gram) pairs(p *pairs) {
	for k := range Bank {
		p[k][k] = g.bb(k, 0, 0)
		for m := k + 1; m < Bank; m++ {
			p[k][m] = g.cross(k, m, 0)
			p[m][k] = p[k][m]
		}
	}
}

// power is the column of a release that falls as (1 + t/t0)^-n, as the sum of
// the bank's columns that its Laplace transform gives,
//
//	∫ (1 - exp(-t/τ)) τ^(1-n) exp(-t0/τ) dlnτ,
//
// up to time constants that the record cannot tell from a leak.
func (g *gram) power(p *pairs, t0, n, longest float64) column {
	var w [Bank]float64
	used := 0
	for k, tau := range g.f.tau {
		if tau > longest {
			break
		}
		w[k] = math.Exp(-t0/tau + (1-n)*math.Log(tau/longest))
		used = k + 1
	}
	var c column
	for k := range used {
		c.c0 += w[k] * g.bv(k, 0, 0)
		c.c1 += w[k] * g.bv(k, 0, 1)
		c.cy += w[k] * g.bv(k, 0, 2)
		row := 0.0
		for m := range used {
			row += w[m] * p[k][m]
		}
		c.cc += w[k] * row
	}
	return c
}

// fit is a candidate with one source.
type fit struct {
	k      int
	delta  float64
	leak   float64 // per longest record
	varL   float64 // of leak, for unit noise
	b      float64 // amplitude, Pa
	varB   float64
	cov    float64 // of leak and amplitude
	chi2   float64
	theta  float64 // ln τ
	first  float64 // amplitude of the faster source in a fit with a tail
	usable bool
}

// with adds one source to start and leak.
func (b *base) with(c column) (r fit) {
	q0 := b.inv[0][0]*c.c0 + b.inv[0][1]*c.c1
	q1 := b.inv[1][0]*c.c0 + b.inv[1][1]*c.c1
	cc := c.cc - q0*c.c0 - q1*c.c1
	if !(cc > 1e-10*c.cc) {
		return r
	}
	cy := c.cy - q0*b.vy[0] - q1*b.vy[1]
	r.b, r.varB = cy/cc, 1/cc
	r.leak, r.varL = b.beta[1]-q1*r.b, b.inv[1][1]+q1*q1/cc
	r.cov = -q1 / cc
	r.chi2 = max(b.chi2-cy*cy/cc, 0)
	r.usable = true
	return r
}

// size is the most columns a fit with a tail has: start, leak, source, its
// derivative, tail.
const size = 5

// withTail adds a slower source of bank value m beside the one of best; the
// time constant of the first follows linearly. ok is false when the columns
// are too nearly dependent, or the time constant would move beyond e².
func (g *gram) withTail(best *fit, m int) (r fit, ok bool) {
	t := [3]float64{1, best.delta, best.delta * best.delta / 2}
	d := [3]float64{0, 1, best.delta}
	var a [size][size]float64
	var y [size]float64
	a[0][0], a[0][1], a[1][1] = g.vv(0, 0), g.vv(0, 1), g.vv(1, 1)
	y[0], y[1] = g.vv(0, 2), g.vv(1, 2)
	for i := range 3 {
		for v := range 2 {
			a[v][2] += t[i] * g.bv(best.k, i, v)
			a[v][3] += d[i] * best.b * g.bv(best.k, i, v)
		}
		y[2] += t[i] * g.bv(best.k, i, 2)
		y[3] += d[i] * best.b * g.bv(best.k, i, 2)
		a[2][4] += t[i] * g.cross(best.k, m, i)
		a[3][4] += d[i] * best.b * g.cross(best.k, m, i)
		for j := range 3 {
			bb := g.bb(best.k, i, j)
			a[2][2] += t[i] * t[j] * bb
			a[2][3] += t[i] * d[j] * best.b * bb
			a[3][3] += d[i] * d[j] * best.b * best.b * bb
		}
	}
	a[0][4], a[1][4], a[4][4], y[4] = g.bv(m, 0, 0), g.bv(m, 0, 1), g.bb(m, 0, 0), g.bv(m, 0, 2)
	beta, cov, gain, good := solve(&a, &y)
	if !good || math.Abs(beta[3]) > 2 {
		return r, false
	}
	return fit{
		k: best.k, delta: best.delta, first: beta[2],
		leak: beta[1], varL: cov[1][1], b: beta[4], varB: cov[4][4], cov: cov[1][4],
		chi2: max(g.vv(2, 2)-gain, 0), usable: true,
	}, true
}

// solve answers the solution of the normal equations, its covariance, and how
// much it lowers χ², by Cholesky on columns scaled to unit length.
func solve(a *[size][size]float64, y *[size]float64) (beta [size]float64, cov [size][size]float64, gain float64, ok bool) {
	var s [size]float64
	var l, inv [size][size]float64
	for i := range size {
		if !(a[i][i] > 0) {
			return beta, cov, 0, false
		}
		s[i] = 1 / math.Sqrt(a[i][i])
	}
	for i := range size {
		for j := 0; j <= i; j++ {
			sum := a[j][i] * s[i] * s[j]
			for m := range j {
				sum -= l[i][m] * l[j][m]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > 1e-10) {
				return beta, cov, 0, false
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	for j := range size {
		inv[j][j] = 1 / l[j][j]
		for i := j + 1; i < size; i++ {
			sum := 0.0
			for m := j; m < i; m++ {
				sum -= l[i][m] * inv[m][j]
			}
			inv[i][j] = sum / l[i][i]
		}
	}
	for i := range size {
		z := 0.0
		for j := 0; j <= i; j++ {
			z += inv[i][j] * y[j] * s[j]
		}
		gain += z * z
		for j := 0; j <= i; j++ {
			beta[j] += inv[i][j] * z * s[j]
			for m := 0; m <= i; m++ {
				cov[j][m] += inv[i][j] * inv[i][m] * s[j] * s[m]
			}
		}
	}
	return beta, cov, gain, true
}
