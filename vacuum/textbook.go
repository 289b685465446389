package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// The functions of this file are the formulas of the vacuum textbooks, each for
// one regime or one interpolation. They serve as documentation, for checks and
// in the classroom; a circuit uses the law of Passage.

// bound is an argument with its accepted range.
type bound struct {
	arg       string
	v, lo, hi float64
	unit      string
}

// checkBounds returns the first range error on behalf of function fn.
func checkBounds(fn string, bounds ...bound) error {
	for _, b := range bounds {
		if err := units.CheckRange(fn, b.arg, b.v, b.lo, b.hi, b.unit); err != nil {
			return err
		}
	}
	return nil
}

// The bounds that occur again and again.

func molarMassBound(m units.MolarMass) bound {
	return bound{"m", float64(m), 1e-3, 1, "kg/mol"}
}

func temperatureBound(t units.Temperature) bound {
	return bound{"t", float64(t), 1, 5000, "K"}
}

func boreBound(bore units.Length) bound { return bound{"bore", float64(bore), 1e-9, 1e3, "m"} }

func lengthBound(length units.Length) bound {
	return bound{"length", float64(length), 1e-9, 1e6, "m"}
}

func viscosityBound(mu units.Viscosity) bound {
	return bound{"mu", float64(mu), 1e-7, 1e-2, "Pa·s"}
}

// MeanThermalSpeed is √(8RT/(πM)) in m/s for molar mass m, 0.001 to 1 kg/mol,
// at t, 1 to 5000 K.
func MeanThermalSpeed(m units.MolarMass, t units.Temperature) (float64, error) {
	if err := checkBounds("vacuum.MeanThermalSpeed", molarMassBound(m), temperatureBound(t)); err != nil {
		return 0, err
	}
	return meanSpeed(float64(m), float64(t)), nil
}

// ApertureConductance is the molecular conductance A·v/4 of a hole of the given
// area in a thin wall, m³/s: area is 0 to 1e6 m², m 0.001 to 1 kg/mol, t 1 to
// 5000 K.
func ApertureConductance(area units.Area, m units.MolarMass, t units.Temperature) (units.Conductance, error) {
	const fn = "vacuum.ApertureConductance"
	if err := checkBounds(fn, bound{"area", float64(area), 0, 1e6, "m²"}, molarMassBound(m), temperatureBound(t)); err != nil {
		return 0, err
	}
	return units.Conductance(float64(area) * meanSpeed(float64(m), float64(t)) / 4), nil
}

// MolecularConductance is the conductance (π/12)·v·d³/L of a long tube in
// molecular flow, m³/s. For a tube of L = 100 radii it is 5 % too high; see
// ShortTubeConductance. bore is 1e-9 to 1e3 m, length 1e-9 to 1e6 m, m 0.001 to
// 1 kg/mol, t 1 to 5000 K.
func MolecularConductance(bore, length units.Length, m units.MolarMass, t units.Temperature) (units.Conductance, error) {
	const fn = "vacuum.MolecularConductance"
	if err := checkBounds(fn, boreBound(bore), lengthBound(length), molarMassBound(m), temperatureBound(t)); err != nil {
		return 0, err
	}
	d := float64(bore)
	return units.Conductance(math.Pi / 12 * meanSpeed(float64(m), float64(t)) * d * d * d / float64(length)), nil
}

// ShortTubeConductance is the molecular conductance of a tube of any length,
// 0 to 1e6 m, m³/s: the aperture's times TransmissionProbability. bore, m and t as
// in MolecularConductance.
func ShortTubeConductance(bore, length units.Length, m units.MolarMass, t units.Temperature) (units.Conductance, error) {
	const fn = "vacuum.ShortTubeConductance"
	err := checkBounds(fn, boreBound(bore), bound{"length", float64(length), 0, 1e6, "m"}, molarMassBound(m), temperatureBound(t))
	if err != nil {
		return 0, err
	}
	c, err := ApertureConductance(bore.Circle(), m, t)
	return c * units.Conductance(transmission(2*float64(length)/float64(bore))), err
}

// LaminarConductance is the conductance π·d⁴·p/(128·µ·L) of a long tube in
// viscous flow at mean pressure mean, m³/s (Poiseuille for a compressible gas).
// bore is 1e-9 to 1e3 m, length 1e-9 to 1e6 m, mu 1e-7 to 1e-2 Pa·s, mean 0 to
// 1e8 Pa.
func LaminarConductance(bore, length units.Length, mu units.Viscosity, mean units.Pressure) (units.Conductance, error) {
	const fn = "vacuum.LaminarConductance"
	err := checkBounds(fn, boreBound(bore), lengthBound(length), viscosityBound(mu), bound{"mean", float64(mean), 0, 1e8, "Pa"})
	if err != nil {
		return 0, err
	}
	d := float64(bore)
	return units.Conductance(math.Pi * d * d * d * d * float64(mean) / (128 * float64(mu) * float64(length))), nil
}

// KnudsenConductance is M. Knudsen's interpolation of 1909 between viscous and
// molecular flow in a long tube at mean pressure mean, m³/s:
//
//	C = C_visc + C_mol·(1 + 2.507·R/λ)/(1 + 3.095·R/λ)
//
// with the mean free path by viscosity (coefficients as in Dushman, from
// memory). It lies up to 5 % above the kinetic solution that Passage follows. t is
// 150 to 600 K; bore, length and mean as in LaminarConductance.
func KnudsenConductance(bore, length units.Length, gas Gas, mean units.Pressure, t units.Temperature) (units.Conductance, error) {
	const fn = "vacuum.KnudsenConductance"
	if err := gas.checkAt(fn, t); err != nil {
		return 0, err
	}
	mu := gas.ViscosityLaw(t)
	viscous, err := LaminarConductance(bore, length, mu, mean)
	if err != nil {
		return 0, err
	}
	molecular, err := MolecularConductance(bore, length, gas.MolarMass, t)
	if err != nil {
		return 0, err
	}
	perPath := float64(bore) / 2 * float64(mean) /
		(float64(mu) * math.Sqrt(math.Pi*units.GasConstant*float64(t)/(2*float64(gas.MolarMass))))
	return viscous + molecular*units.Conductance((1+2.507*perPath)/(1+3.095*perPath)), nil
}

