package moisture

import (
	"math"

	"example.com/drydown/units"
)

// dryGas holds the properties at one temperature of the gas over a store. It is
// taken to be nitrogen, in which water vapour diffuses as in air; air differs
// by a few per cent in each property, less than films and gaps are known.
type dryGas struct {
	temperature  float64 // K
	viscosity    float64 // Pa·s
	conductivity float64 // W/(m·K)
	diffusion    float64 // D p of water vapour, m² Pa/s
}

const (
	nitrogenMolarMass = 0.02801348 // kg/mol
	nitrogenPrandtl   = 0.71       // at room temperature, common practice
)

// nitrogenAt evaluates the dry gas with one logarithm for all properties.
func nitrogenAt(t float64) dryGas {
	l := math.Log(t)
	mu := nitrogenViscosity(t, l)
	return dryGas{
		temperature:  t,
		viscosity:    mu,
		conductivity: nitrogenConductivity(t, l, mu),
		diffusion:    float64(units.Atmosphere) * 1.87e-10 * math.Exp(2.072*l), // as diffusivityTimesPressure below 450 K
	}
}

// nitrogenViscosity is the dilute-gas viscosity of nitrogen in Pa·s from T and
// ln T: E. W. Lemmon and R. T. Jacobsen, Int. J. Thermophys. 25 (2004) 21, eqs 2
// and 3.
func nitrogenViscosity(t, lnT float64) float64 {
	const sigma, lnEpsilon = 0.3656, 4.594513605799563 // nm; ln 98.94 K
	l := lnT - lnEpsilon
	omega := math.Exp(0.431 + l*(-0.4623+l*(0.08406+l*(0.005341-l*0.00331))))
	return 1e-6 * 0.0266958 * math.Sqrt(1000*nitrogenMolarMass*t) / (sigma * sigma * omega)
}

// nitrogenConductivity is the dilute-gas conductivity of nitrogen in W/(m·K)
// from T, ln T and the viscosity; same paper, eq 5.
func nitrogenConductivity(t, lnT, viscosity float64) float64 {
	const lnCritical = 4.837804556655635 // ln 126.192 K
	inverse := t / 126.192
	return 1e-3 * (1.511*viscosity*1e6 + 2.117*inverse - 3.332*math.Exp(0.7*(lnT-lnCritical)))
}

// meanFreePath is the viscosity-based mean free path of nitrogen times the
// pressure, m Pa: mu sqrt(pi R T/(2 M)).
func (g dryGas) meanFreePath() float64 {
	return g.viscosity * math.Sqrt(math.Pi*units.GasConstant*g.temperature/(2*nitrogenMolarMass))
}
