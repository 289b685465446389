package vacuum

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

// valveRow turns a row into a sizing.
func valveRow(r dataRow) ValveSizing {
	v := ValveSizing{
		MolarMass: r.molarMass(), HeatCapacityRatio: r.num("gamma"), Viscosity: units.Viscosity(r.num("mu")),
		Compressibility: r.num("Z"), Temperature: r.kelvin(), Up: units.Pressure(r.num("p1")), Down: units.Pressure(r.num("p2")),
		Flow: units.MolarFlow(r.num("Q") / normalVolume), ChokedDropRatio: r.num("xT"), Recovery: r.num("FL"), StyleModifier: r.num("Fd"),
	}
	if r.in["d"] != "" {
		v.Bore, v.PipeUp, v.PipeDown = r.length("d"), r.length("D1"), r.length("D2")
	}
	return v
}

func valveRowFunctions() map[string]func(dataRow) float64 {
	return map[string]func(dataRow) float64{
		"valve-kv":     func(r dataRow) float64 { return must(valveRow(r).Size()).Kv },
		"valve-choked": func(r dataRow) float64 { return map[bool]float64{true: 1}[must(valveRow(r).Size()).Choked] },
		"kv-of-cv":     func(r dataRow) float64 { return must(KvFromCv(r.num("Cv"))) },
	}
}

func ExampleValveSizing() {
	// IEC 60534-2-1, Example 3: carbon dioxide through a rotary valve with
	// reducers, as quoted in the tests of the fluids Python package.
	size, err := ValveSizing{
		MolarMass: 44.01 * units.GramPerMole, HeatCapacityRatio: 1.30, Viscosity: 1.4665e-4, Compressibility: 0.988,
		Temperature: 433, Up: 680 * units.Kilopascal, Down: 310 * units.Kilopascal, Flow: 38.0 / 36 / 0.02241396954,
		Bore: 50 * units.Millimetre, PipeUp: 80 * units.Millimetre, PipeDown: 100 * units.Millimetre,
		Recovery: 0.85, StyleModifier: 0.42, ChokedDropRatio: 0.60,
	}.Size()
	fmt.Printf("Kv %.2f m³/h, choked: %v, %v\n", size.Kv, size.Choked, err)
	// Output: Kv 72.59 m³/h, choked: false, <nil>
}

func TestValveSizingRefusesBadInput(t *testing.T) {
	good := ValveSizing{
		MolarMass: 0.044, HeatCapacityRatio: 1.3, Viscosity: 1.5e-5, Temperature: 300, Up: 2e5, Down: 1e5, Flow: 0.1, ChokedDropRatio: 0.7, Bore: 0.01,
	}
	_, err := good.Size()
	require.NoError(t, err)
	for name, spoil := range map[string]func(*ValveSizing){
		"MolarMass":         func(v *ValveSizing) { v.MolarMass = 0 },
		"HeatCapacityRatio": func(v *ValveSizing) { v.HeatCapacityRatio = math.NaN() },
		"Viscosity":         func(v *ValveSizing) { v.Viscosity = -1 },
		"Down":              func(v *ValveSizing) { v.Down = v.Up },
		"Flow":              func(v *ValveSizing) { v.Flow = 0 },
		"ChokedDropRatio":   func(v *ValveSizing) { v.ChokedDropRatio = 1.2 },
		"PipeUp":            func(v *ValveSizing) { v.PipeUp = 0.005 },
	} {
		v := good
		spoil(&v)
		_, err := v.Size()
		require.ErrorIs(t, err, units.ErrOutOfRange, name)
		require.ErrorContains(t, err, name)
	}
	v := good
	v.Bore, v.PipeUp, v.PipeDown, v.Down, v.Flow = 0.005, 0.1, 0.1, 1.99e5, 1
	_, err = v.Size()
	require.ErrorIs(t, err, units.ErrNoConvergence)
}

// TestControlValveChokesLikeTheStandard: the flow through the passage, sized
// back by the standard, gives the Kv that it was made from.
func TestControlValveChokesLikeTheStandard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kv := math.Exp(rapid.Float64Range(-5, 5).Draw(t, "ln Kv"))
		xt := rapid.Float64Range(0.3, 0.85).Draw(t, "xT")
		air := Air()
		size := func(down units.Pressure) float64 {
			way, err := ControlValve(kv, xt)
			require.NoError(t, err)
			n, err := way.MolarFlow(air, 5e5, down, 293.15)
			require.NoError(t, err)
			s, err := ValveSizing{
				MolarMass: air.MolarMass, HeatCapacityRatio: 1.4, Viscosity: air.ViscosityLaw(293.15), Temperature: 293.15,
				Up: 5e5, Down: down, Flow: n, ChokedDropRatio: xt,
			}.Size()
			require.NoError(t, err)
			return s.Kv
		}
		require.InEpsilon(t, kv, size(1e4), 2e-3)
		require.InEpsilon(t, kv*math.Sqrt(1.93*xt), size(4.99e5), 0.03) // as the comment says
	})
	_, err := ControlValve(1, 2)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = KvFromCv(math.NaN())
	require.ErrorIs(t, err, units.ErrOutOfRange)
}
