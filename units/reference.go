package units

import (
	"fmt"
	"math"
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
	spellings string  // split by "|", "~" as in unit; the first is the name
	volume    float64 // m³, or m³/s
	example   string  // a usual state, which must be stated; empty: it is Normal
}

// The first of each list is what to write where no state was meant to be stated.
var referenceVolumes = []referenceVolume{
	{"NL|Nl", float64(Litre), ""},
	{"NmL|Nml|Ncm³|Ncc", float64(Millilitre), ""},
	{"Nm³", 1, ""},
	{"sL|sl|std L|std l", float64(Litre), "20 °C"},
	{"scc|scm³|std cm³|std cc", float64(CubicCentimetre), "20 °C"},
	{"sm³|Sm³|std m³", 1, "20 °C"},
	{"~scf|~sft³|~std ft³|~std cu ft", float64(CubicFoot), "60 °F"},
}

var referenceFlows = []referenceVolume{
	{"NL/min|Nl/min", 1e-3 / 60, ""},
	{"NL/s|Nl/s", 1e-3, ""},
	{"NL/h|Nl/h", 1e-3 / 3600, ""},
	{"NmL/min|Nml/min|Ncm³/min|Ncc/min", 1e-6 / 60, ""},
	{"Nm³/h|Nm³/hr", 1.0 / 3600, ""},
	{"Nm³/min", 1.0 / 60, ""},
	{"sL/s|std L/s", 1e-3, "20 °C"},
	{"sL/min|sl/min|~slpm|std L/min|std l/min", 1e-3 / 60, "20 °C"},
	{"sL/h|sl/h|std L/h", 1e-3 / 3600, "20 °C"},
	{"~sccm|scc/min|scm³/min|std cm³/min|std cc/min", 1e-6 / 60, "20 °C"},
	{"std cm³/s|std cc/s|scc/s", 1e-6, "20 °C"},
	{"sm³/h|Sm³/h|std m³/h", 1.0 / 3600, "20 °C"},
	{"~scfm|~scf/min|~sft³/min|~std ft³/min", float64(CFM), "60 °F"},
	{"~scfh|~scf/h|~scf/hr|~sft³/h", float64(CFM) / 60, "60 °F"},
}

// name is the unit without its state.
func (r referenceVolume) name() string {
	name, _, _ := strings.Cut(r.spellings, "|")
	return strings.TrimPrefix(name, "~")
}

// stated is the unit with a state, as text may give it.
func (r referenceVolume) stated() string {
	if r.example == "" {
		return r.name()
	}
	return r.name() + " (" + r.example + ")"
}

// referenceUnit reads "NL/min" or "scfm(60 °F,14.73 psia)", normalised, as a
// unit of amount or of amount per time.
func referenceUnit(text string, list []referenceVolume) (unit, bool, error) {
	name, stated, hasState := strings.Cut(text, "(")
	for _, r := range list {
		if !spelled(name, r.spellings) {
			continue
		}
		state := Normal()
		switch {
		case r.example == "" && hasState:
			return unit{}, true, &unitError{name + " is at 0 °C and 101325 Pa; for another state use s in place of N", ErrAmbiguous}
		case r.example != "" && !hasState:
			return unit{}, true, &unitError{fmt.Sprintf("the reference temperature is missing; write %s (%s) with the temperature "+
				"that was meant, or %s for 0 °C and 101325 Pa", name, r.example, list[0].name()), ErrAmbiguous}
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
	return state, CheckRange("", "reference pressure", float64(state.Pressure), math.SmallestNonzeroFloat64, mostPositive, "Pa")
}
