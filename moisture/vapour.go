package moisture

import (
	"math"

	"example.com/drydown/units"
)

// GasConstantWater is the specific gas constant of water used by R6-95,
// 461.51805 J/(kg K); it is the molar constant of its time over MolarMass, 11
// ppm below the quotient of today's.
const GasConstantWater = 461.51805

// Bounds of the vapour equations in K and Pa. Below 130 K the vapour of R6-95
// needs the extension of IAPWS G9-12, which is left out; the upper bounds keep
// the series exact enough.
const (
	vapourMinT = 130.0
	vapourMaxT = 500.0
	vapourMaxP = 102000.0
)

// VapourState is water vapour at one temperature and pressure.
type VapourState struct {
	Density         units.Density        // kg/m³
	Compressibility float64              // Z = p/(rho R T); 1 for an ideal gas
	Enthalpy        units.SpecificEnergy // J/kg, zero at the liquid's triple point
}

// VapourProperties returns water vapour at t, 130 to 500 K, and p, from above
// 0 to 102 kPa and at most saturation over the stable phase and the 100 ppm by which
// formulations of it differ: R6-95(2018), eq 6 and Table 2, developed in powers of density up to the fourth virial coefficient. Against the full
// R6-95 the density is within 3e-9 up to 20 °C, 1e-6 to 60 °C and 25 ppm to
// 100 °C, at saturation, where the series is worst; the enthalpy within 0.04
// kJ/kg. The ideal-gas law taken instead gives too low a
// density, by 1 - Z: at most 0.14 % at saturation up to 20 °C, 0.54 % to 60 °C and
// 1.6 % to 100 °C; at 1000 Pa and 25 °C 0.05 %. Outside the range the error is a RangeError.
func VapourProperties(t units.Temperature, p units.Pressure) (VapourState, error) {
	const fn = "moisture.VapourProperties"
	if err := units.CheckRange(fn, "t", float64(t), vapourMinT, vapourMaxT, "K"); err != nil {
		return VapourState{}, err
	}
	limit := min(stablePressure(float64(t))*(1+1e-4), vapourMaxP)
	if err := units.CheckRange(fn, "p", float64(p), math.SmallestNonzeroFloat64, limit, "Pa"); err != nil {
		return VapourState{}, err
	}
	h, rho, z := vapourSeries(float64(t), float64(p))
	return VapourState{units.Density(rho), z, units.SpecificEnergy(h)}, nil
}

// SaturatedVapourDensity returns the density in kg/m³ of vapour at saturation
// over the phase stable at t, 130 to 373.15 K, by the same series as
// VapourProperties. Outside the range the error is a RangeError.
func SaturatedVapourDensity(t units.Temperature) (units.Density, error) {
	rho, err := inRange("moisture.SaturatedVapourDensity", t, vapourMinT, latentMaxT, saturatedVapourDensity)
	return units.Density(rho), err
}

// SaturatedVapourDensityR695 is the density of vapour at saturation over the stable
// phase, kg/m³, from the temperature in K; see SaturatedVapourDensity.
func SaturatedVapourDensityR695() Correlation {
	return Correlation{
		name: "moisture.SaturatedVapourDensityR695", arg: "t", argUnit: "K", unit: "kg/m³",
		lo: vapourMinT, hi: latentMaxT, eval: saturatedVapourDensity,
		source:      "IAPWS R6-95(2018), eq 6 and Table 2 to the fourth virial coefficient, at the pressure of R7-97 or R14-08",
		uncertainty: "within 100 ppm of R6-95: 71 ppm of the pressure, 25 ppm of the series at 100 °C",
	}
}

func saturatedVapourDensity(t float64) float64 {
	_, rho, _ := vapourSeries(t, stablePressure(t))
	return rho
}

