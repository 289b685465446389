package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Bounds of R7-97 region 4 in K.
const (
	liquidMinT = 273.15
	liquidMaxT = 647.096
)

// Coefficients of R7-97 Table 34.
const (
	n1  = 0.11670521452767e4
	n2  = -0.72421316703206e6
	n3  = -0.17073846940092e2
	n4  = 0.12020824702470e5
	n5  = -0.32325550322333e7
	n6  = 0.14915108613530e2
	n7  = -0.48232657361591e4
	n8  = 0.40511340542057e6
	n9  = -0.23855557567849
	n10 = 0.65017534844798e3
)

// SaturationPressureLiquid returns the vapour pressure in Pa over liquid water
// at t, 273.15 to 647.096 K; R7-97 eq 30. Between 273.15 and 273.16 K the
// liquid is metastable. Outside the range the error is a RangeError.
func SaturationPressureLiquid(t units.Temperature) (units.Pressure, error) {
	if t >= liquidMinT && t <= liquidMaxT {
		return units.Pressure(liquidPressure(float64(t))), nil
	}
	return 0, units.CheckRange("moisture.SaturationPressureLiquid", "t", float64(t), liquidMinT, liquidMaxT, "K")
}

// SaturationTemperatureLiquid returns the boiling temperature in K of liquid
// water at p; R7-97 eq 31. Accepted are the pressures that
// SaturationPressureLiquid returns, 611.2127 Pa to 22.064 MPa; the lower
// pressure printed in R7-97, 611.213 Pa, is rounded up. Outside the range the
// error is a RangeError.
func SaturationTemperatureLiquid(p units.Pressure) (units.Temperature, error) {
	// The ends are computed only when p lies near or beyond them.
	if !(p >= 612 && p <= 22e6) {
		lo, hi := liquidPressure(liquidMinT), liquidPressureMax()
		if err := units.CheckRange("moisture.SaturationTemperatureLiquid", "p", float64(p), lo, hi, "Pa"); err != nil {
			return 0, err
		}
	}
	return units.Temperature(liquidTemperature(float64(p))), nil
}

// liquidPressureMax is the pressure at the critical temperature: the printed
// 22.064 MPa or what the equation returns there, whichever is larger, because
// they differ in the last bits.
func liquidPressureMax() float64 { return max(22.064e6, liquidPressure(liquidMaxT)) }

// liquidPressure is R7-97 eq 30 in Pa. With theta = N/u, u = T - n10, the
// quadratics are multiplied by u^2; the ratio in eq 30 stays the same and one
// of the two divisions is saved.
func liquidPressure(t float64) float64 {
	u := t - n10
	n := t*u + n9 // theta u, R7-97 eq 29b
	nu, nn, uu := n*u, n*n, u*u
	a := nn + n1*nu + n2*uu
	b := n3*nn + n4*nu + n5*uu
	c := n6*nn + n7*nu + n8*uu
	x := 2 * c / (math.Sqrt(b*b-4*a*c) - b)
	x *= x
	return x * x * 1e6
}

// liquidTemperature is R7-97 eq 31; p in Pa, beta of eq 29a.
func liquidTemperature(p float64) float64 {
	bb := math.Sqrt(p * 1e-6)
	b := math.Sqrt(bb)
	e := bb + n3*b + n6
	f := n1*bb + n4*b + n7
	g := n2*bb + n5*b + n8
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	s := n10 + d
	return min((s-math.Sqrt(s*s-4*(n9+n10*d)))/2, liquidMaxT)
}

// LiquidPressureR797 is R7-97 eq 30: vapour pressure over liquid, Pa, from the
// temperature in K.
func LiquidPressureR797() Correlation {
	return Correlation{
		name: "moisture.LiquidPressureR797", arg: "t", argUnit: "K", unit: "Pa",
		lo: liquidMinT, hi: liquidMaxT, eval: liquidPressure,
		source:      "IAPWS R7-97(2012), eq 30 and Table 34",
		uncertainty: "0.025 % and better (from memory); within 71 ppm of IAPWS-95 from 0.01 to 100 °C",
	}
}

// LiquidTemperatureR797 is R7-97 eq 31: boiling temperature, K, from the
// pressure in Pa.
func LiquidTemperatureR797() Correlation {
	return Correlation{
		name: "moisture.LiquidTemperatureR797", arg: "p", argUnit: "Pa", unit: "K",
		lo: liquidPressure(liquidMinT), hi: liquidPressureMax(), eval: liquidTemperature,
		source:      "IAPWS R7-97(2012), eq 31 and Table 34",
		uncertainty: "as of the pressure equation, of which it is the exact inverse",
	}
}

// liquidSlope is dp/dT of R7-97 eq 30 in Pa/K: the implicit eq 29, quadratic in
// beta and theta, differentiated.
func liquidSlope(t float64) float64 { return liquidSlopeAt(t, liquidPressure(t)) }

// liquidSlopeAt is liquidSlope where the pressure p at t is known.
func liquidSlopeAt(t, p float64) float64 {
	beta := math.Sqrt(math.Sqrt(p * 1e-6))
	w := t - n10
	theta := t + n9/w
	dTheta := 1 - n9/(w*w)
	byTheta := beta*beta*(2*theta+n1) + beta*(2*n3*theta+n4) + 2*n6*theta + n7
	byBeta := 2*beta*(theta*theta+n1*theta+n2) + n3*theta*theta + n4*theta + n5
	return -4 * p / beta * dTheta * byTheta / byBeta
}

// SaturationSlope returns dp/dT in Pa/K of the vapour pressure over the phase
// stable at t, 50 to 647.096 K, and that phase: the derivatives of R14-08 eq 6
// below 273.16 K and of R7-97 eq 30 above. At 273.16 K the slope jumps, from
// 50.3 over ice to 44.4 Pa/K over liquid. Outside the range the error is a
// RangeError.
func SaturationSlope(t units.Temperature) (slope float64, phase Phase, err error) {
	f := liquidSlope
	phase = Liquid
	if t < TriplePoint {
		f, phase = iceSlope, Ice
	}
	slope, err = inRange("moisture.SaturationSlope", t, iceMinT, liquidMaxT, f)
	return slope, phaseUnless(err, phase), err
}

// LiquidSlopeR797 is dp/dT of R7-97 eq 30, Pa/K, from the temperature in K.
func LiquidSlopeR797() Correlation {
	return Correlation{
		name: "moisture.LiquidSlopeR797", arg: "t", argUnit: "K", unit: "Pa/K",
		lo: liquidMinT, hi: liquidMaxT, eval: liquidSlope,
		source:      "IAPWS R7-97(2012), eq 29 differentiated",
		uncertainty: "within 0.1 % of SR1-86 from 0.01 to 100 °C",
	}
}
