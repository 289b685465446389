package moisture

import (
	"math"
	"time"

	"example.com/drydown/units"
)

// Port is an opening through which a circuit meets ambient air while nothing
// flows: vapour diffuses in.
type Port struct {
	// Bore is the inner diameter of the opening, m, above 0.
	Bore units.Length
	// Length of the passage, m, at least 0; zero is a hole in a thin wall.
	Length units.Length
}

// conductance is the diffusive conductance of the port in m³/s in air a: D A over the
// length plus pi d/8 for each of the two ends, the resistance 1/(4 D r) of a disc
// towards a half-space (H. S. Carslaw and J. C. Jaeger, Conduction of Heat in
// Solids, 2nd ed. 1959, section 8.2; from memory).
func (p Port) conductance(fn string, a HumidAir) (float64, error) {
	c := checks{fn: fn}
	c.positive("Bore", float64(p.Bore), "m")
	c.atLeastZero("Length", float64(p.Length), "m")
	// Air may be colder than the range in which its diffusivity is known.
	c.within("a.Temperature", float64(a.Temperature), diffusivityMinT, airMaxT, "K")
	c.positive("a.Pressure", float64(a.Pressure), "Pa") // of a HumidAir that was never made
	if c.err != nil {
		return 0, c.err
	}
	d := diffusivityTimesPressure(float64(a.Temperature)) / float64(a.Pressure)
	return d * float64(p.Bore.Circle()) / (float64(p.Length) + math.Pi/4*float64(p.Bore)), nil
}

// Intake returns the water in kg that diffuses through the port in the time open
// into a circuit of volume v that was dry, with air a, from -40 °C up, outside and the
// same temperature and pressure inside: v c (1 - exp(-t G/v)), which ends at
// a.WaterIn(v). v must be above 0 and open not negative; mixing inside is taken as
// complete, and draughts and breathing with the weather come on top. Outside the
// ranges the error is a RangeError.
func (p Port) Intake(a HumidAir, v units.Volume, open time.Duration) (units.Mass, error) {
	const fn = "moisture.Port.Intake"
	c := checks{fn: fn}
	c.positive("v", float64(v), "m³")
	c.atLeastZero("open", open.Seconds(), "s")
	if c.err != nil {
		return 0, c.err
	}
	g, err := p.conductance(fn, a)
	if err != nil {
		return 0, err
	}
	full := float64(a.WaterDensity()) * float64(v)
	return units.Mass(-full * math.Expm1(-open.Seconds()*g/float64(v))), nil
}

// IntakeRate returns the water in kg/s that diffuses in through the port from air a,
// from -40 °C up, while the vapour pressure inside is inside, 0 to a.Pressure; negative
// when the circuit is wetter than the air. Outside the ranges the error is a
// RangeError.
func (p Port) IntakeRate(a HumidAir, inside units.Pressure) (units.MassFlow, error) {
	const fn = "moisture.Port.IntakeRate"
	if err := units.CheckRange(fn, "inside", float64(inside), 0, float64(a.Pressure), "Pa"); err != nil {
		return 0, err
	}
	g, err := p.conductance(fn, a)
	if err != nil {
		return 0, err
	}
	drive := float64(a.Vapour-inside) * float64(MolarMass) / (molarGas * float64(a.Temperature))
	return units.MassFlow(g * drive), nil
}