// AirConductance20C is the same for air at 20 °C with the round coefficients of
// the vacuum trade (Umrath, Fundamentals of Vacuum Technology, eq. 1.25, from
// memory), in L/s with d and L in cm and p in mbar:
//
//	C = 135·d⁴·p/L + 12.1·(d³/L)·(1 + 192·d·p)/(1 + 237·d·p)
//
// The 135 belongs to millibar; with torr it is 180. bore, length and mean as in
// LaminarConductance.
func AirConductance20C(bore, length units.Length, mean units.Pressure) (units.Conductance, error) {
	const fn = "vacuum.AirConductance20C"
	err := checkBounds(fn, boreBound(bore), lengthBound(length), bound{"mean", float64(mean), 0, 1e8, "Pa"})
	if err != nil {
		return 0, err
	}
	d, l, p := float64(bore/units.Centimetre), float64(length/units.Centimetre), float64(mean/units.Millibar)
	dp := d * p
	return units.Conductance(1e-3 * d * d * d / l * (135*dp + 12.1*(1+192*dp)/(1+237*dp))), nil
}

// HardSphereMeanFreePath is k·T/(√2·π·d²·p) in m for molecules of diameter d,
// 1e-11 to 1e-8 m, at p, 1e-15 to 1e9 Pa, and t, 1 to 5000 K.
func HardSphereMeanFreePath(d units.Length, p units.Pressure, t units.Temperature) (units.Length, error) {
	const fn = "vacuum.HardSphereMeanFreePath"
	err := checkBounds(fn, bound{"d", float64(d), 1e-11, 1e-8, "m"}, bound{"p", float64(p), 1e-15, 1e9, "Pa"}, temperatureBound(t))
	if err != nil {
		return 0, err
	}
	const boltzmann = 1.380649e-23
	return units.Length(boltzmann * float64(t) / (math.Sqrt2 * math.Pi * float64(d) * float64(d) * float64(p))), nil
}

// Regime is a kind of gas flow.
type Regime int

// The regimes from dense to thin.
const (
	ViscousFlow   Regime = iota + 1 // collisions between molecules rule
	KnudsenFlow                     // both kinds of collision count
	MolecularFlow                   // collisions with the wall rule
)

// String names the regime.
func (r Regime) String() string {
	switch r {
	case ViscousFlow:
		return "viscous"
	case KnudsenFlow:
		return "Knudsen (transitional)"
	case MolecularFlow:
		return "molecular"
	}
	return "unknown"
}

// FlowRegime is the regime at mean free path lambda in a bore by the convention
// of vacuum technology: viscous below Kn = λ/d = 0.01, molecular above 0.5. The
// convention of rarefied-gas dynamics draws its lines at 0.01, 0.1 and 10. lambda
// is 0 or more and finite, bore 1e-9 to 1e3 m.
func FlowRegime(lambda, bore units.Length) (Regime, error) {
	const fn = "vacuum.FlowRegime"
	if err := checkBounds(fn, bound{"lambda", float64(lambda), 0, math.MaxFloat64, "m"}, boreBound(bore)); err != nil {
		return 0, err
	}
	switch kn := lambda / bore; {
	case kn < 0.01:
		return ViscousFlow, nil
	case kn <= 0.5:
		return KnudsenFlow, nil
	}
	return MolecularFlow, nil
}

// EffectiveSpeed is the speed that a pump of speed s has behind a conductance
// c, 1/(1/s + 1/c), m³/s. It is zero when either is.
func EffectiveSpeed(s units.VolumeFlow, c units.Conductance) (units.VolumeFlow, error) {
	const fn = "vacuum.EffectiveSpeed"
	if err := checkBounds(fn, bound{"s", float64(s), 0, 1e6, "m³/s"}, bound{"c", float64(c), 0, math.MaxFloat64, "m³/s"}); err != nil {
		return 0, err
	}
	total, err := SeriesConductance(units.Conductance(s), c)
	return units.VolumeFlow(total), err
}

// SeriesConductance is the conductance of parts one behind the other, 1/Σ(1/c).
// It takes each part's conductance at its own pressures; see Passage for a law
// that finds them. At least one part; each is 0 or more.
func SeriesConductance(parts ...units.Conductance) (units.Conductance, error) {
	const fn = "vacuum.SeriesConductance"
	if err := checkParts(fn, parts); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, c := range parts {
		sum += 1 / float64(c)
	}
	return units.Conductance(1 / sum), nil
}

// ParallelConductance is the conductance of parts side by side, their sum. At
// least one part; each is 0 or more.
func ParallelConductance(parts ...units.Conductance) (units.Conductance, error) {
	if err := checkParts("vacuum.ParallelConductance", parts); err != nil {
		return 0, err
	}
	sum := units.Conductance(0)
	for _, c := range parts {
		sum += c
	}
	return sum, nil
}

func checkParts(fn string, parts []units.Conductance) error {
	if err := units.CheckRange(fn, "number of parts", float64(len(parts)), 1, math.MaxInt32, ""); err != nil {
		return err
	}
	for _, c := range parts {
		if err := units.CheckRange(fn, "part", float64(c), 0, math.MaxFloat64, "m³/s"); err != nil {
			return err
		}
	}
	return nil
}
