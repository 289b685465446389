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

// transmission is Berman's formula with its differences written as quotients.
// It is used as it stands from 1e-3 to 1e5; beyond, where its last step cancels,
// its series take over (they join within 3e-9).
func transmission(l float64) float64 {
	if l > 1e5 {
		return 8/(3*l) - (2*math.Log(l)+91.0/18)/(l*l)
	}
	a := math.Sqrt(l*l + 4)
	first := 1 - l/(a+l) // 1 + l²/4 - l·a/4
	if l < 1e-3 {
		return first - l*l*l/24
	}
	num := 4 * l * l * l * (2 + l/(a+2)) / ((a + 2) * (a + l)) // (8-l²)a + l³ - 16
	den := 72*l*a - 288*math.Log((l+a)/2)
	return first - num*num/den
}

// SantelerTransmission is the same by D. J. Santeler's approximation, J. Vac.
// Sci. Technol. A 4 (1986) 338: at most 0.64 % from the exact values.
func SantelerTransmission(ratio float64) (float64, error) {
	if err := units.CheckRange("vacuum.SantelerTransmission", "ratio", ratio, 0, 1e12, ""); err != nil {
		return 0, err
	}
	return 1 / (1 + 3*ratio/8*(1+1/(3+3*ratio/7))), nil
}

// DushmanTransmission is the same as the aperture and the long tube in series,
// S. Dushman's rule: up to 12 % above the exact values.
func DushmanTransmission(ratio float64) (float64, error) {
	if err := units.CheckRange("vacuum.DushmanTransmission", "ratio", ratio, 0, 1e12, ""); err != nil {
		return 0, err
	}
	return 1 / (1 + 3*ratio/8), nil
}
