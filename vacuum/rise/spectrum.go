package rise

import (
	"math"
	"slices"
)

// spectrum is the family of every source that fades, whatever its law: positive
// amounts of exponentials over a bank of time constants, of sources of
// constant rate that end within the record, and of the fitted sources. Sources
// whose rate is a sum of decaying processes (desorption, diffusion, outgassing)
// are the former; any source whose rate only falls is a sum of the latter two.
// Start and leak are free. For one record and noise model it answers which leaks
// are compatible with any such source.
type spectrum struct {
	gram   [][]float64 // inner products of the atoms, scaled to unit length, without start
	scale  []float64   // 1/length; zero leaves an atom out
	withY  []float64   // inner products with y
	withL  []float64   // with the leak
	yy, ly float64     // of y with itself and with the leak
	ll     float64     // of the leak with itself

	leak, chi2 float64 // of the best fit, Pa over the record
	used       []int   // its atoms
	last       []int   // those of the latest fit
	ramps      bool    // sources that end are among the atoms
}

// A source of constant rate that ends later than latestEnd, a share of the
// record, is taken for a leak in part; earlier ends are looked for at steps of
// rampRatio. Set by the coverage of the blind study.
const (
	latestEnd = 0.7
	rampRatio = 0.6
)

// ramp is a column that rises linearly to 1 at end, s, and stays.
func (s *system) ramp(end float64) []float64 {
	col := make([]float64, len(s.t))
	for i, ti := range s.t {
		col[i] = min(ti/end, 1)
	}
	return col
}

// newSpectrum fits the first n atoms of a bank under the present noise model.
func (s *system) newSpectrum(bank *bank, n int) *spectrum {
	c00, c01, c0y := s.base.c0, s.base.c1, s.base.cy
	sp := &spectrum{
		gram: square(n), scale: make([]float64, n), withY: make([]float64, n), withL: make([]float64, n),
		yy: s.yy - c0y*c0y/c00, ly: s.ly - c01*c0y/c00, ll: s.ll - c01*c01/c00,
		ramps: n > bank.decays,
	}
	for i := range n {
		a := &bank.atoms[i]
		length := a.cc - a.c0*a.c0/c00
		if !(length > 1e-12*a.cc) {
			continue // start explains it; a row of zeros is of no use to any fit
		}
		sp.scale[i] = 1 / math.Sqrt(length)
		sp.withY[i] = (a.cy - a.c0*c0y/c00) * sp.scale[i]
		sp.withL[i] = (a.c1 - a.c0*c01/c00) * sp.scale[i]
		row := sp.gram[i]
		for j, v := range bank.products(i) {
			row[j] = (v - a.c0*bank.atoms[j].c0/c00) * sp.scale[i] * sp.scale[j]
			sp.gram[j][i] = row[j]
		}
		row[i] = 1
	}
	sp.free(bank.fitted)
	return sp
}

func square(n int) [][]float64 {
	all, rows := make([]float64, n*n), make([][]float64, n)
	for i := range rows {
		rows[i] = all[i*n : (i+1)*n]
	}
	return rows
}

// held is the least χ² with the leak held at l, Pa over the record.
func (sp *spectrum) held(l float64) float64 {
	b := make([]float64, len(sp.withY))
	for i := range b {
		b[i] = sp.withY[i] - l*sp.withL[i]
	}
	_, used, gain := nonNegative(sp.gram, b, sp.last)
	sp.last = used
	return sp.yy - 2*l*sp.ly + l*l*sp.ll - gain
}

// free fits the leak as well.
func (sp *spectrum) free(first []int) {
	n := len(sp.withY)
	gram, b := square(n), make([]float64, n)
	for i := range gram {
		for j := range gram[i] {
			gram[i][j] = sp.gram[i][j] - sp.withL[i]*sp.withL[j]/sp.ll
		}
		b[i] = sp.withY[i] - sp.withL[i]*sp.ly/sp.ll
	}
	x, used, gain := nonNegative(gram, b, first)
	sp.used, sp.last = slices.Clone(used), used
	sp.leak = sp.ly
	for _, i := range used {
		sp.leak -= x[i] * sp.withL[i]
	}
	sp.leak /= sp.ll
	sp.chi2 = sp.yy - sp.ly*sp.ly/sp.ll - gain
}

