package units

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// kind gives the tests one view of every quantity type.
type kind struct {
	*definition
	parse   func(string) (float64, error)
	marshal func(float64) (string, error)
	reread  func(string) (float64, error) // UnmarshalText
	json    func(string) (float64, error) // json.Unmarshal
	str     func(float64) string
	format  func(v float64, unit string) (string, error)
}

func kindOf[Q interface {
	Quantity
	MarshalText() ([]byte, error)
}, P interface {
	*Q
	UnmarshalText([]byte) error
}](parse func(string) (Q, error),
) kind {
	var none Q
	return kind{
		definition: none.definition(),
		parse:      func(s string) (float64, error) { q, err := parse(s); return float64(q), err },
		marshal:    func(v float64) (string, error) { b, err := Q(v).MarshalText(); return string(b), err },
		reread: func(s string) (float64, error) {
			var q Q
			err := P(&q).UnmarshalText([]byte(s))
			return float64(q), err
		},
		json: func(s string) (float64, error) {
			var q Q
			err := json.Unmarshal([]byte(s), &q)
			return float64(q), err
		},
		str:    func(v float64) string { return Q(v).String() },
		format: func(v float64, unit string) (string, error) { return Format(Q(v), unit, 17) },
	}
}

func kinds() []kind {
	return []kind{
		kindOf(ParsePressure), kindOf(ParseGaugePressure), kindOf(ParsePressureRate),
		kindOf(ParseTemperature), kindOf(ParseTemperatureDiff),
		kindOf(ParseLength), kindOf(ParseArea), kindOf(ParseVolume),
		kindOf(ParseVolumeFlow), kindOf(ParseConductance), kindOf(ParseThroughput),
		kindOf(ParseMass), kindOf(ParseMassFlow), kindOf(ParseDensity),
		kindOf(ParseAmount), kindOf(ParseMolarFlow), kindOf(ParseMolarMass),
		kindOf(ParseEnergy), kindOf(ParseSpecificEnergy), kindOf(ParsePower), kindOf(ParseHeatConductance),
		kindOf(ParseConductivity), kindOf(ParseDiffusivity), kindOf(ParseViscosity),
		kindOf(ParseRelativeHumidity), kindOf(ParseMassFraction), kindOf(ParseMoleFraction),
	}
}

// eachKind runs a subtest for every quantity type.
func eachKind(t *testing.T, test func(t *testing.T, k kind)) {
	t.Helper()
	for _, k := range kinds() {
		t.Run(k.name, func(t *testing.T) { test(t, k) })
	}
}

// anyValue draws a value in the range of the type, over all magnitudes.
func anyValue(k kind) *rapid.Generator[float64] {
	return rapid.Float64Range(k.lo, k.hi)
}

func TestMarshalReadsBackToTheSameBits(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		check := func(v float64, fatal func(string, ...any)) {
			text, err := k.marshal(v)
			if err != nil {
				fatal("%g: %v", v, err)
			}
			got, err := k.reread(text)
			if err != nil {
				fatal("%g as %q: %v", v, text, err)
			}
			if math.Float64bits(got) != math.Float64bits(v) {
				fatal("%g as %q reads back as %g", v, text, got)
			}
		}
		rapid.Check(t, func(r *rapid.T) { check(anyValue(k).Draw(r, "v"), r.Fatalf) })
		for _, v := range []float64{k.lo, k.hi, math.SmallestNonzeroFloat64, math.Nextafter(k.hi, 0), 0.1 + 0.2, 1.0 / 3} {
			check(v, t.Fatalf)
		}
	})
}

func TestStringReadsBackWithinItsRounding(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		rapid.Check(t, func(r *rapid.T) {
			v := rapid.Float64Range(math.Max(k.lo, -1e9), math.Min(k.hi, 1e9)).Draw(r, "v")
			got, err := k.parse(k.str(v))
			tolerance := 5.1e-4 * math.Abs(v)
			if k.name == "Temperature" {
				tolerance = 0.0051 + 1e-15*v
				if v < 0.006 { // may round to 0 K, which is refused
					return
				}
			}
			if err != nil || math.Abs(got-v) > tolerance {
				if v != 0 && math.Abs(v) < 1e-300 { // subnormal scaling
					return
				}
				r.Fatalf("%g prints as %q, which reads as %g, %v", v, k.str(v), got, err)
			}
		})
	})
}

