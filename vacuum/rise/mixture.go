package rise

import (
	"math"
	"slices"
)

// mixture is the model of any sources that fade, see spectrum. It describes a
// record but is none of the laws that a finding names.
const mixture = Predicted + 1

// bank is what a mixture is made of.
type bank struct {
	raw    [][]float64
	atoms  []wcol
	decays int   // the first atoms are exponentials, the rest ramps
	fitted []int // atoms that a law has found
	ends   []float64
	dots   [][]float64 // products of each atom with those before it, as far as known
}

// add takes one more column into the bank.
func (b *bank) add(s *system, raw []float64) {
	b.raw, b.atoms = append(b.raw, raw), append(b.atoms, s.newCol(raw))
}

// products are those of atom i with the ones before it.
func (b *bank) products(i int) []float64 {
	for k := len(b.dots); k <= i; k++ {
		a, w, row, j := b.atoms, b.atoms[k].w, make([]float64, k), 0
		for ; j+4 <= k; j += 4 {
			row[j], row[j+1], row[j+2], row[j+3] = dotFour(w, a[j].w, a[j+1].w, a[j+2].w, a[j+3].w)
		}
		for ; j < k; j++ {
			row[j] = dot(w, a[j].w)
		}
		b.dots = append(b.dots, row)
	}
	return b.dots[i]
}

// newBank collects the exponentials of the grid, those that were fitted, and
// ramps.
func (f *fits) newBank(g *grids) *bank {
	s := f.sys
	b := &bank{raw: slices.Clone(g.raw), atoms: slices.Clone(f.cols), ends: slices.Clone(g.ends)}
	for _, p := range []*point{&f.vapour, &f.two} {
		if !f.has[p.model] || p.sol.k == 0 || !positive(p) {
			continue
		}
		for _, raw := range s.rawColumns(p) {
			b.fitted = append(b.fitted, len(b.atoms))
			b.add(s, raw)
		}
	}
	b.decays = len(b.atoms)
	for _, raw := range g.ramps {
		b.add(s, raw)
	}
	return b
}

// refineRamps adds ramps that end a factor beside those in use; false when none is.
func (b *bank) refineRamps(s *system, used []int, factor float64) bool {
	before := len(b.atoms)
	for _, i := range used {
		if i < b.decays {
			continue
		}
		for _, end := range []float64{b.ends[i-b.decays] * factor, b.ends[i-b.decays] / factor} {
			if end <= latestEnd*s.dur {
				b.ends = append(b.ends, end)
				b.add(s, s.ramp(end))
			}
		}
	}
	return len(b.atoms) > before
}

// fitMixture fits any sources that fade: sums of exponentials, or with sources
// that end among them where the record shows such an end.
func (f *fits) fitMixture(g *grids) {
	s := f.sys
	b := f.newBank(g)
	sp := s.newSpectrum(b, b.decays)
	open := s.newSpectrum(b, len(b.atoms))
	if f.criterionOf(open) < f.criterionOf(sp) {
		sp = open
		for _, power := range []float64{1. / 2, 1. / 4, 1. / 8} {
			if !b.refineRamps(s, sp.used, math.Pow(rampRatio, power)) {
				break
			}
			sp = s.newSpectrum(b, len(b.atoms))
		}
	}
	f.spectrum = sp
	f.has[mixture] = len(sp.used) <= maxTerms-2
	if !f.has[mixture] {
		return
	}
	f.mixture = point{model: mixture}
	var cols []*wcol
	for _, i := range sp.used {
		f.mixture.raw, cols = append(f.mixture.raw, b.raw[i]), append(cols, &b.atoms[i])
	}
	f.mixture.sol, f.has[mixture] = s.solve(cols...)
}

// criterionOf is the criterion of a spectrum's fit.
func (f *fits) criterionOf(sp *spectrum) float64 {
	return f.criterion(sp.chi2, mixtureParameters(len(sp.used)))
}

// mixtureParameters counts start, leak, and an amount and a place per atom.
func mixtureParameters(atoms int) int { return 2 + 2*atoms }
