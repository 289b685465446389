package moisture

import (
	"math"

	"example.com/drydown/units"
)

// dryGas is the gas over a store at one temperature. It is taken to be nitrogen,
// in which water vapour diffuses as in air; air differs by a few per cent in
// each property, less than films and gaps are known.
type dryGas struct{ temperature float64 } // K

const (
	nitrogenMolarMass = 0.02801348 // kg/mol
	nitrogenPrandtl   = 0.71       // at room temperature, common practice
)

// diffusion is D p of water vapour in m² Pa/s, as diffusivityTimesPressure below
// 450 K within 1e-5 from 200 to 400 K: T^0.072 by its binomial series about 293.15 K,
// which is cheaper than a power.
func (g dryGas) diffusion() float64 {
	const centre, power = 293.15, 1.5053256875633823 // centre^0.072
	x := (g.temperature - centre) / centre
	series := 1 + x*(0.072+x*(-0.033408+x*(0.021470208+x*(-0.0157161923+x*(0.01234663+x*(-0.01014069+x*0.0085877))))))
	return float64(units.Atmosphere) * 1.87e-10 * g.temperature * g.temperature * power * series
}

// viscosity is the dilute-gas viscosity in Pa·s: E. W. Lemmon and R. T. Jacobsen,
// Int. J. Thermophys. 25 (2004) 21, eqs 2 and 3.
func (g dryGas) viscosity() float64 {
	const sigma, lnEpsilon = 0.3656, 4.594513605799563 // nm; ln 98.94 K
	l := math.Log(g.temperature) - lnEpsilon
	omega := math.Exp(0.431 + l*(-0.4623+l*(0.08406+l*(0.005341-l*0.00331))))
	return 1e-6 * 0.0266958 * math.Sqrt(1000*nitrogenMolarMass*g.temperature) / (sigma * sigma * omega)
}

// conductivity is the dilute-gas conductivity in W/(m·K) from the viscosity; same
// paper, eq 5, its constants from memory.
func (g dryGas) conductivity(viscosity float64) float64 {
	const lnCritical = 4.837804556655635 // ln 126.192 K
	inverse := g.temperature / 126.192
	return 1e-3 * (1.511*viscosity*1e6 + 2.117*inverse - 3.332*math.Exp(0.7*(math.Log(g.temperature)-lnCritical)))
}

// meanFreePath is the viscosity-based mean free path times the pressure, m Pa:
// mu sqrt(pi R T/(2 M)).
func (g dryGas) meanFreePath(viscosity float64) float64 {
	return viscosity * math.Sqrt(math.Pi*molarGas*g.temperature/(2*nitrogenMolarMass))
}