// vapourSeries returns enthalpy in J/kg, density in kg/m³ and compressibility:
// R6-95 Table 3 with phi^r = delta b + delta^2 c + delta^3 d.
func vapourSeries(t, p float64) (h, rho, z float64) {
	tau := liquidMaxT / t
	b, c, d, bt, ct, dt := virialTerms(tau)
	ideal := p / (GasConstantWater * t * criticalDensity)
	delta := ideal
	for range 60 {
		z = 1 + delta*(b+delta*(2*c+delta*3*d))
		next := ideal / z
		if math.Abs(next-delta) <= 1e-16*delta {
			break
		}
		delta = next
	}
	residual := delta * (bt + delta*(ct+delta*dt)) // tau phi^r_tau, tau already in it
	h = GasConstantWater * t * (residual + tau*idealByTau(tau) + z)
	return h, delta * criticalDensity, z
}

// idealByTau is phi^0_tau of R6-95 Table 4, constants of Table 1.
func idealByTau(tau float64) float64 {
	e := func(n, g float64) float64 { return n * g * (1/(1-math.Exp(-g*tau)) - 1) }
	return 6.6832105275932 + 3.00632/tau + e(0.012436, 1.28728967) + e(0.97315, 3.53734222) +
		e(1.27950, 7.74073708) + e(0.96956, 9.24437796) + e(0.24873, 27.5075105)
}

// virialTerms returns the coefficients b, c, d of phi^r in delta, delta^2 and
// delta^3 and tau times their derivatives: the terms of R6-95 eq 6 (Table 2) with
// d = 1, 2, 3 and the first powers of their exp(-delta^c).
func virialTerms(tau float64) (b, c, d, bt, ct, dt float64) {
	const n8, n9, n10 = -0.66856572307965, 0.20433810950965, -0.66212605039687e-4
	const n11, n12, n23 = -0.19232721156002, -0.25709043003438, -0.10793600908932
	t2 := tau * tau
	t4, q := t2*t2, math.Sqrt(tau)
	t5, t6, t7 := t4*tau, t4*t2, t4*t2*tau
	t10, t12 := t5*t5, t6*t6
	e := math.Sqrt(q)        // tau^0.25
	f := q * math.Sqrt(e)    // tau^0.625
	p375, p875 := tau/f, f*e // tau^0.375, tau^0.875
	add := func(v, vt *float64, n, exponent, power float64) {
		*v += n * power
		*vt += n * exponent * power
	}
	add(&b, &bt, 0.12533547935523e-1, -0.5, 1/q)
	add(&b, &bt, 0.78957634722828e1, 0.875, p875)
	add(&b, &bt, -0.87803203303561e1, 1, tau)
	add(&b, &bt, n8, 4, t4)
	add(&b, &bt, n9, 6, t6)
	add(&b, &bt, n10, 12, t12)
	add(&b, &bt, n23, 7, t7)

	add(&c, &ct, 0.31802509345418, 0.5, q)
	add(&c, &ct, -0.26145533859358, 0.75, q*e)
	add(&c, &ct, n11, 1, tau)
	add(&c, &ct, n12, 5, t5)
	add(&c, &ct, 0.17611491008752e-1, 1, tau)
	add(&c, &ct, 0.22132295167546, 9, t4*t5)
	add(&c, &ct, -0.40247669763528, 10, t10)
	add(&c, &ct, -n8, 4, t4)
	add(&c, &ct, -n9, 6, t6)
	add(&c, &ct, -n10, 12, t12)

	add(&d, &dt, -0.78199751687981e-2, 0.375, p375)
	add(&d, &dt, 0.16074868486251, 4, t4)
	add(&d, &dt, 0.58083399985759, 10, t10)
	add(&d, &dt, 0.43613615723811e-1, 16, t10*t6)
	add(&d, &dt, -0.55711118565645e-9, 50, t10*t10*t10*t10*t10)
	add(&d, &dt, -n11, 1, tau)
	add(&d, &dt, -n12, 5, t5)
	add(&d, &dt, n8/2, 4, t4)
	add(&d, &dt, n9/2, 6, t6)
	add(&d, &dt, n10/2, 12, t12)
	add(&d, &dt, -n23, 7, t7)
	return b, c, d, bt, ct, dt
}
