package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Bounds of R14-08 in K: sublimation from 50 K, melting of ice Ih from
// 251.165 K, both to the triple point.
const (
	iceMinT     = 50.0
	iceMaxT     = 273.16
	meltingMinT = 251.165
)

// SaturationPressureIce returns the vapour pressure in Pa over ice Ih at t, 50
// to 273.16 K; R14-08 eq 6. Outside the range the error is a RangeError.
func SaturationPressureIce(t units.Temperature) (units.Pressure, error) {
	p, err := inRange("moisture.SaturationPressureIce", t, iceMinT, iceMaxT, icePressure)
	return units.Pressure(p), err
}

// SaturationTemperatureIce returns the sublimation or frost temperature in K
// at p: the inverse of SaturationPressureIce, solved to round-off. Accepted are
// the pressures that SaturationPressureIce returns, 1.9e-40 to 611.657 Pa; a
// pressure of zero has no frost temperature. Outside the range the error is a
// RangeError.
func SaturationTemperatureIce(p units.Pressure) (units.Temperature, error) {
	// The ends are computed only when p lies near or beyond them.
	if !(p >= 1e-39 && p <= 611) {
		lo, hi := icePressure(iceMinT), icePressureMax()
		if err := units.CheckRange("moisture.SaturationTemperatureIce", "p", float64(p), lo, hi, "Pa"); err != nil {
			return 0, err
		}
	}
	return units.Temperature(iceTemperature(float64(p))), nil
}

// icePressureMax is the triple-point pressure: the printed 611.657 Pa or what
// the equation returns there, whichever is larger.
func icePressureMax() float64 { return max(float64(TriplePressure), icePressure(iceMaxT)) }

// Coefficients of R14-08 Table 2, ice Ih, sublimation.
const (
	subA1, subB1 = -0.212144006e2, 0.333333333e-2
	subA2, subB2 = 0.273203819e2, 0.120666667e1
	subA3, subB3 = -0.610598130e1, 0.170333333e1
)

// iceTerms returns theta^b_1 - 1, theta^(b_2 - 1) - 1 and theta^(b_3 - 1) - 1 for the
// exponents of R14-08 eq 6, theta = T/Tt from 0.18 to 1.001, with their relative
// accuracy kept towards the triple point. The exponents are near 0, 0.2 and 0.7: one
// logarithm, a square root and short series make all three.
func iceTerms(theta float64) (d1, e2, e3 float64) {
	l := math.Log(theta)
	r := math.Sqrt(theta)
	e2 = seriesExpm1((subB2 - 1) * l)                    // theta^0.20666667 - 1
	e3 = e2 + (1+e2)*shortExpm1((subB3-1.5-(subB2-1))*l) // theta^0.20333333 - 1
	return shortExpm1(subB1 * l), e2, (theta-1)/(1+r) + r*e3
}

// iceLogPressure is ln(p/pt) of R14-08 eq 6 and minus its derivative with respect to
// 1/theta. The a_i add up to zero, so eq 6 can be written in 1 - 1/theta and the
// small differences of iceTerms. The first of these is the bulk and is made from t
// itself: nothing cancels, and forward function and inverse agree to a few ulp.
func iceLogPressure(t float64) (ln, decline float64) {
	theta := t / iceMaxT
	d1, e2, e3 := iceTerms(theta)
	ln = (subA2+subA3)*((t-iceMaxT)/t) + (subA1*d1/theta + (subA2*e2 + subA3*e3))
	decline = (subB1-1)*subA1*(1+d1) + theta*((subB2-1)*subA2*(1+e2)+(subB3-1)*subA3*(1+e3))
	return ln, decline
}

// seriesExpm1 is exp(x)-1 for -0.36 < x < 0.01, to round-off.
func seriesExpm1(x float64) float64 {
	y := x * x
	lo := 1 + x*(1.0/2) + y*(1.0/6+x*(1.0/24))
	mid := 1.0/120 + x*(1.0/720) + y*(1.0/5040+x*(1.0/40320))
	hi := 1.0/362880 + x*(1.0/3628800) + y*(1.0/39916800+x*(1.0/479001600))
	z := y * y
	return x * (lo + z*(mid+z*hi))
}

// shortExpm1 is exp(x)-1 for |x| < 0.006, to round-off.
func shortExpm1(x float64) float64 {
	return x * (1 + x*(1.0/2+x*(1.0/6+x*(1.0/24+x*(1.0/120)))))
}

