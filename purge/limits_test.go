package purge

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Ten litres of dry nitrogen a minute at 20 °C and ambient pressure carry off
// at most 0.18 g of water a minute, so 10 g of it take most of an hour even if
// the gas leaves saturated.
func ExampleSweepBound() {
	most, err := SweepBound(10*units.LitrePerMinute, units.Atmosphere, units.Celsius(20))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f g/min\n", float64(most)*60e3)
	// Output: 0.177 g/min
}

func saturation(t units.Temperature) units.Pressure {
	p, _, err := moisture.SaturationPressure(t)
	if err != nil {
		panic(err)
	}
	return p
}

// The dry-flow and the wet-flow form agree: the flow that leaves is the dry one
// times p/(p - p_sat).
func TestDryAndWetForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := units.Celsius(rapid.Float64Range(-30, 40).Draw(t, "°C"))
		p := saturation(at) * units.Pressure(1+math.Exp(rapid.Float64Range(-5, 5).Draw(t, "ln")))
		dry := units.VolumeFlow(rapid.Float64Range(1e-6, 1e-2).Draw(t, "dry"))
		wet := dry * units.VolumeFlow(p/(p-saturation(at)))
		bound := must(SweepBound(dry, p, at))
		assert.InEpsilon(t, float64(must(WetFlowCarry(wet, at))), float64(bound), 1e-10)
		molar := units.Throughput(float64(dry) * float64(p)).MolarFlow(at)
		assert.InEpsilon(t, float64(must(SweepBoundMolar(molar, p, at))), float64(bound), 1e-10)
		// LeastNitrogen inverts the molar bound, second for second.
		assert.InEpsilon(t, float64(molar), float64(must(LeastNitrogen(units.Mass(bound), p, at))), 1e-10)
		// Less pressure, the same moles: more water.
		assert.Greater(t, must(SweepBoundMolar(molar, p, at)), must(SweepBoundMolar(molar, 2*p, at)))
	})
}

func TestFilmProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Film{
			Area:      units.Area(rapid.Float64Range(1e-4, 1).Draw(t, "area")),
			Thickness: units.Length(rapid.Float64Range(1e-4, 0.1).Draw(t, "thickness")),
			Surface:   units.Celsius(rapid.Float64Range(-20, 40).Draw(t, "°C")),
		}
		p := saturation(f.Surface) * units.Pressure(rapid.Float64Range(1.001, 200).Draw(t, "p/p_sat"))
		dry := must(FilmBound(f, p))
		assert.Positive(t, dry)
		assert.Less(t, must(FilmBound(f, 1.5*p)), dry, "denser gas holds back more")
		f.Vapour = saturation(f.Surface)
		assert.InDelta(t, 0, float64(must(FilmBound(f, p))), 1e-12*float64(dry))
		if high := 1.2 * saturation(f.Surface); high < p {
			f.Vapour = high
			assert.Negative(t, must(FilmBound(f, p)), "vapour above saturation condenses")
		}
	})
}

// Far above saturation Stefan flow becomes Fick's law, D Δp/(δ R T).
func TestFilmIsFickWhenDilute(t *testing.T) {
	f := Film{Area: 1, Thickness: 0.01, Surface: units.Celsius(-30)}
	dp := must(diffusivityTimesPressure(f.Surface))
	fick := dp / 1e7 * float64(saturation(f.Surface)) / (0.01 * units.GasConstant * float64(f.Surface))
	assert.InEpsilon(t, fick*float64(moisture.MolarMass), float64(must(FilmBound(f, 1e7))), 1e-5)
}

func TestSweepLimitTakesTheLesser(t *testing.T) {
	f := Film{Area: 0.01, Thickness: 0.005, Surface: units.Celsius(15)}
	slow := must(SweepLimit(1e-5, units.Atmosphere, f))
	assert.False(t, slow.FilmGoverns)
	assert.Equal(t, slow.Saturation, slow.Least)
	fast := must(SweepLimit(1, units.Atmosphere, f))
	assert.True(t, fast.FilmGoverns)
	assert.Equal(t, fast.Film, fast.Least)
	assert.Equal(t, slow.Film, fast.Film)
}

func TestLimitsRefuse(t *testing.T) {
	nan := math.NaN()
	room := units.Celsius(20)
	sat := saturation(room)
	film := Film{Area: 1, Thickness: 0.01, Surface: room}
	change := func(f func(*Film)) func() error {
		return func() error { x := film; f(&x); _, err := FilmBound(x, 1e5); return err }
	}
	cases := map[string]func() error{
		"p at saturation":   func() error { _, err := SweepBound(1, sat, room); return err },
		"p below":           func() error { _, err := SweepBoundMolar(1, sat/2, room); return err },
		"p NaN":             func() error { _, err := SweepBound(1, units.Pressure(nan), room); return err },
		"flow":              func() error { _, err := SweepBound(-1, 1e5, room); return err },
		"molar flow":        func() error { _, err := SweepBoundMolar(units.MolarFlow(nan), 1e5, room); return err },
		"temperature":       func() error { _, err := SweepBound(1, 1e5, 20); return err },
		"wet":               func() error { _, err := WetFlowCarry(-1, room); return err },
		"wet temperature":   func() error { _, err := WetFlowCarry(1, 0); return err },
		"fill":              func() error { _, err := FillCarry(units.Volume(nan), room); return err },
		"water":             func() error { _, err := LeastNitrogen(-1, 1e5, room); return err },
		"water p":           func() error { _, err := LeastNitrogen(1, sat, room); return err },
		"film p":            func() error { _, err := FilmBound(film, sat); return err },
		"film area":         change(func(f *Film) { f.Area = 0 }),
		"film thickness":    change(func(f *Film) { f.Thickness = 0 }),
		"film vapour":       change(func(f *Film) { f.Vapour = 1e5 }),
		"film vapour below": change(func(f *Film) { f.Vapour = -1 }),
		"film surface":      change(func(f *Film) { f.Surface = units.Temperature(nan) }),
		"both":              func() error { _, err := SweepLimit(1, sat, film); return err },
	}
	for name, call := range cases {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
	// One step above saturation is accepted.
	_, err := SweepBound(1, units.Pressure(math.Nextafter(float64(sat), 1e9)), room)
	require.NoError(t, err)
}
