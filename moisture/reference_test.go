package moisture

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
)

// referenceRow is one line of testdata/published or testdata/recomputed.
type referenceRow struct {
	file, name, input, unit     string
	value, tolerance            float64
	source, locator, evidence   string
	printed, digits, printedTol string
}

// args are the inputs of a row in SI by name.
type args map[string]float64

func (a args) t() units.Temperature { return units.Temperature(a["t"]) }
func (a args) p() units.Pressure    { return units.Pressure(a["p"]) }

// toSI maps the unit words of the files to factor and offset.
func toSI(t *testing.T, unit string) (factor, offset float64) {
	t.Helper()
	switch unit {
	case "C":
		return 1, 273.15
	case "F":
		return 5.0 / 9, 459.67 * 5.0 / 9
	case "inHg vac": // below a barometer of 29.92126 inHg
		return -3386.388640341, 29.92126 * 3386.388640341
	}
	factors := map[string]float64{
		"": 1, "K": 1, "Pa": 1, "kPa": 1e3, "MPa": 1e6, "micron": 101325.0 / 760000, "psia": 6894.757293168361, "inHg": 3386.388640341, "Pa/K": 1,
		"kg/m3": 1, "m3/kg": 1, "J/kg": 1, "kJ/kg": 1e3, "J/(kg K)": 1, "kJ/(kg K)": 1e3, "cm2/s": 1e-4,
		"uPa s": 1e-6, "mW/(m K)": 1e-3, "kg/kg": 1, "mg/kg": 1e-6, "%": 0.01, "m": 1, "m3": 1, "kg": 1,
		"g": 1e-3, "mol": 1, "s": 1, "h": 3600, "W/K": 1, "m2": 1, "mol/s": 1, "kg/s": 1, "m3/s": 1, "kg/mol": 1,
		"Pa m3/s": 1, "kg/(m2 s)": 1, "Pa m3/(s m2)": 1, "J/mol": 1, "W": 1, "kg/m2": 1, "mm": 1e-3,
	}
	f, ok := factors[unit]
	require.Truef(t, ok, "unknown unit %q", unit)
	return f, 0
}

func (r referenceRow) args(t *testing.T) args {
	t.Helper()
	a := args{}
	for part := range strings.SplitSeq(r.input, ";") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		key, text, ok := strings.Cut(part, "=")
		require.Truef(t, ok, "%s: input %q", r.name, part)
		number, unit, _ := strings.Cut(text, " ")
		v, err := strconv.ParseFloat(number, 64)
		require.NoError(t, err)
		factor, offset := toSI(t, unit)
		a[key] = v*factor + offset
	}
	return a
}

func readRows(t *testing.T) []referenceRow {
	t.Helper()
	var rows []referenceRow
	for _, kind := range []string{"published", "recomputed"} {
		file := filepath.Join("..", "testdata", kind, "moisture.csv")
		f, err := os.Open(file)
		require.NoError(t, err)
		r := csv.NewReader(f)
		r.Comment = '#'
		all, err := r.ReadAll()
		require.NoError(t, err)
		require.NoError(t, f.Close())
		require.Equal(t, []string{"name", "input", "unit", "value", "digits", "tolerance", "source", "locator", "evidence"}, all[0])
		for _, c := range all[1:] {
			v, err := strconv.ParseFloat(c[3], 64)
			require.NoError(t, err)
			tol, err := strconv.ParseFloat(c[5], 64)
			require.NoErrorf(t, err, "%s %s", c[0], c[1])
			rows = append(rows, referenceRow{
				file: kind, name: c[0], input: c[1], unit: c[2], value: v, tolerance: tol,
				source: c[6], locator: c[7], evidence: c[8], printed: c[3], digits: c[4], printedTol: c[5],
			})
		}
	}
	return rows
}

// quantity ties the name of a row to the functions of the package that answer
// it.
type quantity struct {
	function string // exported functions and methods that the rows check, by blanks
	eval     func(a args) (float64, error)
}

// typed lifts a function of temperature with typed result.
func typed[T ~float64](f func(units.Temperature) (T, error)) func(args) (float64, error) {
	return func(a args) (float64, error) { v, err := f(a.t()); return float64(v), err }
}

func byPressure[T ~float64](f func(units.Pressure) (T, error)) func(args) (float64, error) {
	return func(a args) (float64, error) { v, err := f(a.p()); return float64(v), err }
}

// curve lifts a correlation of the named argument.
func curve(c Correlation, arg string) func(args) (float64, error) {
	return func(a args) (float64, error) { return c.At(a[arg]) }
}

func saturated(pick func(SaturationState) float64) func(args) (float64, error) {
	return func(a args) (float64, error) { s, err := SaturationSR186(a.t()); return pick(s), err }
}

