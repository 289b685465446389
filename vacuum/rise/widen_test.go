package rise_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// A leak beside a stretched exponential, which no fitted law is: the interval
// holds it about as often as it says, and no leak of three or more times the limit
// is missed with confidence.
func TestLeakBesideAnUnknownLaw(t *testing.T) {
	var covers, missed tally
	for _, l := range laws {
		if l.name != "leak+stretched" {
			continue
		}
		r := rand.New(rand.NewPCG(66, 1))
		for range 200 {
			rec := makeRecord(r, l, noises[0])
			f := interpret(t, rec.log, rec.opts)
			covers.add(float64(f.Leak.Low) <= rec.leak && rec.leak <= float64(f.Leak.High))
			missed.add(f.Verdict != rise.LeakAndMoisture && f.Verdict != rise.Leak && f.Verdict != rise.Undetermined)
		}
	}
	lo, hi := covers.wilson()
	require.Greater(t, hi, 0.95, covers)
	require.Greater(t, lo, 0.90, covers)
	lo, _ = missed.wilson()
	require.Less(t, lo, 0.005, missed)
}

// A source of constant rate that stops is none of the fitted laws, which the
// finding says; the leak is held all the same, and a record that a law does
// describe says nothing of the kind.
func TestSourceThatStops(t *testing.T) {
	const said = "none of the fitted laws describes the record well: the interval of the leak allows any source that fades or stops"
	o := site
	o.Drift = -1
	f := interpret(t, made(400, 2, 0.1, func(t float64) float64 { return 40 + 0.02*t + 0.2*math.Min(t, 250) }), o)
	require.Contains(t, f.Assumptions, said)
	require.LessOrEqual(t, float64(f.Leak.Low), 0.02*float64(o.Volume))
	require.GreaterOrEqual(t, float64(f.Leak.High), 0.02*float64(o.Volume))
	require.Less(t, float64(f.Leak.High), 0.03*float64(o.Volume))
	f = interpret(t, made(400, 2, 0.1, func(t float64) float64 { return 40 + 0.02*t - 50*math.Expm1(-t/100) }), o)
	require.NotContains(t, f.Assumptions, said)
}

// Water that is all out before the second reading is a source with no time
// constant to be seen; the leak after it is found as if it were not there.
func TestSourceOverAtOnce(t *testing.T) {
	o := site
	o.Drift = -1
	const rows, step, leak = 200, 5.0, 0.02
	jump := func(t float64) float64 {
		if t > 0 {
			return 60
		}
		return 0
	}
	f := interpret(t, made(rows, step, 0.1, func(t float64) float64 { return 40 + leak*t + jump(t) }), o)
	plain := interpret(t, made(rows, step, 0.1, func(t float64) float64 { return 40 + leak*t }), o)
	want := leak * float64(o.Volume)
	require.LessOrEqual(t, float64(f.Leak.Low), want)
	require.GreaterOrEqual(t, float64(f.Leak.High), want)
	width := func(f rise.Finding) units.Throughput { return f.Leak.High - f.Leak.Low }
	require.Less(t, float64(width(f)), 3*float64(width(plain)))
}
