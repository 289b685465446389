package moisture

import "math"

// The dry gas over a puddle is taken to be nitrogen; air differs by a few per
// cent in each property, less than the film and gap are known.
const nitrogenMolarMass = 0.02801348 // kg/mol

// nitrogenViscosity is the dilute-gas viscosity of nitrogen in Pa·s: E. W.
// Lemmon and R. T. Jacobsen, Int. J. Thermophys. 25 (2004) 21, eqs 2 and 3.
func nitrogenViscosity(t float64) float64 {
	const sigma, epsilon = 0.3656, 98.94 // nm, K
	l := math.Log(t / epsilon)
	omega := math.Exp(0.431 + l*(-0.4623+l*(0.08406+l*(0.005341-l*0.00331))))
	return 1e-6 * 0.0266958 * math.Sqrt(1000*nitrogenMolarMass*t) / (sigma * sigma * omega)
}

// nitrogenConductivity is the dilute-gas conductivity of nitrogen in W/(m·K),
// same paper, eq 5, from the viscosity at t.
func nitrogenConductivity(t, viscosity float64) float64 {
	tau := 126.192 / t
	return 1e-3 * (1.511*viscosity*1e6 + 2.117/tau - 3.332*math.Pow(tau, -0.7))
}

// meanFreePath is the viscosity-based mean free path of nitrogen in m times the
// pressure in Pa: mu sqrt(pi R T/(2 M)).
func meanFreePath(t, viscosity float64) float64 {
	return viscosity * math.Sqrt(math.Pi*molarGas*t/(2*nitrogenMolarMass))
}

const molarGas = 8.31446261815324 // J/(mol K), as units.GasConstant