// edge is the leak beyond which, upwards for a sign of 1 and downwards for -1,
// χ² exceeds its least by more than z².
func (sp *spectrum) edge(z, sign float64) float64 {
	miss := func(l float64) float64 { return math.Sqrt(max(sp.held(l)-sp.chi2, 0)) - z }
	scale := sign * z / math.Sqrt(sp.ll) // without any source this is the edge
	inner, outer := sp.leak, sp.leak+scale
	fIn, fOut := -z, miss(outer)
	if math.Abs(fOut) < 0.01 {
		return outer
	}
	for range 30 {
		if fOut >= 0 {
			break
		}
		inner, fIn = outer, fOut
		scale *= 2
		outer += scale
		fOut = miss(outer)
	}
	for range 20 { // regula falsi, the stale end halved (Illinois)
		mid := inner - fIn*(outer-inner)/(fOut-fIn)
		f := miss(mid)
		if math.Abs(f) < 0.01 {
			return mid
		}
		if f < 0 {
			inner, fIn = mid, f
			fOut /= 2
		} else {
			outer, fOut = mid, f
			fIn /= 2
		}
	}
	return inner
}

// maxUsed is the most atoms of one fit.
const maxUsed = 16

// leastGradient is the gradient from which an atom joins a fit; χ² is in units
// of the noise's variance, columns have unit length.
const leastGradient = 1e-3

// nonNegative minimises xᵀGx - 2bᵀx over x ≥ 0 by the active-set method (Lawson
// and Hanson 1974, from memory) and answers the minimum with the sign turned.
func nonNegative(gram [][]float64, b []float64, start []int) (x []float64, used []int, gain float64) {
	x = make([]float64, len(b))
	barred := make([]bool, len(b))
	for _, i := range start {
		used = admit(gram, b, x, used, i, barred)
	}
	for range 100 {
		best := steepest(gram, b, x, used, barred)
		if best < 0 || len(used) == maxUsed {
			break
		}
		used = admit(gram, b, x, used, best, barred)
	}
	for _, i := range used {
		gain += b[i] * x[i] // at the minimum over the used atoms xᵀGx is bᵀx
	}
	return x, used, gain
}

// admit takes one more atom into the fit, or bars it until another enters.
func admit(gram [][]float64, b, x []float64, used []int, atom int, barred []bool) []int {
	used = append(used, atom)
	z, ok := solveUsed(gram, b, used)
	if !ok || z[len(used)-1] <= 0 {
		barred[atom] = true
		return used[:len(used)-1]
	}
	clear(barred)
	return backtrack(gram, b, x, z, used)
}

// steepest is the atom outside the fit whose increase lowers χ² fastest.
func steepest(gram [][]float64, b, x []float64, used []int, barred []bool) int {
	best, most := -1, leastGradient
	for i := range b {
		if barred[i] || slices.Contains(used, i) {
			continue
		}
		g := b[i]
		for _, k := range used {
			g -= gram[i][k] * x[k]
		}
		if g > most {
			best, most = i, g
		}
	}
	return best
}

// backtrack moves x to the solution z of the used atoms, dropping those that
// would turn negative on the way.
func backtrack(gram [][]float64, b, x []float64, z [maxUsed]float64, used []int) []int {
	for {
		share, first := 1.0, -1
		for k, i := range used {
			if z[k] > 0 {
				continue
			}
			if r := x[i] / (x[i] - z[k]); r < share {
				share, first = r, k
			}
		}
		for k, i := range used {
			x[i] += share * (z[k] - x[i])
		}
		if first < 0 {
			return used
		}
		x[used[first]] = 0
		used = slices.Delete(used, first, first+1)
		var ok bool
		if z, ok = solveUsed(gram, b, used); !ok {
			return used
		}
	}
}

// solveUsed solves for the used atoms alone by Cholesky; ok is false when they
// are too nearly dependent.
func solveUsed(gram [][]float64, b []float64, used []int) (z [maxUsed]float64, ok bool) {
	var l [maxUsed][maxUsed]float64
	for i, ui := range used {
		for j := 0; j <= i; j++ {
			sum := gram[ui][used[j]]
			for m := range j {
				sum -= l[i][m] * l[j][m]
			}
			if i != j {
				l[i][j] = sum / l[j][j]
				continue
			}
			if !(sum > 1e-11) {
				return z, false
			}
			l[i][i] = math.Sqrt(sum)
		}
	}
	for i, ui := range used {
		sum := b[ui]
		for m := range i {
			sum -= l[i][m] * z[m]
		}
		z[i] = sum / l[i][i]
	}
	for i := len(used) - 1; i >= 0; i-- {
		sum := z[i]
		for m := i + 1; m < len(used); m++ {
			sum -= l[m][i] * z[m]
		}
		z[i] = sum / l[i][i]
	}
	return z, true
}
