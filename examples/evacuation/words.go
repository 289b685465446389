package main

import (
	"fmt"
	"math"
	"strings"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// perCharge words water per refrigerant charge.
func perCharge(water, charge units.Mass) string {
	w := 1e6 * float64(water/charge)
	if w < 0.01 {
		return "< 0.01 mg/kg"
	}
	return phrase.Digits(w, 3) + " mg/kg"
}

// reading words what a gauge shows.
func reading(r vacuum.Reading) string {
	switch {
	case r.OverRange:
		return "over its range"
	case r.UnderRange:
		return "below its range"
	}
	return phrase.Pressure(r.Pressure)
}

// shown says what a gauge does: it shows a pressure or none.
func shown(r vacuum.Reading) string {
	if offRange(r) {
		return "was " + reading(r)
	}
	return "showed " + reading(r)
}

// offRange is true when a gauge shows no number.
func offRange(r vacuum.Reading) bool { return r.OverRange || r.UnderRange }

// normalLitres is an amount of gas in litres at 0 °C and 101325 Pa.
func normalLitres(n units.Amount) float64 { return float64(units.Normal().Volume(n)) * 1e3 }

// nitrogen words an amount of nitrogen both ways.
func nitrogen(n units.Amount) string {
	switch {
	case math.Abs(float64(n)) < 1e-12: // round-off of either sign
		return "none"
	case n < 1e-3:
		return fmt.Sprintf("%s µmol (%s NmL)", phrase.Digits(1e6*float64(n), 3), phrase.Digits(1e3*normalLitres(n), 3))
	}
	return fmt.Sprintf("%s mol (%s NL)", phrase.Digits(float64(n), 3), phrase.Digits(normalLitres(n), 3))
}

// gasLeft words the air and nitrogen left in a circuit.
func gasLeft(n units.Amount) string {
	if n < 1e-9 {
		return "less than 0.001 µmol"
	}
	return nitrogen(n)
}

// slug is a name fit for a file.
func slug(name string) string {
	s := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return ' '
	}, name)
	s = strings.Join(strings.Fields(s), "-")
	if len(s) > 40 {
		s = strings.Trim(s[:40], "-")
	}
	return s
}
