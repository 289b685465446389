package moisture

import (
	"math"

	"example.com/drydown/units"
)

// dryGas is the gas over a store at one temperature. It is taken to be nitrogen,
// in which water vapour diffuses as in air; air differs by a few per cent in
// each property, less than films and gaps are known.
type dryGas struct {
	temperature float64 // K
	ln          float64 // ln of the temperature
}

const (
	nitrogenMolarMass = 0.02801348 // kg/mol
	nitrogenPrandtl   = 0.71       // at room temperature, common practice
)

func nitrogenAt(t float64) dryGas { return dryGas{t, math.Log(t)} }

// diffusion is D p of water vapour in m² Pa/s, as diffusivityTimesPressure below
// 450 K.
func (g dryGas) diffusion() float64 {
	return float64(units.Atmosphere) * 1.87e-10 * math.Exp(2.072*g.ln)
}

// viscosity is the dilute-gas viscosity in Pa·s: E. W. Lemmon and R. T. Jacobsen,
// Int. J. Thermophys. 25 (2004) 21, eqs 2 and 3.
func (g dryGas) viscosity() float64 {
	const sigma, lnEpsilon = 0.3656, 4.594513605799563 // nm; ln 98.94 K
	l := g.ln - lnEpsilon
	omega := math.Exp(0.431 + l*(-0.4623+l*(0.08406+l*(0.005341-l*0.00331))))
	return 1e-6 * 0.0266958 * math.Sqrt(1000*nitrogenMolarMass*g.temperature) / (sigma * sigma * omega)
}

// conductivity is the dilute-gas conductivity in W/(m·K) from the viscosity;
// same paper, eq 5.
func (g dryGas) conductivity(viscosity float64) float64 {
	const lnCritical = 4.837804556655635 // ln 126.192 K
	inverse := g.temperature / 126.192
	return 1e-3 * (1.511*viscosity*1e6 + 2.117*inverse - 3.332*math.Exp(0.7*(g.ln-lnCritical)))
}

// meanFreePath is the viscosity-based mean free path times the pressure, m Pa:
// mu sqrt(pi R T/(2 M)).
func (g dryGas) meanFreePath(viscosity float64) float64 {
	return viscosity * math.Sqrt(math.Pi*molarGas*g.temperature/(2*nitrogenMolarMass))
}
