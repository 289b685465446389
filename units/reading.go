package units

import (
	"errors"
	"fmt"
	"math"
)

// PressureReading is a pressure as somebody read it, absolute or gauge, for job
// fields that take either: "500 micron", "2 psig", "28.5 inHg vac". The zero
// value means that none was given. Readings can be compared with ==.
type PressureReading struct {
	value float64 // Pa, or Pa above ambient
	basis readingBasis
}

type readingBasis uint8

const (
	notGiven readingBasis = iota
	absoluteBasis
	gaugeBasis
)

// AbsoluteReading is a reading of the absolute pressure p.
func AbsoluteReading(p Pressure) PressureReading {
	return PressureReading{float64(p), absoluteBasis}
}

// GaugeReading is a reading of the gauge pressure g.
func GaugeReading(g GaugePressure) PressureReading {
	return PressureReading{float64(g), gaugeBasis}
}

// ParsePressureReading reads what ParsePressure or ParseGaugePressure reads;
// bare bar, kPa and Pa mean absolute. Errors are ErrSyntax, ErrAmbiguous and
// RangeError.
func ParsePressureReading(text string) (PressureReading, error) {
	p, err := ParsePressure(text)
	if err == nil {
		return AbsoluteReading(p), nil
	}
	if errors.Is(err, ErrNoAmbient) {
		g, err := ParseGaugePressure(text)
		if err != nil {
			return PressureReading{}, err
		}
		return GaugeReading(g), nil
	}
	if errors.Is(err, ErrSyntax) || errors.Is(err, ErrAmbiguous) {
		err = fmt.Errorf("%w; gauge units are accepted too: %s", err, gaugePressureDefinition.accepted())
	}
	return PressureReading{}, err
}

// IsZero reports whether no reading was given.
func (r PressureReading) IsZero() bool { return r.basis == notGiven }

// IsGauge reports whether the reading is relative to ambient.
func (r PressureReading) IsGauge() bool { return r.basis == gaugeBasis }

// Absolute returns the absolute pressure in Pa. A gauge reading needs the
// ambient pressure, Pa absolute; zero means that it is not known and gives
// ErrNoAmbient. An absolute reading does not look at ambient. A gauge reading
// below a perfect vacuum is a RangeError, no reading at all ErrMissing.
func (r PressureReading) Absolute(ambient Pressure) (Pressure, error) {
	const fn = "units.PressureReading.Absolute"
	switch {
	case r.basis == notGiven:
		return 0, fmt.Errorf("%s: pressure: %w", fn, ErrMissing)
	case r.basis == absoluteBasis:
		return Pressure(r.value), CheckRange(fn, "pressure", r.value, 0, math.MaxFloat64, "Pa")
	case ambient == 0:
		return 0, fmt.Errorf("%s: %v: %w; give the ambient pressure or the altitude", fn, r, ErrNoAmbient)
	}
	if err := CheckRange(fn, "ambient", float64(ambient), math.SmallestNonzeroFloat64, math.MaxFloat64, "Pa"); err != nil {
		return 0, err
	}
	if err := CheckRange(fn, "gauge pressure", r.value, -float64(ambient), math.MaxFloat64, "Pa gauge"); err != nil {
		return 0, err
	}
	return GaugePressure(r.value).Absolute(ambient), nil
}

// String returns the reading rounded to four digits, with its unit.
func (r PressureReading) String() string {
	switch r.basis {
	case absoluteBasis:
		return Pressure(r.value).String()
	case gaugeBasis:
		return GaugePressure(r.value).String()
	}
	return "no reading"
}

// MarshalText writes the reading in Pa or Pa gauge so that it reads back to the
// same bits. No reading is ErrMissing: mark the JSON field omitzero.
func (r PressureReading) MarshalText() ([]byte, error) {
	switch r.basis {
	case absoluteBasis:
		return Pressure(r.value).MarshalText()
	case gaugeBasis:
		return GaugePressure(r.value).MarshalText()
	}
	return nil, fmt.Errorf("units.PressureReading.MarshalText: %w", ErrMissing)
}

// UnmarshalText reads what ParsePressureReading reads.
func (r *PressureReading) UnmarshalText(text []byte) error {
	v, err := ParsePressureReading(string(text))
	if err != nil {
		return err
	}
	*r = v
	return nil
}

// UnmarshalJSON reads a JSON string as ParsePressureReading does; a bare number
// or null is refused.
func (r *PressureReading) UnmarshalJSON(data []byte) error {
	text, err := jsonText[PressureReading](data, "28.5 inHg vac")
	if err != nil {
		return err
	}
	return r.UnmarshalText([]byte(text))
}
