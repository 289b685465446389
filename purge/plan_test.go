package purge

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

func TestPlanReachesItsGoal(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	goal := Goal{Water: 1e-4}
	p, err := MakePlan(context.Background(), j, goal, nil)
	require.NoError(t, err)
	require.NotNil(t, p.Best)
	require.False(t, p.Exhausted)
	require.True(t, p.Record.Completed)
	require.LessOrEqual(t, p.Record.WaterLeft(), goal.Water)
	require.Equal(t, p.Record.Took(), p.Best.Took)
	require.GreaterOrEqual(t, p.Goal.Watch, 15*time.Minute)
	require.Equal(t, 500*units.Micron, p.Goal.Pressure)
	for _, s := range p.Record.Stages {
		if s.Title == "last pull" {
			require.LessOrEqual(t, s.System, p.Goal.Pressure)
		}
	}

	require.Len(t, p.ByBreaks, 4)
	for breaks, c := range p.ByBreaks {
		require.Equal(t, breaks, c.Breaks)
		if c.Reached {
			require.GreaterOrEqual(t, c.Took.Seconds(), 0.985*p.ByBreaks[p.Best.Breaks].Took.Seconds(), "nothing found is faster beyond the 1 % that counts as equal")
		}
	}

	for _, g := range p.Rigs {
		require.NotEmpty(t, g.Variant)
		require.True(t, g.Reached, g.Reason)
	}
}

// The last pull is as long as it has to be to the minute: the plan meets its
// goal, and with a minute less it does not. That holds for what the search reads
// too, where no limit is within a second of a whole minute.
func TestLastPullIsTheFewestMinutes(t *testing.T) {
	none := 0
	for _, name := range []string{"two-hoses", "sweep", "split"} {
		for _, micron := range []units.Pressure{500, 300, 200, 100} {
			j := inventedJob(t, name)
			goal := Goal{Water: 1e-4, Pressure: micron * units.Micron}
			p, err := MakePlan(context.Background(), j, goal, &PlanOptions{MaxBreaks: &none, Variants: []Variant{}})
			require.NoError(t, err)
			require.NotNil(t, p.Best)
			s, err := newPlanner(j, goal, nil)
			require.NoError(t, err)
			meets := func(last time.Duration) bool {
				rec, err := Run(context.Background(), j, s.procedure(p.Best.Choice, last), nil)
				require.NoError(t, err)
				return s.meets(rec)
			}
			require.True(t, meets(p.Best.LastPull), "%s %v", name, goal.Pressure)
			require.False(t, meets(p.Best.LastPull-time.Minute), "%s %v: %v is a minute too long", name, goal.Pressure, p.Best.LastPull)
			require.Equal(t, p.ByBreaks[0].LastPull, p.Best.LastPull, "%s %v", name, goal.Pressure)
		}
	}
}

func TestPlanDoesNotDependOnWorkers(t *testing.T) {
	j := inventedJob(t, "sweep")
	one, two := 1, 1
	a, err := MakePlan(context.Background(), j, Goal{}, &PlanOptions{MaxBreaks: &one, Workers: 1})
	require.NoError(t, err)
	b, err := MakePlan(context.Background(), j, Goal{}, &PlanOptions{MaxBreaks: &two, Workers: 3})
	require.NoError(t, err)
	require.Equal(t, a.Best, b.Best)
	require.Equal(t, a.ByBreaks, b.ByBreaks)
	require.Equal(t, a.Rigs, b.Rigs)
	require.Equal(t, a.Runs, b.Runs)
}

// The descent against all combinations of the listed values with one break: it
// may miss the best of them, but by how much is known here.
func TestDescentAgainstAllCombinations(t *testing.T) {
	j := inventedJob(t, "sweep")
	one := 1
	s, err := newPlanner(j, Goal{}, &PlanOptions{MaxBreaks: &one, MaxRuns: 1000})
	require.NoError(t, err)
	all := []Choice{s.start(1)}
	for _, k := range s.settings {
		var more []Choice
		for _, c := range all {
			for _, set := range k.set {
				changed := c
				set(&changed)
				more = append(more, changed)
			}
		}
		all = more
	}
	found, err := s.try(context.Background(), all)
	require.NoError(t, err)
	best := found[0]
	for i := range found {
		if found[i].before(&best) {
			best = found[i]
		}
	}
	s.plan.Runs = 0
	require.NoError(t, s.search(context.Background()))
	require.InEpsilon(t, best.Took.Seconds(), s.plan.ByBreaks[1].Took.Seconds(), 0.03, "of %d combinations", len(found))
}

func TestPlanStopsAtItsBound(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	p, err := MakePlan(context.Background(), j, Goal{Water: 1e-4}, &PlanOptions{MaxRuns: 20})
	require.NoError(t, err)
	require.True(t, p.Exhausted)
	require.NotNil(t, p.Best)
	require.LessOrEqual(t, p.Runs, 20+5+len(p.Rigs))
}

