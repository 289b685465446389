package rise_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

var standing = rise.PressureTest{
	Volume: 8 * units.Litre, Pressure: 6 * units.Bar, Rating: 11 * units.Bar, Ambient: units.Atmosphere,
	Temperature: units.Celsius(20), Drift: 0.1, Gauge: rise.Gauge{Resolution: 100, Noise: 50},
	Interval: 30 * time.Second, Duration: 4 * time.Hour,
}

// The smallest leak is dominated by the thermometer: 6 bar · 0.1 K/293.15 K over
// 4 h is 0.014213 Pa/s, times 2·1.64485·8 L = 3.740e-4 Pa·m³/s (by hand).
func TestStandingTestDesign(t *testing.T) {
	got, err := standing.SmallestLeak()
	require.NoError(t, err)
	require.InEpsilon(t, 3.740e-4, float64(got.Leak), 0.005)
	require.Greater(t, got.DriftShare, 0.98)

	over := standing
	over.Pressure = 12 * units.Bar
	_, err = over.SmallestLeak()
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "Pressure")
	d, err := standing.DurationFor(1e-4)
	require.NoError(t, err)
	require.Greater(t, d, 10*time.Hour)
}

// A leak of nitrogen at 6 bar against air into a vacuum, both by hand: laminar
// 101325²/(6e5²-101325²)·0.96487 = 0.028325, molecular
// 101325/(6e5-101325)·√(28.0134/28.9647) = 0.199828.
func TestVacuumLeak(t *testing.T) {
	l, m, err := rise.VacuumLeak(1, 6*units.Bar, units.Atmosphere)
	require.NoError(t, err)
	require.InDelta(t, 0.028325, float64(l), 5e-6)
	require.InDelta(t, 0.199828, float64(m), 5e-6)
	_, _, err = rise.VacuumLeak(1, units.Bar, units.Atmosphere)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	for _, q := range []float64{math.NaN(), math.Inf(1), -1, 1001} {
		_, _, err = rise.VacuumLeak(units.Throughput(q), 6*units.Bar, units.Atmosphere)
		require.ErrorIs(t, err, units.ErrOutOfRange, "%g", q)
		require.ErrorContains(t, err, "rise.VacuumLeak: q = ")
	}
}

func TestStandingTestInterpret(t *testing.T) {
	warm := func(t float64) float64 { return 293.15 + 2*math.Sin(t/4000) }
	for _, c := range []struct {
		name string
		leak float64 // Pa·m³/s
		want rise.Verdict
	}{{"tight", 0, rise.Tight}, {"leak", 5e-3, rise.Leak}} {
		log := made(480, 30, 50, func(t float64) float64 { return (6e5 - c.leak/8e-3*t) * warm(t) / 293.15 })
		for _, at := range log.Times {
			log.Temperatures = append(log.Temperatures, units.Temperature(warm(at)))
		}
		got, err := standing.Interpret(log, 1.5e-3)
		require.NoError(t, err)
		require.Equal(t, c.want, got.Verdict, got.Sentence)
		require.LessOrEqual(t, float64(got.Leak.Low), c.leak)
		require.GreaterOrEqual(t, float64(got.Leak.High), c.leak)
	}

	// Without the temperatures a tight circuit that cools by 2 K looks like a
	// leak; a drift of 3 K admitted, the answer is that it cannot be told.
	log := made(480, 30, 50, func(t float64) float64 { return 6e5 * (293.15 - 2*t/14400) / 293.15 })
	blind := standing
	blind.Drift = 3
	got, err := blind.Interpret(log, 1.5e-3)
	require.NoError(t, err)
	require.Equal(t, rise.Undetermined, got.Verdict, got.Sentence)
	require.Equal(t, rise.DriftHides, got.Reason)

	// Gas that cools by 11 % takes the pressure along; nothing is lost.
	hot := standing
	hot.Rating = 25 * units.Bar
	cold := func(t float64) float64 { return 323 - 36*t/14400 }
	log = made(481, 30, 50, func(t float64) float64 { return 2e6 * cold(t) / 323 })
	for _, at := range log.Times {
		log.Temperatures = append(log.Temperatures, units.Temperature(cold(at)))
	}
	got, err = hot.Interpret(log, 1.5e-3)
	require.NoError(t, err)
	require.Equal(t, rise.Tight, got.Verdict, got.Sentence)

	// Gas that warms by 5 % hides a part of a loss of 12 %.
	log = made(481, 30, 50, func(t float64) float64 { return 2e6 * (1 - 0.08*t/14400) })
	for _, at := range log.Times {
		log.Temperatures = append(log.Temperatures, units.Temperature(300*(1+0.05*at/14400)))
	}
	_, err = hot.Interpret(log, 1.5e-3)
	require.ErrorContains(t, err, "at most 10 % at constant temperature")

	_, err = standing.Interpret(made(50, 30, 0, func(t float64) float64 { return 6e5 - 100*t }), 1e-3)
	require.ErrorContains(t, err, "at most 10 %")
	_, err = standing.Interpret(made(50, 30, 0, func(float64) float64 { return 12e5 }), 1e-3)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}
