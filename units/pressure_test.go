package units

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestReadingNeedsAmbientForGaugeOnly(t *testing.T) {
	for _, c := range []struct {
		text    string
		ambient Pressure
		want    Pressure
		err     error
	}{
		{"500 micron", 0, 500 * Micron, nil},
		{"1.2 bar", 0, 1.2e5, nil},
		{"2 psig", 0, 0, ErrNoAmbient},
		{"2 psig", Atmosphere, Atmosphere + 2*PSIA, nil},
		{"28.5 inHg vac", Atmosphere, Atmosphere - 28.5*InchHg, nil},
		{"29.95 inHg vac", Atmosphere, 0, ErrOutOfRange}, // deeper than a perfect vacuum
		{"2 psig", Pressure(math.NaN()), 0, ErrOutOfRange},
		{"2 psig", -1, 0, ErrOutOfRange},
		{"2 psig", Pressure(math.Inf(1)), 0, ErrOutOfRange},
	} {
		r, err := ParsePressureReading(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		got, err := r.Absolute(c.ambient)
		if !errors.Is(err, c.err) || math.Abs(float64(got-c.want)) > 1e-10 {
			t.Errorf("%q at %v = %v, %v; want %v, %v", c.text, c.ambient, got, err, c.want, c.err)
		}
	}
	if _, err := (PressureReading{}).Absolute(Atmosphere); !errors.Is(err, ErrMissing) {
		t.Errorf("no reading: %v", err)
	}
	if _, err := (PressureReading{}).MarshalText(); !errors.Is(err, ErrMissing) {
		t.Errorf("no reading as text: %v", err)
	}
	for _, text := range []string{"500 psi", "29 inHg", "12", "", "-3 inHg vac", "-2 bar"} {
		if r, err := ParsePressureReading(text); err == nil || !r.IsZero() {
			t.Errorf("%q reads as %v", text, r)
		}
	}
}

func TestReadingRoundTrip(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		v := rapid.Float64().Draw(r, "v")
		reading := GaugeReading(GaugePressure(v))
		if rapid.Bool().Draw(r, "absolute") {
			reading = AbsoluteReading(Pressure(math.Abs(v)))
		}
		text, err := reading.MarshalText()
		if err != nil {
			r.Fatal(err)
		}
		var back PressureReading
		if err := back.UnmarshalText(text); err != nil || back != reading {
			r.Fatalf("%s reads back as %v, %v", text, back, err)
		}
	})
}

func TestGaugeAndAbsoluteAreInverse(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := Pressure(rapid.Float64Range(0, 1e7).Draw(r, "p"))
		ambient := Pressure(rapid.Float64Range(2e4, 2e5).Draw(r, "ambient"))
		if got := p.Gauge(ambient).Absolute(ambient); math.Abs(float64(got-p)) > 2e-16*float64(p+ambient)*2 {
			r.Fatalf("%v at %v came back as %v", p, ambient, got)
		}
	})
}

// TestThreeMicrons keeps the three definitions in use apart: one thousandth of a
// torr is the one of this package.
func TestThreeMicrons(t *testing.T) {
	conventional := float64(MillimetreHg) / 1000
	if rel := conventional/float64(Micron) - 1; math.Abs(rel-1.4e-7) > 5e-9 { // NIST SP 811 and the definition of the torr
		t.Errorf("the conventional micron of mercury is %g larger", rel)
	}
	const ucum = 133.3220e3 * 1e-6 // UCUM m[Hg] = 133.3220 kPa
	if rel := ucum/float64(Micron) - 1; math.Abs(rel+2.8e-6) > 5e-8 {
		t.Errorf("the micron of UCUM is %g larger", rel)
	}
}

func TestStandardAtmosphereAtItsEnds(t *testing.T) {
	for _, ok := range []Length{lowestAltitude, tropopause} {
		if p, err := StandardAtmosphere(ok); err != nil || !(p > 0) {
			t.Errorf("%v: %v, %v", ok, p, err)
		}
	}
	for _, bad := range []Length{
		Length(math.Nextafter(float64(lowestAltitude), -1e9)), Length(math.Nextafter(float64(tropopause), 1e9)),
		Length(math.NaN()), Length(math.Inf(1)), Length(math.Inf(-1)),
	} {
		if p, err := StandardAtmosphere(bad); !errors.Is(err, ErrOutOfRange) || p != 0 {
			t.Errorf("%v: %v, %v", float64(bad), p, err)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		h := rapid.Float64Range(-5000, 10999).Draw(r, "h")
		low, err1 := StandardAtmosphere(Length(h))
		high, err2 := StandardAtmosphere(Length(h + 1))
		if err1 != nil || err2 != nil || !(high < low) {
			r.Fatalf("%g m: %v, a metre higher %v", h, low, high)
		}
	})
}

func TestHotPathsDoNotAllocate(t *testing.T) {
	var sink float64
	room, nitrogen := Celsius(20), MolarMass(0.0280134)
	for name, f := range map[string]func(){
		"In":       func() { sink += (500 * Pascal).In(Micron) },
		"Absolute": func() { sink += float64(InHgVacuum(28).Absolute(Atmosphere)) },
		"reading":  func() { p, _ := GaugeReading(2 * PSIG).Absolute(Atmosphere); sink += float64(p) },
		"MassFlow": func() { sink += float64(Throughput(1e-3).MassFlow(nitrogen, room)) },
		"Normal":   func() { sink += float64(Normal().MolarFlow(10 * LitrePerMinute)) },
		"Circle":   func() { sink += float64((8 * Millimetre).Circle()) },
		"CheckRange": func() {
			if err := CheckRange("f", "x", sink, math.Inf(-1), math.Inf(1), "Pa"); err != nil {
				panic(err)
			}
		},
		"StandardAtmosphere": func() { p, _ := StandardAtmosphere(1000); sink += float64(p) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
	if !(sink > 0) {
		t.Error("nothing was computed")
	}
}
