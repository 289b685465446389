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

// smallTrim is the gas of the standard's Example 4.
func smallTrim() ValveSizing {
	return ValveSizing{
		MolarMass: 0.03995, HeatCapacityRatio: 1.67, Viscosity: 5.625e-5, Temperature: 320, Up: 2.8e5, Down: 1.3e5,
		Flow: 0.46 / 3600 / normalVolume, Bore: 0.015, ChokedDropRatio: 0.8, Recovery: 0.98, StyleModifier: 0.07,
	}.withDefaults()
}

// TestLaminarFactorFollowsTheAnnex: the trims by hand from A.6 to A.8, for d =
// 15 mm and FL = 0.9, and the transitional factor that the standard prints for
// FL = 0.98, Rev = 1202 and n = 1.235, as quoted in a public source file.
func TestLaminarFactorFollowsTheAnnex(t *testing.T) {
	v := smallTrim()
	require.InDelta(t, 0.715, v.laminarFactor(225*math.Pow(0.235/140, 1.5), 1202), 5e-4)
	v.Recovery = 0.9
	for _, r := range []struct{ kv, re, fr float64 }{
		{1e-5, 50, 0.2045}, // n = 1.0018
		{0.1, 5, 0.0870},   // n = 1.8153
		{6, 5, 0.0969},     // n = 2.25, full size
	} {
		require.InDelta(t, r.fr, v.laminarFactor(r.kv, r.re), 5e-5)
	}
	// The two trims nearly meet where one takes over.
	edge := 225 * 0.016 * 0.865
	require.InEpsilon(t, v.laminarFactor(edge*(1-1e-9), 5), v.laminarFactor(edge*(1+1e-9), 5), 0.05)
	require.Less(t, v.laminarFactor(edge*(1+1e-9), 5), v.laminarFactor(edge*(1-1e-9), 5))
}

func TestLaminarFactorRisesWithReynolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := smallTrim()
		v.Recovery = rapid.Float64Range(0.5, 1).Draw(t, "FL")
		kv := math.Exp(rapid.Float64Range(-14, 1).Draw(t, "ln Kv")) // reduced trim
		draw := func(low, high float64) (float64, float64) {
			a, b := rapid.Float64Range(low, high).Draw(t, "a"), rapid.Float64Range(low, high).Draw(t, "b")
			return v.laminarFactor(kv, math.Exp(math.Min(a, b))), v.laminarFactor(kv, math.Exp(math.Max(a, b)))
		}
		for _, ends := range [][2]float64{{-12, 2.3}, {2.303, 9.3}} { // below and above the step at 10
			less, more := draw(ends[0], ends[1])
			require.LessOrEqual(t, less, more)
		}
		require.InDelta(t, 1, v.laminarFactor(kv, 1e4), 1e-12)
		require.Less(t, v.laminarFactor(kv, 1), 0.026/v.Recovery*math.Sqrt(9.08)) // n of the largest reduced trim is 9.07
	})
}

// TestSmallTrimCreeps: at a low Reynolds number a small trim passes a flow
// proportional to the pressure difference and inversely to the viscosity.
func TestSmallTrimCreeps(t *testing.T) {
	const kv = 1e-5
	flow := func(drop units.Pressure, mu units.Viscosity) float64 {
		v := smallTrim()
		v.Down, v.Viscosity = v.Up-drop, mu
		low, high := math.Log(1e-14), math.Log(1e3)
		for range 100 { // the flow that kv just passes
			v.Flow = units.MolarFlow(math.Exp((low + high) / 2))
			s := ValveSize{Piping: 1, Expansion: 1}
			if v.turbulent(&s, float64(drop/v.Up)) < kv*v.laminarFactor(kv, v.reynolds(kv)) {
				low = math.Log(float64(v.Flow))
			} else {
				high = math.Log(float64(v.Flow))
			}
		}
		require.Less(t, v.reynolds(kv), 10.0)
		return float64(v.Flow)
	}
	base := flow(10, 1e-4)
	require.InEpsilon(t, 16*base, flow(160, 1e-4), 1e-6)
	require.InEpsilon(t, base/5, flow(10, 5e-4), 1e-6)
}

// TestValveReynoldsIsMassFlowOverViscosity: independent of pressure, temperature and
// compressibility at a given molar flow and coefficient, and as A.1 has it with
// mass flow over viscosity put in for flow over kinematic viscosity.
func TestValveReynoldsIsMassFlowOverViscosity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := smallTrim()
		v.Up = units.Pressure(math.Exp(rapid.Float64Range(3, 18).Draw(t, "ln p")))
		v.Temperature = units.Temperature(rapid.Float64Range(150, 2000).Draw(t, "T"))
		v.Compressibility = rapid.Float64Range(0.1, 2).Draw(t, "Z")
		kv := math.Exp(rapid.Float64Range(-10, 2).Draw(t, "ln Kv"))
		perHour := 0.46 * 101325 / (units.GasConstant * 273.15) * 0.03995 // kg/h
		want := 0.0707 * 0.07 * perHour / 5.625e-5 / math.Sqrt(kv*0.98) * math.Pow(0.98*0.98*kv*kv/(0.0016*math.Pow(15, 4))+1, 0.25)
		require.InEpsilon(t, want, v.reynolds(kv), 1e-9)
	})
}

// TestLaminarSizeIsTheFirstThatSuffices: the answer is the turbulent coefficient
// times a power of 1.3, the first for which turbulent over FR fits.
func TestLaminarSizeIsTheFirstThatSuffices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := smallTrim()
		v.Flow = units.MolarFlow(math.Exp(rapid.Float64Range(-20, -6).Draw(t, "ln flow")))
		s, err := v.Size()
		require.NoError(t, err)
		plain := v
		plain.Bore, plain.PipeUp, plain.PipeDown = 0, 0, 0
		turbulent := must(plain.Size()).Kv
		if s.Laminar == 1 && s.Kv == turbulent {
			return // turbulent
		}
		steps := math.Log(s.Kv/turbulent) / math.Log(1.3)
		require.InDelta(t, math.Round(steps), steps, 1e-6)
		require.LessOrEqual(t, turbulent/s.Laminar, s.Kv)
		if before := s.Kv / 1.3; steps > 1.5 {
			require.Greater(t, turbulent/v.laminarFactor(before, v.reynolds(before)), before*(1-1e-12))
		}
	})
}
