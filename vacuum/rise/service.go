package rise

import (
	"math"

	"example.com/drydown/units"
)

// LeakFromRise is the leak that raises the pressure in volume v (m³, above 0)
// by dp (Pa) in the given time (s, above 0) at constant temperature: Q = V dp/dt
// in Pa·m³/s, negative when the pressure falls.
func LeakFromRise(v units.Volume, dp units.Pressure, seconds float64) (units.Throughput, error) {
	const fn = "rise.LeakFromRise"
	if err := units.CheckRange(fn, "v", float64(v), math.SmallestNonzeroFloat64, math.MaxFloat64, "m³"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "dp", float64(dp), -math.MaxFloat64, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "seconds", seconds, math.SmallestNonzeroFloat64, math.MaxFloat64, "s"); err != nil {
		return 0, err
	}
	return units.Throughput(float64(v) * float64(dp) / seconds), nil
}

// LeakUnits is one leak in the units of the trade. A pV flow is an amount of
// gas only together with its temperature; these are all at the same one.
type LeakUnits struct {
	PascalCubicMetre     float64 // Pa·m³/s
	MillibarLitre        float64 // mbar·L/s
	AtmosphereCubicCentm float64 // atm·cm³/s
	MicronLitre          float64 // micron·L/s, the lusec
}

// InUnits converts a leak (Pa·m³/s) exactly.
func InUnits(q units.Throughput) LeakUnits {
	return LeakUnits{
		PascalCubicMetre:     float64(q),
		MillibarLitre:        float64(q / units.MillibarLitrePerSecond),
		AtmosphereCubicCentm: float64(q / units.AtmCubicCentimetrePerSec),
		MicronLitre:          float64(q / units.MicronLitrePerSecond),
	}
}

// GasLoss is the mass flow of a gas of molar mass m (kg/mol, 1e-3 to 1) that a
// pV flow q (Pa·m³/s, any finite value) at temperature t (K, 100 to 1000) stands
// for: Q M/(R T), in kg/s.
func GasLoss(q units.Throughput, m units.MolarMass, t units.Temperature) (units.MassFlow, error) {
	const fn = "rise.GasLoss"
	if err := units.CheckRange(fn, "q", float64(q), -math.MaxFloat64, math.MaxFloat64, "Pa·m³/s"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "m", float64(m), 1e-3, 1, "kg/mol"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "t", float64(t), 100, 1000, "K"); err != nil {
		return 0, err
	}
	return units.MassFlow(float64(q) * float64(m) / (units.GasConstant * float64(t))), nil
}

// AirMolarMass is the molar mass of dry air, kg/mol (ASHRAE Fundamentals 2017,
// chapter 1: 28.966; this value from CIPM-2007 for standard composition, from
// memory: 28.9647).
const AirMolarMass units.MolarMass = 0.0289647

// AirViscosity is the viscosity of air at 20 °C, Pa·s, as used by W. Umrath
// (ed.), Fundamentals of Vacuum Technology, eq 1.25 (from memory). It rises by
// about 0.25 % per kelvin.
const AirViscosity units.Viscosity = 18.2e-6

// Regime says by which law a leak converts between gases and pressures.
type Regime int

// The regimes by size of the leak: laminar above 1e-4 mbar·L/s, molecular below
// 1e-7 mbar·L/s, between them unsure (NASA/JPL, Leakage Testing Handbook:
// laminar 1e-1 to 1e-6, transition 1e-4 to 1e-7, molecular below 1e-7).
const (
	UnsureRegime Regime = iota // both conversions are bounds
	LaminarRegime
	MolecularRegime
)

// String returns the regime in words.
func (r Regime) String() string {
	switch r {
	case LaminarRegime:
		return "laminar"
	case MolecularRegime:
		return "molecular"
	}
	return "laminar or molecular"
}

// RegimeOf sorts a leak (Pa·m³/s) by its size.
func RegimeOf(q units.Throughput) Regime {
	switch {
	case q > 1e-4*units.MillibarLitrePerSecond:
		return LaminarRegime
	case q < 1e-7*units.MillibarLitrePerSecond:
		return MolecularRegime
	}
	return UnsureRegime
}

