package rise

import "math"

// A reading at either end is no part of the record when it stands apart from
// the rest by more than endJump times the largest step among the endSteps
// readings next to it. A true source that fades changes the steps by far less
// from one reading to the next.
const (
	endJump   = 8
	endSteps  = 8
	mostFirst = 1 // readings that may be set aside: a fast source begins with large steps too
	mostLast  = 2
	// A first reading stands apart only when it differs from the next by this
	// factor as well: water that comes out, or is taken up, between the first two
	// readings makes a jump too, which is part of the record.
	firstFactor = 10
)

// trimEnds sets aside up to mostFirst and mostLast readings that stand apart: a
// gauge that was still settling, a last line cut short, a valve opened before
// the log was stopped. The first reading left becomes time zero. A reading in
// the middle is found by the fit; those at the ends hold the start, the
// duration and both stated pressures, so that they are judged before it.
func (r *record) trimEnds() {
	if len(r.t) < MinSamples+mostFirst+mostLast {
		return
	}
	from := standApart(r.p, mostFirst)
	if lo, hi := min(r.p[0], r.p[1]), max(r.p[0], r.p[1]); firstFactor*lo > hi {
		from = 0
	}
	to := len(r.p) - standApart(reversed(r.p), mostLast)
	r.apart = from + len(r.p) - to
	if r.apart == 0 {
		return
	}
	r.t, r.p = r.t[from:to], r.p[from:to]
	if r.temp != nil {
		r.temp = r.temp[from:to]
	}
	if r.second != nil {
		r.second = r.second[from:to]
	}
	start := r.t[0]
	for i := range r.t {
		r.t[i] -= start
	}
}

// standApart is how many of the first readings stand apart from those that
// follow, 0 to most. Equal steps of zero say nothing of the gauge, so that
// the least step between different readings counts as one.
func standApart(p []float64, most int) int {
	for k := most; k > 0; k-- {
		largest := 0.0
		for i := k + 1; i <= k+endSteps; i++ {
			largest = max(largest, math.Abs(p[i]-p[i-1]))
		}
		if largest == 0 {
			largest = leastStep(p[k:])
		}
		apart := true
		for _, v := range p[:k] {
			apart = apart && math.Abs(v-p[k]) > endJump*largest
		}
		if apart {
			return k
		}
	}
	return 0
}

// leastStep is the smallest step between neighbours that differ, or a
// thousandth of the first reading where none do.
func leastStep(p []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(p); i++ {
		if d := math.Abs(p[i] - p[i-1]); d > 0 {
			least = min(least, d)
		}
	}
	if math.IsInf(least, 1) {
		return 1e-3*math.Abs(p[0]) + tiny
	}
	return least
}

func reversed(p []float64) []float64 {
	out := make([]float64, len(p))
	for i, v := range p {
		out[len(p)-1-i] = v
	}
	return out
}
