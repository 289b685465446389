package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// gammaBound is the accepted range of a heat-capacity ratio.
func gammaBound(gamma float64) bound { return bound{"gamma", gamma, 1.001, 2, ""} }

// CriticalPressureRatio is (2/(γ+1))^(γ/(γ-1)), downstream over upstream, at
// which an isentropic nozzle chokes; gamma is 1.001 to 2.
func CriticalPressureRatio(gamma float64) (float64, error) {
	if err := checkBounds("vacuum.CriticalPressureRatio", gammaBound(gamma)); err != nil {
		return 0, err
	}
	return criticalRatio(gamma), nil
}

// CriticalTemperature is 2·T/(γ+1), the temperature where the gas reaches the
// speed of sound, from the stagnation temperature t, 1 to 5000 K; gamma is 1.001
// to 2.
func CriticalTemperature(gamma float64, t units.Temperature) (units.Temperature, error) {
	if err := checkBounds("vacuum.CriticalTemperature", gammaBound(gamma), temperatureBound(t)); err != nil {
		return 0, err
	}
	return t * units.Temperature(2/(gamma+1)), nil
}

// OutflowFunction is ψ = √(γ/(γ-1)·(r^(2/γ) - r^((γ+1)/γ))) for the pressure
// ratio r = down/up, 0 to 1; below the critical ratio the flow is choked and ψ
// keeps its greatest value. The mass flow of a nozzle is A·ψ·p·√(2M/(RT)). gamma
// is 1.001 to 2.
func OutflowFunction(gamma, r float64) (float64, error) {
	if err := checkBounds("vacuum.OutflowFunction", gammaBound(gamma), bound{"r", r, 0, 1, ""}); err != nil {
		return 0, err
	}
	r = math.Max(r, criticalRatio(gamma))
	return math.Sqrt(gamma / (gamma - 1) * (math.Pow(r, 2/gamma) - math.Pow(r, (gamma+1)/gamma))), nil
}

// NozzleFlow is the isentropic flow through a throat of the given area from up
// to down, mol/s, choked below the critical ratio: area is 0 to 1e3 m², up 0 to
// 20 MPa, down 0 to up, t 150 to 600 K.
func NozzleFlow(area units.Area, gas Gas, up, down units.Pressure, t units.Temperature) (units.MolarFlow, error) {
	const fn = "vacuum.NozzleFlow"
	if err := gas.checkAt(fn, t); err != nil {
		return 0, err
	}
	err := checkBounds(fn, bound{"area", float64(area), 0, 1e3, "m²"}, bound{"up", float64(up), 0, maxPressure, "Pa"},
		bound{"down", float64(down), 0, float64(up), "Pa"})
	if err != nil || up == 0 {
		return 0, err
	}
	psi, err := OutflowFunction(gas.HeatCapacityRatio, float64(down/up))
	perRoot := math.Sqrt(2 / (float64(gas.MolarMass) * units.GasConstant * float64(t)))
	return units.MolarFlow(float64(area) * psi * float64(up) * perRoot), err
}

// SpeedOfSound is √(γRT/M) of the ideal gas, m/s, at t, 150 to 600 K.
func SpeedOfSound(gas Gas, t units.Temperature) (float64, error) {
	if err := gas.checkAt("vacuum.SpeedOfSound", t); err != nil {
		return 0, err
	}
	return math.Sqrt(gas.HeatCapacityRatio * units.GasConstant * float64(t) / float64(gas.MolarMass)), nil
}

// machBound is the accepted range of a Mach number.
func machBound(mach float64) bound { return bound{"mach", mach, 1e-3, 50, ""} }

// FannoFriction is 4·f·L/D (f after Fanning) of the adiabatic tube that takes
// the flow from the given Mach number, 1e-3 to 50, to the speed of sound; gamma is
// 1.001 to 2.
func FannoFriction(gamma, mach float64) (float64, error) {
	if err := checkBounds("vacuum.FannoFriction", gammaBound(gamma), machBound(mach)); err != nil {
		return 0, err
	}
	m2 := mach * mach
	return (1-m2)/(gamma*m2) + (gamma+1)/(2*gamma)*math.Log((gamma+1)*m2/(2+(gamma-1)*m2)), nil
}

// FannoPressure is the static pressure over its value at the speed of sound in
// adiabatic flow with friction; arguments as in FannoFriction.
func FannoPressure(gamma, mach float64) (float64, error) {
	if err := checkBounds("vacuum.FannoPressure", gammaBound(gamma), machBound(mach)); err != nil {
		return 0, err
	}
	return math.Sqrt((gamma+1)/(2+(gamma-1)*mach*mach)) / mach, nil
}

// FannoTemperature is the same for the temperature.
func FannoTemperature(gamma, mach float64) (float64, error) {
	if err := checkBounds("vacuum.FannoTemperature", gammaBound(gamma), machBound(mach)); err != nil {
		return 0, err
	}
	return (gamma + 1) / (2 + (gamma-1)*mach*mach), nil
}
