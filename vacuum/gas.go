package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// MaxSpecies is the largest number of gases that one circuit tells apart.
const MaxSpecies = 4

// Evidence says how far a constant can be trusted.
type Evidence int

// The grades of evidence, best first.
const (
	// PublishedEvidence: read in a published text or data file.
	PublishedEvidence Evidence = iota + 1
	// RememberedEvidence: from memory, agrees with a published value of the same
	// quantity or with theory.
	RememberedEvidence
	// EstimatedEvidence: from memory or by an estimate, never a gate.
	EstimatedEvidence
)

// String names the grade.
func (e Evidence) String() string {
	switch e {
	case PublishedEvidence:
		return "published"
	case RememberedEvidence:
		return "from memory, checked"
	case EstimatedEvidence:
		return "estimate"
	}
	return "unknown"
}

// ViscosityLaw is the viscosity of a dilute gas in Pa·s at temperature t. It is
// 1e-7 to 1e-3 Pa·s and continuous from 150 to 600 K, and safe for concurrent
// calls.
type ViscosityLaw func(t units.Temperature) units.Viscosity

// Gas is an ideal gas with the transport properties of its dilute state. It is
// plain data: change a field to replace a constant.
type Gas struct {
	// Name tells gases apart; not empty.
	Name string
	// MolarMass in kg/mol, 0.001 to 1.
	MolarMass units.MolarMass
	// HeatCapacityRatio is cp/cv, 1.01 to 5/3. It enters choked flow only.
	HeatCapacityRatio float64
	// ViscosityLaw is the dilute viscosity against temperature; not nil.
	ViscosityLaw ViscosityLaw
	// DiffusionVolume is Fuller's molecular diffusion volume in cm³/mol, above 0,
	// from which binary diffusion with other gases is estimated.
	DiffusionVolume float64
	// Uncertainty is the relative standard uncertainty of the viscosity, 0 to 1; zero
	// means unknown.
	Uncertainty float64
	// Evidence grades the viscosity, Source names where the constants come from.
	Evidence Evidence
	Source   string
}

// Temperatures over which gas properties are offered, K, and what a ViscosityLaw
// may answer there, Pa·s.
const (
	minGasTemperature = 150
	maxGasTemperature = 600
	minViscosity      = 1e-7
	maxViscosity      = 1e-3
)

// Check reports the first field that is missing or out of range.
func (g *Gas) Check() error {
	if g.Name == "" {
		return fmt.Errorf("vacuum.Gas: Name is empty")
	}
	wrap := func(err error) error { return fmt.Errorf("vacuum.Gas: %q: %w", g.Name, err) }
	if g.ViscosityLaw == nil {
		return wrap(fmt.Errorf("ViscosityLaw is nil"))
	}
	for _, f := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"MolarMass", float64(g.MolarMass), 1e-3, 1, "kg/mol"},
		{"HeatCapacityRatio", g.HeatCapacityRatio, 1.01, 5.0 / 3, ""},
		{"DiffusionVolume", g.DiffusionVolume, 1, 1e3, "cm³/mol"},
		{"ViscosityLaw(293.15 K)", float64(g.ViscosityLaw(293.15)), minViscosity, maxViscosity, "Pa·s"},
		{"Uncertainty", g.Uncertainty, 0, 1, ""},
	} {
		if err := units.CheckRange("", f.arg, f.v, f.lo, f.hi, f.unit); err != nil {
			return wrap(err)
		}
	}
	return nil
}

// checkAt checks the gas, the temperature and the viscosity there on behalf of
// function fn.
func (g *Gas) checkAt(fn string, t units.Temperature) error {
	if err := g.Check(); err != nil {
		return fmt.Errorf("%s: %w", fn, err)
	}
	if err := units.CheckRange(fn, "t", float64(t), minGasTemperature, maxGasTemperature, "K"); err != nil {
		return err
	}
	if err := units.CheckRange("", "ViscosityLaw at t", float64(g.ViscosityLaw(t)), minViscosity, maxViscosity, "Pa·s"); err != nil {
		return fmt.Errorf("%s: vacuum.Gas: %q: %w", fn, g.Name, err)
	}
	return nil
}

// Viscosity is the dilute viscosity in Pa·s at t, 150 to 600 K. It does not
// depend on pressure as long as the gas is ideal.
func (g *Gas) Viscosity(t units.Temperature) (units.Viscosity, error) {
	if err := g.checkAt("vacuum.Gas.Viscosity", t); err != nil {
		return 0, err
	}
	return g.ViscosityLaw(t), nil
}

// MeanSpeed is the mean thermal speed √(8RT/(πM)) in m/s at t, 150 to 600 K.
func (g *Gas) MeanSpeed(t units.Temperature) (float64, error) {
	if err := g.checkAt("vacuum.Gas.MeanSpeed", t); err != nil {
		return 0, err
	}
	return meanSpeed(float64(g.MolarMass), float64(t)), nil
}

