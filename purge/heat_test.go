package purge

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Five grams of ice at -10 °C in a wall at 20 °C that supplies 0.2 W/K: the hold
// that melts it is seven minutes long.
func ExampleThawTime() {
	ice := Wet{Ice: 5 * units.Gram, Temperature: units.Celsius(-10)}
	heat, err := ThawHeat(ice)
	if err != nil {
		fmt.Println(err)
		return
	}
	took, err := ThawTime(ice, units.Celsius(20), 0.2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f J in %.1f min\n", float64(heat), took.Minutes())
	// Output: 1772 J in 7.3 min
}

func drawWet(t *rapid.T) Wet {
	w := Wet{Temperature: moisture.TriplePoint}
	switch rapid.IntRange(0, 2).Draw(t, "form") {
	case 0:
		w.Ice = units.Mass(rapid.Float64Range(1e-5, 0.1).Draw(t, "ice"))
		w.Temperature = units.Celsius(rapid.Float64Range(-40, 0).Draw(t, "°C"))
	case 1:
		w.Liquid = units.Mass(rapid.Float64Range(1e-5, 0.1).Draw(t, "liquid"))
		w.Temperature = units.Celsius(rapid.Float64Range(0.01, 20).Draw(t, "°C"))
		w.Temperature = max(w.Temperature, moisture.TriplePoint)
	default:
		w.Ice = units.Mass(rapid.Float64Range(1e-5, 0.1).Draw(t, "ice"))
		w.Liquid = units.Mass(rapid.Float64Range(1e-5, 0.1).Draw(t, "liquid"))
	}
	return w
}

// enthalpy of free water above ice at 0 K scale of no matter, J.
func enthalpy(w Wet) float64 {
	above := float64(w.Temperature - moisture.TriplePoint)
	return float64(w.Ice)*iceHeatCapacity*above + float64(w.Liquid)*(liquidHeatCapacity*above+heatOfFusion)
}

// The heat given equals the enthalpy gained, mass stays, and two holds in a row
// are one long hold.
func TestHoldBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWet(t)
		wall := w.Temperature + units.Temperature(rapid.Float64Range(0, 40).Draw(t, "wall above"))
		ua := units.HeatConductance(rapid.Float64Range(0, 1).Draw(t, "ua"))
		first := time.Duration(rapid.IntRange(0, 3600).Draw(t, "first")) * time.Second
		second := time.Duration(rapid.IntRange(0, 3600).Draw(t, "second")) * time.Second
		h := must(AfterHold(w, wall, ua, first))
		scale := math.Abs(enthalpy(w)) + float64(h.Heat) + 1e-6
		assert.InDelta(t, enthalpy(w)+float64(h.Heat), enthalpy(h.Wet), 1e-9*scale)
		assert.InEpsilon(t, float64(w.Ice+w.Liquid), float64(h.Ice+h.Liquid), 1e-12)
		assert.LessOrEqual(t, h.Temperature, wall+1e-9)
		next := must(AfterHold(h.Wet, max(wall, h.Temperature), ua, second))
		whole := must(AfterHold(w, wall, ua, first+second))
		assert.InDelta(t, float64(whole.Temperature), float64(next.Temperature), 1e-6)
		assert.InDelta(t, float64(whole.Ice), float64(next.Ice), 1e-9*float64(w.Ice+w.Liquid))
	})
}

// The hold against a plain integration of the enthalpy in small steps.
func TestHoldAgainstStepping(t *testing.T) {
	w := Wet{Ice: 0.003, Temperature: units.Celsius(-20)}
	wall, ua := units.Celsius(18), units.HeatConductance(0.15)
	temperature, ice, liquid := float64(w.Temperature), 0.003, 0.0
	const dt = 0.01
	end := 15 * time.Minute
	for range int(end.Seconds() / dt) {
		q := float64(ua) * (float64(wall) - temperature) * dt
		switch {
		case ice > 0 && temperature < 273.16:
			temperature = math.Min(273.16, temperature+q/(ice*2096.784))
		case ice > 0:
			melted := math.Min(ice, q/333444.9)
			ice, liquid = ice-melted, liquid+melted
		default:
			temperature += q / (liquid * 4219.9)
		}
	}
	h := must(AfterHold(w, wall, ua, end))
	assert.Zero(t, h.Ice)
	assert.InDelta(t, temperature, float64(h.Temperature), 0.01)
}

func TestThawTimeEndsTheIce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWet(t)
		wall := units.Celsius(rapid.Float64Range(25, 60).Draw(t, "wall"))
		ua := units.HeatConductance(rapid.Float64Range(0.01, 1).Draw(t, "ua"))
		took := must(ThawTime(w, wall, ua))
		h := must(AfterHold(w, wall, ua, took+time.Microsecond))
		assert.InDelta(t, 0, float64(h.Ice), 1e-12)
		if w.Ice > 0 && took > time.Second {
			assert.Positive(t, must(AfterHold(w, wall, ua, took-time.Second)).Ice)
			assert.InEpsilon(t, float64(must(ThawHeat(w))), float64(h.Heat), 1e-3)
		}
	})
}