// icePressure is R14-08 eq 6 in Pa.
func icePressure(t float64) float64 {
	ln, _ := iceLogPressure(t)
	return float64(TriplePressure) * math.Exp(ln)
}

// iceSlope is the derivative of R14-08 eq 6 in Pa/K.
func iceSlope(t float64) float64 {
	ln, decline := iceLogPressure(t)
	return float64(TriplePressure) * math.Exp(ln) * decline * iceMaxT / (t * t)
}

// iceGuess is 1/theta from l = ln(p/pt), 0.09 % off at most: a quadratic fitted to
// the forward function.
func iceGuess(l float64) float64 {
	return 0.99926607767732 - l*(0.0444233758769573-l*1.269529184349119e-05)
}

// iceTemperature inverts icePressure. ln p is nearly linear in 1/theta, so a Newton
// step there from iceGuess comes within 2e-9, and a second one, taken in T so that no
// rounding of 1/theta enters, below round-off.
func iceTemperature(p float64) float64 {
	l := math.Log(p / float64(TriplePressure))
	t := iceTowards(iceNear(l), l)
	return min(max(t, iceMinT), iceMaxT)
}

// iceNear is the temperature in K at which ln(p/pt) is l, within 2e-9.
func iceNear(l float64) float64 {
	u := iceGuess(l)
	ln, decline := iceLogPressure(iceMaxT / u)
	return iceMaxT / (u + (ln-l)/decline)
}

// iceTowards takes a Newton step from t to the temperature at which ln(p/pt) is l.
func iceTowards(t, l float64) float64 {
	ln, decline := iceLogPressure(t)
	return t - (ln-l)*t*(t/iceMaxT)/decline
}

// IcePressureR1408 is R14-08 eq 6: vapour pressure over ice Ih, Pa, from the
// temperature in K.
func IcePressureR1408() Correlation {
	return Correlation{
		name: "moisture.IcePressureR1408", arg: "t", argUnit: "K", unit: "Pa",
		lo: iceMinT, hi: iceMaxT, eval: icePressure,
		source:      "IAPWS R14-08(2011), eq 6 and Table 2",
		uncertainty: "0.01 % near the triple point, growing to about 1 % at 130 K (from memory)",
	}
}

// IceTemperatureR1408 is the inverse of IcePressureR1408: frost temperature,
// K, from the pressure in Pa.
func IceTemperatureR1408() Correlation {
	return Correlation{
		name: "moisture.IceTemperatureR1408", arg: "p", argUnit: "Pa", unit: "K",
		lo: icePressure(iceMinT), hi: icePressureMax(), eval: iceTemperature,
		source:      "IAPWS R14-08(2011), eq 6 and Table 2, inverted",
		uncertainty: "as of the pressure equation",
	}
}

// IceSlopeR1408 is dp/dT of R14-08 eq 6, Pa/K, from the temperature in K.
func IceSlopeR1408() Correlation {
	return Correlation{
		name: "moisture.IceSlopeR1408", arg: "t", argUnit: "K", unit: "Pa/K",
		lo: iceMinT, hi: iceMaxT, eval: iceSlope,
		source:      "IAPWS R14-08(2011), eq 6 differentiated",
		uncertainty: "as of the pressure equation",
	}
}

// MeltingPressure returns the pressure in Pa at which ice Ih melts at t,
// 251.165 to 273.16 K; R14-08 eq 1. Ice Ih melts at a lower temperature under
// pressure. Outside the range the error is a RangeError.
func MeltingPressure(t units.Temperature) (units.Pressure, error) {
	p, err := inRange("moisture.MeltingPressure", t, meltingMinT, iceMaxT, meltingPressure)
	return units.Pressure(p), err
}

// meltingPressure is R14-08 eq 1 in Pa.
func meltingPressure(t float64) float64 {
	theta := t / iceMaxT
	return float64(TriplePressure) * (1 + 0.119539337e7*(1-theta*theta*theta) +
		0.808183159e5*(1-math.Pow(theta, 25.75)) + 0.333826860e4*(1-math.Pow(theta, 103.75)))
}

// MeltingPressureR1408 is R14-08 eq 1: melting pressure of ice Ih, Pa, from the
// temperature in K.
func MeltingPressureR1408() Correlation {
	return Correlation{
		name: "moisture.MeltingPressureR1408", arg: "t", argUnit: "K", unit: "Pa",
		lo: meltingMinT, hi: iceMaxT, eval: meltingPressure,
		source:      "IAPWS R14-08(2011), eq 1 and Table 1",
		uncertainty: "2 % of the pressure (from memory)",
	}
}
