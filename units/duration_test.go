package units

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestDurationText(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"20 min": 20 * time.Minute, "90 s": 90 * time.Second, "1h30m": 90 * time.Minute, "1 h 30 min": 90 * time.Minute,
		"2 h": 2 * time.Hour, "1.5 h": 90 * time.Minute, "2 days": 48 * time.Hour, "250 ms": 250 * time.Millisecond,
		"0 s": 0, "20 Minutes": 20 * time.Minute, "1 h 2 min 3.5 s": time.Hour + 2*time.Minute + 3500*time.Millisecond,
		"5 µs": 5 * time.Microsecond, "2 days 3 h 4 m 5 s": 51*time.Hour + 4*time.Minute + 5*time.Second, "2 hr 3m": 123 * time.Minute,
	} {
		if got, err := ParseDuration(text); err != nil || time.Duration(got) != want {
			t.Errorf("%q = %v, %v; want %v", text, got, err, want)
		}
	}
	for text, want := range map[string]error{
		"": ErrSyntax, "20": ErrSyntax, "min": ErrSyntax, "30 m": ErrAmbiguous, "30m": ErrAmbiguous, "90 s 3 m": ErrAmbiguous, "2 days 3 m": ErrAmbiguous, "1 h 2 min 3 m": ErrAmbiguous, "20 parsec": ErrSyntax,
		"-5 min": ErrOutOfRange, "1e3 s": ErrSyntax, "1,5 h": ErrSyntax, "9999999 h": ErrOutOfRange, "200000 days": ErrOutOfRange,
		"0.1 ns": ErrOutOfRange, "NaN s": ErrSyntax, "1 h -5 min": ErrOutOfRange, "106751 days 48 h": ErrOutOfRange,
		strings.Repeat("9", 250) + " s": ErrSyntax,
	} {
		if got, err := ParseDuration(text); !errors.Is(err, want) || got != 0 {
			t.Errorf("%q = %v, %v; want %v", text, got, err, want)
		}
	}
	if _, err := Duration(-1).MarshalText(); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("a negative duration marshals: %v", err)
	}
}

// TestOutOfRangeIsARangeError: where a number was read, errors.As gives it.
func TestOutOfRangeIsARangeError(t *testing.T) {
	duration := func(text string) error { _, err := ParseDuration(text); return err }
	pressure := func(text string) error { _, err := ParsePressure(text); return err }
	amount := func(text string) error { _, err := ParseAmount(text); return err }
	for _, c := range []struct {
		text  string
		parse func(string) error
		value float64
	}{
		{"-5 min", duration, -300},
		{"1 h -5 min", duration, -300},
		{"300000 d", duration, 300000 * 86400},
		{"106751 days 48 h", duration, 106753 * 86400},
		{"0.1 ns", duration, 1e-10},
		{"1e-400 Pa", pressure, 0},
		{"-1 Pa", pressure, -1},
		{"3 scf (-500 °F)", amount, -22.4055555}, // K
		{"3 scf (60 °F, -1 Pa)", amount, -1},
		{"3 scf (60 °F, 0 Pa)", amount, 0},
	} {
		err := c.parse(c.text)
		var refused *RangeError
		if !errors.Is(err, ErrOutOfRange) || !errors.As(err, &refused) || math.Abs(refused.Value-c.value) > 1e-6*math.Abs(c.value) {
			t.Errorf("%q: %v (%+v), want %g out of range", c.text, err, refused, c.value)
			continue
		}
		if refused.Value >= refused.Min && refused.Value <= refused.Max {
			t.Errorf("%q: %v states that it is accepted", c.text, err)
		}
	}
}

func TestDurationRoundTripIsExact(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := Duration(rapid.Int64Range(0, math.MaxInt64).Draw(r, "ns"))
		text, err := d.MarshalText()
		if err != nil {
			r.Fatal(err)
		}
		var back Duration
		if err := back.UnmarshalText(text); err != nil || back != d {
			r.Fatalf("%d ns as %s reads back as %d, %v", d, text, back, err)
		}
	})
}

func TestDurationStrings(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 ms", 90 * time.Second: "1 min 30 s", 2 * time.Hour: "2 h", 95 * time.Minute: "1 h 35 min",
		59*time.Second + 600*time.Millisecond: "59.6 s", 20 * time.Minute: "20 min",
		59*time.Minute + 31*time.Second: "59 min 31 s", time.Hour + 31*time.Second: "1 h 1 min", 49 * time.Hour: "49 h",
		1234567 * time.Microsecond: "1.235 s", 1234567 * time.Nanosecond: "1.235 ms",
	} {
		if got := Duration(d).String(); got != want {
			t.Errorf("%v prints as %q, want %q", d, got, want)
		}
	}
}

func TestNominalTubes(t *testing.T) {
	for _, tube := range NominalTubes() {
		back, err := ParseNominalTube(tube.String())
		if err != nil || back != tube {
			t.Errorf("%v reads back as %v, %v", tube, back, err)
		}
		if bore := tube.InnerDiameter(); !(bore > 0 && bore < tube.OutsideDiameter()) {
			t.Errorf("%v has bore %v", tube, bore)
		}
	}
	for _, text := range []string{
		"3/8 in nominal copper tube, drawn", "3/8 inch nominal copper tube drawn", "3/8 in Nominal Copper Tube,drawn",
		"3/8 in nominal copper tube, ASTM B280 drawn",
	} {
		if tube, err := ParseNominalTube(text); err != nil || tube.OutsideDiameter() != 0.375*Inch {
			t.Errorf("%q = %v, %v", text, tube, err)
		}
	}
	if tube, err := ParseNominalTube("1-1/8 in nominal copper tube, drawn"); err != nil || tube.OutsideDiameter() != 1.125*Inch {
		t.Errorf("1-1/8 = %v, %v", tube, err)
	}
	for text, want := range map[string]error{
		"3/8 in nominal copper tube":           ErrAmbiguous,
		"3/4 in nominal copper tube, annealed": ErrAmbiguous,
		"":                                     ErrSyntax, "3/8 in": ErrSyntax, "0.375 in": ErrSyntax, "tube": ErrSyntax,
		"4 in nominal copper tube, drawn": ErrSyntax, strings.Repeat("x", 300): ErrSyntax,
	} {
		if tube, err := ParseNominalTube(text); !errors.Is(err, want) || !tube.IsZero() {
			t.Errorf("%q = %v, %v; want %v", text, tube, err, want)
		}
	}
	_, err := ParseNominalTube("1/8 in nominal copper tube")
	if want := "the temper is missing; only one is listed, write 1/8 in nominal copper tube, annealed"; !errors.Is(err, ErrAmbiguous) || !strings.HasSuffix(err.Error(), want) {
		t.Errorf("one candidate: %v", err)
	}
	if _, err := (NominalTube{}).MarshalText(); !errors.Is(err, ErrMissing) {
		t.Errorf("no tube marshals: %v", err)
	}
	if d := (NominalTube{}).InnerDiameter(); d != 0 {
		t.Errorf("no tube has bore %v", d)
	}
}
