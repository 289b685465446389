package rise

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// MinSamples is how many usable readings a record must have.
const MinSamples = 12

// DefaultDrift is the standard deviation that Interpret assumes for the change
// of the gas temperature over a record without a temperature column, 1 K
// (common practice).
const DefaultDrift units.TemperatureDiff = 1

// LeakLaw says how the flow through a leak depends on the pressure inside.
type LeakLaw int

// The laws of a leak from ambient pa into pressure p. Below 3 kPa they agree
// with a constant flow to 3 % or better at an ambient of 101 kPa; at 10 kPa, the
// least that is accepted, Molecular differs by 30 % there and Laminar by 9 %.
const (
	Laminar   LeakLaw = iota // ∝ pa² - p² (Poiseuille)
	Molecular                // ∝ pa - p (kinetic theory)
	Choked                   // constant
)

// Options are what the record does not say. Volume, SiteTemperature and
// LeakLimit must be given.
type Options struct {
	// Volume is the isolated volume, m³, above 0.
	Volume units.Volume
	// SiteTemperature is the temperature of the circuit, K, 233.15 to 373.15.
	SiteTemperature units.Temperature
	// LeakLimit is the leak that matters, Pa·m³/s at site temperature, above 0.
	// LimitFromRise and Service.Leak make one from a rate of rise or a loss
	// per year.
	LeakLimit units.Throughput
	// Resolution is the smallest step of the gauge, Pa; zero means the
	// smallest step that the record shows.
	Resolution units.Pressure
	// Drift is the standard deviation of an unknown linear drift of the gas
	// temperature over the record, K; zero means DefaultDrift, or none when
	// the record has a temperature column; negative means none. follow.Config.Drift
	// differs: there zero means that the temperature is held.
	Drift units.TemperatureDiff
	// Confidence of the intervals, 0.7 to 0.999; zero means 0.95. Below 2/3 the
	// bound by any sources that fade would lie on the wrong side of its best value.
	Confidence float64
	// Ambient is the absolute ambient pressure, Pa, 1e4 to 2e5; zero means
	// 101325. It matters where the pressure is above about 3 % of it.
	Ambient units.Pressure
	// Law is the law of the leak; zero is Laminar.
	Law LeakLaw
	// SecondVolume is the volume at the second gauge, m³; zero means unknown.
	// When it is given, Volume is the volume at the first gauge alone.
	SecondVolume units.Volume
	// Equalisation is how parts of the circuit should settle after isolation, by
	// a model of the circuit: alternatives of which one holds, at most 32; empty
	// means unknown. A record that agrees with one of them within its bounds is
	// Equalising where it would be Moisture or Outgassing, and a leak beside it
	// is Leak. PredictEqualisation makes them from a vacuum.Circuit. They must
	// not be changed while in use.
	Equalisation []Equalisation
}

// LimitFromRise is the leak (Pa·m³/s) that makes the pressure in volume v (m³,
// above 0) rise at rate (Pa/s, above 0) at constant temperature: Q = V dp/dt. It
// is a product and checks nothing: what is out of range comes out as a limit that
// Interpret refuses.
func LimitFromRise(rate units.PressureRate, v units.Volume) units.Throughput {
	return units.Throughput(float64(rate) * float64(v))
}

// check refuses what is out of range and fills in the documented defaults.
func (o Options) check() (Options, error) {
	const fn = "rise.Interpret"
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if o.Ambient == 0 {
		o.Ambient = units.Atmosphere
	}
	for _, c := range []struct {
		arg       string
		v, lo, hi float64
		unit      string
	}{
		{"Volume", float64(o.Volume), 1e-6, 1e3, "m³"},
		{"SiteTemperature", float64(o.SiteTemperature), 233.15, 373.15, "K"},
		{"LeakLimit", float64(o.LeakLimit), 1e-15, 1e3, "Pa·m³/s"},
		{"Resolution", float64(o.Resolution), 0, 1e5, "Pa"},
		{"Drift", float64(o.Drift), math.Inf(-1), 50, "K"},
		{"Confidence", o.Confidence, 0.7, 0.999, ""},
		{"Ambient", float64(o.Ambient), 1e4, 2e5, "Pa"},
		{"Law", float64(o.Law), 0, float64(Choked), ""},
		{"SecondVolume", float64(o.SecondVolume), 0, 1e3, "m³"},
	} {
		if err := units.CheckRange(fn, c.arg, c.v, c.lo, c.hi, c.unit); err != nil {
			return o, err
		}
	}
	const mostAlternatives = 32
	if err := units.CheckRange(fn, "number of Equalisation", float64(len(o.Equalisation)), 0, mostAlternatives, ""); err != nil {
		return o, err
	}
	var checked []Equalisation
	for i, e := range o.Equalisation {
		e, err := e.check(fn, fmt.Sprintf("Equalisation[%d]", i))
		if err != nil {
			return o, err
		}
		checked = append(checked, e)
	}
	o.Equalisation = checked
	return o, nil
}
