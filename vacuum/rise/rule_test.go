package rise_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/vacuum/rise"
)

// The verdict follows from the interval: Undetermined exactly when it contains
// zero and the limit and nothing else proves water or gas; a leak is claimed
// only when zero is excluded and the limit reached; and the numbers are in
// order. Over all laws and noises of the study.
func TestVerdictFollowsFromInterval(t *testing.T) {
	for i, l := range laws {
		for k, n := range noises {
			r := rand.New(rand.NewPCG(uint64(500+i), uint64(k)))
			for range 5 {
				rec := makeRecord(r, l, n)
				f, err := rise.Interpret(rec.log, rec.opts)
				require.NoError(t, err)
				requireRule(t, f)
			}
		}
	}
}

func requireRule(t *testing.T, f rise.Finding) {
	t.Helper()
	require.LessOrEqual(t, f.Leak.Low, f.Leak.Best, "%+v", f)
	require.LessOrEqual(t, f.Leak.Best, f.Leak.High, "%+v", f)
	require.NotEmpty(t, f.Sentence)
	if f.DecideKnown {
		require.Greater(t, f.Decide, f.Record.Duration)
	}
	switch f.Reason {
	case rise.InstrumentFault, rise.TooFewSamples:
		require.Equal(t, rise.Undetermined, f.Verdict)
		return
	case rise.ConstantReading:
		require.True(t, f.Verdict == rise.Undetermined || f.Verdict == rise.Tight && f.Leak.High < f.Limit, "%+v", f)
		return
	}
	open := f.Leak.Low == 0 && f.Leak.High >= f.Limit
	switch f.Verdict {
	case rise.Undetermined:
		require.True(t, open, "%+v", f)
		require.NotEqual(t, rise.ByRates, f.Reason, "an open verdict says why")
	case rise.Leak, rise.LeakAndMoisture:
		require.True(t, f.Reason == rise.AboveSaturation || f.Leak.Low > 0 && f.Leak.High >= f.Limit, "%+v", f)
	default:
		proven := f.Reason == rise.AtSaturation || f.Reason == rise.MeltingStep
		require.True(t, proven || f.Leak.High < f.Limit, "%+v", f)
	}
	sum := 0.0
	for _, p := range f.Models {
		sum += p
	}
	require.InDelta(t, 1, sum, 1e-9)
}
