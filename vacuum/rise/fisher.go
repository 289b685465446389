package rise

import "math"

// watch describes a rise test for which the error of the leak is foreseen.
type watch struct {
	duration float64   // s
	step     float64   // between readings, s
	sigma    float64   // of a reading, Pa
	phi      float64   // correlation of neighbouring readings
	tau      []float64 // time constants of sources that fade, s; their amplitude and time constant are unknown too
	rise     []float64 // final rise of each, Pa, not zero
}

// fisherRows is the number of readings the information is summed over; the sum
// stands for the real number.
const fisherRows = 256

// leakError is the Cramér-Rao bound of the leak, Pa/s: the square root of the
// leak's entry of the inverse Fisher information of
//
//	p = a + L t + Σ B_k (1 - exp(-t/τ_k))
//
// with all of a, L, B_k and τ_k unknown and n (1-φ)/(1+φ) independent readings.
// Without sources it is the closed form σ √(12 / (n (n²-1))) / step for
// equidistant readings (Rao 1945, from memory; checked against it in the tests).
func (w watch) leakError() float64 {
	n := math.Floor(w.duration/w.step*(1+1e-12)) + 1
	effective := n * (1 - w.phi) / (1 + w.phi)
	if len(w.tau) == 0 {
		if n < 2 {
			return math.Inf(1)
		}
		return w.sigma * math.Sqrt(12/(n*(n*n-1))*n/effective) / w.step
	}
	rows := int(min(n, fisherRows))
	var a [maxTerms][maxTerms]float64
	k := 2 + 2*len(w.tau)
	if float64(rows) < float64(k) {
		return math.Inf(1)
	}
	for i := range rows {
		x := float64(i) / float64(rows-1)
		g := w.gradient(x)
		for p := range k {
			for q := range k {
				a[p][q] += g[p] * g[q]
			}
		}
	}
	sol, ok := solveNormal(k, &a, &[maxTerms]float64{}, 0)
	if !ok {
		return math.Inf(1)
	}
	return w.sigma * math.Sqrt(sol.cov[1][1]*float64(rows)/effective) / w.duration
}

// gradient of the law at x, a share of the duration, by its parameters.
func (w watch) gradient(x float64) (g [maxTerms]float64) {
	g[0], g[1] = 1, x
	for i, tau := range w.tau {
		z := x * w.duration / tau
		g[2+2*i] = 1 - math.Exp(-z)
		g[3+2*i] = -w.rise[i] * z * math.Exp(-z) // by ln τ
	}
	return g
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
	if need(start) {
		return start, true
	}
	hi := start
	for !need(hi) {
		if hi > longestWatch {
			return 0, false
		}
		hi *= 1.25
	}
	lo := hi / 1.25
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
