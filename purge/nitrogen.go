package purge

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// NitrogenMolarMass is the molar mass of nitrogen, 0.0280134 kg/mol (CIAAW
// conventional atomic weight 14.0067 twice).
const NitrogenMolarMass units.MolarMass = 0.0280134

// NitrogenMass returns the mass of an amount of nitrogen, kg.
func NitrogenMass(n units.Amount) units.Mass {
	return n.Mass(NitrogenMolarMass)
}

// NitrogenAmount returns the amount of a mass of nitrogen, mol.
func NitrogenAmount(m units.Mass) units.Amount {
	return m.Amount(NitrogenMolarMass)
}

// SweptAmount returns the amount of nitrogen in a swept volume, m³, 0 or more, at
// pressure p, Pa absolute, and temperature t, 173.15 to 473.15 K: p V/(R T), mol.
func SweptAmount(p units.Pressure, swept units.Volume, t units.Temperature) (units.Amount, error) {
	return amountIn("purge.SweptAmount", p, swept, t)
}

// TimeForAmount returns how long a molar flow, mol/s, above 0, takes to pass n,
// mol, 0 or more.
func TimeForAmount(n units.Amount, flow units.MolarFlow) (time.Duration, error) {
	const fn = "purge.TimeForAmount"
	if err := units.CheckRange(fn, "n", float64(n), 0, math.MaxFloat64, "mol"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "flow", float64(flow), math.SmallestNonzeroFloat64, math.MaxFloat64, "mol/s"); err != nil {
		return 0, err
	}
	return duration(fn, "time needed", float64(n)/float64(flow))
}

// Cylinder is a gas cylinder as nitrogen is bought.
type Cylinder struct {
	// Water is the water volume of the cylinder, m³, above 0.
	Water units.Volume
	// Full and Least are the pressure when full and the pressure at which it
	// counts as empty, Pa absolute; 0 < Full, 0 <= Least < Full. Least is at
	// least the regulator's outlet pressure.
	Full, Least units.Pressure
	// Temperature of the cylinder, K, 173.15 to 473.15.
	Temperature units.Temperature
	// Compressibility is p V/(n R T) at Full, 0.5 to 2; there is no default and
	// 1 is an ideal gas. At 200 bar and 15 °C nitrogen is near 1.05 (from
	// memory), so that 1 overstates a full cylinder by about 5 %. What is left
	// at Least is taken as ideal.
	Compressibility float64
}

// Usable returns the nitrogen that the cylinder gives before it counts as
// empty, mol.
func (c Cylinder) Usable() (units.Amount, error) {
	const fn = "purge.Cylinder"
	if err := units.CheckRange(fn, "Full", float64(c.Full), math.SmallestNonzeroFloat64, 1e8, "Pa"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Least", float64(c.Least), 0, math.Nextafter(float64(c.Full), 0), "Pa"); err != nil {
		return 0, err
	}
	if err := checkVolume(fn, "Water", c.Water); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Compressibility", c.Compressibility, 0.5, 2, ""); err != nil {
		return 0, err
	}
	full, err := amountIn(fn, c.Full, c.Water, c.Temperature)
	if err != nil {
		return 0, err
	}
	usable := full/units.Amount(c.Compressibility) - full*units.Amount(c.Least/c.Full)
	if err := units.CheckRange(fn, "usable nitrogen", float64(usable), 0, math.MaxFloat64, "mol"); err != nil {
		return 0, err
	}
	return usable, nil
}

// Usage is an amount of nitrogen in the ways it is counted.
type Usage struct {
	Amount       units.Amount // mol
	Mass         units.Mass   // kg
	NormalLitres float64      // litres at 0 °C and 101325 Pa
	// StandardCubicFeet are cubic feet at ScfReference.
	StandardCubicFeet float64
	ScfReference      units.ReferenceState
	// CylinderShare is the share of a full cylinder's usable gas; above 1 means
	// that one cylinder is not enough. HasCylinder is false when no cylinder was
	// given, and then the share means nothing.
	CylinderShare float64
	HasCylinder   bool
}

