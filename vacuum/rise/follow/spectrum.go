package follow

import "math"

// The family of every source that fades, whatever its law, is that of package
// rise: positive amounts of exponentials over the bank's time constants and the
// fitted ones, and of sources of constant rate that end within the record, beside
// any start and leak. It describes records that no fitted law does, and bounds
// the leak by what any such source allows.

// Sources of constant rate end at latestEnd of the record and at shares
// rampRatio of that, down to one step.
const (
	latestEnd = 0.7
	rampRatio = 0.6
	rootRatio = 0.7745966692 // √rampRatio, for ends between those in use
)

// Sizes of a spectrum: the bank and one fitted source; mostRamps is enough for the
// ends of a million readings, and of fewer also for those about the ones in use;
// mostRows is how many atoms a fit may try.
const (
	mostRamps = 28
	mostAtoms = Bank + 1 + mostRamps
	mostUsed  = 16
	mostRows  = 32
)

// spectrum is the least-squares problem of such a family, its columns scaled to
// unit length beside the start.
type spectrum struct {
	n, decays, banked int // atoms; the first of them fade, the first of those are the bank's
	atom              [mostAtoms]*column
	time              [mostAtoms]float64 // τ or end, s
	scale             [mostAtoms]float64 // 1/length
	slope             [mostAtoms]float64 // leak's coefficient in the atom
	row               [mostRows][mostAtoms]float64
	slot              [mostAtoms]int // row of an atom, from 1 on; zero has none
	rows              int            // rows in use
	wide              [mostRows]int  // how long they are
	ramp              [mostRamps]column
	full              bool // more rows were needed

	best  set // with the leak free
	chi2  float64
	leak  float64 // Pa over the record
	ramps bool    // sources that end are among the atoms
	tie   bool    // whether they are is chance
}

// add takes one more atom, a time constant or an end.
func (sp *spectrum) add(r *rows, c *column, time float64) {
	i := sp.n
	v := r.base.inv[1][1]
	sp.atom[i], sp.time[i], sp.slot[i] = c, time, 0
	sp.scale[i] = 1 / math.Sqrt(c.cc+c.h[1]*c.h[1]/v)
	if !(c.left > dependent) {
		sp.scale[i] = 0
	}
	sp.slope[i] = c.h[1] * sp.scale[i]
	sp.n++
}

// load collects the atoms that fade.
func (sp *spectrum) load(w *work, stride int) {
	r := &w.rows
	sp.n, sp.rows, sp.full, sp.ramps = 0, 0, false, false
	tau, ratio := math.Exp(r.lo), math.Exp(r.spacing)
	for k := 0; k < r.nodes; k += stride {
		sp.add(r, &w.bank[k], tau)
		for range stride {
			tau *= ratio
		}
	}
	sp.banked = sp.n
	if p := &w.point[vapour]; p.has && p.sol.b[0] > 0 {
		sp.add(r, &p.cols[0], math.Exp(p.theta[0]))
	}
	sp.decays = sp.n
}

// addRamp takes a source that ends, while there is room.
func (sp *spectrum) addRamp(w *work, end float64) {
	k := sp.n - sp.decays
	if k == mostRamps {
		return
	}
	w.rows.ramp(&w.raws[0], end)
	w.rows.reduce(&sp.ramp[k], &w.raws[0])
	sp.add(&w.rows, &sp.ramp[k], end)
}

// ramp is the column of a source of constant rate until end.
func (r *rows) ramp(col *vector, end float64) {
	for j := range r.m {
		b := &r.blocks[j]
		switch {
		case b.last <= end:
			col[j] = b.t / end
		case b.first >= end:
			col[j] = 1
		default:
			s := (end - b.first) / (b.last - b.first)
			col[j] = s*(b.first+end)/(2*end) + 1 - s
		}
	}
}

// free fits the first n atoms with any leak.
func (sp *spectrum) free(r *rows, n int) {
	sp.best.k = 0
	for i := sp.banked; i < sp.decays; i++ {
		sp.best.used[sp.best.k] = i
		sp.best.k++
	}
	sp.nonNegative(r, &sp.best, n, 0, 0)
	sp.chi2, sp.leak = r.base.chi2-sp.best.gain, r.base.beta[1]
	for m := range sp.best.k {
		sp.leak -= sp.best.x[m] * sp.slope[sp.best.used[m]]
	}
}

// above is by how much the least χ² with the leak held at l exceeds that with any
// leak. f keeps the atoms from one leak to the next.
func (sp *spectrum) above(r *rows, f *set, l float64) float64 {
	v := r.base.inv[1][1]
	d := r.base.beta[1] - l
	n := sp.decays
	if sp.ramps {
		n = sp.n
	}
	sp.nonNegative(r, f, n, 1/v, d)
	return r.base.chi2 + d*d/v - f.gain - sp.chi2
}

