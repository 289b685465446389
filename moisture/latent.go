package moisture

import "example.com/drydown/units"

// latentMaxT is the upper end of the latent heats in K; the vapour series is
// not exact enough above.
const latentMaxT = 373.15

// LatentHeatFusion is the heat in J/kg that melts ice at the triple point,
// 333.4449 kJ/kg: liquid 0.0006118 (R6-95) minus ice -333.444254 kJ/kg (R10-06
// Table 6). Ice Ih melts at other temperatures only under pressure, so there is
// one value.
const LatentHeatFusion units.SpecificEnergy = 333444.9

// LatentHeatVaporisation returns the heat in J/kg that evaporates liquid water
// at saturation at t, 273.15 to 373.15 K: vapour enthalpy of R6-95 as in
// VapourProperties at the pressure of R7-97, minus the liquid enthalpy of
// SR1-86 eq 6. It lies within 0.04 kJ/kg of R6-95 throughout. In the last 0.01 K the liquid
// is metastable and SR1-86 is continued below its range; colder water is ice:
// see LatentHeatSublimation. Outside the range the error is a
// RangeError.
func LatentHeatVaporisation(t units.Temperature) (units.SpecificEnergy, error) {
	l, err := inRange("moisture.LatentHeatVaporisation", t, liquidMinT, latentMaxT, vaporisationHeat)
	return units.SpecificEnergy(l), err
}

// LatentHeatSublimation returns the heat in J/kg that sublimes ice at
// saturation at t, 130 to 273.16 K: vapour enthalpy of R6-95 as in
// VapourProperties minus ice enthalpy of R10-06, both at the pressure of R14-08.
// Outside the range the error is a RangeError.
func LatentHeatSublimation(t units.Temperature) (units.SpecificEnergy, error) {
	l, err := inRange("moisture.LatentHeatSublimation", t, vapourMinT, iceMaxT, sublimationHeat)
	return units.SpecificEnergy(l), err
}

func vaporisationHeat(t float64) float64 {
	h, _, _ := vapourSeries(t, liquidPressure(t))
	return h - sr186LiquidHeat(t)
}

func sublimationHeat(t float64) float64 {
	h, _, _ := vapourSeries(t, icePressure(t))
	return h - iceHeat(t)
}

// VaporisationR695 is the latent heat of vaporisation, J/kg, from the
// temperature in K; see LatentHeatVaporisation.
func VaporisationR695() Correlation {
	return Correlation{
		name: "moisture.VaporisationR695", arg: "t", argUnit: "K", unit: "J/kg",
		lo: liquidMinT, hi: latentMaxT, eval: vaporisationHeat,
		source:      "vapour: IAPWS R6-95(2018) to the fourth virial coefficient; liquid: SR1-86(1992) eq 6",
		uncertainty: "within 0.04 kJ/kg of R6-95",
	}
}

// SublimationR1006 is the latent heat of sublimation, J/kg, from the
// temperature in K; see LatentHeatSublimation.
func SublimationR1006() Correlation {
	return Correlation{
		name: "moisture.SublimationR1006", arg: "t", argUnit: "K", unit: "J/kg",
		lo: vapourMinT, hi: iceMaxT, eval: sublimationHeat,
		source:      "vapour: IAPWS R6-95(2018) to the fourth virial coefficient; ice: R10-06(2009)",
		uncertainty: "within 0.005 % of the integrated equations of D. M. Murphy and T. Koop 2005, eq 5, at 273.16 K",
	}
}
