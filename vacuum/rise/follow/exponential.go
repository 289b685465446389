package follow

import "math"

// The exponentials of a verdict, over a thousand, are read from a table of
// exp(-k/tableDensity) and a series about the nearest of its values, which is
// exact to 2e-12 of them: |x| ≤ 1/32 leaves x⁶/720. Beyond lastDecay nothing of
// the first column is left that a reading could show.
const (
	tableDensity = 16
	lastDecay    = 40
)

// decays is the table.
type decays [lastDecay*tableDensity + 1]float64

func (d *decays) fill() {
	for k := range d {
		d[k] = math.Exp(-float64(k) / tableDensity)
	}
}

// at is exp(-z) for z ≥ 0.
func (d *decays) at(z float64) float64 {
	if !(z < lastDecay) {
		return 0
	}
	k := int(z*tableDensity + 0.5)
	x := z - float64(k)*(1.0/tableDensity)
	return d[k] * (1 - x*(1-x*(1.0/2-x*(1.0/6-x*(1.0/24-x*(1.0/120))))))
}
