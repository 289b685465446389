package purge

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
)

func TestDriversDoNotDependOnWorkers(t *testing.T) {
	j := inventedJob(t, "split")
	run := func(workers int) *Sensitivity {
		s, err := Drivers(context.Background(), j, &j.Procedures[0], &DriversOptions{Rows: 16, Workers: workers, Stream: 2})
		require.NoError(t, err)
		return s
	}
	one, two := run(1), run(2)
	require.Equal(t, one.Time, two.Time)
	require.Equal(t, one.Water, two.Water)
	k := len(j.Inputs())
	require.Equal(t, 16*(k+2), one.Runs)
	require.Len(t, one.Time.Inputs, k)
	require.Zero(t, one.LeftOut)
	require.Zero(t, one.NotCompleted)
}

// When two inputs vary and one of them cannot matter, the other has it all.
func TestOneInputDrivesAll(t *testing.T) {
	j := inventedJob(t, "split")
	all := j.Inputs()
	idle := all[0]
	idle.Name, idle.Apply = "nothing", func(*Job, *Procedure, float64) {}
	s, err := Drivers(context.Background(), j, &j.Procedures[0], &DriversOptions{Rows: 32, Inputs: []Input{idle, all[0]}})
	require.NoError(t, err)
	require.Equal(t, all[0].Name, s.Time.Inputs[0].Input)
	require.Equal(t, 1, s.Time.Inputs[0].Rank)
	require.Equal(t, 2, s.Time.Inputs[1].Rank)
	require.Equal(t, Estimate{}, s.Time.Inputs[1].Total, "an input without effect has exactly none")

	s, err = Drivers(context.Background(), j, &j.Procedures[0], &DriversOptions{Rows: 8, Inputs: []Input{idle}})
	require.NoError(t, err)
	require.Empty(t, s.Time.Inputs, "no variance, nothing to share out")
}

// Rows with a run that was refused are left out and counted, runs that gave up
// are counted.
func TestDriversCountWhatIsMissing(t *testing.T) {
	j := inventedJob(t, "split")
	p := deepCopy(&j.Procedures[0])
	in := j.Inputs()
	require.NoError(t, SetSpread(in, NamedSpread{"blank-off of the pump", Spread{LogUniform, 1, 40}}))
	p.Steps[0].Pull.AtMost = units.Duration(20 * 60 * 1e9)
	s, err := Drivers(context.Background(), j, p, &DriversOptions{Rows: 30, Inputs: in})
	require.NoError(t, err)
	require.Positive(t, s.LeftOut)
	require.Less(t, s.LeftOut, 30)
	require.Positive(t, s.NotCompleted)
}

func TestRanksNeedAGap(t *testing.T) {
	x := Indices{Inputs: []Index{
		{Input: "c", Total: Estimate{0.2, 0.1, 0.45}},
		{Input: "a", Total: Estimate{0.6, 0.4, 0.8}},
		{Input: "d", Total: Estimate{0.01, 0, 0.05}},
		{Input: "b", Total: Estimate{0.5, 0.42, 0.6}},
	}}
	x.rank()
	var got []string
	ranks := map[string]int{}
	for _, in := range x.Inputs {
		got = append(got, in.Input)
		ranks[in.Input] = in.Rank
	}
	require.Equal(t, []string{"a", "b", "c", "d"}, got)
	require.Equal(t, map[string]int{"a": 1, "b": 1, "c": 1, "d": 4}, ranks)
}
