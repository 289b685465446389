package units

import (
	"fmt"
	"strings"
)

// ReferenceState is the state at which a volume of gas stands for an amount, as
// in "normal litre" or "standard cubic foot". The gas is taken as ideal.
type ReferenceState struct {
	Temperature Temperature // K, above 0
	Pressure    Pressure    // Pa, above 0
}

// Normal is the reference state of the units NL and Nm³: 0 °C and 101325 Pa.
func Normal() ReferenceState { return ReferenceState{Celsius(0), Atmosphere} }

// Standard is a reference state at 101325 Pa and temperature t. There is no
// single standard temperature: 0, 15, 20, 25 °C and 60, 70 °F are all in use.
func Standard(t Temperature) ReferenceState { return ReferenceState{t, Atmosphere} }

// Check refuses a temperature or pressure that is not above 0 and finite. The
// other methods do not check; with such a state they give infinities or NaN.
func (r ReferenceState) Check() error {
	const fn = "units.ReferenceState"
	if err := (&temperatureDefinition).check(fn, float64(r.Temperature)); err != nil {
		return err
	}
	if r.Pressure == 0 {
		return fmt.Errorf("%s: pressure: %w", fn, ErrMissing)
	}
	return (&pressureDefinition).check(fn, float64(r.Pressure))
}

// Amount returns p V/(R T), the amount of gas in volume v at state r.
func (r ReferenceState) Amount(v Volume) Amount {
	return Amount(float64(v) * r.density())
}

// Volume returns the volume that the amount n takes at state r.
func (r ReferenceState) Volume(n Amount) Volume {
	return Volume(float64(n) / r.density())
}

// MolarFlow returns the amount per time in the volume flow f at state r.
func (r ReferenceState) MolarFlow(f VolumeFlow) MolarFlow {
	return MolarFlow(float64(f) * r.density())
}

// VolumeFlow returns the volume per time that the molar flow n takes at state r.
func (r ReferenceState) VolumeFlow(n MolarFlow) VolumeFlow {
	return VolumeFlow(float64(n) / r.density())
}

// density is the amount of ideal gas per volume, mol/m³.
func (r ReferenceState) density() float64 {
	return float64(r.Pressure) / (GasConstant * float64(r.Temperature))
}

// referenceVolume is a spelling of a volume, or a volume per time, that stands
// for an amount of gas.
type referenceVolume struct {
	spellings string
	volume    float64 // m³, or m³/s
	normal    bool    // the state is Normal; otherwise it must be stated
}

var referenceVolumes = []referenceVolume{
	{"NL|Nl", float64(Litre), true},
	{"NmL|Nml|Ncm³|Ncc", float64(Millilitre), true},
	{"Nm³", 1, true},
	{"sL|sl|std L|std l", float64(Litre), false},
	{"scc|scm³|std cm³|std cc", float64(CubicCentimetre), false},
	{"sm³|Sm³|std m³", 1, false},
	{"~scf|~sft³|~std ft³|~std cu ft", float64(CubicFoot), false},
}

var referenceFlows = []referenceVolume{
	{"NL/s|Nl/s", 1e-3, true},
	{"NL/min|Nl/min", 1e-3 / 60, true},
	{"NL/h|Nl/h", 1e-3 / 3600, true},
	{"NmL/min|Nml/min|Ncm³/min|Ncc/min", 1e-6 / 60, true},
	{"Nm³/h|Nm³/hr", 1.0 / 3600, true},
	{"Nm³/min", 1.0 / 60, true},
	{"sL/s|std L/s", 1e-3, false},
	{"sL/min|sl/min|~slpm|std L/min|std l/min", 1e-3 / 60, false},
	{"sL/h|sl/h|std L/h", 1e-3 / 3600, false},
	{"~sccm|scc/min|scm³/min|std cm³/min|std cc/min", 1e-6 / 60, false},
	{"std cm³/s|std cc/s|scc/s", 1e-6, false},
	{"sm³/h|Sm³/h|std m³/h", 1.0 / 3600, false},
	{"~scfm|~scf/min|~sft³/min|~std ft³/min", float64(CFM), false},
	{"~scfh|~scf/h|~scf/hr|~sft³/h", float64(CFM) / 60, false},
}

func referenceAmount(text string) (unit, bool, error) {
	return referenceUnit(text, referenceVolumes, "NL")
}

func referenceFlow(text string) (unit, bool, error) {
	return referenceUnit(text, referenceFlows, "NL/min")
}

// referenceUnit reads "NL/min" or "scfm(60 °F,14.73 psia)", normalised, as a
// unit of amount or of amount per time.
func referenceUnit(text string, list []referenceVolume, normal string) (unit, bool, error) {
	name, stated, hasState := strings.Cut(text, "(")
	for _, r := range list {
		if !spelled(name, r.spellings) {
			continue
		}
		state := Normal()
		switch {
		case r.normal && hasState:
			return unit{}, true, &unitError{name + " is at 0 °C and 101325 Pa; for another state use s in place of N", ErrAmbiguous}
		case !r.normal && !hasState:
			return unit{}, true, &unitError{fmt.Sprintf("the reference temperature is missing; write %s (60 °F) with the temperature "+
				"that was meant, or %s for 0 °C and 101325 Pa", name, normal), ErrAmbiguous}
		case hasState:
			var err error
			if state, err = parseState(stated); err != nil {
				return unit{}, true, err
			}
		}
		return unit{name: text, factor: r.volume * state.density()}, true, nil
	}
	return unit{}, false, nil
}

// parseState reads "60 °F)" or "60 °F,14.73 psia)".
func parseState(text string) (ReferenceState, error) {
	inner, closed := strings.CutSuffix(text, ")")
	if !closed {
		return ReferenceState{}, &unitError{"the bracket around the reference state is not closed", ErrSyntax}
	}
	first, second, hasPressure := strings.Cut(inner, ",")
	t, err := ParseTemperature(first)
	if err != nil {
		return ReferenceState{}, fmt.Errorf("reference temperature: %w", err)
	}
	state := Standard(t)
	if hasPressure {
		if state.Pressure, err = ParsePressure(second); err != nil {
			return ReferenceState{}, fmt.Errorf("reference pressure: %w", err)
		}
	}
	return state, state.Check()
}