// Service is a refrigerant at the state in which it would leak out of the
// finished circuit.
type Service struct {
	MolarMass   units.MolarMass   // kg/mol, 1e-3 to 1
	Viscosity   units.Viscosity   // of the gas, Pa·s, 1e-6 to 1e-3
	Pressure    units.Pressure    // absolute in service, Pa, Ambient to 2e7; Leak needs it above Ambient
	Ambient     units.Pressure    // absolute, Pa, 1e4 to 2e5
	Temperature units.Temperature // of the leaking gas and of the test, K, 200 to 400
}

// Loss is what a leak found under vacuum loses in service.
type Loss struct {
	// Laminar and Molecular are the losses by either conversion, kg/s.
	Laminar, Molecular units.MassFlow
	// Regime says which one holds for the size of the leak.
	Regime Regime
}

// GramsPerYear is a mass flow in g per year of 365.25 days.
func GramsPerYear(m units.MassFlow) float64 { return float64(m / units.GramPerYear) }

// Range is the least and the greatest loss that the regime allows, kg/s.
func (l Loss) Range() (least, greatest units.MassFlow) {
	switch l.Regime {
	case LaminarRegime:
		return l.Laminar, l.Laminar
	case MolecularRegime:
		return l.Molecular, l.Molecular
	}
	return min(l.Laminar, l.Molecular), max(l.Laminar, l.Molecular)
}

func (s Service) check(fn string) error {
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"Service.MolarMass", float64(s.MolarMass), 1e-3, 1, "kg/mol"},
		{"Service.Viscosity", float64(s.Viscosity), 1e-6, 1e-3, "Pa·s"},
		{"Service.Ambient", float64(s.Ambient), 1e4, 2e5, "Pa"},
		{"Service.Pressure", float64(s.Pressure), float64(s.Ambient), 2e7, "Pa"},
		{"Service.Temperature", float64(s.Temperature), 200, 400, "K"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return err
		}
	}
	return nil
}

// factors are the kg/s of refrigerant out at service pressure per Pa·m³/s of air
// into a vacuum, by the laminar law q ∝ (p1² - p2²)/µ and the molecular law
// q ∝ (p1 - p2) √(T/M).
func (s Service) factors() (laminar, molecular float64) {
	pa, ps := float64(s.Ambient), float64(s.Pressure)
	mass := float64(s.MolarMass) / (units.GasConstant * float64(s.Temperature))
	laminar = (ps - pa) * (ps + pa) / (pa * pa) * float64(AirViscosity) / float64(s.Viscosity) * mass
	molecular = (ps - pa) / pa * math.Sqrt(float64(AirMolarMass)/float64(s.MolarMass)) * mass
	return laminar, molecular
}

// Loss converts a leak of air into the evacuated circuit (Pa·m³/s, 0 to 1e3)
// to the loss of refrigerant in service, by both laws: Poiseuille's and free
// molecular flow through one leak path whose walls do not move.
func (s Service) Loss(q units.Throughput) (Loss, error) {
	const fn = "rise.Service.Loss"
	if err := s.check(fn); err != nil {
		return Loss{}, err
	}
	if err := units.CheckRange(fn, "q", float64(q), 0, 1e3, "Pa·m³/s"); err != nil {
		return Loss{}, err
	}
	laminar, molecular := s.factors()
	return Loss{
		Laminar: units.MassFlow(laminar * float64(q)), Molecular: units.MassFlow(molecular * float64(q)),
		Regime: RegimeOf(q),
	}, nil
}

// Leak is the inverse of Loss: the leaks of air into a vacuum (Pa·m³/s) that
// lose the given refrigerant in service (kg/s, above 0 to 1), by either law. The
// smaller of the two is the safe limit of a test.
func (s Service) Leak(loss units.MassFlow) (laminar, molecular units.Throughput, err error) {
	const fn = "rise.Service.Leak"
	if err := s.check(fn); err != nil {
		return 0, 0, err
	}
	if err := units.CheckRange(fn, "Pressure", float64(s.Pressure), math.Nextafter(float64(s.Ambient), 1e9), 2e7, "Pa"); err != nil {
		return 0, 0, err
	}
	if err := units.CheckRange(fn, "loss", float64(loss), math.SmallestNonzeroFloat64, 1, "kg/s"); err != nil {
		return 0, 0, err
	}
	l, m := s.factors()
	return units.Throughput(float64(loss) / l), units.Throughput(float64(loss) / m), nil
}
