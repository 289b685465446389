package stiff

import (
	"cmp"
	"math"
	"slices"
)

// cancelled is the share of its diagonal entry below which a pivot counts as
// lost to cancellation: a quarter of the spacing of float64 at one. Larger
// pivots are used even if few of their digits are left, because a system with
// a conserved sum comes that close by nature when the step is long; the error
// estimate of the step judges the outcome.
const cancelled = 0x1p-54

// LU factorises shift*I - J for one fixed pattern of J. The order of
// elimination and the fill are settled once, by Analyse; Factor and Solve then
// run through flat index arrays without searching or allocating. Pivots are
// taken from the diagonal. An LU is not safe for concurrent use.
type LU struct {
	order  []int32 // unknown eliminated at each pivot
	source []int32 // entries of J in pivot order of rows: position in the values
	target []int32 // and column in pivot order
	aStart []int   // extent of each row in source and target

	lStart, uStart []int
	lower, upper   []entry   // strictly triangular parts, columns ascending in a row
	inverse        []float64 // of the pivots
	work           []float64 // one row spread out, zero between calls
	solution       []float64 // in pivot order

	operations int
}

// entry is one entry of a factor, in pivot order.
type entry struct {
	value  float64
	column int32
}

// Analyse settles the order of elimination and the fill for the pattern.
func Analyse(p *Pattern) *LU {
	n := p.Size()
	f := &LU{
		order:   eliminationOrder(p),
		lStart:  make([]int, n+1),
		uStart:  make([]int, n+1),
		inverse: make([]float64, n),
		work:    make([]float64, n), solution: make([]float64, n),
	}
	f.permute(p)
	f.fill()
	return f
}

// Operations is the number of multiplications of one Factor, counted by the
// symbolic phase; divisions by pivots are left out.
func (f *LU) Operations() int { return f.operations }

// Len is the number of stored entries of both factors with the diagonal, which
// is the number of multiplications of one Solve.
func (f *LU) Len() int { return len(f.lower) + len(f.upper) + len(f.order) }

// permute lays the entries of J out in pivot order.
func (f *LU) permute(p *Pattern) {
	n := p.Size()
	position := make([]int32, n)
	for k, i := range f.order {
		position[i] = int32(k)
	}
	f.aStart = make([]int, n+1)
	f.source = make([]int32, 0, p.Len())
	f.target = make([]int32, 0, p.Len())
	for k, i := range f.order {
		columns, first := p.Row(int(i))
		for at, j := range columns {
			f.source = append(f.source, int32(first+at))
			f.target = append(f.target, position[j])
		}
		f.aStart[k+1] = len(f.source)
	}
}

// fill finds the pattern of the factors row by row: row k takes over the upper
// pattern of every pivot that it is reduced by.
func (f *LU) fill() {
	n := len(f.order)
	mark := make([]int, n)
	var pending columnHeap
	for k := range n {
		reach := func(j int32) {
			if mark[j] == k+1 {
				return
			}
			mark[j] = k + 1
			switch {
			case int(j) < k:
				pending.push(j)
			case int(j) > k:
				f.upper = append(f.upper, entry{column: j})
			}
		}
		for _, j := range f.target[f.aStart[k]:f.aStart[k+1]] {
			reach(j)
		}
		for len(pending) > 0 {
			c := pending.pop()
			f.lower = append(f.lower, entry{column: c})
			row := f.upper[f.uStart[c]:f.uStart[c+1]]
			f.operations += 1 + len(row)
			for _, e := range row {
				reach(e.column)
			}
		}
		f.lStart[k+1], f.uStart[k+1] = len(f.lower), len(f.upper)
		slices.SortFunc(f.upper[f.uStart[k]:], func(a, b entry) int { return cmp.Compare(a.column, b.column) })
	}
}

// Factor factorises shift*I - J, with the values of J in the order of the
// pattern. It answers false and the variable whose pivot is zero, lost to
// cancellation or not finite; the factors are then unusable.
func (f *LU) Factor(values []float64, shift float64) (variable int, ok bool) {
	work := f.work
	for k := range f.order {
		source := f.source[f.aStart[k]:f.aStart[k+1]]
		target := f.target[f.aStart[k]:f.aStart[k+1]]
		for at, from := range source {
			work[target[at]] = -values[from]
		}
		work[k] += shift
		diagonal := math.Abs(work[k])

		lower := f.lower[f.lStart[k]:f.lStart[k+1]]
		for at := range lower {
			c := lower[at].column
			factor := work[c] * f.inverse[c]
			work[c] = 0
			lower[at].value = factor
			for _, e := range f.upper[f.uStart[c]:f.uStart[c+1]] {
				work[e.column] -= factor * e.value
			}
		}

		pivot := math.Abs(work[k])
		if !(pivot > cancelled*diagonal && pivot <= math.MaxFloat64) {
			clear(work)
			return int(f.order[k]), false
		}
		f.inverse[k] = 1 / work[k]
		work[k] = 0
		upper := f.upper[f.uStart[k]:f.uStart[k+1]]
		for at := range upper {
			upper[at].value = work[upper[at].column]
			work[upper[at].column] = 0
		}
	}
	return 0, true
}

// Solve gives x with (shift*I - J) x = b after a successful Factor. Both have
// one entry per variable; x may be b itself.
func (f *LU) Solve(b, x []float64) {
	z, at := f.solution, 0
	for k, i := range f.order {
		sum := b[i]
		for to := f.lStart[k+1]; at < to; at++ {
			e := &f.lower[at]
			sum -= e.value * z[e.column]
		}
		z[k] = sum
	}
	at = len(f.upper)
	for k := len(f.order) - 1; k >= 0; k-- {
		sum := z[k]
		for from := f.uStart[k]; at > from; at-- {
			e := &f.upper[at-1]
			sum -= e.value * z[e.column]
		}
		sum *= f.inverse[k]
		z[k], x[f.order[k]] = sum, sum
	}
}

// columnHeap hands out columns in ascending order.
type columnHeap []int32

func (h *columnHeap) push(c int32) {
	*h = append(*h, c)
	s := *h
	for at := len(s) - 1; at > 0; {
		up := (at - 1) / 2
		if s[up] <= s[at] {
			break
		}
		s[up], s[at] = s[at], s[up]
		at = up
	}
}

func (h *columnHeap) pop() int32 {
	s := *h
	least, last := s[0], len(s)-1
	s[0] = s[last]
	s = s[:last]
	for at := 0; ; {
		down := 2*at + 1
		if down >= last {
			break
		}
		if down+1 < last && s[down+1] < s[down] {
			down++
		}
		if s[at] <= s[down] {
			break
		}
		s[at], s[down] = s[down], s[at]
		at = down
	}
	*h = s
	return least
}