func TestPlanWithoutNitrogen(t *testing.T) {
	j := inventedJob(t, "split") // no supply, no limit
	_, err := MakePlan(context.Background(), j, Goal{}, nil)
	require.ErrorIs(t, err, ErrNoGoal)
	p, err := MakePlan(context.Background(), j, Goal{Water: 1e-4}, nil)
	require.NoError(t, err)
	require.Contains(t, p.Without, "no nitrogen supply")
	require.Len(t, p.ByBreaks, 1)
	require.Zero(t, p.Best.Breaks)
	require.Equal(t, 15*time.Minute, p.Goal.Watch, "no leak limit: common practice")
}

func TestSettingsAtTheEndOfTheirLists(t *testing.T) {
	j := inventedJob(t, "sweep")
	s, err := newPlanner(j, Goal{}, nil)
	require.NoError(t, err)
	require.Empty(t, s.atEnd(Choice{}))
	require.Equal(t, []string{"sweep"}, s.atEnd(Choice{Sweep: time.Hour}))
	require.Empty(t, s.atEnd(Choice{Sweep: 30 * time.Minute, Target: 500 * units.Micron}), "without breaks their settings mean nothing")
	c := s.start(3)
	require.Equal(t, []string{"number of breaks"}, s.atEnd(c))
	c.Target = 500 * units.Micron
	c.Breaks = 2
	require.Equal(t, []string{"pressure of the pulls"}, s.atEnd(c))
}

// A goal that cannot be reached has no plan, and the reason is there.
func TestPlanOutOfReach(t *testing.T) {
	j := inventedJob(t, "split")
	p, err := MakePlan(context.Background(), j, Goal{Water: 1e-4, AtMost: 5 * time.Minute}, nil)
	require.NoError(t, err)
	require.Nil(t, p.Best)
	require.Nil(t, p.Procedure)
	require.Empty(t, p.Rigs)
	require.Contains(t, p.ByBreaks[0].Reason, "after a last pull of 5 min")
}

func TestPlanRefusals(t *testing.T) {
	j := inventedJob(t, "split")
	ctx, many := context.Background(), 7
	_, err := MakePlan(ctx, j, Goal{Water: 1e-4, Pressure: j.Pump.BlankOff}, nil)
	require.ErrorIs(t, err, ErrUnreachable)
	for _, g := range []Goal{{Water: -1}, {Water: 1e-4, Watch: -1}, {Water: 1e-4, AtMost: time.Second}, {Water: 1e-4, Pressure: 2e5}} {
		_, err = MakePlan(ctx, j, g, nil)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	for _, o := range []PlanOptions{{MaxRuns: 3}, {MaxBreaks: &many}, {Workers: -1}} {
		_, err = MakePlan(ctx, j, Goal{Water: 1e-4}, &o)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	_, err = MakePlan(cancelled, j, Goal{Water: 1e-4}, nil)
	require.ErrorIs(t, err, context.Canceled)
}

// The watch is long enough for the leak limit: what rise.Plan says when asked
// directly.
func TestPlanWatchFindsTheLeakLimit(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	j.LeakLimit, j.Gauge.Resolution = 2e-6, 5*units.Micron
	r, err := j.build()
	require.NoError(t, err)
	g := Goal{Water: 1e-4}
	require.NoError(t, g.complete(r))
	var v units.Volume
	for i := range j.Nodes {
		if j.reachedFrom(j.Gauge.Node)[j.Nodes[i].Name] {
			v += j.Nodes[i].Volume
		}
	}
	want, err := rise.Plan{
		Volume: v, Start: g.Pressure, SiteTemperature: j.Site.Temperature, Gauge: rise.Gauge{Resolution: j.Gauge.Resolution},
		Interval: 10 * time.Second, Duration: time.Hour,
	}.DurationFor(j.LeakLimit)
	require.NoError(t, err)
	require.Greater(t, want, 15*time.Minute)
	require.Equal(t, want, g.Watch)
}

// BenchmarkPlan gives the whole of a plan as a multiple of one run of a
// procedure at full accuracy.
func BenchmarkPlan(b *testing.B) {
	j := inventedJob(b, "two-hoses")
	ctx := context.Background()
	began := time.Now()
	for range 5 {
		if _, err := Run(ctx, j, &j.Procedures[1], nil); err != nil {
			b.Fatal(err)
		}
	}
	one := time.Since(began) / 5
	began = time.Now()
	n := 0
	for b.Loop() {
		if _, err := MakePlan(ctx, j, Goal{Water: 1e-4}, nil); err != nil {
			b.Fatal(err)
		}
		n++
	}
	each := time.Since(began) / time.Duration(n)
	b.ReportMetric(one.Seconds()*1e3, "ms/triple")
	b.ReportMetric(each.Seconds(), "s/plan")
	b.ReportMetric(float64(each)/float64(one), "triple/plan")
}
