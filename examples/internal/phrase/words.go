// Package phrase words quantities, records and oddities for the reports of the
// example programs, always the same way. Nothing in it computes.
package phrase

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"example.com/drydown/units"
)

// Grams words a mass of water: grams from 0.1 g, milligrams below. Round-off of
// either sign around zero is no water.
func Grams(m units.Mass) string {
	g := 1e3 * float64(m)
	switch {
	case math.Abs(g) >= 0.1:
		return fmt.Sprintf("%s g", Digits(g, 3))
	case math.Abs(g) >= 1e-5:
		return fmt.Sprintf("%s mg", Digits(1e3*g, 3))
	case math.Abs(g) >= 1e-9:
		return "< 0.01 mg"
	}
	return "0"
}

// roundOff is the pressure below which, in either sign, nothing is meant, Pa.
const roundOff = 1e-9

// Pressure words an absolute pressure in the unit that people use at that
// height, and in pascal.
func Pressure(p units.Pressure) string {
	switch {
	case math.Abs(float64(p)) < roundOff:
		return "0 micron (0 Pa)"
	case p < 10000*units.Micron:
		return fmt.Sprintf("%s (%s Pa)", Micron(p, 3), Digits(float64(p), 3))
	}
	return fmt.Sprintf("%s mbar (%s kPa)", Digits(p.In(units.Millibar), 4), Digits(float64(p)/1e3, 4))
}

// Micron words a pressure in micron with n significant digits.
func Micron(p units.Pressure, n int) string { return Digits(p.In(units.Micron), n) + " micron" }

// Step words the step of a display: zeros that say nothing are left out.
func Step(p units.Pressure) string {
	if math.Abs(float64(p)) < roundOff {
		return "none"
	}
	return fmt.Sprintf("%s micron (%s Pa)", trimmed(p.In(units.Micron)), trimmed(float64(p)))
}

// trimmed has up to three significant digits and no zeros behind the point.
func trimmed(x float64) string {
	s := Digits(x, 3)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Took words a duration.
func Took(d time.Duration) string {
	switch {
	case d < 0:
		return "-" + Took(-d)
	case d == 0:
		return "0"
	case d < 2*time.Minute:
		return fmt.Sprintf("%s s", Digits(d.Seconds(), 2))
	case d < 3*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.1f h", d.Hours())
}

// Digits is x with n significant digits and without an exponent.
func Digits(x float64, n int) string {
	if x == 0 {
		return "0"
	}
	after := n - 1 - int(math.Floor(math.Log10(math.Abs(x))))
	if after < 0 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.*f", after, x)
}

// Leak words a throughput.
func Leak(q units.Throughput) string { return fmt.Sprintf("%.3g Pa·m³/s", float64(q)) }

// PerMinute words a leak as the rise that it makes in a volume.
func PerMinute(q units.Throughput, v units.Volume) string {
	return Digits(float64(q)/float64(v)*60/float64(units.Micron), 2)
}

// Litres words a volume.
func Litres(v units.Volume) string { return Digits(1e3*float64(v), 3) + " L" }

// Percent words a share.
func Percent(x float64) string { return Digits(100*x, 2) + " %" }

// Change words a relative change in whole per cent; one that rounds to nothing
// has no sign.
func Change(x float64) string {
	if math.Abs(100*x) < 0.5 {
		return "0 %"
	}
	return fmt.Sprintf("%+.0f %%", 100*x)
}

// Listed joins names to "a, b and c".
func Listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// Plural is "1 step", "2 steps".
func Plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// OneLine makes one line of a text.
func OneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// width is what plain text is wrapped to.
const width = 100

// Wrap writes a paragraph in lines of up to 100 characters; the first begins
// with first, the others with rest.
func Wrap(w io.Writer, first, rest, text string) {
	line, indent := first, first
	for _, word := range strings.Fields(text) {
		if line != indent && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			_, _ = fmt.Fprintln(w, line)
			line, indent = rest, rest
		}
		if line != indent {
			line += " "
		}
		line += word
	}
	_, _ = fmt.Fprintln(w, line)
}
