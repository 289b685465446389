package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Bounds of the enhancement factor: -100 to 100 °C, opened by a little so that
// both ends survive the conversion to kelvin, and 2 MPa.
const (
	airMinT = 173.1
	airMaxT = 373.2
	airMaxP = 2e6
)

const (
	dryAirMolarMass = 0.02896546 // kg/mol, as CoolProp's file for air
	// humidityScale is the ratio of molar masses of water and dry air used by
	// the ASHRAE Handbook, Fundamentals 2017, ch. 1.
	humidityScale = 0.621945
)

// HumidAir is moist air at one temperature and pressure. Make it with
// AirAtHumidity, AirAtPoint or AirAtRatio; the zero value is not a state.
type HumidAir struct {
	// Temperature of the air, K.
	Temperature units.Temperature
	// Pressure is the total pressure, Pa.
	Pressure units.Pressure
	// Vapour is the partial pressure of water, Pa: its mole fraction times
	// Pressure.
	Vapour units.Pressure
	// Saturation is the partial pressure at which this air saturates over the
	// stable phase, Pa: the saturation pressure of pure water times Enhancement.
	Saturation units.Pressure
	// Enhancement is the factor by which air raises the saturation pressure: at
	// 101325 Pa 1.004 to 1.01 up to 90 °C, falling to 1 where water alone makes the
	// pressure; up to 1.25 at 2 MPa and -100 °C.
	Enhancement float64
}

// AirAtHumidity returns air at t, -100 to 100 °C, total pressure p, from the
// saturation pressure of water to 2 MPa, and relative humidity rh, 0 to 1; below
// 0.01 °C the humidity is that over ice. Outside the ranges, and when the vapour
// would fill the whole pressure, the error is a RangeError. At an altitude p comes from
// units.StandardAtmosphere.
func AirAtHumidity(t units.Temperature, p units.Pressure, rh units.RelativeHumidity) (HumidAir, error) {
	const fn = "moisture.AirAtHumidity"
	a, err := airAt(fn, t, p)
	if err != nil {
		return HumidAir{}, err
	}
	if err := units.CheckRange(fn, "rh", float64(rh), 0, 1, ""); err != nil {
		return HumidAir{}, err
	}
	return a.with(fn, float64(rh)*float64(a.Saturation))
}

// AirAtPoint returns air at t and total pressure p whose dew point, or below 0.01
// °C frost point, is point, -100 °C to t. Ranges as AirAtHumidity.
func AirAtPoint(t units.Temperature, p units.Pressure, point units.Temperature) (HumidAir, error) {
	const fn = "moisture.AirAtPoint"
	a, err := airAt(fn, t, p)
	if err != nil {
		return HumidAir{}, err
	}
	if err := units.CheckRange(fn, "point", float64(point), airMinT, float64(t), "K"); err != nil {
		return HumidAir{}, err
	}
	_, vapour := saturationInAir(float64(point), float64(p))
	return a.with(fn, vapour)
}

// AirAtRatio returns air at t and total pressure p with ratio kg of water per kg
// of dry air, at least 0 and at most saturated. Ranges as AirAtHumidity.
func AirAtRatio(t units.Temperature, p units.Pressure, ratio float64) (HumidAir, error) {
	const fn = "moisture.AirAtRatio"
	a, err := airAt(fn, t, p)
	if err != nil {
		return HumidAir{}, err
	}
	most := math.MaxFloat64
	if s := float64(a.Saturation); s < float64(p) {
		most = humidityScale * s / (float64(p) - s)
	}
	if err := units.CheckRange(fn, "ratio", ratio, 0, most, "kg/kg"); err != nil {
		return HumidAir{}, err
	}
	return a.with(fn, float64(p)*ratio/(humidityScale+ratio))
}

// airAt checks temperature and pressure and fills in saturation.
func airAt(fn string, t units.Temperature, p units.Pressure) (HumidAir, error) {
	if err := units.CheckRange(fn, "t", float64(t), airMinT, airMaxT, "K"); err != nil {
		return HumidAir{}, err
	}
	pure := stablePressure(float64(t))
	if err := units.CheckRange(fn, "p", float64(p), pure, airMaxP, "Pa"); err != nil {
		return HumidAir{}, err
	}
	f := enhancement(float64(t), pure, float64(p))
	return HumidAir{Temperature: t, Pressure: p, Saturation: units.Pressure(f * pure), Enhancement: f}, nil
}

