package follow_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/vacuum/rise/follow"
)

// More of the same readings decides nothing where water boils or a gauge is
// stuck: no time is foreseen.
func TestForeseesNothingForWaterOrStuckGauge(t *testing.T) {
	seen := map[follow.Reason]int{}
	for _, rows := range []int{200, 400, 1200} {
		plateau := run(t, cfg, rows, 0.5, func(t float64) float64 { return 40 - 2300*math.Expm1(-t/120) }).Verdict()
		stuck := run(t, cfg, rows, 0, func(t float64) float64 { return 40 + math.Min(t, 50)/5 }).Verdict()
		for _, s := range []follow.Status{plateau, stuck} {
			require.Equal(t, follow.Undetermined, s.Verdict)
			require.Zero(t, s.Decide, "%v", s.Reason)
			seen[s.Reason]++
		}
	}
	require.Equal(t, map[follow.Reason]int{follow.WaterNear: 3, follow.Repeats: 3}, seen)
}