func TestEveryUnitReadsAndPrints(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		for i, u := range k.units {
			x := 0.5
			want := u.toSI(x)
			if u.shift != 0 {
				want = x * math.Pow10(u.shift)
			}
			for _, name := range append(strings.Split(u.also, "|"), u.name) {
				if name == "" {
					continue
				}
				got, err := k.parse("0.5 " + strings.TrimPrefix(name, "~"))
				if err != nil || got != want {
					t.Errorf("0.5 %s = %g, %v; want %g", name, got, err, want)
				}
			}
			if printed, err := k.format(want, u.name); err != nil || !strings.HasSuffix(printed, " "+u.name) {
				t.Errorf("Format(%g, %s) = %q, %v", want, u.name, printed, err)
			}
			if i == 0 && u.shift == 0 && (u.factor != 1 || u.per != 0 || u.offset != 0) {
				t.Errorf("the first unit %s is not the SI unit", u.name)
			}
		}
		if _, err := k.parse(k.example); err != nil {
			t.Errorf("its own example: %v", err)
		}
	})
}

// TestWhatIsAcceptedReadsAndPrints holds parsing, Format and the list to each other.
func TestWhatIsAcceptedReadsAndPrints(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		for _, name := range k.names() {
			v, err := k.parse("0.5 " + name)
			if err != nil {
				t.Errorf("0.5 %s: %v", name, err)
			}
			if printed, err := k.format(v, name); err != nil || !strings.HasSuffix(printed, " "+name) {
				t.Errorf("Format(%g, %s) = %q, %v", v, name, printed, err)
			}
		}
	})
	for _, name := range []string{"NL", "Nm³", "scf (60 °F)"} {
		if !slices.Contains(Accepted[Amount](), name) {
			t.Errorf("%s is not in %v", name, Accepted[Amount]())
		}
	}
	for _, name := range []string{"NL/min", "Nm³/h", "sL/min (20 °C)", "scfm (60 °F)"} {
		if !slices.Contains(Accepted[MolarFlow](), name) {
			t.Errorf("%s is not in %v", name, Accepted[MolarFlow]())
		}
	}
}

// TestNoSpellingMeansTwoThings holds for each table on its own and, for the
// spellings that differ in letter case only, within the table.
func TestNoSpellingMeansTwoThings(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		seen := map[string]string{}
		claim := func(owner, list string) {
			for s := range strings.SplitSeq(list, "|") {
				key := normalise(strings.TrimPrefix(s, "~"))
				if strings.HasPrefix(s, "~") {
					key = strings.ToLower(key)
				}
				if other, taken := seen[key]; taken && other != owner && key != "" {
					t.Errorf("%q belongs to %s and %s", s, other, owner)
				}
				seen[key] = owner
			}
		}
		for _, u := range k.units {
			claim(u.name, u.name+"|"+u.also)
		}
		for _, r := range k.gas {
			claim(r.name(), r.spellings)
		}
		for _, r := range k.refuses {
			claim("the refusals", r.spellings)
		}
	})
}

func TestWhatEveryTypeRefuses(t *testing.T) {
	eachKind(t, func(t *testing.T, k kind) {
		unit := k.units[0].name
		for text, want := range map[string]error{
			"":                             ErrSyntax,
			"   ":                          ErrSyntax,
			unit:                           ErrSyntax,
			"500":                          ErrSyntax,
			"0.5 furlong":                  ErrSyntax,
			"NaN " + unit:                  ErrSyntax,
			"Inf " + unit:                  ErrSyntax,
			"-inf " + unit:                 ErrSyntax,
			"0x1p-2 " + unit:               ErrSyntax,
			"1_000 " + unit:                ErrSyntax,
			"1,5 " + unit:                  ErrSyntax,
			"1/2 " + unit:                  ErrSyntax,
			". " + unit:                    ErrSyntax,
			"0.5 " + unit + " " + unit:     ErrSyntax,
			"1e400 " + unit:                ErrOutOfRange,
			"1e-400 " + unit:               ErrOutOfRange,
			strings.Repeat("1", 300) + "m": ErrSyntax,
		} {
			got, err := k.parse(text)
			if !errors.Is(err, want) {
				t.Errorf("%q: %v, want %v", text, err, want)
			}
			if got != 0 {
				t.Errorf("%q: value %g beside an error", text, got)
			}
		}
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			if text, err := k.marshal(v); !errors.Is(err, ErrOutOfRange) {
				t.Errorf("%g marshals as %q, %v", v, text, err)
			}
		}
		for _, data := range []string{"500", "null", "true", "{}", "[]", `"500"`} {
			if v, err := k.json(data); err == nil {
				t.Errorf("JSON %s reads as %g", data, v)
			}
		}
	})
}