// with sets the vapour pressure, which must leave room for dry air.
func (a HumidAir) with(fn string, vapour float64) (HumidAir, error) {
	if err := units.CheckRange(fn, "vapour pressure", vapour, 0, float64(a.Pressure)*(1-1e-12), "Pa"); err != nil {
		return HumidAir{}, err
	}
	a.Vapour = units.Pressure(vapour)
	return a, nil
}

// RelativeHumidity is the vapour pressure over that of saturation at the same
// temperature and total pressure; below 0.01 °C over ice.
func (a HumidAir) RelativeHumidity() units.RelativeHumidity {
	return units.RelativeHumidity(a.Vapour / a.Saturation)
}

// HumidityRatio is the mass of water per mass of dry air, kg/kg: 0.621945 pw/(p -
// pw), ASHRAE Fundamentals 2017 ch. 1 eq 20, with the enhancement factor inside
// pw.
func (a HumidAir) HumidityRatio() float64 {
	return humidityScale * float64(a.Vapour) / float64(a.Pressure-a.Vapour)
}

// WaterDensity is the mass of water per volume of this air, kg/m³, by the
// ideal-gas law at the partial pressure; real air holds up to 0.1 % more (from memory).
func (a HumidAir) WaterDensity() units.Density {
	return units.Density(float64(a.Vapour) * float64(MolarMass) / (molarGas * float64(a.Temperature)))
}

// SpecificVolume is the volume of moist air per mass of dry air, m³/kg, by the
// ideal-gas law; ASHRAE Fundamentals 2017 ch. 1 eq 26. Its Table 2 lies 0.05 % below
// at 25 °C and 101325 Pa.
func (a HumidAir) SpecificVolume() float64 {
	return molarGas * float64(a.Temperature) / (dryAirMolarMass * float64(a.Pressure-a.Vapour))
}

// WaterIn is the water in kg in volume v, at least 0 m³, of this air: what a
// circuit of that volume takes in when it fills with it once. Outside the range
// the error is a RangeError.
func (a HumidAir) WaterIn(v units.Volume) (units.Mass, error) {
	if err := units.CheckRange("moisture.HumidAir.WaterIn", "v", float64(v), 0, math.MaxFloat64, "m³"); err != nil {
		return 0, err
	}
	return units.Mass(float64(a.WaterDensity()) * float64(v)), nil
}

// Point is the temperature in K at which this air, cooled at constant pressure,
// saturates, and over which phase: the dew point from 0.01 °C up, the frost point
// below. Air with less vapour than a frost point of -100 °C makes is refused with
// a RangeError.
func (a HumidAir) Point() (units.Temperature, Phase, error) {
	return pointInAir("moisture.HumidAir.Point", float64(a.Vapour), float64(a.Pressure))
}

// DewPoint is the dew point in K, over liquid. Below 0 °C, where ice is stable, it
// is refused with a RangeError: see FrostPoint.
func (a HumidAir) DewPoint() (units.Temperature, error) {
	const fn = "moisture.HumidAir.DewPoint"
	f := enhancement(liquidMinT, liquidPressure(liquidMinT), float64(a.Pressure))
	least := f * liquidPressure(liquidMinT)
	if err := units.CheckRange(fn, "vapour pressure", float64(a.Vapour), least, airMaxP, "Pa"); err != nil {
		return 0, err
	}
	return units.Temperature(dewInAir(float64(a.Vapour), float64(a.Pressure))), nil
}

// FrostPoint is the frost point in K, over ice. Above 0.01 °C, and below -100 °C,
// it is refused with a RangeError: see DewPoint.
func (a HumidAir) FrostPoint() (units.Temperature, error) {
	vapour, p := float64(a.Vapour), float64(a.Pressure)
	_, least := saturationInAir(airMinT, p)
	most := math.Nextafter(leastOverLiquid(p), 0)
	if err := units.CheckRange("moisture.HumidAir.FrostPoint", "vapour pressure", vapour, least, most, "Pa"); err != nil {
		return 0, err
	}
	return units.Temperature(frostInAir(vapour, p)), nil
}

