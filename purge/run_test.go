package purge_test

import (
	"context"
	"errors"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// read reads a job from text.
func read(t testing.TB, text string) *purge.Job {
	t.Helper()
	j, err := purge.ReadJob(strings.NewReader(text))
	require.NoError(t, err)
	return j
}

// vessel is one dry volume with everything attached by short wide ways, so that
// the closed forms for a well-mixed vessel hold. The steps are put in.
func vessel(t testing.TB, humidity, steps string) *purge.Job {
	return read(t, `{
	"name": "one vessel", "note": "invented",
	"site": {"barometer": "101325 Pa", "temperature": "20 °C", "humidity": "`+humidity+`"},
	"rating": "10 barg",
	"nodes": [{"name": "vessel", "volume": "10 L"}],
	"links": [],
	"pump": {"node": "vessel", "displacement": "100 L/min", "blank_off": "0 Pa"},
	"gauge": {"node": "vessel"},
	"nitrogen": {"node": "vessel", "flow": "60 NL/min"},
	"vent": {"node": "vessel", "passage": [{"orifice": {"bore": "12 mm"}}]},
	"procedures": [{"name": "p", "steps": [`+steps+`]}]}`)
}

// oxygen and nitrogen of the air count as one gas, "air".
func airLeft(l vacuum.Ledger) float64 {
	for k, name := range l.Gases {
		if name == "air" {
			return float64(l.Nodes[0].Amounts[k])
		}
	}
	return math.NaN()
}

// Vacuum cycles: y_j = y0 (P_L/P_H)^j, D. A. Crowl and J. F. Louvar, Chemical
// Process Safety, ch. 7. In the simulation the same three cycles leave the same
// air, as amount by the ideal gas law, to the accuracy of the integrator.
func TestVacuumCyclesAgreeWithCrowl(t *testing.T) {
	cycle := `{"pull": {"until": "50 mbar"}}, {"break": {"to": "101325 Pa"}}`
	j := vessel(t, "0 %", cycle+","+cycle+","+cycle)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	full := 101325 * 0.010 / (units.GasConstant * 293.15)
	step := 5000.0 / 101325
	want := step * step * step
	require.InEpsilon(t, want, airLeft(rec.Final())/full, 1e-4)
	closed, err := purge.VacuumCycles(5000, units.Atmosphere).Left(1, 3)
	require.NoError(t, err)
	require.InEpsilon(t, float64(closed), airLeft(rec.Final())/full, 1e-4)
	// Nitrogen used: j (P_H - P_L) V/(R T), same source.
	require.InEpsilon(t, 3*(101325-5000)*0.010/(units.GasConstant*293.15), float64(rec.Nitrogen()), 1e-4)
}

// Sweep-through of a well-mixed vessel: C/C0 = exp(-Q t/V), same source with K
// = 1. The vent's own resistance raises the pressure by less than 1 %.
func TestSweepAgreesWithCrowl(t *testing.T) {
	j := vessel(t, "0 %", `{"sweep": {"for": "30 s"}}`)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	full := 101325 * 0.010 / (units.GasConstant * 293.15)
	changes := float64(rec.Nitrogen()) / full
	require.InEpsilon(t, math.Exp(-changes), airLeft(rec.Final())/full, 0.02)
}

// Every stage closes its ledger to 1e-9 of the water there was, over every kind
// of step, and the stages' moves add up to the totals.
func TestLedgerOfEveryStage(t *testing.T) {
	j := sampleJob(t)
	for i := range j.Procedures {
		rec, err := purge.Run(context.Background(), j, &j.Procedures[i], nil)
		require.NoError(t, err)
		require.True(t, rec.Completed)
		moved := map[string]float64{}
		for _, s := range rec.Stages {
			require.NoError(t, s.Ledger.Check(), s.Title)
			require.LessOrEqual(t, s.Start, s.End)
			for _, m := range s.Moved {
				moved[m.Way.String()+m.Name] += float64(m.Water)
			}
		}
		final := rec.Final()
		for _, c := range final.Crossings {
			require.InDelta(t, float64(c.Water()), moved[c.Way.String()+c.Name], 1e-15)
		}
		require.InDelta(t, float64(final.InitialWater()+final.Entered()), float64(rec.WaterLeft()+final.Left()), 1e-9*float64(final.InitialWater()))
	}
}

// A gauge can read well below the target while nearly all the water is still
// there: an icy puddle behind a small heat supply.
func TestGaugeIsNotTheWater(t *testing.T) {
	j := sampleJob(t)
	j.Nodes[1].Puddles[0].Metal = 0.001
	j.Nodes[1].Puddles[0].Gap = 0
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	pull := rec.Stages[0]
	require.Less(t, float64(pull.Gauge.Pressure), float64(500*units.Micron))
	require.Greater(t, float64(pull.Stored.Ice), 3e-3)
	all := strings.Join(rec.Warnings, "\n")
	require.Contains(t, all, "low spot still holds")
	require.Contains(t, all, "ice")
	require.Contains(t, all, "the limit is 50 mg/kg")
}

// A pull that a leak keeps above its target says so, with the pressure it hangs
// at and the leak; the record up to there is kept.
func TestUnreachableTarget(t *testing.T) {
	j := sampleJob(t)
	j.Leak = &purge.JobLeak{Node: "low side", Rate: 0.5}
	p := purge.Procedure{Name: "pull", Steps: []purge.Step{
		{Pull: &purge.PullStep{Until: units.AbsoluteReading(500 * units.Micron), AtMost: units.Duration(2 * time.Hour)}},
		{Watch: &purge.WatchStep{For: units.Duration(time.Minute)}},
	}}
	rec, err := purge.Run(context.Background(), j, &p, nil)
	require.ErrorIs(t, err, purge.ErrUnreachable)
	require.ErrorContains(t, err, "step 1 (pull)")
	require.ErrorContains(t, err, "a leak of ")
	require.NotContains(t, err.Error(), "still leaving", "the circuit is dry by then")
	require.False(t, rec.Completed)
	require.Contains(t, rec.Reason, "step 1 (pull)")
	require.Len(t, rec.Stages, 1)
	require.NotEmpty(t, rec.Samples)
	require.Equal(t, 2*time.Hour, rec.Took().Round(time.Second))
	require.NoError(t, rec.Stages[0].Ledger.Check())

	j.Procedures = append(j.Procedures[:0:0], p, purge.Procedure{Name: "hold", Steps: []purge.Step{{Hold: &purge.HoldStep{For: units.Duration(time.Minute)}}}})
	c, err := purge.Compare(context.Background(), j, nil)
	require.NoError(t, err)
	require.Equal(t, 1, c.Best)
	require.Contains(t, c.Why, `"pull" could not be carried out`)
}

// A cancelled run keeps its record and names the open step.
func TestCancelledRun(t *testing.T) {
	j := sampleJob(t)
	ctx, cancel := context.WithCancel(context.Background())
	rec, err := purge.Run(ctx, j, &j.Procedures[1], &purge.RunOptions{Progress: func(step int, _ string, _ time.Duration) {
		if step == 2 {
			cancel()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	require.Contains(t, rec.Reason, "step 2 (pull)")
	require.NotEmpty(t, rec.Stages)
	require.NoError(t, rec.Stages[len(rec.Stages)-1].Ledger.Check())
}

// Bleeding stops above ambient and lets no air in; opening the vent of an
// evacuated circuit is not bleeding.
func TestBleedLetsNoAirIn(t *testing.T) {
	j := vessel(t, "60 %", `{"pull": {"until": "1 mbar"}}, {"bleed": {}}, {"break": {"to": "2 barg"}}, {"bleed": {}}`)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	require.Equal(t, "nothing to bleed", rec.Stages[1].Why)
	require.Equal(t, "pressure reached", rec.Stages[3].Why)
	require.InEpsilon(t, 1.005*101325, float64(rec.Stages[3].System), 1e-4)
	for _, s := range rec.Stages {
		for _, m := range s.Moved {
			require.NotEqual(t, vacuum.InByLink, m.Way, s.Title)
		}
	}
}

// A sweep of an evacuated circuit fills it before it opens the vent: no air
// comes in.
func TestSweepFillsFirst(t *testing.T) {
	j := vessel(t, "60 %", `{"pull": {"until": "1 mbar"}}, {"sweep": {"for": "1 min"}}`)
	rec, err := purge.Run(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	require.Less(t, airLeft(rec.Final()), 5e-4)
	for _, m := range rec.Stages[1].Moved {
		if m.Way == vacuum.InByLink {
			require.Less(t, float64(m.Water), 1e-9)
		}
	}
}

// The answer does not depend on how many processors share the runs.
func TestHingesDoNotDependOnProcessors(t *testing.T) {
	j := sampleJob(t)
	many, err := purge.Hinges(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	one, err := purge.Hinges(context.Background(), j, &j.Procedures[0], nil)
	require.NoError(t, err)
	require.Equal(t, one, many)
	require.Equal(t, "water in low spot", one[0].Input)
	require.Greater(t, one[0].Shift(), 0.1)
	// The fade mass is the model's; it must not move the answer by 1 %.
	for _, h := range one {
		if strings.HasPrefix(h.Input, "fade mass") {
			require.Less(t, math.Abs(h.Shift()), 0.01)
		}
	}
}

// A procedure that is refused is refused before anything runs.
func TestRunRefusesBeforeItStarts(t *testing.T) {
	j := sampleJob(t)
	p := purge.Procedure{Name: "none"}
	rec, err := purge.Run(context.Background(), j, &p, nil)
	require.Nil(t, rec)
	require.ErrorIs(t, err, purge.ErrJob)
	require.False(t, errors.Is(err, purge.ErrUnreachable))
}
