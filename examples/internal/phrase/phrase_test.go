package phrase

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Pressure(-1.75e-14), "0 micron (0 Pa)"},
		{Pressure(0), "0 micron (0 Pa)"},
		{Pressure(500 * units.Micron), "500 micron (66.7 Pa)"},
		{Step(15 * units.Micron), "15 micron (2 Pa)"},
		{Step(0.1 * units.Micron), "0.1 micron (0.0133 Pa)"},
		{Step(100 * units.Micron), "100 micron (13.3 Pa)"},
		{Change(-0.004), "0 %"},
		{Change(0.004), "0 %"},
		{Change(-0.006), "-1 %"},
		{Change(0.21), "+21 %"},
		{Took(-98 * time.Second), "-98 s"},
		{PerMinute(1e-3, 1e-3), "450"},
		{ranges([]int{3, 5, 7, 9}, 2), "lines 3, 5 and 2 more places"},
		{ranges([]int{3}, 0), "line 3"},
		{ranges([]int{3, 4, 5, 9, 9}, 0), "lines 3 to 5 and 9"},
	} {
		require.Equal(t, c.want, c.got)
	}
}

func TestIssuesAreGrouped(t *testing.T) {
	log := &trace.Log{Issues: []trace.Issue{
		{Line: 3, Kind: trace.MissingReading, Text: "blank"},
		{Line: 4, Kind: trace.MissingReading, Text: "blank"},
		{Line: 9, Kind: trace.OverRangeReading, Text: "OL"},
		{Line: 12, Kind: trace.MissingReading, Text: "blank"},
	}}
	got := Issues(log, 0)
	require.Len(t, got, 2)
	require.Contains(t, got[0], "lines 3 to 4 and 12")
	require.Contains(t, got[1], "line 9 (OL)")
	require.Equal(t, []string{got[0], "and 1 kind more, all of them in report.md"}, Few(got, 1))
}

func TestLastsQuotesReadings(t *testing.T) {
	log := &trace.Log{
		Times: []float64{0, 60, 120, 180}, Pressures: []units.Pressure{0, 10, 20, 99},
		States: []trace.State{trace.Missing, trace.Good, trace.Good, trace.OverRange},
	}
	require.Equal(t, "The record lasts 60 s, from a first reading of 75.0 micron (10.0 Pa) to a last of 150 micron (20.0 Pa), in 2 usable readings.", Lasts(log))
	require.Empty(t, Lasts(&trace.Log{}))
	require.Equal(t, "4 rows: 2 usable (1 outlier set aside), 1 over range, 1 missing", Rows(log, 1))
	require.Equal(t, "4 rows: 2 usable, 1 over range, 1 missing", Rows(log, 0))
}
