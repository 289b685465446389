package units

import (
	"encoding/json"
	"errors"
	"flag"
	"io"
	"math"
	"strings"
	"testing"
)

func TestAmbiguousTextIsRefusedWithAdvice(t *testing.T) {
	parsers := map[string]kind{}
	for _, k := range kinds() {
		parsers[k.name] = k
	}
	for _, c := range []struct {
		kind, text, advice string
		want               error
	}{
		{"Pressure", "500 psi", "psia", ErrAmbiguous},
		{"Pressure", "29 inHg", "inHg abs", ErrAmbiguous},
		{"Pressure", "5 mb", "mbar", ErrAmbiguous},
		{"Pressure", "500 µm", "micron", ErrAmbiguous},
		{"Pressure", "500 µmHg", "micron", ErrAmbiguous},
		{"Pressure", "1 kg/cm²", "bar", ErrAmbiguous},
		{"Pressure", "2 psig", "psia", ErrNoAmbient},
		{"Pressure", "28.5 inHg vac", "inHg abs", ErrNoAmbient},
		{"Pressure", "-1 Pa", "at least 0 Pa", ErrOutOfRange},
		{"GaugePressure", "2 psi", "psig", ErrAmbiguous},
		{"GaugePressure", "2 bar", "bar gauge", ErrAmbiguous},
		{"GaugePressure", "500 micron", "psig", ErrSyntax},
		{"GaugePressure", "-28 inHg vac", "at least 0 inHg vac", ErrOutOfRange},
		{"Temperature", "20 °", "°C", ErrAmbiguous},
		{"Temperature", "0 K", "above 0 K", ErrOutOfRange},
		{"Temperature", "-300 °C", "above 0 K", ErrOutOfRange},
		{"TemperatureDiff", "5 °C", "Δ°C", ErrAmbiguous},
		{"TemperatureDiff", "9 F", "Δ°F", ErrAmbiguous},
		{"Length", "10 micron", "µm", ErrAmbiguous},
		{"Length", "3/8 in", "decimal", ErrSyntax},
		{"Volume", "3 gal", "US gal", ErrAmbiguous},
		{"Volume", "3 oz", "mL", ErrAmbiguous},
		{"Volume", "3 m", "m³", ErrAmbiguous},
		{"Volume", "3 NL", "amount", ErrAmbiguous},
		{"VolumeFlow", "3 scfm", "molar flow", ErrAmbiguous},
		{"Throughput", "3 sccm", "reference temperature", ErrAmbiguous},
		{"Mass", "3 oz", "oz avdp", ErrAmbiguous},
		{"Mass", "1 ton", "kg", ErrAmbiguous},
		{"Mass", "-5 g", "at least 0 kg", ErrOutOfRange},
		{"Power", "2 ton", "kW", ErrAmbiguous},
		{"Amount", "3 scf", "scf (60 °F)", ErrAmbiguous},
		{"Amount", "3 NL (20 °C)", "0 °C", ErrAmbiguous},
		{"Amount", "3 scf (60 °F", "not closed", ErrSyntax},
		{"Amount", "3 scf (-500 °F)", "above 0 K", ErrOutOfRange},
		{"Amount", "3 scf (60 °F, 0 Pa)", "pressure", ErrOutOfRange},
		{"MolarFlow", "2 scfm", "NL/min", ErrAmbiguous},
		{"MolarFlow", "2 scfm (60 °F, 14.7 psi)", "psia", ErrAmbiguous},
		{"RelativeHumidity", "0.6", "%", ErrSyntax},
		{"RelativeHumidity", "120 %", "0 to 100 %", ErrOutOfRange},
		{"MassFraction", "50 ppm", "mg/kg", ErrAmbiguous},
		{"MassFraction", "5 %", "% by mass", ErrAmbiguous},
		{"MassFraction", "1.5 kg/kg", "0 to 1 kg/kg", ErrOutOfRange},
		{"MoleFraction", "50 ppm", "µmol/mol", ErrAmbiguous},
		{"MoleFraction", "5 %", "mol%", ErrAmbiguous},
		{"MolarFlow", "8 L/min", "NL/min", ErrAmbiguous},
		{"MolarFlow", "8 CFM", "NL/min", ErrAmbiguous},
		{"MolarFlow", "8 nl/min", "NL/min", ErrSyntax},
		{"MolarFlow", "8 sL/min", "sL/min (20 °C)", ErrAmbiguous},
		{"Amount", "8 L", "NL", ErrAmbiguous},
	} {
		_, err := parsers[c.kind].parse(c.text)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.advice) {
			t.Errorf("%s %q: %v; want %v with %q", c.kind, c.text, err, c.want, c.advice)
		}
		if err != nil && !strings.HasPrefix(err.Error(), "units.Parse"+c.kind) {
			t.Errorf("%s %q: %v does not name the function", c.kind, c.text, err)
		}
	}
}

