package units

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// TestReferenceStatesOfGasFlow: 22.413969 L/mol at 0 °C and 101325 Pa (CODATA
// molar volume of an ideal gas; exact from R, so recomputed).
func TestReferenceStatesOfGasFlow(t *testing.T) {
	const normalVolume = 22.41396954 // L/mol
	for _, c := range []struct {
		text string
		want float64 // mol/s
		rel  float64
	}{
		{"10 NL/min", 10 / normalVolume / 60, 1e-9},
		{"1 Nm³/h", 1000 / normalVolume / 3600, 1e-9},
		{"1 Nm3/h", 1000 / normalVolume / 3600, 1e-9},
		{"60 sL/min (0 °C)", 1 / normalVolume, 1e-9},
		{"60 slpm (20 C)", 273.15 / 293.15 / normalVolume, 1e-9},
		{"60 sL/min (0 °C, 1 bar)", 1e5 / 101325 / normalVolume, 1e-9},
		{"1 scfm (32 °F)", 28.316846592 / normalVolume / 60, 1e-9},
		{"2 SCFM (70 F)", 2 * 28.316846592 / normalVolume / 60 * 491.67 / 529.67, 1e-9},
		{"1 scfm (60 °F, 14.73 psia)", 28.316846592 / normalVolume / 60 * 491.67 / 519.67 * 14.73 / 14.69594878, 1e-8},
	} {
		if got, err := ParseMolarFlow(c.text); err != nil || !near(float64(got), c.want, c.rel) {
			t.Errorf("%q = %g mol/s, %v; want %g", c.text, float64(got), err, c.want)
		}
	}
	amount, err := ParseAmount("3 scf (60 °F)")
	want := Standard(Fahrenheit(60)).Amount(3 * CubicFoot)
	if err != nil || !near(float64(amount), float64(want), 1e-15) {
		t.Errorf("3 scf (60 °F) = %v, %v; want %v", amount, err, want)
	}
}

func TestReferenceStateCheck(t *testing.T) {
	if err := Normal().Check(); err != nil {
		t.Error(err)
	}
	for _, r := range []ReferenceState{
		{},
		{Temperature: Celsius(0)},
		{Pressure: Atmosphere},
		{Celsius(0), -1},
		{Temperature(math.NaN()), Atmosphere},
		{Celsius(0), Pressure(math.Inf(1))},
	} {
		if err := r.Check(); err == nil {
			t.Errorf("%+v is accepted", r)
		}
	}
	if err := (ReferenceState{Temperature: Celsius(0)}).Check(); !errors.Is(err, ErrMissing) {
		t.Errorf("no pressure: %v", err)
	}
}

// TestConversionsBackAndForth takes each ideal-gas conversion both ways.
func TestConversionsBackAndForth(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		x := rapid.Float64Range(1e-12, 1e6).Draw(r, "x")
		temperature := Temperature(rapid.Float64Range(150, 400).Draw(r, "t"))
		m := MolarMass(rapid.Float64Range(0.002, 0.2).Draw(r, "m"))
		state := Standard(temperature)
		v := Volume(rapid.Float64Range(1e-6, 1e3).Draw(r, "v"))
		for name, got := range map[string]float64{
			"throughput, molar flow":  float64(Throughput(x).MolarFlow(temperature).Throughput(temperature)),
			"throughput, mass flow":   float64(Throughput(x).MassFlow(m, temperature).Throughput(m, temperature)),
			"molar flow, mass flow":   float64(MolarFlow(x).MassFlow(m).MolarFlow(m)),
			"amount, mass":            float64(Amount(x).Mass(m).Amount(m)),
			"pressure, amount":        float64(Pressure(x).Amount(v, temperature).Pressure(v, temperature)),
			"volume at state, amount": float64(state.Volume(state.Amount(Volume(x)))),
			"flow at state, molar":    float64(state.VolumeFlow(state.MolarFlow(VolumeFlow(x)))),
			"volume flow, throughput": float64(VolumeFlow(x).Throughput(1234).VolumeFlow(1234)),
			"celsius":                 float64(Celsius(Temperature(x+100).Celsius())) - 100,
		} {
			if !near(got, x, 1e-9) && math.Abs(got-x) > 1e-12 {
				r.Fatalf("%s: %g came back as %g", name, x, got)
			}
		}
	})
}

// TestTemperatureIsNeeded: 1 mbar·L/s is 7.3 % more gas at 0 °C than at 20 °C,
// the ratio of the kelvin temperatures.
func TestTemperatureIsNeeded(t *testing.T) {
	cold := MillibarLitrePerSecond.MolarFlow(Celsius(0))
	warm := MillibarLitrePerSecond.MolarFlow(Celsius(20))
	if ratio := float64(cold / warm); !near(ratio, 293.15/273.15, 1e-14) {
		t.Errorf("ratio %g", ratio)
	}
	if q := Conductance(2e-3).Throughput(300, 100); !near(float64(q), 0.4, 1e-15) {
		t.Errorf("conductance of 2 L/s under 200 Pa carries %v", q)
	}
}

func TestTemperatureScales(t *testing.T) {
	for _, c := range []struct{ f, c float64 }{{32, 0}, {212, 100}, {-40, -40}, {-459.67, -273.15}} { // definition
		if got := Fahrenheit(c.f).Celsius(); math.Abs(got-c.c) > 1e-12 {
			t.Errorf("%g °F is %g °C", c.f, got)
		}
		if got := Celsius(c.c).Fahrenheit(); math.Abs(got-c.f) > 1e-12 {
			t.Errorf("%g °C is %g °F", c.c, got)
		}
	}
	for _, text := range []string{"5 K", "9 Δ°F", "9 °F diff", "5 °C diff", "5000 mK"} {
		if d, err := ParseTemperatureDiff(text); err != nil || !near(float64(d), 5, 1e-15) {
			t.Errorf("%q = %v, %v", text, d, err)
		}
	}
	if got := Celsius(20).Add(5).Sub(Celsius(21)); math.Abs(float64(got)-4) > 1e-12 {
		t.Errorf("20 °C + 5 K - 21 °C = %v", got)
	}
}
