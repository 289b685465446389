package rise_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// The interval narrows as the record grows, and the last step is the whole
// record's finding.
func TestProgress(t *testing.T) {
	log := made(200, 10, 0.1, func(t float64) float64 { return 40 + 0.02*t })
	steps, err := rise.Progress(log, site, 10)
	require.NoError(t, err)
	require.Len(t, steps, 10)
	whole := interpret(t, log, site)
	require.Equal(t, whole.Verdict, steps[9].Verdict)
	require.Equal(t, whole.Leak, rise.Interval{Low: steps[9].Low, Best: steps[9].Best, High: steps[9].High})
	require.Equal(t, 1990*time.Second, steps[9].At)
	require.Less(t, steps[9].High-steps[9].Low, steps[2].High-steps[2].Low)
	_, err = rise.Progress(log, site, 1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = rise.Progress(trace.Log{}, site, 5)
	require.Error(t, err)
}

// The band of a straight line with known noise is the textbook's: at the middle
// 1.96 σ/√n, at the ends twice that (σ = 0.1 Pa, n = 200: 0.01386 and 0.0277),
// within the 10 % to which 200 readings know their own noise; a reading adds σ.
func TestBand(t *testing.T) {
	o := site
	o.Drift = -1
	f := interpret(t, made(200, 10, 0.1, func(t float64) float64 { return 40 + 0.02*t }), o)
	require.Equal(t, rise.Steady, f.Fit.Model)
	middle, reading := f.Fit.Band(995 * time.Second)
	require.InEpsilon(t, 1.96*0.1/math.Sqrt(200), float64(middle), 0.25)
	require.InEpsilon(t, 0.196, float64(reading), 0.15)
	end, _ := f.Fit.Band(1990 * time.Second)
	require.InEpsilon(t, 2, float64(end/middle), 0.1)
}
