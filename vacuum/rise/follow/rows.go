package follow

import "math"

// vector is one number per block.
type vector [Blocks]float64

// rows is the least-squares problem that the blocks state: their times,
// pressures and noise, and how a column is whitened.
type rows struct {
	m           int
	count       float64 // readings
	dur, step   float64 // s; step is the mean interval of readings
	p0          float64 // first reading, Pa
	temperature float64 // K
	driftSD     float64 // K
	rounding    float64 // standard deviation of the gauge's rounding, Pa
	blocks      *[Blocks]block
	lo, hi      float64 // ln of the shortest and the longest time constant
	spacing     float64 // of the bank, in ln τ
	nodes       int     // of the bank

	decays decays

	t, y     vector // mean time, s; mean pressure less p0, Pa
	variance vector // of the times within a block, s²
	leak     vector // t/dur
	drift    vector // pressure by 1 K of temperature drift over the record, Pa
	sigma    vector // standard deviation of a reading, Pa
	phi      float64

	// Whitening of column x with the running sum r, from r = 0 on:
	// out = w·x - u·r, then r = v·r + g·x.
	w, u, v, g vector

	w1, wLeak, wDrift, wy vector // whitened columns that all candidates share
	base                  base
}

// base is the fit of start, leak and drift, the prior of the drift included.
type base struct {
	inv   [3][3]float64 // inverse of their products
	beta  [3]float64
	chi2  float64
	drift float64 // 1/(product of the drift with itself, prior included)
}

// load takes the blocks over.
func (r *rows) load(f *Follower) {
	r.m, r.count, r.dur = f.m, float64(f.n), f.last
	r.step = f.last / float64(f.n-1)
	r.p0 = f.p0
	r.temperature, r.driftSD = float64(f.cfg.SiteTemperature), float64(f.cfg.Drift)
	r.rounding = float64(f.cfg.Resolution) / math.Sqrt(12)
	r.blocks = &f.blocks
	for j := range r.m {
		b := &f.blocks[j]
		r.t[j], r.y[j], r.variance[j] = b.t, b.p-f.p0, b.tt/b.n
		r.leak[j] = b.t / r.dur
	}
}

// setDrift makes the drift's column for a pressure curve, Pa less p0.
func (r *rows) setDrift(curve *vector) {
	for j := range r.m {
		r.drift[j] = (curve[j] + r.p0) * (r.leak[j] - 0.5) / r.temperature
	}
}

// whiten prepares for noise with correlation phi of neighbouring readings, with
// blocks from from on, and fits the base. ok is false when the columns cannot be
// told apart.
//
// Means of blocks of lag-1 noise have the covariance a_i a_j φ^d, where d is the
// steps from the last reading of block i to the first of block j, and
// a = (1-φ^n)/(n (1-φ)); with the variance of a mean on the diagonal this is a
// semiseparable matrix, whose Cholesky factor takes one running sum.
func (r *rows) whiten(phi float64, from int) (ok bool) {
	r.phi = phi
	if phi > 0 {
		r.whitenCorrelated(from)
	} else {
		for j := from; j < r.m; j++ {
			r.w[j] = math.Sqrt(r.blocks[j].n) / r.sigma[j]
		}
	}
	var ones vector
	for j := from; j < r.m; j++ {
		ones[j] = 1
	}
	r.apply(&r.w1, &ones, from)
	r.apply(&r.wLeak, &r.leak, from)
	r.apply(&r.wDrift, &r.drift, from)
	r.apply(&r.wy, &r.y, from)
	return r.fitBase(from)
}