// CountNitrogen states the amount n, mol, 0 or more, in every way it is
// counted. The standard cubic foot is counted at scf: 60, 68 and 70 °F are all
// in use (common practice), so none is assumed. The cylinder is optional (nil).
func CountNitrogen(n units.Amount, scf units.ReferenceState, cylinder *Cylinder) (Usage, error) {
	if err := units.CheckRange("purge.CountNitrogen", "n", float64(n), 0, math.MaxFloat64, "mol"); err != nil {
		return Usage{}, err
	}
	if err := scf.Check(); err != nil {
		return Usage{}, err
	}
	u := Usage{
		Amount: n, Mass: NitrogenMass(n),
		NormalLitres:      float64(units.Normal().Volume(n) / units.Litre),
		StandardCubicFeet: float64(scf.Volume(n) / units.CubicFoot), ScfReference: scf,
	}
	if cylinder == nil {
		return u, nil
	}
	usable, err := cylinder.Usable()
	if err != nil {
		return u, err
	}
	if err := units.CheckRange("purge.CountNitrogen", "usable nitrogen in the cylinder",
		float64(usable), math.SmallestNonzeroFloat64, math.MaxFloat64, "mol"); err != nil {
		return u, err
	}
	u.CylinderShare, u.HasCylinder = float64(n/usable), true
	return u, nil
}

// FloatMeter is a float-type (variable-area) flow meter whose scale shows the
// molar or standard flow of one gas at one state in the metering tube.
type FloatMeter struct {
	// Pressure and Temperature in the tube for which the scale is true, Pa
	// absolute above 0, and K, 173.15 to 473.15.
	Pressure    units.Pressure
	Temperature units.Temperature
	// Gas is the molar mass for which the scale is true, kg/mol, above 0.
	Gas units.MolarMass
}

// Factor returns true flow over reading, both as amounts per time, for a gas of
// molar mass gas at p and t in the tube:
//
//	√(p/p_cal · T_cal/T · M_cal/M)
//
// The float balances drag against weight, so the mass flow at one float height
// goes with the square root of the density (Kutz, Mechanical Engineers'
// Handbook, vol. 2, eq. (27)); an amount is that mass over M. It assumes a
// drag coefficient that does not change with Reynolds number and a float much
// denser than the gas, and it takes p where the float is: with the valve
// downstream of the meter that is the supply pressure, with the valve upstream
// the back pressure of the circuit.
func (m FloatMeter) Factor(gas units.MolarMass, p units.Pressure, t units.Temperature) (float64, error) {
	const fn = "purge.FloatMeter.Factor"
	checks := []struct {
		arg    string
		v      float64
		lo, hi float64
		unit   string
	}{
		{"Pressure", float64(m.Pressure), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"},
		{"Temperature", float64(m.Temperature), lowestTemperature, highestTemperature, "K"},
		{"Gas", float64(m.Gas), 1e-3, 1, "kg/mol"},
		{"gas", float64(gas), 1e-3, 1, "kg/mol"},
		{"p", float64(p), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"},
		{"t", float64(t), lowestTemperature, highestTemperature, "K"},
	}
	for _, c := range checks {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, err
		}
	}
	ratio := float64(p/m.Pressure) * float64(m.Temperature/t) * float64(m.Gas/gas)
	return math.Sqrt(ratio), nil // Kutz vol. 2 eq. (27), over M
}

// Nitrogen returns the true molar flow of nitrogen when the scale shows
// reading, mol/s, 0 or more, with p and t in the tube.
func (m FloatMeter) Nitrogen(reading units.MolarFlow, p units.Pressure, t units.Temperature) (units.MolarFlow, error) {
	if err := units.CheckRange("purge.FloatMeter.Nitrogen", "reading", float64(reading), 0, math.MaxFloat64, "mol/s"); err != nil {
		return 0, err
	}
	factor, err := m.Factor(NitrogenMolarMass, p, t)
	return reading * units.MolarFlow(factor), err
}