func TestTypographicVariants(t *testing.T) {
	for _, text := range []string{
		"500 micron", "500micron", " 500  MICRONS ", "+5e2 mTorr", "500.0 Micron", "0.5E+3\u00a0micron", "5.e2 micron",
	} {
		if p, err := ParsePressure(text); err != nil || p != 500*Micron {
			t.Errorf("%q = %v, %v", text, p, err)
		}
	}
	for _, text := range []string{"10 m3/h", "10 m³/h", "10 m^3/h", "10 m³ / h"} {
		if f, err := ParseVolumeFlow(text); err != nil || f != 10*CubicMetrePerHour {
			t.Errorf("%q = %v, %v", text, f, err)
		}
	}
	for _, text := range []string{"2 mbar·L/s", "2 mbar*l/s", "2 mbar.L/s", "2 mbar l/s", "2 mbar ⋅ L/s"} {
		if q, err := ParseThroughput(text); err != nil || q != 2*MillibarLitrePerSecond {
			t.Errorf("%q = %v, %v", text, q, err)
		}
	}
	for _, text := range []string{"-12.5 °C", "−12.5 C", "-12.5 degC", "-12.5 ° C", "-12.5 ℃", "9.5 °F", "9.5 F", "260.65 K"} {
		if v, err := ParseTemperature(text); err != nil || math.Abs(float64(v)-260.65) > 1e-13*260 {
			t.Errorf("%q = %v, %v", text, v, err)
		}
	}
	for _, text := range []string{"3 µg", "3 μg", "3 ug"} { // U+00B5, U+03BC, u
		if m, err := ParseMass(text); err != nil || m != 3e-9 {
			t.Errorf("%q = %v, %v", text, m, err)
		}
	}
}

// TestLettersThatDifferByCase guards the prefixes: milli is not mega.
func TestLettersThatDifferByCase(t *testing.T) {
	for text, want := range map[string]Pressure{"1 MPa": 1e6, "1 mPa": 1e-3} {
		if p, err := ParsePressure(text); err != nil || p != want {
			t.Errorf("%q = %v, %v", text, p, err)
		}
	}
	for _, text := range []string{"1 mpa", "1 PA", "1 Mbar", "1 k"} {
		if p, err := ParsePressure(text); !errors.Is(err, ErrSyntax) {
			t.Errorf("%q = %v, %v", text, p, err)
		}
	}
}

// TestTextAgreesWithConstants holds text and Go constants to the same bits.
func TestTextAgreesWithConstants(t *testing.T) {
	length, err := ParseLength("7.9 mm")
	if err != nil || length != 7.9*Millimetre {
		t.Errorf("7.9 mm = %v, %v", float64(length), err)
	}
	volume, err := ParseVolume("8 L")
	if err != nil || volume != 8*Litre {
		t.Errorf("8 L = %v, %v", float64(volume), err)
	}
	humidity, err := ParseRelativeHumidity("57.3 % RH")
	if err != nil || humidity != 0.573 {
		t.Errorf("57.3 %% = %v, %v", float64(humidity), err)
	}
	celsius, err := ParseTemperature("21.5 °C")
	if err != nil || celsius != Celsius(21.5) {
		t.Errorf("21.5 °C = %v, %v", float64(celsius), err)
	}
	fahrenheit, err := ParseTemperature("70 °F")
	if err != nil || math.Abs(float64(fahrenheit-Fahrenheit(70))) > 1e-13 {
		t.Errorf("70 °F = %v, %v", float64(fahrenheit), err)
	}
}

