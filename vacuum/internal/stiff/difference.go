package stiff

// Differences fills a Jacobian by one-sided differences, several columns per
// call of the rates: columns that share no row are disturbed together (A. R.
// Curtis, M. J. D. Powell and J. K. Reid, IMA J. Appl. Math. 13 (1974) 117).
// It serves to check a Jacobian, or to stand in for one that is not known.
// It is not safe for concurrent use.
type Differences struct {
	pattern   *Pattern
	colour    []int32
	colours   int
	disturbed []float64
	rates     []float64
}

// NewDifferences groups the columns of the pattern. A row with many entries
// puts as many columns in groups of their own, and each group costs one call
// of the rates per Jacobian.
func NewDifferences(p *Pattern) *Differences {
	n := p.Size()
	d := &Differences{
		pattern:   p,
		colour:    make([]int32, n),
		disturbed: make([]float64, n),
		rates:     make([]float64, n),
	}
	rowsOf := make([][]int32, n)
	for i := range n {
		columns, _ := p.Row(i)
		for _, j := range columns {
			rowsOf[j] = append(rowsOf[j], int32(i))
		}
	}
	takenBy := make([]int, n+1) // column that last met a neighbour of the colour
	for j := range n {
		for _, i := range rowsOf[j] {
			columns, _ := p.Row(int(i))
			for _, other := range columns {
				if int(other) < j {
					takenBy[d.colour[other]] = j + 1
				}
			}
		}
		for takenBy[d.colour[j]] == j+1 {
			d.colour[j]++
		}
		d.colours = max(d.colours, int(d.colour[j])+1)
	}
	return d
}

// Groups is the number of calls of the rates per Jacobian.
func (d *Differences) Groups() int { return d.colours }

// Fill writes the Jacobian of rates at (t, y) in the order of the pattern.
// base are the rates there; increments has the disturbance of each variable,
// on the variable's own scale, signed and not zero.
func (d *Differences) Fill(rates func(t float64, y, dst []float64), t float64, y, base, increments, values []float64) {
	for group := range int32(d.colours) {
		copy(d.disturbed, y)
		for j, colour := range d.colour {
			if colour == group {
				d.disturbed[j] += increments[j]
			}
		}
		rates(t, d.disturbed, d.rates)
		for i := range y {
			columns, first := d.pattern.Row(i)
			for at, j := range columns {
				if d.colour[j] == group {
					values[first+at] = (d.rates[i] - base[i]) / (d.disturbed[j] - y[j])
				}
			}
		}
	}
}
