package vacuum

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// PumpOil is the oil of a pump and the water in it. Water that the exhaust
// cannot carry stays in the oil; from there its vapour comes back to the inlet
// and lifts the pressure that the pump reaches; under gas ballast, with less
// vapour at the inlet than it could carry, the pump clears its oil.
//
// The vapour pressure over oil is that of a straight isotherm, activity times
// saturation pressure. Oil of one mixture and temperature is assumed.
type PumpOil struct {
	// Mass of the oil without water, kg, 0.01 to 1000.
	Mass units.Mass
	// Law is the water content at saturation against temperature.
	Law moisture.SaturationLaw
	// Temperature of the oil, K, 273.16 to 373; zero means 333.15 K (60 °C, from
	// memory).
	Temperature units.Temperature
	// WaterContent is the water per oil at the start, 0 to 0.1 kg/kg.
	WaterContent units.MassFraction
	// Approach is the share of the vapour pressure over the oil that the gas at
	// the inlet meets, above 0 to 1: the oil gives off its water on its way
	// through the pump and not all at once. Zero means 1, equilibrium, which is
	// the most there can be. A blank-off measured with oil of known content gives
	// the number.
	Approach float64
}

// Check reports the first field out of range.
func (o *PumpOil) Check() error {
	const fn = "vacuum.PumpOil"
	err := checkBounds(fn, bound{"Mass", float64(o.Mass), 0.01, 1000, "kg"},
		bound{"Temperature", float64(o.temperature()), 273.16, 373, "K"},
		bound{"WaterContent", float64(o.WaterContent), 0, 0.1, "kg/kg"},
		bound{"Approach", o.approach(), 1e-9, 1, ""})
	if err != nil {
		return err
	}
	_, err = o.saturated()
	return err
}

func (o *PumpOil) temperature() units.Temperature {
	if o.Temperature == 0 {
		return units.Celsius(60)
	}
	return o.Temperature
}

func (o *PumpOil) approach() float64 {
	if o.Approach == 0 {
		return 1
	}
	return o.Approach
}

// oilLaw is a pump's oil prepared for the hot path.
type oilLaw struct {
	saturation float64 // vapour pressure over saturated oil, Pa
	perMole    float64 // vapour pressure per mole of dissolved water, Pa/mol
	approach   float64
}

// saturated prepares the law of the oil.
func (o *PumpOil) saturated() (oilLaw, error) {
	most, err := o.Law.Content(o.temperature())
	if err != nil {
		return oilLaw{}, fmt.Errorf("vacuum.PumpOil: Law: %w", err)
	}
	ps, err := moisture.SaturationPressureLiquid(o.temperature())
	if err != nil {
		return oilLaw{}, fmt.Errorf("vacuum.PumpOil: %w", err)
	}
	moles := float64(most) * float64(o.Mass) / float64(moisture.MolarMass)
	return oilLaw{saturation: float64(ps), perMole: float64(ps) / moles, approach: o.approach()}, nil
}

// pressure is the vapour pressure over oil that holds n mol of water. Beyond
// saturation free water lies under the oil and the pressure stays.
func (l *oilLaw) pressure(n float64) float64 { return math.Min(n*l.perMole, l.saturation) }

// moles of water in the oil at a content.
func (o *PumpOil) moles(content units.MassFraction) float64 {
	return float64(content) * float64(o.Mass) / float64(moisture.MolarMass)
}

// oilLaw checks pump and oil on behalf of fn.
func (p *Pump) oilLaw(fn string, contents ...units.MassFraction) (oilLaw, error) {
	if p.Oil == nil {
		return oilLaw{}, fmt.Errorf("%s: the pump has no Oil", fn)
	}
	if err := p.Check(); err != nil {
		return oilLaw{}, err
	}
	for _, c := range contents {
		if err := units.CheckRange(fn, "content", float64(c), 0, 1, "kg/kg"); err != nil {
			return oilLaw{}, err
		}
	}
	return p.Oil.saturated()
}

// WetBlankOff is the lowest pressure in Pa that the pump reaches while its oil
// holds the given water per oil, 0 to 1 kg/kg: the blank-off of the dry pump
// and the vapour that comes off the oil.
func (p *Pump) WetBlankOff(content units.MassFraction, ballast bool) (units.Pressure, error) {
	l, err := p.oilLaw("vacuum.Pump.WetBlankOff", content)
	if err != nil {
		return 0, err
	}
	return p.blankOff(ballast) + units.Pressure(l.approach*l.pressure(p.Oil.moles(content))), nil
}

// Captured is the water in kg/s that stays in the oil when the pump draws
// vapour and dry gas at the given partial pressures, Pa each, at its inlet at
// temperature t: what the exhaust gas and the ballast cannot carry, zero below
// the tolerance.
func (p *Pump) Captured(vapour, dry units.Pressure, t units.Temperature, ballast bool) (units.MassFlow, error) {
	const fn = "vacuum.Pump.Captured"
	if err := p.Check(); err != nil {
		return 0, err
	}
	err := checkBounds(fn, bound{"vapour", float64(vapour), 0, 1e6, "Pa"}, bound{"dry", float64(dry), 0, 1e6, "Pa"}, temperatureBound(t))
	if err != nil {
		return 0, err
	}
	l := p.prepare(ballast)
	l.wet, l.back = true, 1
	n := sysNode{temp: float64(t), total: float64(vapour + dry), partial: [MaxSpecies]float64{float64(vapour), float64(dry)}}
	var out [2*MaxSpecies + 1]float64
	l.flow(&n, nil, 2, out[:], nil)
	return units.MassFlow(out[2] * float64(moisture.MolarMass)), nil
}

