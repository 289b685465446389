package rise

import "math"

// A reading at either end is no part of the record when it stands apart from the
// rest by more than endJump times what neighbouring readings differ by: the
// largest step among the endSteps before the end, and at the start their usual
// step or the two that follow, less the slope. A true source that fades changes
// the steps by far less from one reading to the next, unless it is over within
// half an interval between readings.
const (
	endJump    = 8
	endSteps   = 8
	firstSteps = 16
	mostFirst  = 1 // readings that may be set aside: a fast source begins with large steps too
	mostLast   = 2
	// A first reading below the next by more than this factor is none in any
	// case. Water that comes out between the first two readings makes a jump too;
	// see doubtfulStart.
	firstFactor = 10
)

// trimEnds sets aside up to mostFirst and mostLast readings that stand apart: a
// gauge that was still settling, a valve that gave gas off as it closed, a last
// line cut short, a valve opened before the log was stopped. The first reading
// left becomes time zero. A reading in the middle is found by the fit; those at
// the ends hold the start, the duration and both stated pressures, so that they
// are judged before it.
func (r *record) trimEnds() { r.trim(true) }

// trim is trimEnds, with the first reading kept unless first is true.
func (r *record) trim(first bool) {
	if len(r.t) < MinSamples+mostFirst+mostLast {
		return
	}
	from := 0
	if first && r.firstApart() {
		from = 1
		r.first, r.next = r.p[0], r.p[1]
	}
	to := len(r.p) - standApart(reversed(r.p), mostLast)
	r.last = len(r.p) - to
	r.apart = from + r.last
	if r.apart == 0 {
		return
	}
	r.keep(from, to)
}

// doubtfulStart is true when a first reading was set aside that lies below the
// rest, but not by so much that no gas could explain it.
func (r *record) doubtfulStart() bool {
	return r.next > r.first && r.next <= firstFactor*r.first
}

// firstApart reports whether the step from the first reading to the second,
// less the slope, is out of proportion to those that follow, and to the step of
// the gauge.
func (r *record) firstApart() bool {
	p := r.p
	n := min(firstSteps, len(p)-2)
	steps := make([]float64, n)
	for i := range steps {
		steps[i] = p[i+2] - p[i+1]
	}
	slope := median(steps)
	for i := range steps {
		steps[i] = math.Abs(steps[i] - slope)
	}
	step := r.step
	if step == 0 {
		step = leastStep(p)
	}
	usual := max(1.4826*median(steps), steps[0], steps[1], step)
	return math.Abs(p[1]-p[0]-slope) > endJump*usual
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
