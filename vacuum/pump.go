package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Pump is an oil-sealed vacuum pump at a node.
//
// It draws Displacement·(1 - blank-off/p) of the gas at its inlet, each species
// in its share, and nothing at or below the blank-off: a pump keeps a check
// valve. Water vapour leaves through the exhaust as far as the exhaust gas can
// carry it without condensing; the rest stays in the pump's oil. What that
// water does to the blank-off is left out.
type Pump struct {
	// Name is the pump's handle.
	Name string
	// Node names the node at its inlet.
	Node string
	// Displacement is the volume flow at the inlet, m³/s, above 0. A free-air
	// rating states the same volume flow at atmospheric pressure.
	Displacement units.VolumeFlow
	// BlankOff is the lowest pressure the pump reaches with the ballast closed,
	// Pa, 0 or more. Zero means an ideal pump.
	BlankOff units.Pressure
	// BallastBlankOff is the same with the ballast open, Pa; zero means
	// BlankOff.
	BallastBlankOff units.Pressure
	// VapourTolerance is the highest inlet pressure of pure water vapour that the
	// pump carries out with the ballast open, Pa (water vapour tolerance, ISO
	// 21360-2 clause 5.3). Zero means that the ballast carries nothing.
	VapourTolerance units.Pressure
	// ExhaustTemperature is the temperature at which vapour would condense in
	// the pump, K, 273.16 to 373 K; zero means 333.15 K (60 °C, from memory).
	ExhaustTemperature units.Temperature
	// ExhaustPressure is the pressure it exhausts against, Pa; zero means
	// 101325 Pa.
	ExhaustPressure units.Pressure
	// Stopped and Ballast are the pump's state at the start; the zero value
	// runs with the ballast closed.
	Stopped, Ballast bool
}

// Check reports the first field out of range.
func (p *Pump) Check() error {
	for _, f := range []struct {
		arg    string
		v      float64
		lo, hi float64
		unit   string
	}{
		{"Displacement", float64(p.Displacement), 1e-9, 1e3, "m³/s"},
		{"BlankOff", float64(p.BlankOff), 0, 1e5, "Pa"},
		{"BallastBlankOff", float64(p.BallastBlankOff), 0, 1e5, "Pa"},
		{"VapourTolerance", float64(p.VapourTolerance), 0, 1e5, "Pa"},
		{"ExhaustPressure", float64(p.exhaustPressure()), 5e4, 2e5, "Pa"},
		{"ExhaustTemperature", float64(p.exhaustTemperature()), 273.16, 373, "K"},
	} {
		if err := units.CheckRange("", f.arg, f.v, f.lo, f.hi, f.unit); err != nil {
			return fmt.Errorf("vacuum.Pump: %q: %w", p.Name, err)
		}
	}
	if p.vapourPerGas() < 0 {
		return fmt.Errorf("vacuum.Pump: %q: ExhaustTemperature %g K lies above boiling at ExhaustPressure %g Pa",
			p.Name, float64(p.exhaustTemperature()), float64(p.exhaustPressure()))
	}
	return nil
}

// Speed is the pump's volume flow at inlet pressure p, m³/s: Displacement at
// high pressure, zero at and below the blank-off.
func (p *Pump) Speed(inlet units.Pressure, ballast bool) units.VolumeFlow {
	return p.Displacement * units.VolumeFlow(fade(float64(p.blankOff(ballast)), float64(inlet)))
}

// fade is 1 - low/p, and 0 at and below low.
func fade(low, p float64) float64 {
	if p <= low || p <= 0 {
		return 0
	}
	return (p - low) / p
}

func (p *Pump) blankOff(ballast bool) units.Pressure {
	if ballast && p.BallastBlankOff > 0 {
		return p.BallastBlankOff
	}
	return p.BlankOff
}

func (p *Pump) exhaustTemperature() units.Temperature {
	if p.ExhaustTemperature == 0 {
		return units.Celsius(60)
	}
	return p.ExhaustTemperature
}

func (p *Pump) exhaustPressure() units.Pressure {
	if p.ExhaustPressure == 0 {
		return units.Atmosphere
	}
	return p.ExhaustPressure
}

// vapourPerGas is the amount of vapour that one mole of dry exhaust gas carries
// without condensing, ps/(pn - ps); negative when the exhaust is above boiling.
func (p *Pump) vapourPerGas() float64 {
	ps, err := moisture.SaturationPressureLiquid(p.exhaustTemperature())
	if err != nil {
		return math.NaN()
	}
	pn := float64(p.exhaustPressure())
	if pn <= float64(ps) {
		return -1
	}
	return float64(ps) / (pn - float64(ps))
}

// pumpLaw is a pump prepared for the hot path.
type pumpLaw struct {
	speed     float64 // displacement, m³/s
	low       float64 // blank-off in force, Pa
	carried   float64 // vapour per mole of dry gas
	tolerance float64 // vapour pressure carried by the ballast, Pa; 0 when it is closed
	wet       bool    // the first species is water
}

func (p *Pump) prepare(ballast bool) pumpLaw {
	l := pumpLaw{
		speed:   float64(p.Displacement),
		low:     float64(p.blankOff(ballast)),
		carried: p.vapourPerGas(),
	}
	if ballast {
		l.tolerance = float64(p.VapourTolerance)
	}
	return l
}

// flow writes what leaves the node in mol/s: through the exhaust by species
// into out[:ns], and water into the oil into out[ns]. Where d is not nil, the
// derivatives by the partial pressures go there.
func (l *pumpLaw) flow(n *sysNode, ns int, out []float64, d *partSlopes) {
	perRT := l.speed / (units.GasConstant * n.temp)
	f, slope := perRT*fade(l.low, n.total), 0.0
	if n.total > l.low {
		slope = perRT * l.low / (n.total * n.total)
	}
	all := 0.0
	for k, v := range n.partial[:ns] {
		out[k] = f * v
		all += out[k]
		if d != nil {
			for j := range ns {
				d[k][j] = slope * v
			}
			d[k][k] += f
		}
	}
	out[ns] = 0
	if d != nil {
		d[ns] = [2 * MaxSpecies]float64{}
	}
	if !l.wet {
		return
	}
	kept := out[0] - perRT*l.tolerance - l.carried*(all-out[0])
	if !(kept > 0) {
		return
	}
	out[0], out[ns] = out[0]-kept, kept
	if d == nil {
		return
	}
	for j := range ns {
		d[ns][j] = d[0][j]
		for k := 1; k < ns; k++ {
			d[ns][j] -= l.carried * d[k][j]
		}
		d[0][j] -= d[ns][j]
	}
}