// edge is by how much the leak may exceed the best until χ² exceeds its least by
// z², by regula falsi with the stale end halved (Illinois), to 3 %.
func (sp *spectrum) edge(r *rows, z float64) float64 {
	f := sp.best
	miss := func(d float64) float64 { return math.Sqrt(max(sp.above(r, &f, sp.leak+d), 0)) - z }
	inner, fIn := 0.0, -z
	outer := z * math.Sqrt(r.base.inv[1][1]) // without any source this is the edge
	fOut := miss(outer)
	for range 30 {
		if fOut >= -edgeError*z {
			break
		}
		inner, fIn = outer, fOut
		outer *= min(max(1.2*z/(fOut+z), 1.5), 8)
		fOut = miss(outer)
	}
	for range 10 {
		if fOut <= edgeError*z {
			break
		}
		mid := inner - fIn*(outer-inner)/(fOut-fIn)
		v := miss(mid)
		switch {
		case math.Abs(v) <= edgeError*z:
			return mid
		case v < 0:
			inner, fIn = mid, v
		default:
			outer, fOut = mid, v
			fIn /= 2
		}
	}
	return outer
}

// edgeError is that of an edge, as a share.
const edgeError = 0.03

// fitSpectrum fits any sources that fade, as a law without a name.
func (w *work) fitSpectrum(stride int) {
	w.findSpectrum(stride)
	sp, p := &w.spectrum, &w.point[anySource]
	p.model, p.has, p.atoms = anySource, false, sp.best.k
	if sp.best.k > terms || sp.full {
		return
	}
	for m := range sp.best.k {
		i := sp.best.used[m]
		p.theta[m], p.ends[m] = math.Log(sp.time[i]), i >= sp.decays
	}
	p.has = w.atPoint(p, &p.sol)
}

// findSpectrum chooses from every stride-th time constant of the bank:
// exponentials, or with sources that end among them where the record shows such
// an end.
func (w *work) findSpectrum(stride int) {
	sp, r := &w.spectrum, &w.rows
	sp.load(w, stride)
	sp.free(r, sp.decays)
	decays, chi2, leak := sp.best, sp.chi2, sp.leak
	for end := latestEnd * r.dur; end > r.step; end *= rampRatio {
		sp.addRamp(w, end)
	}
	sp.tie = false
	if !sp.ending(r) {
		return
	}
	before := w.criterion(chi2, anyParameters(decays.k))
	sp.free(r, sp.n)
	after := w.criterion(sp.chi2, anyParameters(sp.best.k))
	sp.tie = math.Abs(after-before) < endsTie && after != before
	if sp.ramps = after < before; !sp.ramps {
		sp.best, sp.chi2, sp.leak = decays, chi2, leak
		return
	}
	if stride > 1 {
		w.refineEnds()
	}
}

// refineEnds adds sources that end a little before and after those in use. Where
// ends decide about a bound, the verdict is open, so that it is for the noise only.
func (w *work) refineEnds() {
	sp := &w.spectrum
	before, used := sp.n, sp.best
	for _, i := range used.used[:used.k] {
		if i >= sp.decays {
			w.addEnd(sp.time[i] * rootRatio)
			w.addEnd(sp.time[i] / rootRatio)
		}
	}
	if sp.n > before {
		sp.free(&w.rows, sp.n)
	}
}

// endsTie is the difference of the criterion within which it is chance whether
// sources that end are fitted: a kink within a block is lost. leastEnding is the gain
// of χ² by one such source alone, its length held, below which several do not gain
// much either. Both were set on the same records as the margins of a jury.
const (
	endsTie     = 15
	leastEnding = 0.1
)

// ending reports whether one of the sources that end would gain that much.
func (sp *spectrum) ending(r *rows) bool {
	for m := range sp.best.k {
		sp.open(r, sp.best.used[m])
	}
	for i := sp.decays; i < sp.n; i++ {
		g := sp.target(i, 0, 0)
		for m := range sp.best.k {
			g -= sp.best.x[m] * sp.product(sp.best.used[m], i, 0)
		}
		if g > 0 && g*g > leastEnding {
			return true
		}
	}
	return false
}

// addEnd takes a source that ends, unless too late.
func (w *work) addEnd(end float64) {
	if end <= latestEnd*w.rows.dur {
		w.spectrum.addRamp(w, end)
	}
}

// anyParameters counts start, leak, and an amount and a time per source.
func anyParameters(atoms int) int { return 2 + 2*atoms }
