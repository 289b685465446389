package rise_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// ambientCourses are changes of the gas temperature over a share x of the record,
// between least and greatest 1 apart, that are no straight line.
func ambientCourses(r *rand.Rand) map[string]func(x float64) float64 {
	tau, period, phase := logUniform(r, 0.05, 2), logUniform(r, 0.7, 6), 2*math.Pi*r.Float64()
	wave := func(x float64) float64 { return math.Sin(2*math.Pi*x/period+phase) - math.Sin(phase) }
	least, most := 0.0, 0.0
	for i := range 201 {
		least, most = min(least, wave(float64(i)/200)), max(most, wave(float64(i)/200))
	}
	return map[string]func(x float64) float64{
		"approach": func(x float64) float64 { return math.Expm1(-x/tau) / math.Expm1(-1/tau) },
		"day":      func(x float64) float64 { return wave(x) / (most - least) },
	}
}

// Nobody wrote the temperature down, and it did not change in a straight line. A
// tight circuit is not called leaking and a leak above the limit not tight when
// the change is one in twenty or likelier by the drift that was stated.
func TestUnrecordedTemperature(t *testing.T) {
	const dur, drift = 14400.0, 2.0
	r := rand.New(rand.NewPCG(4, 4))
	undetermined := 0
	for range 30 {
		change := min(max(drift*r.NormFloat64(), -1.9*drift), 1.9*drift)
		for name, course := range ambientCourses(r) {
			for _, times := range []float64{1, 3, 6} { // the limit over what the drift does
				for _, leak := range []float64{0, 1.5} {
					limit := times * 6e5 * drift / 293.15 / dur * 8e-3
					log := made(480, 30, 50, func(t float64) float64 {
						return (6e5 - leak*limit/8e-3*t) * (293.15 + change*course(t/dur)) / 293.15
					})
					test := standing
					test.Drift = drift
					f, err := test.Interpret(log, units.Throughput(limit))
					require.NoError(t, err)
					wrong := rise.Leak
					if leak > 0 {
						wrong = rise.Tight
					}
					require.NotEqual(t, wrong, f.Verdict, "%s of %.2g K, limit %g: %s", name, change, times, f.Sentence)
					require.LessOrEqual(t, float64(f.Leak.Low), leak*limit)
					require.GreaterOrEqual(t, float64(f.Leak.High), leak*limit*0.99)
					require.Contains(t, f.Sentence, "no temperature was recorded, changes up to 3.9 K are allowed for")
					if f.Verdict == rise.Undetermined && f.Reason == rise.DriftHides {
						undetermined++
						require.Contains(t, f.Sentence, "record the temperature")
					}
				}
			}
		}
	}
	require.Greater(t, undetermined, 30)
}

// 6 bar that fall by 1.2 kPa, 0.2 %, as from 293.15 K to 0.586 K less (p/T is
// constant, by hand): 0.784 K are allowed for, so that it is open, and as a leak of
// 3 kPa, 1.466 K, it is none of the temperature's.
func TestEquivalentTemperature(t *testing.T) {
	test := standing
	test.Drift = 0.4
	fall := func(pa float64) func(t float64) float64 {
		return func(t float64) float64 { return 6e5 - pa*t/14370 }
	}
	f, err := test.Interpret(made(480, 30, 20, fall(1200)), 2e-4)
	require.NoError(t, err)
	require.Equal(t, rise.Undetermined, f.Verdict, f.Sentence)
	require.Equal(t, rise.DriftHides, f.Reason)
	require.InDelta(t, -0.586, float64(f.Equivalent), 0.01)
	require.InDelta(t, 0.784, float64(f.Allowed), 0.0005)
	require.Regexp(t, `as it would if the gas became 0\.5[89] K colder`, f.Sentence)

	f, err = test.Interpret(made(480, 30, 20, fall(3000)), 2e-4)
	require.NoError(t, err)
	require.Equal(t, rise.Leak, f.Verdict, f.Sentence)
	require.InDelta(t, -1.466, float64(f.Equivalent), 0.01)

	// With a thermometer the drift is its error.
	log := made(480, 30, 20, fall(1200))
	for range log.Times {
		log.Temperatures = append(log.Temperatures, 293.15)
	}
	test.Drift = 0.05
	f, err = test.Interpret(log, 2e-4)
	require.NoError(t, err)
	require.Equal(t, rise.Leak, f.Verdict, f.Sentence)
	require.Contains(t, f.Sentence, "errors of the thermometer up to 0.098 K")

	f, err = test.Interpret(trace.Log{}, 2e-4)
	require.NoError(t, err)
	require.Zero(t, f.Equivalent)
	require.Zero(t, f.Allowed)
}
