package rise

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/drydown/units"
)

// foreseen is the fit of what Options.Equalisation foresees beside a leak, over
// alternatives and their pace.
type foreseen struct {
	nodes []paceNode
	best  paceNode // amplitude inside its bounds, with the error of its pace; of is nil without any
}

// paceNode is the fit of one alternative at one pace; share is the part of the
// prior that it stands for: alternatives are equally probable, the logarithm of
// the pace is uniform between its bounds.
type paceNode struct {
	of    *Equalisation
	x     float64 // logarithm of the pace
	share float64
	sol   solution
}

// paces is how many paces between the bounds are tried; a finer grid of fineNodes
// about the best follows, fineStep standard errors apart, for alternatives whose
// log-likelihood is within hopeless of the best.
const (
	paces     = 13
	fineNodes = 11
	fineStep  = 0.7
	hopeless  = 20
)

// fitForeseen fits the foreseen settling under the noise model of the other fits.
func (j *judge) fitForeseen() {
	if len(j.o.Equalisation) == 0 {
		return
	}
	grids := make([][]paceNode, len(j.o.Equalisation))
	least := math.Inf(1)
	for i := range grids {
		grids[i] = j.paceGrid(&j.o.Equalisation[i])
		for k := range grids[i] {
			least = min(least, grids[i][k].chi2())
		}
	}
	f := &foreseen{}
	for _, nodes := range grids {
		if best := leastNode(nodes); best != nil && best.chi2() < least+2*hopeless {
			nodes = j.refinePace(f, nodes, best)
		}
		f.nodes = append(f.nodes, nodes...)
	}
	if f.best.of != nil {
		f.best = j.withPace(f.best)
	}
	j.foreseen = f
}

// chi2 is the χ² with the amplitude inside its bounds.
func (n *paceNode) chi2() float64 {
	sol := bounded(&n.sol, n.of)
	return sol.chi2
}

func leastNode(nodes []paceNode) *paceNode {
	var best *paceNode
	for i := range nodes {
		if best == nil || nodes[i].chi2() < best.chi2() {
			best = &nodes[i]
		}
	}
	return best
}

// paceGrid fits one alternative over its paces.
func (j *judge) paceGrid(e *Equalisation) []paceNode {
	most := math.Log(e.Pace)
	var out []paceNode
	for i := range paces {
		x := most * (2*float64(i)/(paces-1) - 1)
		if sol, ok := j.atPace(e, x); ok {
			out = append(out, paceNode{e, x, 1.0 / paces / float64(len(j.o.Equalisation)), sol})
		}
	}
	return out
}

// refinePace finds the best pace about a node, keeps it when it is the best of
// all, and replaces the nodes about it by a finer grid when that is narrower.
func (j *judge) refinePace(f *foreseen, nodes []paceNode, at *paceNode) []paceNode {
	e := at.of
	most := math.Log(e.Pace)
	spacing := 2 * most / (paces - 1)
	x := j.bestPace(e, max(at.x-spacing, -most), min(at.x+spacing, most))
	sol, ok := j.atPace(e, x)
	if !ok {
		return nodes
	}
	best := paceNode{of: e, x: x, sol: sol}
	if f.best.of == nil || best.chi2() < f.best.chi2() {
		f.best = best
	}
	best = j.withPace(best)
	step := fineStep * math.Sqrt(best.sol.cov[3][3])
	if !(fineNodes*step < spacing*paces/2) {
		return nodes
	}
	const half = fineNodes / 2.0
	nodes = slices.DeleteFunc(nodes, func(n paceNode) bool { return math.Abs(n.x-x) <= half*step })
	for i := range fineNodes {
		at := x + (float64(i)+0.5-half)*step
		if math.Abs(at) > most {
			continue
		}
		if sol, ok := j.atPace(e, at); ok {
			nodes = append(nodes, paceNode{e, at, step / (2 * most) / float64(len(j.o.Equalisation)), sol})
		}
	}
	return nodes
}

// foreseenColumn is the share of the final change in every row.
func (j *judge) foreseenColumn(e *Equalisation, x float64) []float64 {
	out, pace := make([]float64, len(j.fits.sys.t)), math.Exp(x)
	for k, t := range j.fits.sys.t {
		out[k] = e.column(j.r.zero+t, j.r.zero, pace)
	}
	return out
}

func (j *judge) atPace(e *Equalisation, x float64) (solution, bool) {
	c := j.fits.sys.newCol(j.foreseenColumn(e, x))
	return j.fits.sys.solve(&c)
}

// bestPace is the logarithm of the pace between lo and hi with the least χ², by
// golden section.
func (j *judge) bestPace(e *Equalisation, lo, hi float64) float64 {
	const golden = 0.6180339887498949
	value := func(x float64) float64 {
		sol, ok := j.atPace(e, x)
		if !ok {
			return math.Inf(1)
		}
		sol = bounded(&sol, e)
		return sol.chi2
	}
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	va, vb := value(a), value(b)
	for hi-lo > 1e-3 {
		if va < vb {
			hi, b, vb = b, a, va
			a = hi - golden*(hi-lo)
			va = value(a)
		} else {
			lo, a, va = a, b, vb
			b = lo + golden*(hi-lo)
			vb = value(b)
		}
	}
	return lo + (hi-lo)/2
}

