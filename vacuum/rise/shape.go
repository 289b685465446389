package rise

import (
	"math"

	"example.com/drydown/moisture"
)

// shape is what a record shows without any fit.
type shape struct {
	// melt is true for a pause at the triple point of water that the pressure
	// left upwards; pauseEnd is the row where it ends, less its last tenth.
	melt     bool
	pauseEnd int
	// saturated is true when the pressure settled at saturation.
	saturated bool
	// above is true when the rise exceeds what water can do.
	above bool
	// approach is true when two gauges close in on one another.
	approach bool
}

// Bounds of the site temperature and the gauge that shape allows for.
const (
	siteError     = 1.5   // K
	gaugeError    = 0.02  // share of the reading
	pauseBand     = 0.015 // about the triple-point pressure, share
	pauseShare    = 0.1   // least length of a pause, share of the record
	settledChange = 0.025 // share, between the last two fifths
)

// shapeOf looks at a record at site temperature (K); psatLow and psatHigh are
// the saturation pressures at the bounds of the site temperature.
func shapeOf(r *record, psatLow, psatHigh float64) shape {
	var s shape
	n := len(r.p)
	fifth := max(n/5, 3)
	last, before := median(r.p[n-fifth:]), median(r.p[max(n-2*fifth, 0):n-fifth])
	first := median(r.p[:min(3, n)])
	s.saturated = first < 0.8*psatLow &&
		last > psatLow*(1-gaugeError) && last < psatHigh*(1+gaugeError)+first &&
		math.Abs(last-before) < settledChange*last
	s.above = median(r.p[n-min(n, 5):]) > psatHigh*(1+gaugeError)+first
	s.findPause(r, first)
	s.findApproach(r)
	return s
}

// findPause looks for a stay at the triple point: entered from below, flat
// against the slopes before and after, and left upwards. The gas that was there
// at the start lies on top of the vapour.
func (s *shape) findPause(r *record, first float64) {
	triple := float64(moisture.TriplePressure)
	lo, hi := triple*(1-pauseBand), triple*(1+pauseBand)+first
	if first > 0.9*lo {
		return
	}
	from, to := longestInside(r.p, lo, hi)
	n := len(r.p)
	if to-from < 5 || r.t[to-1]-r.t[from] < pauseShare*r.duration() || to >= n-2 || from == 0 {
		return
	}
	rising := median(r.p[n-3:]) > 1.05*hi
	inside := math.Abs(slope(r, from+(to-from)/4, to-(to-from)/4))
	before := (r.p[from] - first) / (r.t[from] - r.t[0])
	after := (median(r.p[n-3:]) - r.p[to-1]) / (r.t[n-1] - r.t[to-1])
	if rising && inside < 0.2*math.Min(before, after) {
		s.melt, s.pauseEnd = true, to-(to-from)/10
	}
}

// longestInside is the longest run of rows with lo <= p <= hi.
func longestInside(p []float64, lo, hi float64) (from, to int) {
	start := -1
	for i := 0; i <= len(p); i++ {
		in := i < len(p) && p[i] >= lo && p[i] <= hi
		switch {
		case in && start < 0:
			start = i
		case !in && start >= 0:
			if i-start > to-from {
				from, to = start, i
			}
			start = -1
		}
	}
	return from, to
}

// slope of rows from to to (exclusive), Pa/s, by plain least squares.
func slope(r *record, from, to int) float64 {
	tm, pm := mean(r.t[from:to]), mean(r.p[from:to])
	var num, den float64
	for i := from; i < to; i++ {
		num += (r.t[i] - tm) * (r.p[i] - pm)
		den += (r.t[i] - tm) * (r.t[i] - tm)
	}
	if den == 0 {
		return 0
	}
	return num / den
}

// findApproach compares the difference of two gauges at both ends with the
// noise of that difference.
func (s *shape) findApproach(r *record) {
	n := len(r.p)
	if r.second == nil || n < MinSamples {
		return
	}
	d := make([]float64, n)
	for i := range d {
		d[i] = r.second[i] - r.p[i]
	}
	tenth := max(n/10, 3)
	early, late := median(d[:tenth]), median(d[n-tenth:])
	noise := scatter(d)
	s.approach = math.Abs(early) > 5*noise && math.Abs(late) < 0.5*math.Abs(early) &&
		(r.second[0]-r.second[n-1])*(r.p[n-1]-r.p[0]) > 0
}