func iced(pick func(IceState) float64) func(args) (float64, error) {
	return func(a args) (float64, error) { s, err := IceProperties(a.t(), a.p()); return pick(s), err }
}

func vapoured(pick func(VapourState) float64) func(args) (float64, error) {
	return func(a args) (float64, error) { s, err := VapourProperties(a.t(), a.p()); return pick(s), err }
}

// quantities is everything that the two files name.
func quantities() map[string][]quantity {
	all := pureWater()
	for _, more := range []map[string][]quantity{humidAir(), places(), storeRows()} {
		maps.Copy(all, more)
	}
	return all
}

func pureWater() map[string][]quantity {
	return map[string][]quantity{
		"saturation pressure liquid": {
			{"SaturationPressureLiquid", typed(SaturationPressureLiquid)},
			{"LiquidPressureR797", curve(LiquidPressureR797(), "t")},
		},
		"saturation temperature liquid": {
			{"SaturationTemperatureLiquid", byPressure(SaturationTemperatureLiquid)},
			{"LiquidTemperatureR797", curve(LiquidTemperatureR797(), "p")},
		},
		"saturation pressure ice": {
			{"SaturationPressureIce", typed(SaturationPressureIce)},
			{"IcePressureR1408", curve(IcePressureR1408(), "t")},
		},
		"saturation temperature ice": {
			{"SaturationTemperatureIce", byPressure(SaturationTemperatureIce)},
			{"IceTemperatureR1408", curve(IceTemperatureR1408(), "p")},
		},
		"saturation pressure": {
			{"SaturationPressure", func(a args) (float64, error) { p, _, err := SaturationPressure(a.t()); return float64(p), err }},
			{"StableSaturationPressure", curve(StableSaturationPressure(), "t")},
		},
		"saturation temperature": {
			{"SaturationTemperature", func(a args) (float64, error) { v, _, err := SaturationTemperature(a.p()); return float64(v), err }},
		},
		"saturation slope": {
			{"SaturationSlope", func(a args) (float64, error) { v, _, err := SaturationSlope(a.t()); return v, err }},
			{"LiquidSlopeR797", curve(LiquidSlopeR797(), "t")},
		},
		"saturation slope over ice": {
			{"SaturationSlope", func(a args) (float64, error) { v, _, err := SaturationSlope(a.t()); return v, err }},
			{"IceSlopeR1408", curve(IceSlopeR1408(), "t")},
		},
		"melting pressure": {
			{"MeltingPressure", typed(MeltingPressure)},
			{"MeltingPressureR1408", curve(MeltingPressureR1408(), "t")},
		},
		"SR1-86 pressure": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return float64(s.Pressure) })},
			{"LiquidPressureSR186", curve(LiquidPressureSR186(), "t")},
		},
		"SR1-86 slope": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return s.Slope })},
			{"LiquidSlopeSR186", curve(LiquidSlopeSR186(), "t")},
		},
		"SR1-86 liquid density": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return float64(s.LiquidDensity) })},
			{"LiquidDensitySR186", curve(LiquidDensitySR186(), "t")},
		},
		"SR1-86 vapour density": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return float64(s.VapourDensity) })},
			{"VapourDensitySR186", curve(VapourDensitySR186(), "t")},
		},
		"SR1-86 liquid enthalpy": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return float64(s.LiquidHeat) })},
			{"LiquidEnthalpySR186", curve(LiquidEnthalpySR186(), "t")},
		},
		"SR1-86 vapour enthalpy": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return float64(s.VapourHeat) })},
			{"VapourEnthalpySR186", curve(VapourEnthalpySR186(), "t")},
		},
		"SR1-86 liquid entropy": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return s.LiquidEntropy })},
			{"LiquidEntropySR186", curve(LiquidEntropySR186(), "t")},
		},
		"SR1-86 vapour entropy": {
			{"SaturationSR186", saturated(func(s SaturationState) float64 { return s.VapourEntropy })},
			{"VapourEntropySR186", curve(VapourEntropySR186(), "t")},
		},
		"ice density":       {{"IceProperties", iced(func(s IceState) float64 { return float64(s.Density) })}},
		"ice enthalpy":      {{"IceProperties", iced(func(s IceState) float64 { return float64(s.Enthalpy) })}},
		"ice entropy":       {{"IceProperties", iced(func(s IceState) float64 { return s.Entropy })}},
		"ice heat capacity": {{"IceProperties", iced(func(s IceState) float64 { return s.HeatCapacity })}},
		"ice Gibbs energy":  {{"IceProperties", iced(func(s IceState) float64 { return float64(s.Gibbs) })}},
		"ice density at saturation": {
			{"IceDensity", typed(IceDensity)},
			{"IceDensityR1006", curve(IceDensityR1006(), "t")},
		},
		"vapour density":         {{"VapourProperties", vapoured(func(s VapourState) float64 { return float64(s.Density) })}},
		"vapour compressibility": {{"VapourProperties", vapoured(func(s VapourState) float64 { return s.Compressibility })}},
		"saturated vapour volume": {{"SaturatedVapourDensity", func(a args) (float64, error) {
			rho, err := SaturatedVapourDensity(a.t())
			if err != nil {
				return 0, err
			}
			return 1 / float64(rho), nil
		}}, {"SaturatedVapourDensityR695", func(a args) (float64, error) {
			rho, err := SaturatedVapourDensityR695().At(a["t"])
			return 1 / rho, err
		}}},
		"latent heat vaporisation": {
			{"LatentHeatVaporisation", typed(LatentHeatVaporisation)},
			{"VaporisationR695", curve(VaporisationR695(), "t")},
		},
		"latent heat sublimation": {
			{"LatentHeatSublimation", typed(LatentHeatSublimation)},
			{"SublimationR1006", curve(SublimationR1006(), "t")},
		},
		"latent heat fusion": {{"", func(args) (float64, error) { return float64(LatentHeatFusion), nil }}},
		"vapour viscosity": {
			{"VapourViscosity", typed(VapourViscosity)},
			{"VapourViscosityR1208", curve(VapourViscosityR1208(), "t")},
		},
		"vapour conductivity": {
			{"VapourConductivity", typed(VapourConductivity)},
			{"VapourConductivityR1511", curve(VapourConductivityR1511(), "t")},
		},
		"diffusivity": {
			{"Diffusivity", func(a args) (float64, error) { d, err := Diffusivity(a.t(), a.p()); return float64(d), err }},
			{"DiffusivityMarreroMason", func(a args) (float64, error) {
				dp, err := DiffusivityMarreroMason().At(a["t"])
				return dp / a["p"], err
			}},
		},
		"nitrogen viscosity": {{"", func(a args) (float64, error) { return dryGas{a["t"]}.viscosity(), nil }}},
	}
}