func (r *rows) whitenCorrelated(from int) {
	phi := r.phi
	within, between := decay{rate: math.Log(phi) / r.step}, decay{rate: math.Log(phi) / r.step}
	square := 0.0 // of the running sum's coefficients
	for j := from; j < r.m; j++ {
		b := &r.blocks[j]
		span := 1.0 // φ^(steps within the block)
		a, variance := 1.0, 1.0
		if b.n > 1 {
			span = within.at(b.last - b.first)
			rest := (1 - span*phi) / (b.n * (1 - phi))
			a = rest
			variance = ((1+phi)/(1-phi) - 2*phi*rest/(1-phi)) / b.n
		}
		diagonal := math.Sqrt(max(variance-a*a*square, 1e-12*variance))
		gain := (a - a*span*square) / diagonal
		r.w[j] = 1 / (diagonal * r.sigma[j])
		r.u[j] = a / diagonal
		r.v[j] = span - gain*r.u[j]
		r.g[j] = gain * r.w[j]
		square = span*span*square + gain*gain
		if j+1 < r.m {
			gap := between.at(r.blocks[j+1].first - b.last)
			r.v[j], r.g[j], square = r.v[j]*gap, r.g[j]*gap, square*gap*gap
		}
	}
}

// decay is an exponential that remembers its last value: most blocks are alike.
type decay struct{ rate, time, value float64 }

func (d *decay) at(time float64) float64 {
	if !(math.Abs(time-d.time)*math.Abs(d.rate) < 1e-9) || d.value == 0 {
		d.time, d.value = time, math.Exp(d.rate*time)
	}
	return d.value
}

// apply whitens column x, from block from on.
func (r *rows) apply(out, x *vector, from int) {
	if r.phi > 0 {
		sum := 0.0
		for j := from; j < r.m; j++ {
			out[j] = r.w[j]*x[j] - r.u[j]*sum
			sum = r.v[j]*sum + r.g[j]*x[j]
		}
		return
	}
	for j := from; j < r.m; j++ {
		out[j] = r.w[j] * x[j]
	}
}

func (r *rows) fitBase(from int) (ok bool) {
	var a [3][3]float64
	var y [3]float64
	yy := 0.0
	for j := from; j < r.m; j++ {
		c, l, d, p := r.w1[j], r.wLeak[j], r.wDrift[j], r.wy[j]
		a[0][0] += c * c
		a[0][1] += c * l
		a[0][2] += c * d
		a[1][1] += l * l
		a[1][2] += l * d
		a[2][2] += d * d
		y[0] += c * p
		y[1] += l * p
		y[2] += d * p
		yy += p * p
	}
	if r.driftSD > 0 {
		a[2][2] += 1 / (r.driftSD * r.driftSD)
	} else {
		a[0][2], a[1][2], a[2][2], y[2] = 0, 0, 1, 0
	}
	return r.base.solve(&a, &y, yy)
}

// solve inverts the products a, of which the upper triangle is given.
func (b *base) solve(a *[3][3]float64, y *[3]float64, yy float64) (ok bool) {
	c00 := a[1][1]*a[2][2] - a[1][2]*a[1][2]
	c01 := a[0][2]*a[1][2] - a[0][1]*a[2][2]
	c02 := a[0][1]*a[1][2] - a[0][2]*a[1][1]
	det := a[0][0]*c00 + a[0][1]*c01 + a[0][2]*c02
	if !(det > 1e-14*a[0][0]*a[1][1]*a[2][2]) {
		return false
	}
	c11 := a[0][0]*a[2][2] - a[0][2]*a[0][2]
	c12 := a[0][1]*a[0][2] - a[0][0]*a[1][2]
	c22 := a[0][0]*a[1][1] - a[0][1]*a[0][1]
	b.inv = [3][3]float64{
		{c00 / det, c01 / det, c02 / det},
		{c01 / det, c11 / det, c12 / det},
		{c02 / det, c12 / det, c22 / det},
	}
	b.chi2, b.drift = yy, 1/a[2][2]
	for i := range 3 {
		b.beta[i] = b.inv[i][0]*y[0] + b.inv[i][1]*y[1] + b.inv[i][2]*y[2]
	}
	for i := range 3 {
		b.chi2 -= b.beta[i] * y[i]
	}
	b.chi2 = max(b.chi2, 0)
	return true
}

// effective is the number of independent readings, n (1-φ)/(1+φ) for lag-1
// noise (Bayley and Hammersley 1946, from memory).
func (r *rows) effective() float64 { return r.count * (1 - r.phi) / (1 + r.phi) }