// MeanFreePath is the mean free path (µ/p)·√(πRT/(2M)) in m, the definition by
// viscosity, at t, 150 to 600 K, and p, above 0. Tables made from molecular
// diameters differ from it by about ten per cent.
func (g *Gas) MeanFreePath(t units.Temperature, p units.Pressure) (units.Length, error) {
	const fn = "vacuum.Gas.MeanFreePath"
	if err := g.checkAt(fn, t); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "p", float64(p), math.SmallestNonzeroFloat64, maxPressure, "Pa"); err != nil {
		return 0, err
	}
	mu := float64(g.ViscosityLaw(t))
	return units.Length(mu / float64(p) * math.Sqrt(math.Pi*units.GasConstant*float64(t)/(2*float64(g.MolarMass)))), nil
}

// Nitrogen is N2: molar mass and the dilute viscosity of E. W. Lemmon and R. T.
// Jacobsen, Int. J. Thermophys. 25 (2004) 21, 0.5 %.
func Nitrogen() Gas {
	const m = 0.02801348
	return Gas{
		Name: nitrogenName, MolarMass: m, HeatCapacityRatio: 1.4, DiffusionVolume: 18.5,
		ViscosityLaw: lennardJones(m, 0.3656, 98.94, &lemmonJacobsen),
		Uncertainty:  0.005, Evidence: PublishedEvidence,
		Source: "Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, dilute term",
	}
}

// Air is dry air as one gas, from the same source as Nitrogen, 1 %.
func Air() Gas {
	const m = 0.02896546
	return Gas{
		Name: airName, MolarMass: m, HeatCapacityRatio: 1.4, DiffusionVolume: 19.7,
		ViscosityLaw: lennardJones(0.0289586, 0.360, 103.3, &lemmonJacobsen),
		Uncertainty:  0.01, Evidence: PublishedEvidence,
		Source: "Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, dilute term",
	}
}

// WaterVapour is H2O with the dilute viscosity of IAPWS R12-08, 2 %. The release
// starts at 273.16 K, and below 200 K its equation turns over; colder vapour,
// which is thin, goes on as a power of the temperature without a corner, 5 %.
func WaterVapour() Gas {
	return Gas{
		Name: "water", MolarMass: moisture.MolarMass, HeatCapacityRatio: 1.33, DiffusionVolume: 13.1,
		ViscosityLaw: func(t units.Temperature) units.Viscosity {
			const coldest, power = 273.16, 0.8763257692 // dlnµ/dlnT there
			mu := moisture.VapourViscosityR1208()
			if t < coldest {
				return units.Viscosity(mu.Eval(coldest) * math.Pow(float64(t)/coldest, power))
			}
			return units.Viscosity(mu.Eval(float64(t)))
		},
		Uncertainty: 0.02, Evidence: PublishedEvidence,
		Source: "IAPWS R12-08, dilute term",
	}
}

// collision is a logarithm of the collision integral as a polynomial in the
// logarithm of the reduced temperature, with the factor of its formula.
type collision struct {
	factor float64 // µPa·s·nm²/√(g/mol·K)
	b      [5]float64
}

// The polynomials of the reference equations; read-only.
var (
	lemmonJacobsen = collision{0.0266958, [5]float64{0.431, -0.4623, 0.08406, 0.005341, -0.00331}}
	huber134a      = collision{0.021357, [5]float64{0.355404, -0.464337, 0.0257353}}
	vogelPropane   = collision{0.021357, [5]float64{0.25104574, -0.47271238, 0, 0.060836515}}
	vogelIsobutane = collision{0.021357, [5]float64{0.53583008, -0.45629630, 0.049911282}}
)

// lennardJones is the Chapman-Enskog viscosity of molar mass m in kg/mol,
// diameter sigma in nm and well depth eps in K.
func lennardJones(m, sigma, eps float64, c *collision) ViscosityLaw {
	return func(t units.Temperature) units.Viscosity {
		x := math.Log(float64(t) / eps)
		logOmega := c.b[0] + x*(c.b[1]+x*(c.b[2]+x*(c.b[3]+x*c.b[4])))
		eta := c.factor * math.Sqrt(1e3*m*float64(t)) / (sigma * sigma * math.Exp(logOmega))
		return units.Viscosity(1e-6 * eta)
	}
}

// meanSpeed is the mean thermal speed, m/s.
func meanSpeed(m, t float64) float64 { return math.Sqrt(8 * units.GasConstant * t / (math.Pi * m)) }

// probableSpeed is the most probable speed √(2RT/M), m/s, v0 of kinetic theory.
func probableSpeed(m, t float64) float64 { return math.Sqrt(2 * units.GasConstant * t / m) }
