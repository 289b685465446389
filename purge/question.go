package purge

import (
	"errors"
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// ErrNotVapour marks water that is not vapour in the gas. Nitrogen does not
// dilute it, so no closed form says how much is left; a simulation of the
// circuit with its stores does.
var ErrNotVapour = errors.New("not vapour: nitrogen does not dilute it")

// Opened is a circuit that was open to humid air and is closed again.
type Opened struct {
	// Volume is the inner volume that the air filled, m³, above 0.
	Volume units.Volume
	// AirTemperature and Humidity are the state of the air that entered, K and 0
	// to 1.
	AirTemperature units.Temperature
	Humidity       units.RelativeHumidity
	// Ambient is the pressure of that air, Pa absolute, above 0: the barometer,
	// or the standard atmosphere at the altitude of the site.
	Ambient units.Pressure
	// Site is the temperature of the circuit, K. Zero means that of the air.
	Site units.Temperature
	// Charge is the refrigerant charge, kg, that the water left is related to.
	// Zero means that it is not asked for.
	Charge units.Mass
	// Other is water known or suspected to be in the circuit other than as
	// vapour: liquid, ice, in oil, on walls. Anything above zero is refused with
	// ErrNotVapour.
	Other moisture.Content
}

// Treatment is one thing done with nitrogen that WaterLeft can follow: a
// CycleTrain or a SweepThrough.
type Treatment interface {
	// apply takes the gas before the treatment to the gas after it.
	apply(state gasState) (gasState, error)
}

// CycleTrain is Count cycles, 0 or more. A circuit that stands below the
// pressure at which the train starts is first filled to it with the same gas,
// which dilutes; one that stands above is pumped or vented down, which does not.
type CycleTrain struct {
	Cycles Cycles
	Count  int
}

// SweepThrough is a sweep at the pressure the circuit is kept at, Pa absolute, with
// the volume Swept of nitrogen, m³ at that pressure and the site temperature.
// Sweep.Volume zero means the volume of the circuit; of a smaller one, the rest is a
// dead leg, which keeps its gas and mixes with the swept part afterwards. A circuit that
// stands at another pressure is brought to this one first, as for CycleTrain.
type SweepThrough struct {
	Sweep Sweep
	// Pressure is above 0.
	Pressure units.Pressure
	Swept    units.Volume
}

// Answer is what is left when the treatments are done.
type Answer struct {
	// Entered is the water vapour that came in with the air, kg.
	Entered units.Mass
	// Left is the water left as vapour, kg, with the circuit at Pressure.
	Left units.Mass
	// Fraction is the mole fraction of water vapour in the gas left.
	Fraction units.MoleFraction
	// Pressure is the pressure at the end, Pa absolute.
	Pressure units.Pressure
	// Vapour is the partial pressure of the vapour left, Pa.
	Vapour units.Pressure
	// DewPoint is where that vapour would condense at the pressure at the end, K:
	// the dew point when DewPhase is liquid, the frost point when it is ice.
	DewPoint units.Temperature
	DewPhase moisture.Phase
	// AmbientDewPoint is the dew or frost point of the same gas brought to
	// Opened.Ambient, K: what an instrument shows that samples it there.
	AmbientDewPoint units.Temperature
	AmbientDewPhase moisture.Phase
	// PerCharge is Left per refrigerant charge, a mass fraction; 0 when no
	// charge was given.
	PerCharge units.MassFraction
	// Nitrogen is the purge gas used, mol.
	Nitrogen units.Amount
}

// gasState is the gas in the circuit between two treatments.
type gasState struct {
	site     units.Temperature
	volume   units.Volume
	fraction units.MoleFraction
	pressure units.Pressure
	nitrogen units.Amount
}

// WaterLeft answers the question itself: a circuit was open, air of a known
// state filled it, and these treatments follow; how much water is left and how dry
// is it? There may be none of them.
//
// It holds for vapour that mixes with the gas, and only for that. It refuses
// with ErrNotVapour when Opened.Other declares liquid water, ice, water in oil
// or on walls, and when the air that entered would condense at the site
// temperature. What walls and oil take up unasked is left out.
//
// When the vapour left is too thin for the range of the saturation equations
// the Answer comes back complete but for the dew points, with the RangeError.
func WaterLeft(o Opened, treatments ...Treatment) (Answer, error) {
	vapour, err := o.vapour()
	if err != nil {
		return Answer{}, err
	}
	state := gasState{
		site: o.site(), volume: o.Volume, pressure: o.Ambient,
		fraction: units.MoleFraction(vapour / o.Ambient),
	}
	a := Answer{Entered: state.water()}
	for i, treatment := range treatments {
		if treatment == nil {
			return a, fmt.Errorf("purge.WaterLeft: treatment %d: %w", i+1, units.ErrMissing)
		}
		if state, err = treatment.apply(state); err != nil {
			return a, fmt.Errorf("purge.WaterLeft: treatment %d: %w", i+1, err)
		}
	}
	a.Left, a.Fraction, a.Pressure, a.Nitrogen = state.water(), state.fraction, state.pressure, state.nitrogen
	a.Vapour = units.Pressure(a.Fraction) * a.Pressure
	if o.Charge > 0 {
		a.PerCharge = units.MassFraction(a.Left / o.Charge)
	}
	if a.DewPoint, a.DewPhase, err = moisture.SaturationTemperature(a.Vapour); err != nil {
		return a, fmt.Errorf("purge.WaterLeft: dew point: %w", err)
	}
	a.AmbientDewPoint, a.AmbientDewPhase, err = moisture.SaturationTemperature(units.Pressure(a.Fraction) * o.Ambient)
	if err != nil {
		return a, fmt.Errorf("purge.WaterLeft: dew point at ambient pressure: %w", err)
	}
	return a, nil
}

// water is the vapour in the gas, kg: y p V M/(R T).
func (s gasState) water() units.Mass {
	n := float64(s.fraction) * float64(s.pressure) * float64(s.volume) / (units.GasConstant * float64(s.site))
	return units.Mass(n * float64(moisture.MolarMass))
}

func (o Opened) site() units.Temperature {
	if o.Site == 0 {
		return o.AirTemperature
	}
	return o.Site
}

// vapour checks the circuit and returns the partial pressure of the vapour that
// entered it, at the site temperature and still at ambient pressure.
func (o Opened) vapour() (units.Pressure, error) {
	const fn = "purge.WaterLeft"
	if err := checkVolume(fn, "Volume", o.Volume); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Humidity", float64(o.Humidity), 0, 1, ""); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Charge", float64(o.Charge), 0, math.MaxFloat64, "kg"); err != nil {
		return 0, err
	}
	if err := units.CheckRange(fn, "Site", float64(o.site()), lowestTemperature, highestTemperature, "K"); err != nil {
		return 0, err
	}
	if err := o.refuseStores(); err != nil {
		return 0, err
	}
	sat, _, err := moisture.SaturationPressure(o.AirTemperature)
	if err != nil {
		return 0, err
	}
	vapour := units.Pressure(o.Humidity) * sat
	if err := units.CheckRange(fn, "Ambient", float64(o.Ambient), math.Nextafter(float64(vapour), math.MaxFloat64), math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	wall, _, err := moisture.SaturationPressure(o.site())
	if err != nil {
		return 0, err
	}
	if vapour > wall*(1+nearSaturation) {
		return 0, fmt.Errorf("%s: the air that entered holds vapour at %.4g Pa, the circuit at %.2f °C saturates at %.4g Pa, so part of it is condensed: %w; %s",
			fn, float64(vapour), o.site().Celsius(), float64(wall), ErrNotVapour, whereTruthIs)
	}
	return vapour, nil
}

// whereTruthIs tells the caller what to do instead.
const whereTruthIs = "simulate the circuit with its stores (package vacuum, procedures in package purge)"

// refuseStores names every form of water that the closed forms cannot follow.
func (o Opened) refuseStores() error {
	const fn = "purge.WaterLeft"
	forms := []struct {
		name string
		mass units.Mass
	}{
		{"liquid", o.Other.Liquid},
		{"ice", o.Other.Ice},
		{"dissolved in oil", o.Other.Dissolved},
		{"adsorbed", o.Other.Adsorbed},
	}
	var found string
	for _, f := range forms {
		if err := units.CheckRange(fn, "Other, "+f.name, float64(f.mass), 0, math.MaxFloat64, "kg"); err != nil {
			return err
		}
		if f.mass > 0 {
			found += fmt.Sprintf("%.4g g %s, ", float64(f.mass/units.Gram), f.name)
		}
	}
	if found == "" {
		return nil
	}
	return fmt.Errorf("%s: %sis %w; %s", fn, found, ErrNotVapour, whereTruthIs)
}

// bring takes the gas to pressure p: up with purge gas, which dilutes, or down,
// which leaves the composition as it is.
func (s gasState) bring(p units.Pressure, purge units.MoleFraction) (gasState, error) {
	if p > s.pressure {
		gas, err := amountIn("purge.WaterLeft", p-s.pressure, s.volume, s.site)
		if err != nil {
			return s, err
		}
		s.nitrogen += gas
		s.fraction = purge + (s.fraction-purge)*units.MoleFraction(s.pressure/p)
	}
	s.pressure = p
	return s, nil
}

func (c CycleTrain) apply(s gasState) (gasState, error) {
	if err := c.Cycles.Check(); err != nil {
		return s, err
	}
	start, end := c.Cycles.Low, c.Cycles.EndPressure()
	if c.Cycles.FirstFill > 0 {
		start = c.Cycles.FirstFill
	}
	if c.Count == 0 {
		if c.Cycles.FirstFill == 0 {
			return s, nil
		}
		end = c.Cycles.High
	}
	s, err := s.bring(start, c.Cycles.Purge)
	if err != nil {
		return s, err
	}
	left, err := c.Cycles.Left(s.fraction, c.Count)
	if err != nil {
		return s, err
	}
	gas, err := c.Cycles.Gas(s.volume, s.site, c.Count)
	if err != nil {
		return s, err
	}
	s.fraction, s.pressure = left, end
	s.nitrogen += gas
	return s, nil
}

func (w SweepThrough) apply(s gasState) (gasState, error) {
	sweep := w.Sweep
	if sweep.Volume == 0 {
		sweep.Volume = s.volume
	}
	if err := sweep.Check(); err != nil {
		return s, err
	}
	const fn = "purge.SweepThrough"
	if err := units.CheckRange(fn, "Sweep.Volume", float64(sweep.Volume), math.SmallestNonzeroFloat64, float64(s.volume), "m³"); err != nil {
		return s, err
	}
	if err := units.CheckRange(fn, "Pressure", float64(w.Pressure), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"); err != nil {
		return s, err
	}
	gas, err := SweptAmount(w.Pressure, w.Swept, s.site)
	if err != nil {
		return s, err
	}
	if s, err = s.bring(w.Pressure, sweep.Purge); err != nil {
		return s, err
	}
	left, err := sweep.Left(s.fraction, w.Swept)
	if err != nil {
		return s, err
	}
	swept := units.MoleFraction(sweep.Volume / s.volume)
	s.fraction += swept * (left - s.fraction)
	s.nitrogen += gas
	return s, nil
}
