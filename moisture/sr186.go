package moisture

import (
	"math"

	"example.com/drydown/units"
)

// SaturationState is a state of SR1-86 on the saturation line.
type SaturationState struct {
	Temperature   units.Temperature    // K
	Pressure      units.Pressure       // Pa; SR1-86 eq 1
	Slope         float64              // dp/dT, Pa/K; derivative of eq 1
	LiquidDensity units.Density        // kg/m³; eq 2
	VapourDensity units.Density        // kg/m³; eq 3
	LiquidHeat    units.SpecificEnergy // enthalpy of the liquid, J/kg; eq 6
	VapourHeat    units.SpecificEnergy // enthalpy of the vapour, J/kg; eq 7
	LiquidEntropy float64              // J/(kg K); eq 8
	VapourEntropy float64              // J/(kg K); eq 9
}

// SaturationSR186 returns the saturated liquid and vapour at t, 273.16 to
// 647.096 K, by SR1-86 (W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 22 (1993)
// 783, eqs 1 to 9): the second opinion beside R7-97, and the source of liquid
// density and enthalpy. Its vapour density is 0.014 % below IAPWS-95 near
// 10 °C, so latent heats are not taken from it (LatentHeatVaporisation).
// Outside the range the error is a RangeError.
func SaturationSR186(t units.Temperature) (SaturationState, error) {
	const fn = "moisture.SaturationSR186"
	if err := units.CheckRange(fn, "t", float64(t), float64(TriplePoint), liquidMaxT, "K"); err != nil {
		return SaturationState{}, err
	}
	x := float64(t)
	p, slope := sr186Pressure(x)
	rhoL, rhoV := sr186LiquidDensity(x), sr186VapourDensity(x)
	alpha, phi := sr186Alpha(x)
	return SaturationState{
		Temperature: t, Pressure: units.Pressure(p), Slope: slope,
		LiquidDensity: units.Density(rhoL), VapourDensity: units.Density(rhoV),
		LiquidHeat:    units.SpecificEnergy(alpha + x/rhoL*slope), // eq 6
		VapourHeat:    units.SpecificEnergy(alpha + x/rhoV*slope), // eq 7
		LiquidEntropy: phi + slope/rhoL,                           // eq 8
		VapourEntropy: phi + slope/rhoV,                           // eq 9
	}, nil
}

const (
	criticalDensity  = 322.0    // kg/m³
	criticalPressure = 22.064e6 // Pa
)

// sr186Pressure is SR1-86 eq 1 in Pa and its derivative in Pa/K, with powers of
// tau made from square roots.
func sr186Pressure(t float64) (p, slope float64) {
	const a1, a2, a3, a4, a5, a6 = -7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502
	tau := 1 - t/liquidMaxT
	r := math.Sqrt(tau)
	t2 := tau * tau
	t3 := t2 * tau
	sum := a1*tau + a2*tau*r + a3*t3 + a4*t3*r + a5*t2*t2 + a6*t2*t2*t3*r
	bySum := a1 + 1.5*a2*r + 3*a3*t2 + 3.5*a4*t2*r + 4*a5*t3 + 7.5*a6*t3*t3*r
	p = criticalPressure * math.Exp(liquidMaxT/t*sum)
	return p, -p / t * (bySum + liquidMaxT/t*sum)
}

// sr186LiquidDensity is SR1-86 eq 2 in kg/m³.
func sr186LiquidDensity(t float64) float64 {
	c := math.Cbrt(max(1-t/liquidMaxT, 0))
	c2 := c * c
	c5 := c2 * c2 * c
	c16 := c5 * c5 * c5 * c
	c43 := c16 * c16 * c5 * c5 * c
	c110 := c43 * c43 * c16 * c5 * c2 * c
	return criticalDensity * (1 + 1.99274064*c + 1.09965342*c2 - 0.510839303*c5 -
		1.75493479*c16 - 45.5170352*c43 - 6.74694450e5*c110)
}

// sr186VapourDensity is SR1-86 eq 3 in kg/m³, in powers of s = tau^(1/6).
func sr186VapourDensity(t float64) float64 {
	s2 := math.Cbrt(max(1-t/liquidMaxT, 0))
	s := math.Sqrt(s2)
	s4 := s2 * s2
	s8 := s4 * s4
	s18 := s8 * s8 * s2
	s37 := s18 * s18 * s
	s71 := s37 * s18 * s8 * s8
	return criticalDensity * math.Exp(-2.03150240*s2-2.68302940*s4-5.38626492*s8-
		17.2991605*s18-44.7586581*s37-63.9201063*s71)
}

