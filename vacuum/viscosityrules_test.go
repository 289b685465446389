package vacuum

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

func mixingRowFunctions() map[string]func(dataRow) float64 {
	pair := func(r dataRow) ([]Gas, []units.MoleFraction) {
		x := units.MoleFraction(r.num("x"))
		return []Gas{r.gas("a"), r.gas("b")}, []units.MoleFraction{x, 1 - x}
	}
	return map[string]func(dataRow) float64{
		"mix-linear": func(r dataRow) float64 {
			g, x := pair(r)
			return 1e6 * float64(must(LinearViscosity(g, x, r.kelvin())))
		},
		"mix-wilke": func(r dataRow) float64 {
			g, x := pair(r)
			return 1e6 * float64(must(WilkeViscosity(g, x, r.kelvin())))
		},
		"heat-capacity-ratio": func(r dataRow) float64 { return r.gas("gas").HeatCapacityRatio },
	}
}

// TestEveryGasIsComplete checks the sixteen gases field by field.
func TestEveryGasIsComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, g := range allGases() {
		require.NoError(t, g.Check())
		require.NotEmpty(t, g.Source, g.Name)
		require.False(t, seen[g.Name], g.Name)
		seen[g.Name] = true
		require.Greater(t, g.Uncertainty, 0.0, g.Name)
		last := 0.0
		for k := 150; k <= 600; k += 5 {
			mu := float64(g.ViscosityLaw(units.Temperature(k)))
			require.Greater(t, mu, last, "%s at %d K", g.Name, k)
			last = mu
		}
		path, err := g.MeanFreePath(293.15, 1)
		require.NoError(t, err)
		require.True(t, path > 1e-3 && path < 3e-2, "%s: %v", g.Name, path)
	}
	require.Len(t, seen, 16)
}

func TestMixingRulesAgreeOnPureGasAndDifferInBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawGas(t)
		k := units.Temperature(rapid.Float64Range(150, 600).Draw(t, "t"))
		x := units.MoleFraction(rapid.Float64Range(0, 1).Draw(t, "x"))
		mu := float64(g.ViscosityLaw(k))
		twice := []Gas{g, g}
		wilke := float64(must(WilkeViscosity(twice, []units.MoleFraction{x, 1 - x}, k)))
		linear := float64(must(LinearViscosity(twice, []units.MoleFraction{x, 1 - x}, k)))
		require.InEpsilon(t, mu, wilke, 1e-12)
		require.InEpsilon(t, mu, linear, 1e-12)
	})
	// Helium into argon raises Wilke's viscosity above both; the plain rule cannot.
	pair := []Gas{Helium(), Argon()}
	wilke := must(WilkeViscosity(pair, []units.MoleFraction{0.4, 0.6}, 300))
	linear := must(LinearViscosity(pair, []units.MoleFraction{0.4, 0.6}, 300))
	require.Greater(t, wilke, must(WilkeViscosity(pair, []units.MoleFraction{0, 1}, 300)))
	require.Less(t, linear, wilke)
	_, err := LinearViscosity(pair, []units.MoleFraction{0.4, 0.5}, 300)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = WilkeViscosity(pair, []units.MoleFraction{1}, 300)
	require.Error(t, err)
}

func gaugeRowFunctions() map[string]func(dataRow) float64 {
	return map[string]func(dataRow) float64{
		"thermal-estimate": func(r dataRow) float64 { return ThermalEstimate(r.gas("gas")) },
		"compound-absolute": func(r dataRow) float64 {
			g := CompoundGauge{Barometer: units.Atmosphere, Division: units.InchHg}
			low, high, err := g.Between(units.InHgVacuum(r.num("depth")))
			return must((low+high)/2, err).In(units.Torr)
		},
	}
}

// TestColdVapourHasNoCorner: where the equation of the release ends, viscosity
// and slope go on.
func TestColdVapourHasNoCorner(t *testing.T) {
	mu := WaterVapour().ViscosityLaw
	below, at, above := float64(mu(273.06)), float64(mu(273.16)), float64(mu(273.26))
	require.InEpsilon(t, (above-at)/0.1, (at-below)/0.1, 1e-3)
}

// TestLinearRuleIsAsFarOffAsItsCommentSays over all refrigerants.
func TestLinearRuleIsAsFarOffAsItsCommentSays(t *testing.T) {
	for _, c := range []struct {
		gas   Gas
		worst float64
	}{{Air(), 0.23}, {Argon(), 0.28}, {Helium(), 0.48}} {
		worst := 0.0
		for _, other := range []Gas{CarbonDioxide(), R22(), R32(), R125(), R134a(), R1234yf(), R290(), R600a(), R410A(), R454B()} {
			for k := 1; k < 20; k++ {
				x := []units.MoleFraction{units.MoleFraction(k) / 20, 1 - units.MoleFraction(k)/20}
				gases := []Gas{c.gas, other}
				worst = max(worst, float64(must(LinearViscosity(gases, x, 293.15))/must(WilkeViscosity(gases, x, 293.15)))-1)
			}
		}
		require.InDelta(t, c.worst, worst, 0.005, c.gas.Name)
	}
}