// ClearingTime is how long the pump takes, with its inlet shut and the ballast
// open, to dry its oil from one water content to a lower one, above 0. At
// activity a of the oil the ballast carries off a times what it can carry, and
// what comes off the oil to the inlet leaves by the exhaust as far as the
// ballast carries it. inlet is the temperature of the gas at the inlet. It is
// a lower bound: all oil takes part at once here, where a sump takes half an
// hour to turn over (common practice). It is an error when the pump's
// VapourTolerance is zero: then nothing is carried.
func (p *Pump) ClearingTime(from, to units.MassFraction, inlet units.Temperature) (time.Duration, error) {
	const fn = "vacuum.Pump.ClearingTime"
	l, err := p.oilLaw(fn, from, to)
	if err != nil {
		return 0, err
	}
	err = checkBounds(fn, bound{"to", float64(to), 1e-12, float64(from), "kg/kg"}, temperatureBound(inlet),
		bound{"VapourTolerance", float64(p.VapourTolerance), 1e-3, 1e5, "Pa"})
	if err != nil {
		return 0, err
	}
	law := p.prepare(true)
	swept, _ := law.displacement(law.low)
	perPascal := swept / (units.GasConstant * float64(inlet))
	capacity, draw := perPascal*law.tolerance, perPascal*l.approach*l.saturation // mol/s
	full := l.saturation / l.perMole                                             // mol at saturation
	a0, a1 := p.Oil.moles(from)/full, p.Oil.moles(to)/full
	seconds := 0.0
	// Oil so wet that the ballast carries all it can.
	if corner := math.Min(1, capacity/draw); a0 > corner {
		stop := math.Max(a1, corner)
		seconds += full * (a0 - stop) / capacity
		a0 = stop
	}
	if a0 > a1 { // then da/dt = -a·(b - draw·a)/full, b = draw + capacity
		b := draw + capacity
		seconds += full / b * math.Log(a0*(b-draw*a1)/(a1*(b-draw*a0)))
	}
	return duration(fn, seconds)
}

// OilVerdict is what a measured blank-off says about a pump's oil.
type OilVerdict int

// The verdicts.
const (
	OilGood         OilVerdict = iota + 1 // within the limit, the gauge's error allowed for
	OilUndetermined                       // the gauge's error spans the limit
	OilChange                             // above the limit: change the oil, or clear it under ballast and measure again
)

// String says the verdict in words.
func (v OilVerdict) String() string {
	switch v {
	case OilGood:
		return "the oil is good"
	case OilUndetermined:
		return "undetermined: the gauge is too coarse"
	case OilChange:
		return "change the oil"
	}
	return "unknown"
}

// JudgeOil judges the oil by the blank-off measured with the inlet shut and the
// ballast closed, gaugeError being the most by which the gauge may be wrong, Pa
// each. limit is the highest blank-off at which the oil may stay, Pa, above the
// pump's own; zero means five times that, at least 13.3 Pa (100 micron), common
// practice. A worn pump and a leaking hose look the same: see that they are ruled
// out.
func (p *Pump) JudgeOil(measured, gaugeError, limit units.Pressure) (OilVerdict, error) {
	const fn = "vacuum.Pump.JudgeOil"
	if err := p.Check(); err != nil {
		return 0, err
	}
	if limit == 0 {
		limit = max(5*p.BlankOff, 100*units.Micron)
	}
	err := checkBounds(fn, bound{"measured", float64(measured), 0, maxPressure, "Pa"}, bound{"gaugeError", float64(gaugeError), 0, 1e5, "Pa"},
		bound{"limit", float64(limit), float64(p.BlankOff), 1e5, "Pa"})
	switch {
	case err != nil:
		return 0, err
	case measured-gaugeError > limit:
		return OilChange, nil
	case measured+gaugeError > limit:
		return OilUndetermined, nil
	}
	return OilGood, nil
}

// ContentOf is the water per oil, kg/kg, that explains a measured blank-off
// above the dry pump's, ballast closed; saturated is true when the oil must hold
// free water, and the content is then that at saturation, the least there is. It
// is an error when measured lies below the dry blank-off.
func (p *Pump) ContentOf(measured units.Pressure) (content units.MassFraction, saturated bool, err error) {
	const fn = "vacuum.Pump.ContentOf"
	l, err := p.oilLaw(fn)
	if err != nil {
		return 0, false, err
	}
	if err := units.CheckRange(fn, "measured", float64(measured), float64(p.BlankOff), maxPressure, "Pa"); err != nil {
		return 0, false, err
	}
	over := float64(measured-p.BlankOff) / l.approach
	saturated = over >= l.saturation
	moles := math.Min(over, l.saturation) / l.perMole
	return units.MassFraction(moles * float64(moisture.MolarMass) / float64(p.Oil.Mass)), saturated, nil
}
