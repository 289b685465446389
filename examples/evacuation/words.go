package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// grams words a mass of water: grams from 0.1 g, milligrams below. Round-off
// of either sign around zero is no water.
func grams(m units.Mass) string {
	g := 1e3 * float64(m)
	switch {
	case math.Abs(g) >= 0.1:
		return fmt.Sprintf("%s g", digits(g, 3))
	case math.Abs(g) >= 1e-5:
		return fmt.Sprintf("%s mg", digits(1e3*g, 3))
	case math.Abs(g) >= 1e-9:
		return "< 0.01 mg"
	}
	return "0"
}

// perCharge words water per refrigerant charge.
func perCharge(water, charge units.Mass) string {
	w := 1e6 * float64(water/charge)
	if w < 0.01 {
		return "< 0.01 mg/kg"
	}
	return digits(w, 3) + " mg/kg"
}

// pressure words an absolute pressure in the unit that people use at that
// height, and in pascal.
func pressure(p units.Pressure) string {
	if p < 10000*units.Micron {
		return fmt.Sprintf("%s micron (%s Pa)", digits(p.In(units.Micron), 3), digits(float64(p), 3))
	}
	return fmt.Sprintf("%s mbar (%s kPa)", digits(p.In(units.Millibar), 4), digits(float64(p)/1e3, 4))
}

// reading words what a gauge shows.
func reading(r vacuum.Reading) string {
	if r.OverRange {
		return "over its range"
	}
	return pressure(r.Pressure)
}

// took words a duration.
func took(d time.Duration) string {
	switch {
	case d < 0:
		return "-" + took(-d)
	case d == 0:
		return "0"
	case d < 2*time.Minute:
		return fmt.Sprintf("%s s", digits(d.Seconds(), 2))
	case d < 3*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.1f h", d.Hours())
}

// digits is x with n significant digits and without an exponent.
func digits(x float64, n int) string {
	if x == 0 {
		return "0"
	}
	after := n - 1 - int(math.Floor(math.Log10(math.Abs(x))))
	if after < 0 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.*f", after, x)
}

// leak words a throughput.
func leak(q units.Throughput) string { return fmt.Sprintf("%.3g Pa·m³/s", float64(q)) }

// normalLitres is an amount of gas in litres at 0 °C and 101325 Pa.
func normalLitres(n units.Amount) float64 { return float64(units.Normal().Volume(n)) * 1e3 }

// nitrogen words an amount of nitrogen both ways.
func nitrogen(n units.Amount) string {
	switch {
	case math.Abs(float64(n)) < 1e-12: // round-off of either sign
		return "none"
	case n < 1e-3:
		return fmt.Sprintf("%s µmol (%s NmL)", digits(1e6*float64(n), 3), digits(1e3*normalLitres(n), 3))
	}
	return fmt.Sprintf("%s mol (%s NL)", digits(float64(n), 3), digits(normalLitres(n), 3))
}

// gasLeft words the air and nitrogen left in a circuit.
func gasLeft(n units.Amount) string {
	if n < 1e-9 {
		return "less than 0.001 µmol"
	}
	return nitrogen(n)
}

// percent words a share.
func percent(x float64) string { return digits(100*x, 2) + " %" }

// listed joins names to "a, b and c".
func listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// plural is "1 step", "2 steps".
func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// oneLine makes one line of a text.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

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
