package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Pump is an oil-sealed vacuum pump at a node.
//
// It sweeps the volume Displacement of the gas at its inlet, each species by its
// own partial pressure, while at the blank-off as much of the gas Return comes
// back. The speed of the whole is Displacement·(1 - blank-off/p); vapour is drawn
// at the full displacement down to the last trace, and what is left at the
// blank-off in the end is Return. Water vapour leaves through the exhaust as far
// as the exhaust gas and the ballast can carry it without condensing; the rest
// stays in the pump's oil. With Oil that water comes back as vapour; without,
// it is counted and lifts nothing.
type Pump struct {
	// Name is the pump's handle.
	Name string
	// Node names the node at its inlet.
	Node string
	// Displacement is the volume swept per time, m³/s, above 0, or zero when there
	// is a Curve. A free-air rating is the volume flow at atmospheric pressure,
	// where the outlet valves choke: smaller by some 5 to 20 % (common practice);
	// FreeAirCurve takes both.
	Displacement units.VolumeFlow
	// Curve, when not nil, is the speed as measured with the ballast closed and
	// takes the place of Displacement. It is made with NewSpeedCurve or
	// FreeAirCurve, and all its pressures lie above BlankOff.
	Curve *SpeedCurve
	// BlankOff is the lowest pressure the pump reaches with the ballast closed,
	// Pa, 0 to 1e5. Zero means an ideal pump.
	BlankOff units.Pressure
	// BallastBlankOff is the same with the ballast open, Pa, 0 to 1e5; zero means
	// BlankOff.
	BallastBlankOff units.Pressure
	// VapourTolerance is the highest inlet pressure of pure water vapour that the
	// pump carries out with the ballast open, Pa (water vapour tolerance, ISO
	// 21360-2 clause 5.3), 0 to 1e5. Zero means that the ballast carries nothing.
	VapourTolerance units.Pressure
	// Return names the gas that comes back at the blank-off, one of the circuit's:
	// air from the exhaust side, gas dissolved in the oil. Empty means air or,
	// where the circuit has none, its first dry gas. NoReturn stands for a pump
	// that draws each species in its share and shuts at the blank-off.
	Return string
	// Oil, when not nil, follows the water in the pump's oil.
	Oil *PumpOil
	// ExhaustTemperature is the temperature at which vapour would condense in
	// the pump, K, 273.16 to 373 and below boiling at ExhaustPressure; zero means
	// 333.15 K (60 °C, from memory).
	ExhaustTemperature units.Temperature
	// ExhaustPressure is the pressure it exhausts against, Pa, 5e4 to 2e5; zero
	// means 101325 Pa.
	ExhaustPressure units.Pressure
	// Stopped and Ballast are the pump's state at the start; the zero value
	// runs with the ballast closed.
	Stopped, Ballast bool
}

// NoReturn as Pump.Return: no gas comes back.
const NoReturn = "none"

// Check reports the first field out of range.
func (p *Pump) Check() error {
	if err := p.checkCurve(); err != nil {
		return fmt.Errorf("vacuum.Pump: %q: %w", p.Name, err)
	}
	for _, f := range []struct {
		arg    string
		v      float64
		lo, hi float64
		unit   string
	}{
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
		return fmt.Errorf("vacuum.Pump: %q: ExhaustTemperature %g K lies above boiling at ExhaustPressure %g Pa: %w",
			p.Name, float64(p.exhaustTemperature()), float64(p.exhaustPressure()), units.ErrOutOfRange)
	}
	return nil
}

// checkCurve checks displacement, curve and oil.
func (p *Pump) checkCurve() error {
	if p.Oil != nil {
		if err := p.Oil.Check(); err != nil {
			return err
		}
	}
	if p.Curve == nil {
		return units.CheckRange("", "Displacement", float64(p.Displacement), 1e-9, 1e3, "m³/s")
	}
	if p.Curve.empty() {
		return fmt.Errorf("the Curve is empty; make it with NewSpeedCurve")
	}
	least, _ := p.Curve.Range()
	return units.CheckRange("", "BlankOff below the Curve", float64(p.BlankOff), 0, 0.99*float64(least), "Pa")
}

// Speed is the pump's net volume flow at inlet pressure p with dry oil, m³/s:
// Displacement or the Curve at high pressure, zero at and below the blank-off.
// Below and above the points of a Curve the volume swept stays as at its ends.
// It checks nothing: the pump is one that passes Check, and an inlet that is not
// a number has no speed, NaN.
func (p *Pump) Speed(inlet units.Pressure, ballast bool) units.VolumeFlow {
	l := pumpLaw{speed: float64(p.Displacement), curve: p.Curve, dryLow: float64(p.BlankOff)}
	swept, _ := l.displacement(float64(inlet))
	low := p.blankOff(ballast)
	if inlet <= low || inlet <= 0 {
		return 0
	}
	return units.VolumeFlow(swept * float64((inlet-low)/inlet))
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
