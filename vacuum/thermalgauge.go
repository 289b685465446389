package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// ThermalResponse is how a thermal conductivity gauge, calibrated in nitrogen
// or air, answers to other gases. Where molecules carry the heat singly the
// gases add up: the gauge shows Σ s·p over the partial pressures p, with a
// sensitivity s for each gas. The factors in use are means for 1 to 100 Pa (7
// to 750 micron) with a scatter of about a tenth between gauges. At higher
// pressures every such gauge flattens in its own way, which is left out: there
// a reading in another gas than nitrogen is no more than a hint.
//
// Nil means a gauge that reads the true total pressure.
type ThermalResponse struct {
	// Sensitivity gives factors of the caller's own by the gas's name, relative to
	// nitrogen, 0.05 to 20: from the data sheet of the gauge. A gas that is not
	// in it goes by ThermalSensitivity. Nil is legal.
	Sensitivity map[string]float64
}

// Check reports a sensitivity out of range.
func (r *ThermalResponse) Check() error {
	if r == nil {
		return nil
	}
	for name, s := range r.Sensitivity {
		if err := units.CheckRange("vacuum.ThermalResponse", "Sensitivity of "+name, s, 0.05, 20, ""); err != nil {
			return err
		}
	}
	return nil
}

// sensitivity of the gauge to a gas; 1 for a nil response.
func (r *ThermalResponse) sensitivity(g *Gas) float64 {
	if r == nil {
		return 1
	}
	if s, ok := r.Sensitivity[g.Name]; ok {
		return s
	}
	return ThermalSensitivity(*g).Sensitivity
}

// GasSensitivity is the answer of a thermal gauge to one gas.
type GasSensitivity struct {
	// Sensitivity is the reading over the true pressure, 1 for nitrogen.
	Sensitivity float64
	// Estimated is true when it comes from kinetic theory, for want of a factor
	// from calibration.
	Estimated bool
	// Source says where it comes from.
	Source string
}

// ThermalSensitivity is the sensitivity to a gas relative to nitrogen. For air,
// oxygen, nitrogen, helium, argon, carbon dioxide and water it is the inverse
// of the mean factor of air-calibrated thermal gauges between 1 and 100 Pa
// (common practice). For all others it is the estimate of ThermalEstimate, of a
// gas that passes Check.
func ThermalSensitivity(g Gas) GasSensitivity {
	const source = "mean factor of air-calibrated thermal gauges, 1 to 100 Pa (common practice)"
	factor := 0.0 // true pressure over reading
	switch g.Name {
	case nitrogenName, airName, "oxygen":
		factor = 1
	case "helium":
		factor = 0.8
	case "argon":
		factor = 1.7
	case "carbon dioxide":
		factor = 0.9
	case WaterVapour().Name:
		factor = 0.5
	default:
		return GasSensitivity{ThermalEstimate(g), true, "free-molecular heat flow, kinetic theory, estimate"}
	}
	return GasSensitivity{1 / factor, false, source}
}

// ThermalEstimate is the sensitivity from the heat that molecules carry one by
// one between surfaces of full accommodation: (cv + R/2)/√M, which is as
// ((γ+1)/(γ-1))/√M, over the same for nitrogen. Against the factors that there
// are it comes out 41 % high for helium, 27 % low for water and within 6 %
// for argon and carbon dioxide; take it as good to a third. It checks nothing: for
// a gas that does not pass Check the number means nothing and may be infinite.
func ThermalEstimate(g Gas) float64 {
	heat := func(gamma float64, m units.MolarMass) float64 {
		return (gamma + 1) / (gamma - 1) / math.Sqrt(float64(m))
	}
	n2 := Nitrogen()
	return heat(g.HeatCapacityRatio, g.MolarMass) / heat(n2.HeatCapacityRatio, n2.MolarMass)
}

// TrueTotal is the total pressure in Pa at which a thermal gauge shows the
// reading, Pa, above 0, in a gas of the given mole fractions, which add up to
// 1: reading/Σ s·x. Nil reads true.
func (r *ThermalResponse) TrueTotal(reading units.Pressure, gases []Gas, fractions []units.MoleFraction) (units.Pressure, error) {
	const fn = "vacuum.ThermalResponse.TrueTotal"
	if err := units.CheckRange(fn, "reading", float64(reading), math.SmallestNonzeroFloat64, maxPressure, "Pa"); err != nil {
		return 0, err
	}
	if err := r.Check(); err != nil {
		return 0, err
	}
	x, err := mixtureFractions(fn, gases, fractions, units.Celsius(20))
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for i := range gases {
		sum += x[i] * r.sensitivity(&gases[i])
	}
	return reading / units.Pressure(sum), nil
}