// sr186Alpha is SR1-86 eqs 4 and 5: alpha in J/kg and phi in J/(kg K).
func sr186Alpha(t float64) (alpha, phi float64) {
	const d1, d2, d3, d4, d5 = -5.65134998e-8, 2690.66631, 127.287297, -135.003439, 0.981825814
	const dAlpha, dPhi = -1135.905627715, 2319.5246
	th := t / liquidMaxT
	th4 := th * th * th * th
	th35, th535 := math.Sqrt(th)*th*th*th, math.Pow(th, 53.5)
	inv20 := math.Pow(th, -20)
	alpha = 1000 * (dAlpha + d1*inv20*th + d2*th + d3*th35*th + d4*th4*th + d5*th535*th)
	phi = 1000 / liquidMaxT * (dPhi + 19.0/20*d1*inv20 + d2*math.Log(th) + 9.0/7*d3*th35 +
		5.0/4*d4*th4 + 109.0/107*d5*th535)
	return alpha, phi
}

// sr186LiquidHeat is SR1-86 eq 6 in J/kg.
func sr186LiquidHeat(t float64) float64 {
	_, slope := sr186Pressure(t)
	alpha, _ := sr186Alpha(t)
	return alpha + t/sr186LiquidDensity(t)*slope
}

// sr186VapourHeat is SR1-86 eq 7 in J/kg.
func sr186VapourHeat(t float64) float64 {
	_, slope := sr186Pressure(t)
	alpha, _ := sr186Alpha(t)
	return alpha + t/sr186VapourDensity(t)*slope
}

func sr186Only(f func(float64) float64, name, unit, eq, uncertainty string) Correlation {
	return Correlation{
		name: name, arg: "t", argUnit: "K", unit: unit, lo: float64(TriplePoint), hi: liquidMaxT, eval: f,
		source:      "IAPWS SR1-86(1992), J. Phys. Chem. Ref. Data 22 (1993) 783, " + eq,
		uncertainty: uncertainty,
	}
}

// LiquidPressureSR186 is SR1-86 eq 1: vapour pressure over liquid, Pa, from the
// temperature in K.
func LiquidPressureSR186() Correlation {
	return sr186Only(func(t float64) float64 { p, _ := sr186Pressure(t); return p },
		"moisture.LiquidPressureSR186", "Pa", "eq 1", "within 72 ppm of IAPWS-95 from 0.01 to 100 °C")
}

// LiquidSlopeSR186 is dp/dT of SR1-86 eq 1, Pa/K, from the temperature in K.
func LiquidSlopeSR186() Correlation {
	return sr186Only(func(t float64) float64 { _, slope := sr186Pressure(t); return slope },
		"moisture.LiquidSlopeSR186", "Pa/K", "eq 1 differentiated", "within 0.1 % of R7-97 from 0.01 to 100 °C")
}

// LiquidDensitySR186 is SR1-86 eq 2: density of saturated liquid, kg/m³, from
// the temperature in K.
func LiquidDensitySR186() Correlation {
	return sr186Only(sr186LiquidDensity, "moisture.LiquidDensitySR186", "kg/m³", "eq 2", "within 7 ppm of IAPWS-95 from 0.01 to 100 °C")
}

// VapourDensitySR186 is SR1-86 eq 3: density of saturated vapour, kg/m³, from
// the temperature in K.
func VapourDensitySR186() Correlation {
	return sr186Only(sr186VapourDensity, "moisture.VapourDensitySR186", "kg/m³", "eq 3", "within 0.015 % of IAPWS-95 from 0.01 to 100 °C")
}

// LiquidEnthalpySR186 is SR1-86 eq 6: enthalpy of saturated liquid, J/kg, from
// the temperature in K.
func LiquidEnthalpySR186() Correlation {
	return sr186Only(sr186LiquidHeat, "moisture.LiquidEnthalpySR186", "J/kg", "eq 6", "within 4 J/kg of IAPWS-95 from 0.01 to 100 °C")
}

// VapourEnthalpySR186 is SR1-86 eq 7: enthalpy of saturated vapour, J/kg, from the
// temperature in K.
func VapourEnthalpySR186() Correlation {
	return sr186Only(sr186VapourHeat, "moisture.VapourEnthalpySR186", "J/kg", "eq 7", "within 0.4 kJ/kg of IAPWS-95 from 0.01 to 100 °C")
}

// LiquidEntropySR186 is SR1-86 eq 8: entropy of saturated liquid, J/(kg K), from the
// temperature in K.
func LiquidEntropySR186() Correlation {
	return sr186Only(func(t float64) float64 {
		_, slope := sr186Pressure(t)
		_, phi := sr186Alpha(t)
		return phi + slope/sr186LiquidDensity(t)
	}, "moisture.LiquidEntropySR186", "J/(kg K)", "eq 8", "within 0.01 J/(kg K) of IAPWS-95 at 275 K")
}

// VapourEntropySR186 is SR1-86 eq 9: entropy of saturated vapour, J/(kg K), from the
// temperature in K.
func VapourEntropySR186() Correlation {
	return sr186Only(func(t float64) float64 {
		_, slope := sr186Pressure(t)
		_, phi := sr186Alpha(t)
		return phi + slope/sr186VapourDensity(t)
	}, "moisture.VapourEntropySR186", "J/(kg K)", "eq 9", "within 1 J/(kg K) of IAPWS-95 at 275 K")
}