// A wall that is not above the melting point warms ice and never thaws it.
func TestColdWallThawsNothing(t *testing.T) {
	ice := Wet{Ice: 0.001, Temperature: units.Celsius(-10)}
	h := must(AfterHold(ice, units.Celsius(-2), 1, 24*time.Hour))
	assert.InDelta(t, -2, h.Temperature.Celsius(), 1e-9)
	assert.Equal(t, ice.Ice, h.Ice)
	_, err := ThawTime(ice, moisture.TriplePoint, 1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

func TestHeatPath(t *testing.T) {
	warm, cold := units.Celsius(20), units.Celsius(0)
	jump := must(JumpCoefficient(1))
	assert.InDelta(t, 3.29, jump, 0.005)
	h := HeatPath{UA: 0.2, GasShare: 0.5, Gap: 2e-3, Jump: jump}
	at := func(h HeatPath, p units.Pressure) float64 { return float64(must(h.At(p, warm, cold))) }
	assert.InDelta(t, 0.1, at(h, 0), 1e-12, "metal alone in a perfect vacuum")
	assert.InEpsilon(t, 0.2, at(h, units.Atmosphere), 1e-3, "all of it at ambient pressure")
	assert.Greater(t, at(h, 1000*units.Micron), 0.19, "at 1000 micron gas still carries nearly all its share")
	assert.Greater(t, at(h, 100*units.Micron), 0.15, "and at 100 micron more than half of it")
	last := 0.0
	for _, p := range []units.Pressure{0, 0.1, 1, 10, 100, 1e3, 1e4, 1e5} {
		assert.GreaterOrEqual(t, at(h, p), last)
		last = at(h, p)
	}
	h.GasShare = 0
	assert.Equal(t, at(h, 0), at(h, 1e5), "without a gas share a break brings nothing")
	// Convection adds to it in a wide gap at ambient pressure, not at 1 kPa.
	wide := HeatPath{UA: 0.2, GasShare: 1, Gap: 0.03, Jump: jump}
	assert.Greater(t, at(wide, units.Atmosphere), 0.4)
	assert.InEpsilon(t, 0.2, at(wide, 1e3), 0.01)
}

// Catton 1978: 0.18 x^0.29 with x = Pr/(0.2 + Pr) Ra, worked by hand: at x = 1e4
// it is 0.18 × 10^1.16 = 2.602.
func TestFreeConvection(t *testing.T) {
	ra := 1e4 * (0.2 + nitrogenPrandtl) / nitrogenPrandtl
	assert.InDelta(t, 2.602, must(FreeConvection(ra)), 0.0005)
	assert.Equal(t, 1.0, must(FreeConvection(0)))
	assert.InDelta(t, must(FreeConvection(473)), must(FreeConvection(476)), 0.01, "no step where it sets in")
	last := 0.0
	for _, x := range []float64{0, 300, 470, 480, 1e3, 1e4, 1e6, 1e10} {
		assert.GreaterOrEqual(t, must(FreeConvection(x)), last)
		last = must(FreeConvection(x))
	}
}

func TestHeatRefuses(t *testing.T) {
	nan := math.NaN()
	ice := Wet{Ice: 1e-3, Temperature: 263}
	path := HeatPath{UA: 1, GasShare: 0.5, Gap: 1e-3, Jump: 2}
	change := func(f func(*HeatPath)) func() error {
		return func() error { x := path; f(&x); _, err := x.At(1e5, 293, 273); return err }
	}
	cases := map[string]func() error{
		"nothing":       func() error { return Wet{Temperature: 280}.Check() },
		"negative ice":  func() error { return Wet{Ice: -1, Temperature: 260}.Check() },
		"warm ice":      func() error { return Wet{Ice: 1, Temperature: 274}.Check() },
		"cold liquid":   func() error { return Wet{Liquid: 1, Temperature: 270}.Check() },
		"liquid NaN":    func() error { return Wet{Liquid: units.Mass(nan), Temperature: 280}.Check() },
		"heat":          func() error { _, err := ThawHeat(Wet{}); return err },
		"cold wall":     func() error { _, err := AfterHold(ice, 260, 1, 0); return err },
		"ua":            func() error { _, err := AfterHold(ice, 280, -1, 0); return err },
		"hold":          func() error { _, err := AfterHold(ice, 280, 1, -1); return err },
		"thaw no ua":    func() error { _, err := ThawTime(ice, 280, 0); return err },
		"thaw NaN":      func() error { _, err := ThawTime(ice, units.Temperature(nan), 1); return err },
		"share":         change(func(h *HeatPath) { h.GasShare = 1.1 }),
		"UA":            change(func(h *HeatPath) { h.UA = units.HeatConductance(nan) }),
		"gap":           change(func(h *HeatPath) { h.Gap = 0 }),
		"jump":          change(func(h *HeatPath) { h.Jump = -1 }),
		"pressure":      func() error { _, err := path.At(-1, 293, 273); return err },
		"warm < cold":   func() error { _, err := path.At(1e5, 273, 293); return err },
		"cold":          func() error { _, err := path.At(1e5, 293, 20); return err },
		"accommodation": func() error { _, err := JumpCoefficient(0); return err },
		"rayleigh":      func() error { _, err := FreeConvection(nan); return err },
		"rayleigh high": func() error { _, err := FreeConvection(1.1e10); return err },
	}
	for name, call := range cases {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
}