func TestStringsOfASensibleSize(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{(500 * Micron).String(), "66.66 Pa"},
		{Atmosphere.String(), "101.3 kPa"},
		{(2 * PSIG).String(), "13.79 kPa gauge"},
		{InHgVacuum(28.5).String(), "-96.51 kPa gauge"},
		{Celsius(21.5).String(), "21.5 °C"},
		{Celsius(0).String(), "0 °C"},
		{TemperatureDiff(5).String(), "5 K"},
		{(7.9 * Millimetre).String(), "7.9 mm"},
		{(8 * Litre).String(), "8 L"},
		{(6 * CFM).String(), "10.19 m³/h"},
		{(5 * Gram).String(), "5 g"},
		{(5 * GramPerYear).String(), "5 g/year"},
		{RelativeHumidity(0.573).String(), "57.3 %"},
		{MassFraction(50e-6).String(), "50 mg/kg"},
		{Viscosity(17.8771e-6).String(), "17.88 µPa·s"},
		{MolarMass(0.0280134).String(), "28.01 g/mol"},
		{PressureReading{}.String(), "no reading"},
		{Pressure(0).String(), "0 Pa"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		unit   string
		digits int
		want   string
	}{{"micron", 3, "500 micron"}, {"Torr", 2, "0.5 Torr"}, {" micron ", 3, "500 micron"}, {"mbar", 4, "0.6666 mbar"}} {
		if got, err := Format(500*Micron, c.unit, c.digits); err != nil || got != c.want {
			t.Errorf("%s: %q, %v", c.unit, got, err)
		}
	}
	for _, c := range []struct {
		unit   string
		digits int
		want   error
	}{{"psi", 3, ErrAmbiguous}, {"", 3, ErrSyntax}, {"Pa", 0, ErrOutOfRange}, {"Pa", 18, ErrOutOfRange}} {
		if got, err := Format(Atmosphere, c.unit, c.digits); !errors.Is(err, c.want) {
			t.Errorf("%q to %d digits: %q, %v", c.unit, c.digits, got, err)
		}
	}
}

func TestJSONNamesFieldAndExample(t *testing.T) {
	type job struct {
		Volume  Volume          `json:"volume"`
		Ambient PressureReading `json:"ambient,omitzero"`
		Tube    NominalTube     `json:"tube,omitzero"`
		Hold    Duration        `json:"hold"`
	}
	in := `{"volume":"8 L","ambient":"28.5 inHg vac","tube":"3/8 inch nominal copper tube drawn","hold":"1h30m"}`
	var j job
	if err := json.Unmarshal([]byte(in), &j); err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(j)
	if err != nil {
		t.Fatal(err)
	}
	var again job
	if err := json.Unmarshal(out, &again); err != nil || again != j {
		t.Errorf("%s reads back as %+v, %v", out, again, err)
	}
	if out, err := json.Marshal(job{}); err != nil || string(out) != `{"volume":"0 m³","hold":"0 s"}` {
		t.Errorf("the empty job is %s, %v", out, err)
	}
	for field, example := range map[string]string{
		"volume": "8 L", "ambient": "28.5 inHg vac", "hold": "20 min", "tube": "nominal copper tube",
	} {
		for _, value := range []string{"500", "null"} {
			err := json.Unmarshal([]byte(`{"`+field+`":`+value+`}`), &job{})
			if err == nil || !strings.Contains(err.Error(), "job."+field) || !strings.Contains(err.Error(), example) {
				t.Errorf("%s of %s: %v", field, value, err)
			}
		}
	}
}

func TestFlags(t *testing.T) {
	set := flag.NewFlagSet("test", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	var p Pressure
	var room Temperature // its zero value has no text, which flag must survive
	set.TextVar(&p, "target", 500*Micron, "target pressure")
	set.TextVar(&room, "room", Celsius(20), "room temperature")
	if err := set.Parse([]string{"-target", "200 micron"}); err != nil || p != 200*Micron || room != Celsius(20) {
		t.Errorf("%v, %v, %v", p, room, err)
	}
	if err := set.Parse([]string{"-target", "200"}); err == nil || !strings.Contains(err.Error(), "unit is missing") {
		t.Errorf("a bare number: %v", err)
	}
	set.PrintDefaults()
}
