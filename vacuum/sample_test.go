package vacuum_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// pulledAndWatched pulls for ten minutes, shuts the pump off and watches for
// fifteen, and answers the times at which the two runs began and the last ended.
func pulledAndWatched(t *testing.T, opt vacuum.Options) (*vacuum.Simulation, []time.Duration) {
	t.Helper()
	sim := simulate(t, wetTwoHoses(t), &opt)
	times := []time.Duration{0}
	run := func(d time.Duration) {
		_, err := sim.Run(context.Background(), d)
		require.NoError(t, err)
		times = append(times, sim.Time())
	}
	run(10 * time.Minute)
	require.NoError(t, sim.SetPump("pump", false, false))
	run(15 * time.Minute)
	return sim, times
}

// Samples are at the multiples of SampleEvery although the steps of the watch
// are minutes long, show what a run shows there that is a thousand times as accurate
// and stops at each of them, and change nothing in how the run ends.
func TestSamplesAreAtRegularTimes(t *testing.T) {
	const every = 10 * time.Second
	regular, times := pulledAndWatched(t, vacuum.Options{SampleEvery: every})
	seldom, _ := pulledAndWatched(t, vacuum.Options{SampleEvery: 24 * time.Hour})
	require.Equal(t, seldom.Ledger(), regular.Ledger())
	require.Equal(t, seldom.Record().Stats, regular.Record().Stats)
	require.Less(t, regular.Record().Stats.Accepted, 1000)

	samples := regular.Record().Samples
	for i := 1; i < len(samples); i++ {
		require.LessOrEqual(t, samples[i].Time-samples[i-1].Time, every)
		require.GreaterOrEqual(t, samples[i].Time, samples[i-1].Time)
	}
	at := map[time.Duration]*vacuum.Sample{}
	watched := 0
	for i := range samples {
		at[samples[i].Time] = &samples[i]
		if samples[i].Time > times[1] {
			watched++
		}
	}
	require.GreaterOrEqual(t, watched, 90)

	tight := simulate(t, wetTwoHoses(t), &vacuum.Options{RelTol: 1e-9})
	for now := time.Duration(0); now < times[2]; now += every {
		if now == times[1] {
			require.NoError(t, tight.SetPump("pump", false, false))
		}
		_, err := tight.Run(context.Background(), every)
		require.NoError(t, err)
		want, err := tight.Sample()
		require.NoError(t, err)
		got := at[now+every]
		require.NotNil(t, got, "no sample at %v", now+every)
		for k, p := range want.Pressure {
			require.InDelta(t, float64(p), float64(got.Pressure[k]), 2e-5*float64(p)+1e-3, "node %d at %v", k, now+every)
			require.InDelta(t, float64(want.Vapour[k]), float64(got.Vapour[k]), 2e-5*float64(p)+1e-3, "node %d at %v", k, now+every)
		}
		require.InDelta(t, float64(want.Content[0].Total()), float64(got.Content[0].Total()), 1e-7, "at %v", now+every)
	}
}

// A run that a condition ends has its samples up to there, the last one at its
// end, and none beyond.
func TestSamplesEndWithTheEvent(t *testing.T) {
	const every = 100 * time.Millisecond
	sim := simulate(t, wetTwoHoses(t), &vacuum.Options{SampleEvery: every, MaxSamples: 1_000_000})
	stop, err := sim.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow("low side", 500*units.Micron))
	require.NoError(t, err)
	require.Zero(t, stop.Condition)
	rec := sim.Record()
	require.Equal(t, stop.Time, rec.Last().Time)
	low := slices.Index(rec.Nodes, "low side")
	require.InDelta(t, 500, rec.Last().Pressure[low].In(units.Micron), 1e-3)
	for i := 1; i < len(rec.Samples); i++ {
		d := rec.Samples[i].Time - rec.Samples[i-1].Time
		require.Positive(t, d)
		require.LessOrEqual(t, d, every)
	}
}

// Too many samples are thinned: never more than asked for, at most one doubling
// of the spacing apart for each time that it took, first and last kept.
func TestSamplesAreThinned(t *testing.T) {
	for limit := 16; limit < 40; limit++ {
		sim := simulate(t, wetTwoHoses(t), &vacuum.Options{SampleEvery: time.Second, MaxSamples: limit})
		_, err := sim.Run(context.Background(), 15*time.Minute)
		require.NoError(t, err)
		samples := sim.Record().Samples
		require.LessOrEqual(t, len(samples), limit)
		require.Zero(t, samples[0].Time)
		require.Equal(t, 15*time.Minute, samples[len(samples)-1].Time)
		for i := 1; i < len(samples); i++ {
			require.LessOrEqual(t, samples[i].Time-samples[i-1].Time, 128*time.Second, "limit %d", limit)
		}
	}
}
