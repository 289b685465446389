package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// TransmissionProbability is the share of molecules entering a straight
// circular tube with diffuse walls that leave at the other end in molecular
// flow. ratio is length over radius, 0 or more; 0 gives 1. It is the formula of
// A. S. Berman, J. Appl. Phys. 36 (1965) 3356, at most 0.068 % above the exact
// solution of Clausing's integral equation.
func TransmissionProbability(ratio float64) (float64, error) {
	if err := units.CheckRange("vacuum.TransmissionProbability", "ratio", ratio, 0, 1e12, ""); err != nil {
		return 0, err
	}
	return transmission(ratio), nil
}

// transmission is Berman's formula. Below 0.01 and above 500 its terms cancel;
// series take over there.
func transmission(l float64) float64 {
	switch {
	case l < 0.01:
		return 1 - l/2 + l*l/4
	case l > 500:
		return longTransmission(l)
	}
	a := math.Sqrt(l*l + 4)
	// 8a - l²a + l³ - 16 = 8(a-2) - l²(a-l), both differences as quotients.
	num := 8*l*l/(a+2) - 4*l*l/(a+l)
	den := 72*l*a - 288*math.Log((l+a)/2)
	return 1 + l*l/4 - l*a/4 - num*num/den
}

// longTransmission is Berman's formula for l > 500, 8/(3l) with its first
// corrections.
func longTransmission(l float64) float64 {
	return 8 / (3 * l)
}
