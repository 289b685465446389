package purge

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

// The sweep-through example of Crowl and Louvar, ch. 7: a 1000 ft³ vessel from
// 21 % to 1.25 % oxygen with nitrogen that holds 0.01 %. The book gives
// 2830 ft³.
func ExampleSweep_VolumeTo_crowlLouvar() {
	vessel := Sweep{Volume: 1000 * units.CubicFoot, Mixing: 1, Purge: 0.0001}
	swept, err := vessel.VolumeTo(0.21, 0.0125)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f ft³\n", float64(swept/units.CubicFoot))
	// Output: 2829 ft³
}

// Levenspiel, Chemical Reaction Engineering, 3rd ed., p. 327: the curve of
// three tanks in series, taken as washout after two volumes.
func ExampleWashout_levenspiel() {
	left, err := Washout(3, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.6f\n", left)
	// Output: 0.061969
}

func TestWashoutRows(t *testing.T) {
	count := 0
	for _, r := range readRows(t, "recomputed") {
		if r.name != "washout" {
			continue
		}
		var n int
		var theta float64
		_, err := fmt.Sscan(r.input, &n, &theta)
		require.NoError(t, err)
		assert.InDelta(t, r.value, must(Washout(n, theta)), r.tolerance, "N %d, θ %g", n, theta)
		count++
	}
	assert.Equal(t, 16, count)
}

// The sum as printed, term by term, against the incomplete gamma function.
func TestWashoutIsTheSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		theta := rapid.Float64Range(0, 8).Draw(t, "theta")
		x := float64(n) * theta
		term, sum := 1.0, 0.0
		for i := range n {
			sum += term
			term *= x / float64(i+1)
		}
		assert.InEpsilon(t, math.Exp(-x)*sum, must(Washout(n, theta)), 1e-11)
	})
}

func TestWashoutLimits(t *testing.T) {
	for _, theta := range []float64{0, 0.25, 1, 3} {
		// One tank is a perfectly mixed sweep.
		mixed := must(Sweep{Volume: 2, Mixing: 1}.Left(1, units.Volume(2*theta)))
		assert.InEpsilon(t, float64(mixed), must(Washout(1, theta)), 1e-13)
		assert.InEpsilon(t, float64(mixed), must(WashoutInside(1, theta)), 1e-12)
	}
	for _, theta := range []float64{0.5, 0.9, 1.1, 2} {
		// Many tanks are plug flow.
		assert.InDelta(t, must(PlugLeft(theta)), must(WashoutInside(100000, theta)), 2e-6, "inside at %g", theta)
		step := 0.0
		if theta < 1 {
			step = 1
		}
		assert.InDelta(t, step, must(Washout(100000, theta)), 1e-9, "leaving at %g", theta)
	}
	assert.Equal(t, 1.0, must(Washout(5, 0)))
	assert.Equal(t, 1.0, must(WashoutInside(5, 0)))
}

// What leaves is what is lost inside: d(inside)/dθ = -washout.
func TestWashoutBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		theta := rapid.Float64Range(0.01, 4).Draw(t, "theta")
		const h = 1e-4
		slope := (must(WashoutInside(n, theta+h)) - must(WashoutInside(n, theta-h))) / (2 * h)
		assert.InDelta(t, -must(Washout(n, theta)), slope, 1e-6)
	})
}

func TestWashoutToInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1000).Draw(t, "n")
		left := math.Exp(rapid.Float64Range(math.Log(1e-12), 0).Draw(t, "ln left"))
		changes := must(WashoutTo(n, left))
		assert.InEpsilon(t, left, must(Washout(n, changes)), 1e-9)
	})
	assert.Zero(t, must(WashoutTo(7, 1)))
}

func TestSweepInvertsAndOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Sweep{
			Volume: units.Volume(rapid.Float64Range(1e-3, 10).Draw(t, "volume")),
			Mixing: rapid.Float64Range(0.05, 1).Draw(t, "mixing"),
			Purge:  units.MoleFraction(rapid.Float64Range(0, 0.2).Draw(t, "purge")),
		}
		start := s.Purge + units.MoleFraction(rapid.Float64Range(0.01, 0.8).Draw(t, "above"))
		target := s.Purge + (start-s.Purge)*units.MoleFraction(rapid.Float64Range(1e-5, 1).Draw(t, "share"))
		swept := must(s.VolumeTo(start, target))
		assert.InEpsilon(t, float64(target), float64(must(s.Left(start, swept))), 1e-9)
		assert.GreaterOrEqual(t, must(s.Left(start, swept)), must(s.Left(start, 2*swept)))
		worse := s
		worse.Mixing /= 2
		assert.InEpsilon(t, 2*float64(swept)+1e-300, float64(must(worse.VolumeTo(start, target)))+1e-300, 1e-12)
		if swept > 1e-6*s.Volume {
			assert.InEpsilon(t, s.Mixing, must(s.MixingFrom(start, target, swept)), 1e-6)
		}
	})
}

func TestSweepTimes(t *testing.T) {
	s := Sweep{Volume: 8 * units.Litre, Mixing: 0.5}
	flow := 10 * units.LitrePerMinute
	took := must(s.TimeTo(0.02, 0.0002, flow))
	// 8 L / 0.5 × ln 100 / (10 L/min) = 7.3683 min.
	assert.InDelta(t, 7.3683, took.Minutes(), 5e-5)
	assert.InEpsilon(t, 0.0002, float64(must(s.LeftAfter(0.02, flow, took))), 1e-9)
	assert.InEpsilon(t, 0.02, float64(must(s.LeftAfter(0.02, 0, time.Hour))), 1e-12)
}

func TestSiphon(t *testing.T) {
	s := Sweep{Volume: 1, Mixing: 1}
	assert.InEpsilon(t, 1+math.Log(10), float64(must(SiphonVolume(s, 0.01, 0.001))), 1e-12)
	assert.InEpsilon(t, 1, float64(must(SiphonVolume(s, 0.001, 0.01))), 1e-12)
}

func TestSweepRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := Sweep{Volume: 1, Mixing: 1}
	cases := map[string]func() error{
		"mixing zero":     func() error { return Sweep{Volume: 1}.Check() },
		"mixing above 1":  func() error { return Sweep{Volume: 1, Mixing: math.Nextafter(1, 2)}.Check() },
		"mixing NaN":      func() error { return Sweep{Volume: 1, Mixing: nan}.Check() },
		"volume":          func() error { return Sweep{Mixing: 1}.Check() },
		"purge":           func() error { return Sweep{Volume: 1, Mixing: 1, Purge: 2}.Check() },
		"swept negative":  func() error { _, err := good.Left(0.2, -1); return err },
		"swept infinite":  func() error { _, err := good.Left(0.2, units.Volume(inf)); return err },
		"start":           func() error { _, err := good.Left(units.MoleFraction(nan), 1); return err },
		"target":          func() error { _, err := good.VolumeTo(0.2, 0); return err },
		"no flow":         func() error { _, err := good.TimeTo(0.2, 0.1, 0); return err },
		"too long":        func() error { _, err := good.TimeTo(0.2, 0.1, 1e-300); return err },
		"after negative":  func() error { _, err := good.LeftAfter(0.2, 1, -time.Second); return err },
		"flow NaN":        func() error { _, err := good.LeftAfter(0.2, units.VolumeFlow(nan), 1); return err },
		"plug":            func() error { _, err := PlugLeft(-1); return err },
		"no tanks":        func() error { _, err := Washout(0, 1); return err },
		"many tanks":      func() error { _, err := Washout(1000001, 1); return err },
		"changes NaN":     func() error { _, err := WashoutInside(1, nan); return err },
		"left zero":       func() error { _, err := WashoutTo(1, 0); return err },
		"left above one":  func() error { _, err := WashoutTo(1, 1.5); return err },
		"mixing observed": func() error { _, err := good.MixingFrom(0.1, 0.2, 1); return err },
		"mixing no gas":   func() error { _, err := good.MixingFrom(0.2, 0.1, 0); return err },
	}
	for name, call := range cases {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
}