// withPace brings the amplitude of a node inside its bounds and adds the error of
// the pace, at most what the bounds allow.
func (j *judge) withPace(n paceNode) paceNode {
	s := j.fits.sys
	n.sol = bounded(&n.sol, n.of)
	most := math.Log(n.of.Pace)
	const h = 1e-3
	before, after := j.foreseenColumn(n.of, n.x-h), j.foreseenColumn(n.of, n.x+h)
	for i := range after {
		after[i] = (after[i] - before[i]) / (2 * h) * n.sol.beta[2]
	}
	c, d := s.newCol(j.foreseenColumn(n.of, n.x)), s.newCol(after)
	full, ok := s.solve(&c, &d)
	if !ok || math.Sqrt(full.cov[3][3]) > most {
		n.sol.cov[3][3] = most * most
		return n
	}
	n.sol.cov = full.cov
	return n
}

// bounded is a solution with the amplitude held at its bound where it lies
// outside.
func bounded(sol *solution, e *Equalisation) solution {
	out := *sol
	d := min(max(sol.beta[2], float64(e.Least)), float64(e.Most)) - sol.beta[2]
	if d == 0 {
		return out
	}
	v := sol.cov[2][2]
	out.chi2 += d * d / v
	for i := range sol.k {
		out.beta[i] += d * sol.cov[i][2] / v
		for k := range sol.k {
			out.cov[i][k] -= sol.cov[i][2] * sol.cov[k][2] / v
		}
	}
	return out
}

// weighForeseen adds the foreseen settling to the average.
func (j *judge) weighForeseen(w *weigher) {
	f := j.foreseen
	if f == nil {
		return
	}
	for i := range f.nodes {
		n := &f.nodes[i]
		w.addTruncated(Predicted, w.occam+w.likelihood(n.sol.chi2)+math.Log(n.share), &n.sol, 2, float64(n.of.Least), float64(n.of.Most))
	}
}

// A record agrees with what the circuit foresees when the law keeps this
// probability, or when it lies so near to the best law, as a share of its change,
// root mean square over the record, with a leak within that much of its interval
// and of what is not negative: models of circuits are not exact, and a quiet gauge
// shows it.
const (
	agreement  = 0.05
	shapeError = 0.02
)

// agrees reports whether the foreseen settling explains the record, with its
// amplitude inside its bounds, and whether its change is shown.
func (j *judge) agrees() bool {
	f := j.foreseen
	if f == nil || f.best.of == nil {
		return false
	}
	sol := &f.best.sol
	if math.Abs(j.foreseenChange()) <= 2*float64(j.f.Record.Resolution) || math.Abs(sol.beta[2]) <= 3*math.Sqrt(sol.cov[2][2]) {
		return false
	}
	return j.post.model[Predicted] >= agreement || j.nearlyForeseen()
}

// nearlyForeseen reports whether the foreseen settling lies near the best law.
func (j *judge) nearlyForeseen() bool {
	s, best := j.fits.sys, &j.foreseen.best
	most := shapeError * math.Abs(j.foreseenChange())
	if leak := best.sol.beta[1]; leak < max(j.lo, -3*math.Sqrt(best.sol.cov[1][1]))-most || leak > j.hi+most {
		return false
	}
	curve, column := s.curve(&j.best), j.foreseenColumn(best.of, best.x)
	square := 0.0
	for i := range curve {
		d := curve[i] - best.sol.beta[0] - best.sol.beta[1]*s.leak[i] - best.sol.beta[2]*column[i]
		square += d * d / float64(len(curve))
	}
	return math.Sqrt(square) <= most
}

// foreseenChange is what the settling changed over the record, Pa.
func (j *judge) foreseenChange() float64 {
	f, zero := j.foreseen, j.r.zero
	return f.best.sol.beta[2] * f.best.of.column(zero+j.fits.sys.dur, zero, math.Exp(f.best.x))
}

// predictedFit is the foreseen settling at its best pace.
func (j *judge) predictedFit() (Fit, bool) {
	f := j.foreseen
	if f == nil || f.best.of == nil {
		return Fit{}, false
	}
	p := point{model: Predicted, sol: f.best.sol}
	out := j.fitOf(&p)
	out.Time = [2]time.Duration{}
	out.Pace, out.predicted = math.Exp(f.best.x), f.best.of
	return out, true
}

// sayForeseen is how the settling agrees with what was foreseen.
func (j *judge) sayForeseen() string {
	best := &j.foreseen.best
	pace := "at the pace foreseen"
	switch p := math.Exp(best.x); {
	case p >= 1.05:
		pace = fmt.Sprintf("%.2g times slower than foreseen", p)
	case p <= 1/1.05:
		pace = fmt.Sprintf("%.2g times faster than foreseen", 1/p)
	}
	return fmt.Sprintf("%s in the end, within the %s foreseen, %s", sayPressure(units.Pressure(best.sol.beta[2])), j.sayBounds(), pace)
}

// sayBounds are the bounds of the final change over all alternatives.
func (j *judge) sayBounds() string {
	least, most := j.o.Equalisation[0].Least, j.o.Equalisation[0].Most
	for _, e := range j.o.Equalisation {
		least, most = min(least, e.Least), max(most, e.Most)
	}
	return sayPressure(least) + " to " + sayPressure(most)
}

// sayNotForeseen admits that what is foreseen does not show in a record that was
// judged.
func (j *judge) sayNotForeseen() string {
	if len(j.o.Equalisation) == 0 || j.settles {
		return ""
	}
	switch j.f.Reason {
	case InstrumentFault, TooFewSamples, UnusableRows:
		return ""
	}
	in := ""
	if e := &j.o.Equalisation[0]; len(j.o.Equalisation) == 1 && len(e.Times) == 0 {
		in = ", with a time constant of " + sayConstantOf(e.TimeConstant)
	}
	return fmt.Sprintf(" The record does not show the settling that is foreseen (%s in the end%s); it is judged as without.", j.sayBounds(), in)
}
