package moisture

import (
	"math"
	"math/cmplx"

	"example.com/drydown/units"
)

// IceState holds the properties of ice Ih at one temperature and pressure. The
// enthalpy and entropy share the zero of SR1-86 and IAPWS-95, the liquid at the
// triple point.
type IceState struct {
	Density      units.Density        // kg/m³
	Enthalpy     units.SpecificEnergy // J/kg
	Entropy      float64              // J/(kg K)
	HeatCapacity float64              // at constant pressure, J/(kg K)
	Gibbs        units.SpecificEnergy // J/kg
}

// IceProperties returns the properties of ice Ih at t, 1 to 273.16 K, and p, 0
// to 210 MPa, by R10-06(2009). It does not check that ice is the stable phase
// there: above the melting curve the values are those of metastable ice.
// Outside the range the error is a RangeError.
func IceProperties(t units.Temperature, p units.Pressure) (IceState, error) {
	const fn = "moisture.IceProperties"
	if err := units.CheckRange(fn, "t", float64(t), 1, iceMaxT, "K"); err != nil {
		return IceState{}, err
	}
	if err := units.CheckRange(fn, "p", float64(p), 0, 210e6, "Pa"); err != nil {
		return IceState{}, err
	}
	g := iceGibbs(float64(t), float64(p))
	return IceState{
		Density:      units.Density(1 / g.byP),
		Enthalpy:     units.SpecificEnergy(g.g - float64(t)*g.byT),
		Entropy:      -g.byT,
		HeatCapacity: -float64(t) * g.byTT,
		Gibbs:        units.SpecificEnergy(g.g),
	}, nil
}

// IceDensity returns the density in kg/m³ of ice Ih under its own vapour at t,
// 50 to 273.16 K; R10-06. Outside the range the error is a RangeError.
func IceDensity(t units.Temperature) (units.Density, error) {
	rho, err := inRange("moisture.IceDensity", t, iceMinT, iceMaxT, iceDensity)
	return units.Density(rho), err
}

func iceDensity(t float64) float64 { return 1 / iceGibbs(t, icePressure(t)).byP }

// IceDensityR1006 is the density of ice Ih under its own vapour, kg/m³, from
// the temperature in K; R10-06.
func IceDensityR1006() Correlation {
	return Correlation{
		name: "moisture.IceDensityR1006", arg: "t", argUnit: "K", unit: "kg/m³",
		lo: iceMinT, hi: iceMaxT, eval: iceDensity,
		source:      "IAPWS R10-06(2009), eq 1 and Table 2",
		uncertainty: "0.02 % (from memory)",
	}
}

// gibbs is the Gibbs energy of ice and the derivatives used here, SI.
type gibbs struct{ g, byT, byP, byTT float64 }

// iceGibbs is R10-06 eq 1 with eqs 2 and 3, constants of Table 2, and the
// derivatives of Table 4.
func iceGibbs(t, p float64) gibbs {
	const g00, g01, g02, g03, g04 = -0.632020233335886e6, 0.655022213658955,
		-0.189369929326131e-7, 0.339746123271053e-14, -0.556464869058991e-21
	const s0 = -0.332733756492168e4
	const t1 = 0.368017112855051e-1 + 0.510878114959572e-1i
	const t2 = 0.337315741065416 + 0.335449415919309i
	const r1 = 0.447050716285388e2 + 0.656876847463481e2i
	const r20 = -0.725974574329220e2 - 0.781008427112870e2i
	const r21 = -0.557107698030123e-4 + 0.464578634580806e-4i
	const r22 = 0.234801409215913e-10 - 0.285651142904972e-10i
	const tt, pt = iceMaxT, float64(TriplePressure)

	tau := t / tt
	d := (p - 101325) / pt
	r2 := r20 + complex(d, 0)*(r21+complex(d, 0)*r22) // eq 3
	r2p := r21 + complex(2*d, 0)*r22                  // times 1/pt
	a, aT, aTT := iceTerm(t1, tau)
	b, bT, bTT := iceTerm(t2, tau)
	return gibbs{
		g: g00 + d*(g01+d*(g02+d*(g03+d*g04))) - s0*t + // eqs 1, 2
			tt*real(r1*a+r2*b),
		byT:  -s0 + real(r1*aT+r2*bT),
		byP:  (g01 + d*(2*g02+d*(3*g03+d*4*g04)) + tt*real(r2p*b)) / pt,
		byTT: real(r1*aTT+r2*bTT) / tt,
	}
}

// iceTerm is the bracket of R10-06 eq 1 for one t_k and its first two
// derivatives with respect to tau.
func iceTerm(tk complex128, tau float64) (f, byTau, byTau2 complex128) {
	x := complex(tau, 0)
	lm, lp := cmplx.Log(tk-x), cmplx.Log(tk+x)
	f = (tk-x)*lm + (tk+x)*lp - 2*tk*cmplx.Log(tk) - x*x/tk
	return f, lp - lm - 2*x/tk, 1/(tk-x) + 1/(tk+x) - 2/tk
}

// iceHeat is the enthalpy of ice under its own vapour, J/kg.
func iceHeat(t float64) float64 {
	g := iceGibbs(t, icePressure(math.Max(t, iceMinT)))
	return g.g - t*g.byT
}
