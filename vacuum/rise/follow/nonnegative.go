package follow

import "math"

// set is the atoms of a fit and their amounts.
type set struct {
	k    int
	used [mostUsed]int
	x    [mostUsed]float64
	gain float64 // of χ²

	factor [mostUsed][mostUsed]float64 // Cholesky factor of their products
	known  int                         // rows of it
}

// product of an atom that has a row with another.
func (sp *spectrum) product(i, j int, k float64) float64 {
	return sp.row[sp.slot[i]-1][j] + k*sp.slope[i]*sp.slope[j]
}

// open makes the row of an atom, or what it lacks.
func (sp *spectrum) open(r *rows, i int) bool {
	if sp.slot[i] == 0 {
		if sp.rows == mostRows {
			sp.full = true
			return false
		}
		sp.wide[sp.rows] = 0
		sp.rows++
		sp.slot[i] = sp.rows
	}
	row, wide := &sp.row[sp.slot[i]-1], &sp.wide[sp.slot[i]-1]
	for ; *wide < sp.n; *wide++ {
		row[*wide] = r.pair(sp.atom[i], sp.atom[*wide]) * sp.scale[i] * sp.scale[*wide]
	}
	return true
}

// target is the product of an atom with the pressure: with a leak that is held,
// k is 1/(its variance beside no atom) and d what it lacks of the leak there.
func (sp *spectrum) target(i int, k, d float64) float64 {
	return sp.atom[i].y*sp.scale[i] + k*d*sp.slope[i]
}

// nonNegative fits the first n atoms with amounts that are not negative, by the
// active-set method (Lawson and Hanson 1974, from memory), from the atoms of f on.
func (sp *spectrum) nonNegative(r *rows, f *set, n int, k, d float64) {
	var barred [mostAtoms]bool
	first, n0 := f.used, f.k
	f.k, f.known = 0, 0
	for _, i := range first[:n0] {
		sp.admit(r, f, i, &barred, k, d)
	}
	for range 100 {
		i := sp.steepest(f, n, &barred, k, d)
		if i < 0 || f.k == mostUsed || !sp.admit(r, f, i, &barred, k, d) {
			break
		}
	}
	f.gain = 0
	for m := range f.k {
		f.gain += sp.target(f.used[m], k, d) * f.x[m]
	}
}

// leastGradient is the gradient from which an atom joins a fit; χ² is in units
// of the noise's variance, columns have unit length. Package rise takes atoms of a
// twentieth of it, which add less than the margins of a verdict and half as much time.
const leastGradient = 0.02

// steepest is the atom outside the fit whose increase lowers χ² fastest, or -1.
func (sp *spectrum) steepest(f *set, n int, barred *[mostAtoms]bool, k, d float64) int {
	var g [mostAtoms]float64
	for i := range n {
		g[i] = sp.target(i, k, d)
	}
	for m := range f.k {
		u := f.used[m]
		row, x, s := &sp.row[sp.slot[u]-1], f.x[m], k*sp.slope[u]
		for i := range n {
			g[i] -= x * (row[i] + s*sp.slope[i])
		}
		g[u] = 0
	}
	best, most := -1, leastGradient
	for i := range n {
		if g[i] > most && !barred[i] {
			best, most = i, g[i]
		}
	}
	return best
}

// admit takes one more atom into the fit, or bars it until another enters. It is
// false when there is no room.
func (sp *spectrum) admit(r *rows, f *set, atom int, barred *[mostAtoms]bool, k, d float64) bool {
	if !sp.open(r, atom) {
		return false
	}
	f.used[f.k], f.x[f.k] = atom, 0
	f.k++
	var z [mostUsed]float64
	if !sp.solve(f, &z, k, d) || z[f.k-1] <= 0 {
		f.k--
		f.known = min(f.known, f.k)
		barred[atom] = true
		return true
	}
	*barred = [mostAtoms]bool{}
	for sp.moved(f, &z) {
		if !sp.solve(f, &z, k, d) {
			break
		}
	}
	return true
}

// moved takes the amounts to z, as far as none turns negative; an atom that does
// is dropped, and moved is true.
func (sp *spectrum) moved(f *set, z *[mostUsed]float64) bool {
	share, first := 1.0, -1
	for m := range f.k {
		if z[m] <= 0 {
			if s := f.x[m] / (f.x[m] - z[m]); s < share {
				share, first = s, m
			}
		}
	}
	for m := range f.k {
		f.x[m] += share * (z[m] - f.x[m])
	}
	if first < 0 {
		return false
	}
	f.k--
	f.known = min(f.known, first)
	for m := first; m < f.k; m++ {
		f.used[m], f.x[m] = f.used[m+1], f.x[m+1]
	}
	return true
}

// solve fits the used atoms alone by Cholesky; ok is false when they are too
// nearly dependent.
func (sp *spectrum) solve(f *set, z *[mostUsed]float64, k, d float64) (ok bool) {
	for i := f.known; i < f.k; i++ {
		l := &f.factor[i]
		for j := 0; j <= i; j++ {
			sum, other := sp.product(f.used[i], f.used[j], k), &f.factor[j]
			for m := range j {
				sum -= l[m] * other[m]
			}
			if i != j {
				l[j] = sum / other[j]
				continue
			}
			if !(sum > dependent) {
				return false
			}
			l[i] = math.Sqrt(sum)
		}
		f.known = i + 1
	}
	for i := range f.k {
		sum := sp.target(f.used[i], k, d)
		for m := range i {
			sum -= f.factor[i][m] * z[m]
		}
		z[i] = sum / f.factor[i][i]
	}
	for i := f.k - 1; i >= 0; i-- {
		for m := i + 1; m < f.k; m++ {
			z[i] -= f.factor[m][i] * z[m]
		}
		z[i] /= f.factor[i][i]
	}
	return true
}
