package follow

import "math"

// truncated is mean and variance of the standard normal between two bounds.
func truncated(lo, hi float64) (mean, variance float64) {
	mass := normalCDF(-lo) - normalCDF(-hi)
	a, b := normalDensity(lo), normalDensity(hi)
	mean = (a - b) / mass
	variance = 1 - mean*mean
	if a > 0 {
		variance += lo * a / mass
	}
	if b > 0 {
		variance -= hi * b / mass
	}
	return mean, max(variance, 0)
}

func normalDensity(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// The normal distribution, tabulated from -tableEnd to tableEnd: linear between
// its values it is exact to 3e-5.
const (
	tableEnd   = 5
	tableSteps = 32 // per unit
	tableSize  = 2*tableEnd*tableSteps + 1
)

// table of the normal distribution.
type table [tableSize]float64

func (t *table) fill() {
	for i := range t {
		t[i] = normalCDF(float64(i)/tableSteps - tableEnd)
	}
}

// at answers the distribution and the density at z.
func (t *table) at(z float64) (below, density float64) {
	x := (z + tableEnd) * tableSteps
	if !(x > 0) {
		return 0, 0
	}
	if x >= tableSize-1 {
		return 1, 0
	}
	i := int(x)
	rise := t[i+1] - t[i]
	return t[i] + (x-float64(i))*rise, rise * tableSteps
}

// student is the 97.5 % quantile of Student's t with nu degrees of freedom, at
// least 3, to 1 % (Cornish-Fisher expansion, Abramowitz and Stegun 26.7.5).
func student(nu float64) float64 {
	const z = confidenceZ
	const z2 = z * z
	const g1 = (z2 + 1) * z / 4
	const g2 = ((5*z2+16)*z2 + 3) * z / 96
	const g3 = (((3*z2+19)*z2+17)*z2 - 15) * z / 384
	return z + g1/nu + g2/(nu*nu) + g3/(nu*nu*nu)
}