func pointInAir(fn string, vapour, p float64) (units.Temperature, Phase, error) {
	const safeLo, safeHi = 0.01, 9e4 // inside the bounds whatever the pressure
	if !(vapour >= safeLo && vapour <= safeHi) {
		_, least := saturationInAir(airMinT, p)
		_, most := saturationInAir(airMaxT, p)
		if err := units.CheckRange(fn, "vapour pressure", vapour, least, most, "Pa"); err != nil {
			return 0, 0, err
		}
	}
	if overIce(vapour, p) {
		return units.Temperature(frostInAir(vapour, p)), Ice, nil
	}
	return units.Temperature(dewInAir(vapour, p)), Liquid, nil
}

// leastOverLiquid is the vapour pressure, Pa, from which on air of total pressure p
// saturates over liquid.
func leastOverLiquid(p float64) float64 {
	return float64(TriplePressure) * max(enhancement(tripleT, float64(TriplePressure), p), 1)
}

// overIce is true when air with this vapour pressure saturates over ice. The factor at
// the triple point, 1 to 1.075 up to 2 MPa, is computed only where it decides.
func overIce(vapour, p float64) bool {
	if vapour < float64(TriplePressure) || vapour > 660 {
		return vapour < float64(TriplePressure)
	}
	return vapour < leastOverLiquid(p)
}

// dewInAir and frostInAir solve f(T, p) ps(T) = vapour. f changes by 1e-5 per
// kelvin: f at a first guess of T is nearly right, and what it still misses is
// made good along the slope of ln ps, to better than 1e-6 K.
func dewInAir(vapour, p float64) float64 {
	f := enhancement(liquidTemperature(vapour), vapour, p)
	pure := vapour / f
	t := liquidTemperature(pure)
	missed := enhancement(t, pure, p)/f - 1
	return t - missed*pure/liquidSlopeAt(t, pure)
}

func frostInAir(vapour, p float64) float64 {
	l := math.Log(vapour / float64(TriplePressure))
	f := enhancement(iceMaxT/iceGuess(l), vapour, p)
	l -= math.Log(f)
	t := iceNear(l)
	missed := enhancement(t, vapour/f, p)/f - 1
	return iceTowards(t, l-missed)
}

// saturationInAir is the saturation pressure of pure water over the stable
// phase and the partial pressure at which air of total pressure p saturates.
func saturationInAir(t, p float64) (pure, inAir float64) {
	pure = stablePressure(t)
	return pure, pure * enhancement(t, pure, p)
}

// EnhancementFactor returns the factor, dimensionless, by which air at total
// pressure p, from the saturation pressure of water to 2 MPa, raises the
// saturation pressure at t, -100 to 100 °C, over the stable phase: B. Hardy, 3rd
// Int. Symp. on Humidity and Moisture, 1998, in L. Greenspan's form, with the one
// set of constants for all ice from -100 to 0 °C. Outside the ranges the error is a
// RangeError.
func EnhancementFactor(t units.Temperature, p units.Pressure) (float64, error) {
	a, err := airAt("moisture.EnhancementFactor", t, p)
	return a.Enhancement, err
}

// enhancement is Hardy's eqs 8 to 10 with e the pure saturation pressure.
func enhancement(t, e, p float64) float64 {
	var alpha, lnBeta float64
	if t < tripleT {
		alpha = -6.0190570e-2 + t*(7.3984060e-4+t*(-3.0897838e-6+t*4.3669918e-9))
		lnBeta = -9.4868712e1 + t*(7.2392075e-1+t*(-2.1963437e-3+t*2.4668279e-6))
	} else {
		alpha = -1.6302041e-1 + t*(1.8071570e-3+t*(-6.7703064e-6+t*8.5813609e-9))
		lnBeta = -5.9890467e1 + t*(3.4378043e-1+t*(-7.7326396e-4+t*6.3405286e-7))
	}
	ln := alpha*(1-e/p) + math.Exp(lnBeta)*(p/e-1)
	if math.Abs(ln) < 0.006 { // as usual near atmospheric pressure
		return 1 + shortExpm1(ln)
	}
	return math.Exp(ln)
}
