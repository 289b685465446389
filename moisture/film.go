package moisture

import "math"

const (
	filmSherwood  = 3.66 // laminar, long tube, constant wall concentration
	laminarLimit  = 2300.0
	turbulentFrom = 1e4

	// leastViscosity, Pa·s, lies below dryGas.viscosity at coldestWater, 8.2e-6.
	leastViscosity = 8e-6
)

// sweptFilm is the film thickness in m over a puddle in a tube that gas flows
// through, bore/Sh, from the thickness at rest. In laminar flow it follows E. U.
// Schlünder, VDI-Wärmeatlas (1972), Sh^3 = 3.66^3 + 1.61^3 Re Sc d/L, with
// bore/rest in the place of 3.66 so that it meets the gas at rest; above Re = 10^4
// V. Gnielinski, Forsch. Ing.-Wes. 41 (1975) 8, with the friction factor of
// Konakov; linear in Re between, as in V. Gnielinski, Int. J. Heat Mass Transfer
// 63 (2013) 134. Both in the form for mass transfer, Sc for Pr. (Equations from
// memory.)
func sweptFilm(rest, bore, length, flow float64, g dryGas) float64 {
	// Re times the viscosity, and Re Sc, in which the viscosity cancels.
	reMu := 4 * flow * nitrogenMolarMass / (math.Pi * bore)
	reSc := 4 * flow * molarGas * g.temperature / (math.Pi * bore * g.diffusion())
	shRest := bore / rest
	laminar := func(reSc float64) float64 {
		return math.Cbrt(shRest*shRest*shRest + 1.61*1.61*1.61*reSc*bore/length)
	}
	if reMu <= laminarLimit*leastViscosity { // laminar whatever the temperature
		return bore / laminar(reSc)
	}
	re := reMu / g.viscosity()
	if re <= laminarLimit {
		return bore / laminar(reSc)
	}
	sc := reSc / re
	still := laminar(laminarLimit * sc)
	share := min((re-laminarLimit)/(turbulentFrom-laminarLimit), 1)
	turbulent := gnielinski(max(re, turbulentFrom), sc, bore/length)
	return bore / ((1-share)*still + share*max(turbulent, still))
}

// gnielinski is the Sherwood number of turbulent flow.
func gnielinski(re, sc, boreByLength float64) float64 {
	f := 1.8*math.Log10(re) - 1.5
	f = 1 / (f * f)
	sc13, entry13 := math.Cbrt(sc), math.Cbrt(boreByLength)
	return f / 8 * re * sc / (1 + 12.7*math.Sqrt(f/8)*(sc13*sc13-1)) * (1 + entry13*entry13)
}

// gapConductance is the heat in W/(m² K) that gas of pressure p carries across
// a gap between a wall at the gas temperature and water dT away: conduction with
// a temperature jump at both sides, k/gap/(1 + jump lambda/gap), times the
// Nusselt number of free convection.
func (g dryGas) gapConductance(gap, jump, p, dT float64) float64 {
	if p <= 0 {
		return 0
	}
	mu := g.viscosity()
	still := g.conductivity(mu) * p / (gap*p + jump*g.meanFreePath(mu))
	return still * g.freeConvection(mu, gap, p, dT)
}

// gapSlopes are the derivatives of gapConductance by p and by dT.
func (g dryGas) gapSlopes(gap, jump, p, dT float64) (byPressure, byDifference float64) {
	mu := g.viscosity()
	k, jumps, nusselt := g.conductivity(mu), jump*g.meanFreePath(mu), g.freeConvection(mu, gap, p, dT)
	whole := gap*p + jumps
	byPressure = nusselt * k * jumps / (whole * whole)
	if nusselt > 1 { // in proportion to (p² dT)^0.29
		all := k * p / whole * nusselt
		byPressure += 0.58 * all / p
		byDifference = 0.29 * all / dT
	}
	return byPressure, byDifference
}

// freeConvection is the Nusselt number of a gas space about as high as wide,
// heated from the side: Nu = 0.18 (Pr/(0.2 + Pr) Ra)^0.29, B. M. Berkovsky and V. K.
// Polevikov 1977 as given by I. Catton 1978 for heights of 1 to 2 widths
// (equation from memory), and 1 where that is less.
func (g dryGas) freeConvection(viscosity, gap, p, dT float64) float64 {
	const gravity = 9.80665
	rho := p * nitrogenMolarMass / (molarGas * g.temperature)
	nu := viscosity / rho
	ra := gravity * math.Abs(dT) / g.temperature * gap * gap * gap / (nu * nu) * nitrogenPrandtl
	x := ra * nitrogenPrandtl / (0.2 + nitrogenPrandtl)
	if x < 369 { // just below 369.85, where the power reaches 1
		return 1
	}
	return max(0.18*math.Pow(x, 0.29), 1)
}
