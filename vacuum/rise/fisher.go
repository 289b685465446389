package rise

import "math"

// watch describes a rise test for which the error of the leak is foreseen.
type watch struct {
	duration float64   // s
	step     float64   // between readings, s
	sigma    float64   // of a reading, Pa, the part that does not depend on the pressure
	phi      float64   // correlation of neighbouring readings
	tau      []float64 // time constants of sources that fade, s; their amplitude and time constant are unknown too
	rise     []float64 // final rise of each, Pa, not zero
	start    float64   // pressure, Pa; it counts only beside share or drift
	share    float64   // standard deviation of a reading in proportion to the pressure
	drift    float64   // standard deviation of the linear drift of temperature over the duration, as a share of it
}

// variances are the parts of the square of the leak's error, (Pa/s)²: what the
// readings alone leave of start and leak, what the sources that are unknown too
// add, and what the unknown drift adds to both.
type variances struct{ noise, sources, drift float64 }

// exactReadings is how many of the first readings are summed one by one, twice;
// later blocks hold a part of all before them, one over exactReadings.
const exactReadings = 16

// leakError is the square root of the whole of leakVariance, +Inf when that does
// not exist.
func (w watch) leakError() float64 {
	v, ok := w.leakVariance()
	if !ok {
		return math.Inf(1)
	}
	return math.Sqrt(v.noise + v.sources + v.drift)
}

// leakVariance is the Cramér-Rao bound of the leak: its entry of the inverse
// Fisher information of
//
//	p = a + L t + Σ B_k (1 - exp(-t/τ_k)) + p0(t) d (t/duration - 1/2)
//
// with all of a, L, B_k, τ_k and the drift d unknown, a prior of w.drift on d, and
// n (1-φ)/(1+φ) independent readings. p0 is the pressure that start and sources
// bring; a reading scatters as it does at p0. Without sources the bound is the
// closed form σ √(12 / (n (n²-1))) / step for equidistant readings (Rao 1945, from
// memory; checked against it in the tests) and a drift that looks like the leak.
//
// ok is false when the readings cannot tell leak, sources and drift apart.
func (w watch) leakVariance() (v variances, ok bool) {
	n := math.Floor(w.duration/w.step*(1+1e-12)) + 1
	independent := (1 - w.phi) / (1 + w.phi)
	if len(w.tau) == 0 {
		if n < 2 {
			return v, false
		}
		sigma := math.Hypot(w.sigma, w.share*w.start)
		drift := w.start * w.drift / w.duration
		return variances{noise: sigma * sigma * 12 / (n * (n*n - 1)) / independent / (w.step * w.step), drift: drift * drift}, true
	}
	var r triangle
	k := 2 + 2*len(w.tau)
	if w.drift > 0 {
		k++
		r[k-1][k-1] = 1 // the prior, the drift being counted in standard deviations
	}
	for i := 0.0; i < n; {
		// Two rows, one standard deviation each side of the middle of a block, carry
		// its sums of anything up to cubic; blocks of one and two readings are exact.
		block := min(1+math.Floor(i/exactReadings), n-i)
		middle, half := i+(block-1)/2, math.Sqrt((block*block-1)/12)
		if block == 1 {
			w.add(&r, k, middle*w.step, independent)
		} else {
			w.add(&r, k, (middle-half)*w.step, independent*block/2)
			w.add(&r, k, (middle+half)*w.step, independent*block/2)
		}
		i += block
	}
	return r.leak(k, 2+2*len(w.tau), w.duration)
}

// add adds the information of a number of readings at time t.
func (w watch) add(r *triangle, k int, t, readings float64) {
	x := t / w.duration
	g := [maxTerms]float64{1, x}
	p := w.start
	for i, tau := range w.tau {
		z := t / tau
		e := -math.Expm1(-z)
		g[2+2*i] = e
		g[3+2*i] = -w.rise[i] * z * (1 - e) // by ln τ
		p += w.rise[i] * e
	}
	if w.drift > 0 {
		g[k-1] = p * w.drift * (x - 0.5)
	}
	weight := math.Sqrt(readings / (w.sigma*w.sigma + w.share*w.share*p*p))
	for i := range k {
		g[i] *= weight
	}
	r.rotate(k, &g)
}

// triangle is the factor R of the information RᵀR. Adding rows to it keeps
// twice the digits that a sum of products would, which sources that are slow or
// alike need.
type triangle [maxTerms][maxTerms]float64

// rotate adds a row by Givens rotations.
func (r *triangle) rotate(k int, g *[maxTerms]float64) {
	for i := range k {
		if g[i] == 0 {
			continue
		}
		h := math.Sqrt(r[i][i]*r[i][i] + g[i]*g[i])
		c, s := r[i][i]/h, g[i]/h
		for j := i; j < k; j++ {
			r[i][j], g[j] = c*r[i][j]+s*g[j], c*g[j]-s*r[i][j]
		}
	}
}

// leak is the variance of the second parameter per duration. With Rᵀy = e it is
// |y|², and the leading rows of R belong to the problem without the later
// parameters: each y² is what its parameter adds by being unknown. sources is the
// first parameter after the sources.
func (r *triangle) leak(k, sources int, duration float64) (v variances, ok bool) {
	var y [maxTerms]float64
	for i := 1; i < k; i++ {
		sum, norm := 0.0, r[i][i]*r[i][i]
		if i == 1 {
			sum = 1
		}
		for j := range i {
			sum -= r[j][i] * y[j]
			norm += r[j][i] * r[j][i]
		}
		if norm == 0 && i > 1 {
			continue // a source that is over before the second reading has no time constant to find
		}
		if !(math.Abs(r[i][i]) > 1e-11*math.Sqrt(norm)) {
			return v, false
		}
		y[i] = sum / r[i][i]
		square := y[i] * y[i] / (duration * duration)
		switch {
		case i == 1:
			v.noise = square
		case i < sources:
			v.sources += square
		default:
			v.drift = square
		}
	}
	total := v.noise + v.sources + v.drift
	return v, total > 0 && !math.IsInf(total, 1)
}

// roundingError is the standard deviation of the error that rounding to step
// leaves in the difference between two ends of a record, Pa, when readings
// scatter by sigma about their mean before rounding. Without scatter both ends
// err by up to half a step however many readings there are, step/√6 together;
// scatter dithers it away as exp(-2π² (sigma/step)²) (B. Widrow's theory of
// quantisation, from memory; checked by simulation in the tests).
func roundingError(step, sigma float64) float64 {
	if step <= 0 {
		return 0
	}
	x := sigma / step
	return step / math.Sqrt(6) * math.Exp(-2*math.Pi*math.Pi*x*x)
}

// longestWatch is the longest record that is looked at, s (30 days).
const longestWatch = 30 * 86400

// shortestDuration is the least duration from start on for which need holds,
// s; ok is false when even longestWatch is too short.
func shortestDuration(start float64, need func(duration float64) bool) (duration float64, ok bool) {
	if start > longestWatch {
		return 0, false
	}
	if need(start) {
		return start, true
	}
	lo, hi := start, start
	for !need(hi) {
		if hi >= longestWatch {
			return 0, false
		}
		lo, hi = hi, min(1.25*hi, longestWatch)
	}
	for range 20 {
		mid := math.Sqrt(lo * hi)
		if need(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}
