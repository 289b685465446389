package moisture

import (
	"errors"

	"example.com/drydown/units"
)

// TriplePoint is the temperature at which ice, liquid and vapour meet,
// 273.16 K (ITS-90).
const TriplePoint units.Temperature = 273.16

// TriplePressure is the pressure of the triple point used by R7-97, SR1-86 and
// R14-08, 611.657 Pa. IAPWS-95 itself gives 611.6548 Pa, 3.6 ppm less.
const TriplePressure units.Pressure = 611.657

// Phase is the condensed phase that a saturation value refers to.
type Phase int

// The condensed phases. The zero Phase is neither and appears only beside an
// error.
const (
	Liquid Phase = iota + 1 // liquid water
	Ice                     // ice Ih
)

// String returns "liquid", "ice" or "unknown".
func (p Phase) String() string {
	switch p {
	case Liquid:
		return "liquid"
	case Ice:
		return "ice"
	}
	return "unknown"
}

// SaturationPressure returns the vapour pressure in Pa over the phase that is
// stable at t, 50 to 647.096 K, and that phase: ice below 273.16 K (R14-08),
// liquid from there up (R7-97 eq 30). The two meet within 1 ppb. Outside the
// range the error is a RangeError.
func SaturationPressure(t units.Temperature) (units.Pressure, Phase, error) {
	if t < TriplePoint {
		p, err := inRange("moisture.SaturationPressure", t, iceMinT, liquidMaxT, icePressure)
		return units.Pressure(p), phaseUnless(err, Ice), err
	}
	p, err := inRange("moisture.SaturationPressure", t, iceMinT, liquidMaxT, liquidPressure)
	return units.Pressure(p), phaseUnless(err, Liquid), err
}

// SaturationTemperature returns the temperature in K at which water vapour of
// pressure p saturates over the stable phase, and that phase: the boiling or
// dew temperature over liquid above 611.657 Pa (R7-97 eq 31), the sublimation
// or frost temperature over ice up to there (R14-08). Accepted is the pressure
// range of the two forward functions, 1.9e-40 Pa to 22.064 MPa; outside it the
// error is a RangeError.
func SaturationTemperature(p units.Pressure) (units.Temperature, Phase, error) {
	if p > TriplePressure {
		t, err := SaturationTemperatureLiquid(p)
		if err != nil {
			return 0, 0, widen(err, "moisture.SaturationTemperature")
		}
		return max(t, TriplePoint), Liquid, nil // R7-97 meets the triple point to 1e-9 K
	}
	t, err := SaturationTemperatureIce(p)
	return t, phaseUnless(err, Ice), widen(err, "moisture.SaturationTemperature")
}

// widen restates a range error of one branch with the range of both.
func widen(err error, fn string) error {
	if err == nil {
		return nil
	}
	var r *units.RangeError
	if !errors.As(err, &r) {
		return err
	}
	return &units.RangeError{
		Func: fn, Arg: r.Arg, Unit: r.Unit, Value: r.Value,
		Min: icePressure(iceMinT), Max: liquidPressureMax(),
	}
}

func phaseUnless(err error, p Phase) Phase {
	if err != nil {
		return 0
	}
	return p
}

// inRange returns f(t) when lo <= t <= hi, and a RangeError for "t" otherwise.
func inRange(fn string, t units.Temperature, lo, hi float64, f func(float64) float64) (float64, error) {
	if err := units.CheckRange(fn, "t", float64(t), lo, hi, "K"); err != nil {
		return 0, err
	}
	return f(float64(t)), nil
}

// StableSaturationPressure is SaturationPressure for hot loops: R14-08 below
// 273.16 K, R7-97 eq 30 above.
func StableSaturationPressure() Correlation {
	return Correlation{
		name: "moisture.StableSaturationPressure", arg: "t", argUnit: "K", unit: "Pa",
		lo: iceMinT, hi: liquidMaxT, eval: stablePressure,
		source:      "IAPWS R14-08(2011) eq 6 below 273.16 K, IAPWS R7-97(2012) eq 30 above",
		uncertainty: "as of the two equations",
	}
}

func stablePressure(t float64) float64 {
	if t < float64(TriplePoint) {
		return icePressure(t)
	}
	return liquidPressure(t)
}