// TestReferenceValues runs every row of the two files through every function
// that answers it.
func TestReferenceValues(t *testing.T) {
	all := quantities()
	for _, row := range readRows(t) {
		require.NotEmptyf(t, all[row.name], "%s: no function answers %q", row.file, row.name)
		for _, q := range all[row.name] {
			got, err := q.eval(row.args(t))
			require.NoErrorf(t, err, "%s(%s)", row.name, row.input)
			factor, offset := toSI(t, row.unit)
			got = (got - offset) / factor
			// A hair above the tolerance absorbs the rounding of the comparison.
			if !(math.Abs(got-row.value) <= row.tolerance*(1+1e-6)+1e-15*math.Abs(row.value)) {
				t.Errorf("%s: %s %s(%s) = %.12g %s, want %s within %.2g; %s %s",
					row.file, q.function, row.name, row.input, got, row.unit, row.printed, row.tolerance, row.source, row.locator)
			}
		}
	}
}

// TestReferenceFiles checks the files themselves: a source, an evidence word that
// may gate, the digits as printed, and a tolerance that is half a unit of the
// last printed digit unless the row gives a reason.
func TestReferenceFiles(t *testing.T) {
	for _, row := range readRows(t) {
		at := fmt.Sprintf("%s: %s(%s)", row.file, row.name, row.input)
		require.NotEmpty(t, row.source, at)
		if row.file == "published" {
			require.True(t, strings.HasPrefix(row.evidence, "published"), at)
			require.NotContains(t, row.evidence, "from memory", at)
		} else {
			require.Equal(t, "recomputed", row.evidence, at)
		}
		half, digits := printedPrecision(t, row.printed)
		require.Equal(t, strconv.Itoa(digits), row.digits, at)
		if math.Abs(row.tolerance-half) > 0.01*half {
			require.NotEmpty(t, row.locator, "%s: a tolerance of its own needs its reason in the locator", at)
		}
	}
}

// printedPrecision returns half a unit of the last printed digit and the number
// of significant digits.
func printedPrecision(t *testing.T, text string) (half float64, digits int) {
	t.Helper()
	mantissa, exponent, _ := strings.Cut(strings.TrimPrefix(text, "-"), "e")
	e := 0
	if exponent != "" {
		var err error
		e, err = strconv.Atoi(exponent)
		require.NoError(t, err)
	}
	whole, fraction, _ := strings.Cut(mantissa, ".")
	return 0.5 * math.Pow10(e-len(fraction)), len(strings.TrimLeft(whole+fraction, "0"))
}
