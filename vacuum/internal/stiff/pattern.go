package stiff

import (
	"math"
	"slices"

	"example.com/drydown/units"
)

// Pattern is the structure of an n x n Jacobian in compressed rows: which
// derivatives of rate i can ever be non-zero. Values of a matrix with this
// pattern are one slice, row after row, columns ascending inside a row. The
// diagonal is always part of it. A Pattern does not change after it is made
// and is safe for concurrent use.
type Pattern struct {
	start   []int   // row i occupies start[i]:start[i+1]
	columns []int32 // ascending inside a row
}

// NewPattern builds the pattern of a square matrix with len(rows) rows;
// rows[i] lists the variables that rate i depends on, in any order, repeats
// allowed. The diagonal is added where it is missing. It answers a
// units.RangeError when there is no row or a column lies outside
// 0..len(rows)-1. The argument is neither kept nor changed.
func NewPattern(rows [][]int) (*Pattern, error) {
	n := len(rows)
	if err := units.CheckRange("stiff.NewPattern", "number of rows", float64(n), 1, math.MaxInt32, ""); err != nil {
		return nil, err
	}
	p := &Pattern{start: make([]int, n+1)}
	for i, row := range rows {
		p.columns = append(p.columns, int32(i))
		for _, j := range row {
			if j < 0 || j >= n {
				return nil, units.CheckRange("stiff.NewPattern", "column", float64(j), 0, float64(n-1), "")
			}
			p.columns = append(p.columns, int32(j))
		}
		tail := p.columns[p.start[i]:]
		slices.Sort(tail)
		p.start[i+1] = p.start[i] + len(slices.Compact(tail))
		p.columns = p.columns[:p.start[i+1]]
	}
	return p, nil
}

// Size is the number of rows and columns.
func (p *Pattern) Size() int { return len(p.start) - 1 }

// Len is the number of stored entries, the length of a slice of values.
func (p *Pattern) Len() int { return len(p.columns) }

// Row gives the ascending columns of row i and the position of the first of
// them in a slice of values. The columns are a view and must not be changed.
func (p *Pattern) Row(i int) (columns []int32, first int) {
	return p.columns[p.start[i]:p.start[i+1]], p.start[i]
}

// Index is the position of entry (i, j) in a slice of values, or -1 when the
// entry is not in the pattern. It searches; callers look positions up once,
// when they are built, and keep them.
func (p *Pattern) Index(i, j int) int {
	columns, first := p.Row(i)
	at, found := slices.BinarySearch(columns, int32(j))
	if !found {
		return -1
	}
	return first + at
}
