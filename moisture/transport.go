package moisture

import (
	"math"

	"example.com/drydown/units"
)

// Bounds of the transport equations in K.
const (
	transportMinT    = 250.0 // dilute vapour: below 273.16 K continued, see VapourViscosity
	viscosityMaxT    = 1173.15
	conductivityMaxT = 1173.15
	diffusivityMinT  = 233.15
	diffusivityMaxT  = 1070.0
)

// VapourViscosity returns the viscosity in Pa·s of water vapour in the limit of
// low density at t, 250 to 1173.15 K; IAPWS R12-08 eq 11. The release covers
// 273.16 K and up; down to 250 K the same smooth equation is continued, for
// vapour in cold parts. Outside the range the error is a RangeError.
func VapourViscosity(t units.Temperature) (units.Viscosity, error) {
	v, err := inRange("moisture.VapourViscosity", t, transportMinT, viscosityMaxT, vapourViscosity)
	return units.Viscosity(v), err
}

// vapourViscosity is R12-08 eq 11 in Pa·s, coefficients of Table 1.
func vapourViscosity(t float64) float64 {
	tb := t / liquidMaxT
	i := 1 / tb
	return 1e-4 * math.Sqrt(tb) / (1.67752 + i*(2.20462+i*(0.6366564-i*0.241605)))
}

// VapourViscosityR1208 is R12-08 eq 11: viscosity of dilute water vapour, Pa·s,
// from the temperature in K; see VapourViscosity.
func VapourViscosityR1208() Correlation {
	return Correlation{
		name: "moisture.VapourViscosityR1208", arg: "t", argUnit: "K", unit: "Pa·s",
		lo: transportMinT, hi: viscosityMaxT, eval: vapourViscosity,
		source:      "IAPWS R12-08(2008), eq 11 and Table 1",
		uncertainty: "2 % (from memory)",
	}
}

// VapourConductivity returns the thermal conductivity in W/(m·K) of water
// vapour in the limit of low density at t, 250 to 1173.15 K; IAPWS R15-11 eq
// 16. The release covers 273.16 K and up; down to 250 K the same smooth
// equation is continued. Outside the range the error is a RangeError.
func VapourConductivity(t units.Temperature) (units.Conductivity, error) {
	k, err := inRange("moisture.VapourConductivity", t, transportMinT, conductivityMaxT, vapourConductivity)
	return units.Conductivity(k), err
}

// vapourConductivity is R15-11 eq 16 in W/(m·K), coefficients of Table 1.
func vapourConductivity(t float64) float64 {
	tb := t / liquidMaxT
	i := 1 / tb
	return 1e-3 * math.Sqrt(tb) / (2.443221e-3 + i*(1.323095e-2+i*(6.770357e-3+i*(-3.454586e-3+i*4.096266e-4))))
}

// VapourConductivityR1511 is R15-11 eq 16: thermal conductivity of dilute water
// vapour, W/(m·K), from the temperature in K; see VapourConductivity.
func VapourConductivityR1511() Correlation {
	return Correlation{
		name: "moisture.VapourConductivityR1511", arg: "t", argUnit: "K", unit: "W/(m·K)",
		lo: transportMinT, hi: conductivityMaxT, eval: vapourConductivity,
		source:      "IAPWS R15-11(2011), eq 16 and Table 1",
		uncertainty: "2 % (from memory)",
	}
}

// Diffusivity returns the diffusion coefficient in m²/s of water vapour in air
// or nitrogen at t, 233.15 to 1070 K, and total pressure p, from 1e-9 Pa: T. R.
// Marrero and E. A. Mason, J. Phys. Chem. Ref. Data 1 (1972) 3, inversely as
// the pressure. They give 282 to 1070 K; below, the lower branch is continued,
// where W. J. Massman 1998 lies 4 % (0 °C) to 9 % (-40 °C) above it. Published
// values agree to about 5 %. Outside the range the error is a RangeError.
func Diffusivity(t units.Temperature, p units.Pressure) (units.Diffusivity, error) {
	const fn = "moisture.Diffusivity"
	if err := units.CheckRange(fn, "t", float64(t), diffusivityMinT, diffusivityMaxT, "K"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "p", float64(p), 1e-9, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	return units.Diffusivity(diffusivityTimesPressure(float64(t)) / float64(p)), nil
}

// diffusivityTimesPressure is D p in m² Pa/s.
func diffusivityTimesPressure(t float64) float64 {
	if t > 450 {
		return float64(units.Atmosphere) * 2.75e-9 * math.Pow(t, 1.632)
	}
	return float64(units.Atmosphere) * 1.87e-10 * math.Pow(t, 2.072)
}

// DiffusivityMarreroMason is the diffusion coefficient of water vapour in air or
// nitrogen times the total pressure, m² Pa/s, from the temperature in K; divide
// by the pressure in Pa. See Diffusivity.
func DiffusivityMarreroMason() Correlation {
	return Correlation{
		name: "moisture.DiffusivityMarreroMason", arg: "t", argUnit: "K", unit: "m² Pa/s",
		lo: diffusivityMinT, hi: diffusivityMaxT, eval: diffusivityTimesPressure,
		source:      "T. R. Marrero, E. A. Mason, J. Phys. Chem. Ref. Data 1 (1972) 3; continued below 282 K",
		uncertainty: "5 %; 10 % below 282 K",
	}
}
