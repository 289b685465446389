package units

import (
	"math"
	"testing"
	"time"
)

// FuzzParse gives every parser the same text. None may panic, and what one
// accepts is finite, in range and survives a round trip through its own text.
func FuzzParse(f *testing.F) {
	for _, k := range kinds() {
		f.Add(k.example)
	}
	for _, s := range []string{
		"", "500", "1e400 Pa", "1e-400 m", "5e-324 K", "-0 Pa gauge", "NaN", "0x1p3 bar", "2 scfm (60 °F, 14.73 psia)",
		"2 scfm (", "2 NL (", "1h30m", "100 %", "1e-5 %", "3/4 in nominal copper tube, annealed", "−5 °C", "1.5e309 micron",
	} {
		f.Add(s)
	}
	all := kinds()
	f.Fuzz(func(t *testing.T, text string) {
		for _, k := range all {
			v, err := k.parse(text)
			if err != nil {
				continue
			}
			if !(v >= k.lo && v <= k.hi) {
				t.Fatalf("%s %q = %g", k.name, text, v)
			}
			written, err := k.marshal(v)
			if err != nil {
				t.Fatalf("%s %q = %g: %v", k.name, text, v, err)
			}
			back, err := k.reread(written)
			if err != nil || math.Float64bits(back) != math.Float64bits(v) {
				t.Fatalf("%s %q = %g, written as %q, read as %g, %v", k.name, text, v, written, back, err)
			}
			_ = k.str(v)
		}
		if d, err := ParseDuration(text); err == nil {
			written, err := d.MarshalText()
			if back, err2 := ParseDuration(string(written)); err != nil || err2 != nil || back != d {
				t.Fatalf("%q = %v, written as %q: %v, %v", text, time.Duration(d), written, err, err2)
			}
		}
		if tube, err := ParseNominalTube(text); err == nil && !(tube.InnerDiameter() > 0) {
			t.Fatalf("%q = %v", text, tube)
		}
	})
}

// FuzzPressureReading holds whatever becomes absolute to the range of an
// absolute pressure.
func FuzzPressureReading(f *testing.F) {
	for _, s := range []string{"500 micron", "2 psig", "28.5 inHg vac", "29.95 inHg vac", "-1 bar gauge", "1 bar"} {
		f.Add(s, 101325.0)
	}
	f.Add("2 psig", math.NaN())
	f.Add("2 psig", 0.0)
	f.Fuzz(func(t *testing.T, text string, ambient float64) {
		r, err := ParsePressureReading(text)
		if err != nil {
			return
		}
		if p, err := r.Absolute(Pressure(ambient)); err == nil && !(p >= 0) {
			t.Fatalf("%q at %g Pa = %g", text, ambient, float64(p))
		}
	})
}
