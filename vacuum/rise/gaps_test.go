package rise_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// warming is a tight circuit of which the gas warms by 3 K on a course over a
// share of the record, with its temperatures; rows from to below to lack theirs.
func warming(course func(x float64) float64, from, to int) trace.Log {
	kelvin := func(t float64) float64 { return 293.15 + 3*course(t/4790) }
	log := made(480, 10, 0.01, func(t float64) float64 { return 300 * kelvin(t) / 293.15 })
	r := rand.New(rand.NewPCG(1, 2))
	for i, t := range log.Times {
		v := units.Temperature(kelvin(t) + 0.001*r.NormFloat64())
		if i >= from && i < to {
			v = 0
		}
		log.Temperatures = append(log.Temperatures, v)
	}
	return log
}

// Blank cells of the temperature column, wherever they are, turn no tight circuit
// into one that leaks or is wet, and are admitted.
func TestTemperatureGaps(t *testing.T) {
	half := site
	half.LeakLimit /= 2
	straight := func(x float64) float64 { return x }
	for name, course := range map[string]func(float64) float64{
		"straight": straight, "approach": func(x float64) float64 { return -math.Expm1(-4 * x) }, "wave": func(x float64) float64 { return math.Sin(2*math.Pi*x) / 2 },
	} {
		for _, gap := range [][2]int{{5, 6}, {0, 1}, {479, 480}, {0, 24}, {456, 480}, {0, 120}, {360, 480}, {216, 240}} {
			f := interpret(t, warming(course, gap[0], gap[1]), half)
			require.Equal(t, rise.Tight, f.Verdict, "%s %v: %s", name, gap, f.Sentence)
			require.True(t, f.Record.TemperatureCorrected)
			require.Equal(t, 480, f.Record.Usable)
			require.Contains(t, f.Assumptions[0], "of 480 usable rows hold")
			require.NotContains(t, strings.Join(f.Assumptions, "\n"), "no temperature column")
		}
	}
	f := interpret(t, warming(straight, 5, 6), half)
	require.Contains(t, f.Assumptions[0], "1 of 480 usable rows holds no temperature, the first in line 6; filled in")
	f = interpret(t, warming(straight, 7, 128), half)
	require.False(t, f.Record.TemperatureCorrected)
	text := strings.Join(f.Assumptions, "\n")
	require.Contains(t, text, "the temperature column has no reading in 121 of 480 usable rows, the first in line 8; it is not used")
	require.NotContains(t, text, "no temperature column")
	require.Contains(t, text, "drift by 1 K")
	short := warming(straight, 0, 0)
	short.Temperatures = short.Temperatures[1:]
	_, err := rise.Interpret(short, half)
	require.ErrorContains(t, err, "479 temperatures")
}

func TestTemperatureGapsOfStandingTest(t *testing.T) {
	log := made(480, 30, 50, func(at float64) float64 { return 6e5 * (1 + 0.01*at/14400) })
	for _, at := range log.Times {
		log.Temperatures = append(log.Temperatures, units.Temperature(293.15*(1+0.01*at/14400)))
	}
	log.Temperatures[4] = 0
	test := standing
	test.Drift = 0.1
	f, err := test.Interpret(log, 1e-3)
	require.NoError(t, err)
	require.Equal(t, rise.Tight, f.Verdict)
	require.Contains(t, f.Sentence, "1 of 480 usable rows holds no temperature, the first in line 5")
	require.True(t, f.Record.TemperatureCorrected)
	for i := range 200 {
		log.Temperatures[i] = 0
	}
	f, err = test.Interpret(log, 1e-3)
	require.NoError(t, err)
	require.False(t, f.Record.TemperatureCorrected)
	require.NotContains(t, f.Sentence, "no temperature was recorded")
	require.Contains(t, f.Sentence, "the temperature column has no reading in 200 of 480 usable rows")
}

// A missing reading of the second gauge is filled in: both sides still count.
func TestSecondGaugeGaps(t *testing.T) {
	log := made(400, 5, 0.02, func(at float64) float64 { return 80 - 40*math.Exp(-at/150) })
	for _, at := range log.Times {
		log.Second = append(log.Second, units.Pressure(80+40*math.Exp(-at/150)))
	}
	o := site
	o.SecondVolume = o.Volume
	whole := interpret(t, log, o)
	log.Second[30] = -1
	f := interpret(t, log, o)
	require.Equal(t, whole.Verdict, f.Verdict)
	require.InEpsilon(t, float64(whole.Leak.High), float64(f.Leak.High), 0.05)
	require.Contains(t, f.Assumptions[0], "1 of 400 usable rows holds no reading of the second gauge, the first in line 31")
}

// A second gauge that rises proves that the first one is stuck.
func TestConstantBesideSecondGauge(t *testing.T) {
	log := made(700, 10, 0, func(float64) float64 { return 30 })
	o := site
	o.Resolution, o.SecondVolume = units.Micron, o.Volume
	for i := range log.Times {
		log.Second = append(log.Second, units.Pressure(30+0.02*float64(i%2)))
	}
	require.Equal(t, rise.Tight, interpret(t, log, o).Verdict, "a second gauge that scatters proves nothing")
	for i, at := range log.Times {
		log.Second[i] = units.Pressure(30 + 0.2*at)
	}
	f := interpret(t, log, o)
	require.Equal(t, rise.Undetermined, f.Verdict)
	require.Equal(t, rise.InstrumentFault, f.Reason)
	require.Zero(t, f.Leak)
	require.Contains(t, f.Sentence, "second gauge spread over 1.4e+03 Pa")
}

// Without its volume a second gauge that rises does not count, which is said.
func TestSecondGaugeWithoutVolume(t *testing.T) {
	log := made(700, 10, 0.1, func(float64) float64 { return 30 })
	for range log.Times {
		log.Second = append(log.Second, 30)
	}
	require.NotContains(t, interpret(t, log, site).Sentence, "second gauge")
	for i, at := range log.Times {
		log.Second[i] = units.Pressure(30 + 0.2*at)
	}
	f := interpret(t, log, site)
	require.Equal(t, rise.Tight, f.Verdict)
	require.Contains(t, f.Sentence, "But the second gauge went by +1.26e+03 Pa")
	require.Contains(t, strings.Join(f.Assumptions, "\n"), "the volume at the second is not given")
}

// More gas than water can give, and less than the limit: it is no question.
func TestAboveSaturationBelowLimit(t *testing.T) {
	o := site
	log := made(600, 10, 1, func(at float64) float64 { return 40 + 0.6*at })
	o.LeakLimit = 4 * rise.LimitFromRise(0.6, o.Volume)
	f := interpret(t, log, o)
	require.Equal(t, rise.AboveSaturation, f.Reason)
	require.Less(t, f.Leak.High, f.Limit)
	require.Contains(t, f.Sentence, " It is below the limit.")
	require.NotContains(t, f.Sentence, "may still")
}

// Below 2/3 the bound by any sources that fade turns over.
func TestLeastConfidence(t *testing.T) {
	log := made(50, 10, 0.1, func(float64) float64 { return 50 })
	o := site
	o.Confidence = 0.6
	_, err := rise.Interpret(log, o)
	var refused *units.RangeError
	require.ErrorAs(t, err, &refused)
	o.Confidence = 0.7
	low := interpret(t, log, o)
	o.Confidence = 0.95
	require.Less(t, low.Leak.High, interpret(t, log, o).Leak.High)
}
