package purge

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// inventedJob reads a job of testdata.
func inventedJob(t testing.TB, name string) *Job {
	t.Helper()
	f, err := os.Open("../testdata/jobs/" + name + ".json")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	j, err := ReadJob(f)
	require.NoError(t, err)
	return j
}

func asJSON(t testing.TB, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	return string(text)
}

func TestSpreadQuantiles(t *testing.T) {
	for _, c := range []struct {
		s    Spread
		p, x float64
	}{
		{Spread{Uniform, 0.9, 1.1}, 0.25, 0.95},
		{Spread{LogUniform, 0.5, 2}, 0.5, 1},
		{Spread{LogUniform, 0.5, 2}, 0.75, math.Sqrt2},
		{Spread{Triangular, 0.5, 1.5}, 0.5, 1},
		{Spread{Triangular, 0, 1}, 0.125, 0.25}, // 2 x² = p
		{Spread{Lognormal, 0.25, 4}, 0.5, 1},
		{Spread{Lognormal, 0.25, 4}, 0.975, 4},
		{Spread{Lognormal, 0.25, 4}, 0.025, 0.25},
	} {
		require.InDelta(t, c.x, c.s.Quantile(c.p), 1e-12, "%v at %g", c.s, c.p)
	}
	require.InDelta(t, 0.975, (1+math.Erf(z975/math.Sqrt2))/2, 1e-15)
	for _, bad := range []Spread{{}, {"flat", 0.5, 2}, {Uniform, 2, 0.5}, {Uniform, 1, 1}, {Uniform, -1, 1}, {Uniform, 0.5, math.NaN()}, {Uniform, math.NaN(), 2}, {Uniform, 0.5, math.Inf(1)}} {
		require.Error(t, bad.Check(), "%v", bad)
	}
	require.ErrorIs(t, Spread{Uniform, 0, 2}.Check(), units.ErrOutOfRange)
	require.True(t, math.IsNaN(Spread{}.Quantile(0.5)))
}

// Every slice of equal probability is drawn from once in every column, and the
// columns do not go together.
func TestLatinHypercube(t *testing.T) {
	const n, k = 500, 3
	rows := design(n, k, 7, LatinHypercube)
	for c := range k {
		seen := make([]bool, n)
		for i := range rows {
			require.Greater(t, rows[i][c], 0.0)
			require.Less(t, rows[i][c], 1.0)
			seen[int(rows[i][c]*n)] = true
		}
		require.NotContains(t, seen, false)
	}
	sum := 0.0
	for i := range rows {
		sum += (rows[i][0] - 0.5) * (rows[i][1] - 0.5) * 12
	}
	require.Less(t, math.Abs(sum/n), 4/math.Sqrt(n), "correlation of two columns within 4 standard errors of none")
	require.NotEqual(t, rows, design(n, k, 8, LatinHypercube), "another stream draws other numbers")
	require.Equal(t, rows, design(n, k, 7, LatinHypercube))
}

func TestQuantileIsTheSmallestThatSuffices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-10, 10), 1, 50).Draw(t, "values")
		level := rapid.Float64Range(0.001, 1).Draw(t, "level")
		q := quantile(v, level)
		atMost, below := 0, 0
		for _, x := range v {
			if x <= q {
				atMost++
			}
			if x < q {
				below++
			}
		}
		n := float64(len(v))
		if float64(atMost) < level*n-1e-6 || float64(below) > level*n+1e-6 {
			t.Fatalf("%g is not the %g quantile of %v", q, level, v)
		}
	})
	require.Equal(t, 19.0, quantile([]float64{20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1}, 0.95))
}

// No input and no variant may reach through its copy into the job.
func TestChangesStayInTheCopy(t *testing.T) {
	for _, name := range []string{"split", "two-hoses", "sweep"} {
		j := inventedJob(t, name)
		before := asJSON(t, j)
		for _, in := range j.Inputs() {
			job, p := deepCopy(j), deepCopy(&j.Procedures[0])
			require.Equal(t, before, asJSON(t, job))
			was := before + asJSON(t, p)
			in.Apply(job, p, 1.05)
			require.NotEqual(t, was, asJSON(t, job)+asJSON(t, p), "%s changes something", in.Name)
		}
		for _, v := range j.Variants() {
			job := deepCopy(j)
			v.Change(job)
			require.NotEqual(t, before, asJSON(t, job), "%s changes something", v.Name)
		}
		require.Equal(t, before, asJSON(t, j))
	}
}

func TestBandDoesNotDependOnWorkers(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	run := func(workers int) *Band {
		b, err := Bands(context.Background(), j, &j.Procedures[0], &BandOptions{Runs: 12, Stream: 5, Workers: workers})
		require.NoError(t, err)
		return b
	}
	one, three := run(1), run(3)
	require.Equal(t, one.Runs, three.Runs)
	require.Equal(t, one.Pressure(0.5), three.Pressure(0.5))
	require.Empty(t, one.Reason)
	require.Equal(t, 12, one.Made())
}

// With inputs that hardly vary the band is the procedure as stated, at the
// looser tolerance that bands use: within 0.1 % of its time.
func TestBandAroundTheStatedValues(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	p := &j.Procedures[0]
	in := j.Inputs()
	for i := range in {
		in[i].Spread = Spread{Uniform, 1 - 1e-6, 1 + 1e-6}
	}
	b, err := Bands(context.Background(), j, p, &BandOptions{Runs: 4, Inputs: in})
	require.NoError(t, err)
	rec, err := Run(context.Background(), j, p, nil)
	require.NoError(t, err)
	for _, level := range []float64{0.05, 0.5, 1} {
		got, ok := b.Time(level)
		require.True(t, ok)
		require.InEpsilon(t, rec.Took().Seconds(), got.Seconds(), 1e-3)
		water, ok := b.WaterLeft(level)
		require.True(t, ok)
		require.InEpsilon(t, float64(rec.WaterLeft()), float64(water), 1e-2)
	}
	// The pressures on the grid are those of the record.
	pb := b.Pressure(0.5)
	for g := 0; pb.Times[g] < rec.Took(); g += 25 {
		want := pressureAt(rec, pb.Times[g])
		require.InEpsilon(t, want, float64(pb.Pressure[0][g]), 0.12, "at %v", pb.Times[g])
	}
	require.Equal(t, 4, pb.Runs)
}

// pressureAt reads the system's pressure from a record by the nearest samples.
func pressureAt(r *Record, at time.Duration) float64 {
	node := 0
	for i, n := range r.Nodes {
		if n == r.SystemNode {
			node = i
		}
	}
	best := &r.Samples[0]
	for i := range r.Samples {
		if (r.Samples[i].Time - at).Abs() < (best.Time - at).Abs() {
			best = &r.Samples[i]
		}
	}
	return float64(best.Pressure[node])
}

// Runs that do not get there are counted and rank last: the median may exist
// while a high quantile does not.
func TestRunsThatDoNotReachAreCounted(t *testing.T) {
	j := inventedJob(t, "split")
	p := deepCopy(&j.Procedures[0])
	full, err := Bands(context.Background(), j, p, &BandOptions{Runs: 40})
	require.NoError(t, err)
	middle, ok := full.Time(0.6)
	require.True(t, ok)
	// Time for the pull that some runs exceed, and blank-offs up to the target.
	p.Steps[0].Pull.AtMost = units.Duration(middle - 30*time.Minute)
	in := j.Inputs()
	require.NoError(t, SetSpread(in, NamedSpread{"blank-off of the pump", Spread{LogUniform, 1, 40}}))
	b, err := Bands(context.Background(), j, p, &BandOptions{Runs: 40, Inputs: in})
	require.NoError(t, err)
	require.Positive(t, b.Count(Completed))
	require.Positive(t, b.Count(NotReached))
	require.Positive(t, b.Count(Refused))
	require.Equal(t, 40, b.Count(Completed)+b.Count(NotReached)+b.Count(Refused)+b.Count(Stopped))
	require.Len(t, b.Reasons(), 2)
	share := float64(b.Count(Completed)) / 40
	_, ok = b.Time(share)
	require.True(t, ok)
	_, ok = b.Time(share + 0.03)
	require.False(t, ok, "later than the last that was completed")
	_, ok = b.WaterLeft(1)
	require.False(t, ok, "nothing is known of the water in runs that were refused")
	_, limited := b.Meets()
	require.False(t, limited, "the job states no limit")
	require.Less(t, b.Pressure(0.5).Runs, 40)
}

// A pull gives up at any odd number of nanoseconds.
func TestPullGivesUpAtOddTimes(t *testing.T) {
	j := inventedJob(t, "split")
	p := deepCopy(&j.Procedures[0])
	for i := range 40 {
		p.Steps[0].Pull.AtMost = units.Duration(time.Minute + time.Duration(i)*144814071)
		_, err := Run(context.Background(), j, p, nil)
		require.ErrorIs(t, err, ErrUnreachable, "after %v", p.Steps[0].Pull.AtMost)
	}
}

func TestBandInterrupted(t *testing.T) {
	j := inventedJob(t, "split")
	ctx, cancel := context.WithCancel(context.Background())
	b, err := Bands(ctx, j, &j.Procedures[0], &BandOptions{Runs: 100, Workers: 2, Progress: func(done, of int) {
		require.Equal(t, 100, of)
		if done == 5 {
			cancel()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	require.GreaterOrEqual(t, b.Made(), 5)
	require.Less(t, b.Made(), 100)
	require.Contains(t, b.Reason, "of 100 runs were made: context canceled")
	_, ok := b.Time(0.5)
	require.True(t, ok, "what was run has quantiles")

	_, err = Drivers(ctx, j, &j.Procedures[0], nil)
	require.Error(t, err)
	_, err = CompareRigs(ctx, j, nil)
	require.ErrorIs(t, err, context.Canceled)
}

func TestBandRefusals(t *testing.T) {
	j := inventedJob(t, "split")
	ctx, p := context.Background(), &j.Procedures[0]
	for _, o := range []*BandOptions{{Runs: 1}, {Runs: 2_000_000}, {Workers: -1}, {Inputs: []Input{}}, {Inputs: []Input{{Name: "x", Spread: guess}}}} {
		_, err := Bands(ctx, j, p, o)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	_, err := Bands(ctx, j, &Procedure{Name: "empty"}, nil)
	require.ErrorIs(t, err, ErrJob)
	_, err = Drivers(ctx, j, p, &DriversOptions{Rows: 2})
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

func TestWins(t *testing.T) {
	run := func(o Outcome, minutes int, water units.Mass) BandRun {
		return BandRun{Outcome: o, Took: time.Duration(minutes) * time.Minute, WaterLeft: water}
	}
	// Both above the limit: the drier one, unless alike within 5 %.
	a, b := &Band{limit: 1, Runs: []BandRun{run(Completed, 10, 3), run(Completed, 10, 2.02)}}, &Band{limit: 1, Runs: []BandRun{run(Completed, 30, 2), run(Completed, 30, 2)}}
	wins, err := Wins([]*Band{a, b})
	require.NoError(t, err)
	require.Equal(t, []int{1, 1}, wins)

	a = &Band{limit: 1, Runs: []BandRun{run(Completed, 10, 2), run(Completed, 10, 0.5), run(NotReached, 5, 0), run(NotRun, 0, 0), run(Refused, 0, 0)}}
	b = &Band{limit: 1, Runs: []BandRun{run(Completed, 30, 1), run(Completed, 30, 0.1), run(Completed, 30, 9), run(Completed, 1, 0), run(Stopped, 0, 0)}}
	wins, err = Wins([]*Band{a, b})
	require.NoError(t, err)
	require.Equal(t, []int{1, 2}, wins, "dry beats quick, quick beats dry enough, done beats not done")
	b.Stream = 1
	_, err = Wins([]*Band{a, b})
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// Oil has its own inputs, and its water is not spread beyond saturation.
func TestOilInputs(t *testing.T) {
	j := inventedJob(t, "split")
	j.Nodes[0].Oils = []JobOil{{
		Name: "sump", Mass: 0.5, Water: 8e-4, Exchange: units.Duration(time.Hour),
		Saturation: []JobSaturation{{Temperature: 293.15, Content: 1e-3}, {Temperature: 313.15, Content: 1.2e-3}},
	}}
	require.NoError(t, j.Check())
	found := map[string]Input{}
	for _, in := range j.Inputs() {
		found[in.Name] = in
	}
	require.InDelta(t, 1.5, found["water in sump"].Spread.High, 1e-12)
	require.InDelta(t, 3, found["time of exchange of sump"].Spread.High, 1e-12)
	c := deepCopy(j)
	found["water in sump"].Apply(c, nil, 1.5)
	found["time of exchange of sump"].Apply(c, nil, 2)
	require.InDelta(t, 1.2e-3, float64(c.Nodes[0].Oils[0].Water), 1e-15)
	require.Equal(t, 2*time.Hour, time.Duration(c.Nodes[0].Oils[0].Exchange))
	require.Equal(t, time.Hour, time.Duration(j.Nodes[0].Oils[0].Exchange))
	b, err := Bands(context.Background(), j, &j.Procedures[0], &BandOptions{Runs: 20})
	require.NoError(t, err)
	require.Zero(t, b.Count(Refused), "%v", b.Reasons())
}

func TestReadSpreads(t *testing.T) {
	got, err := ReadSpreads(strings.NewReader(`{"spreads": [{"input": "water in low spot", "kind": "lognormal", "low": 0.3, "high": 3}]}`))
	require.NoError(t, err)
	require.Equal(t, []NamedSpread{{"water in low spot", Spread{Lognormal, 0.3, 3}}}, got)
	j := inventedJob(t, "split")
	in := j.Inputs()
	require.NoError(t, SetSpread(in, got[0]))
	require.Equal(t, "as given", in[0].Basis)
	require.Equal(t, Lognormal, in[0].Spread.Kind)
	got[0].Input = "water in attic"
	err = SetSpread(in, got[0])
	require.ErrorIs(t, err, ErrJob)
	require.ErrorContains(t, err, `"water in low spot"`, "the error lists the names")

	for text, want := range map[string]string{
		``: "empty", `{"spreads": [{"input": "x", "kind": "flat", "low": 1, "high": 2}]}`: `kind "flat" is not known`,
		`{"spreads": [{"input": "x", "kind": "uniform", "low": 2, "high": 1}]}`: "not below", `{"spread": []}`: "unknown field",
	} {
		_, err := ReadSpreads(strings.NewReader(text))
		require.ErrorIs(t, err, ErrJob, text)
		require.ErrorContains(t, err, want)
	}
}

// A gauge that reads 10 % too high ends a pull at a pressure that is too low.
func TestMisreadGauge(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	p := deepCopy(&j.Procedures[0])
	p.Steps[0].Pull.Until = units.AbsoluteReading(110)
	misread(j, p, 1.1)
	truth, err := p.Steps[0].Pull.Until.Absolute(1e5)
	require.NoError(t, err)
	require.InDelta(t, 100, float64(truth), 1e-9)
	p.Steps[0].Pull.At = "high side"
	misread(j, p, 1.1)
	truth, err = p.Steps[0].Pull.Until.Absolute(1e5)
	require.NoError(t, err)
	require.InDelta(t, 100, float64(truth), 1e-9, "another node is not read by the gauge")
}

var sink *Band

// BenchmarkBand gives the time of one run of a band as a multiple of one run at
// full accuracy, and of a band of 1000 runs in seconds.
func BenchmarkBand(b *testing.B) {
	j := inventedJob(b, "two-hoses")
	p := &j.Procedures[1]
	ctx := context.Background()
	full := time.Duration(0)
	for range 5 {
		began := time.Now()
		if _, err := Run(ctx, j, p, &RunOptions{Simulation: &vacuum.Options{}}); err != nil {
			b.Fatal(err)
		}
		full += time.Since(began) / 5
	}
	const runs = 50
	began := time.Now()
	n := 0
	for b.Loop() {
		var err error
		if sink, err = Bands(ctx, j, p, &BandOptions{Runs: runs}); err != nil {
			b.Fatal(err)
		}
		n++
	}
	each := time.Since(began) / time.Duration(n*runs)
	b.ReportMetric(full.Seconds()*1e3, "ms/run")
	b.ReportMetric(each.Seconds()*1000, "s/1000-run-band")
	b.ReportMetric(float64(each)/float64(full), "run/run")
}

// No text makes ReadSpreads panic, and what it accepts passes Check.
func FuzzReadSpreads(f *testing.F) {
	f.Add(`{"spreads": [{"input": "water in low spot", "kind": "lognormal", "low": 0.3, "high": 3}]}`)
	f.Add(`{"spreads": [{"input": "", "kind": "uniform", "low": -1, "high": 1e400}]}`)
	f.Add(`{"spreads": null}`)
	f.Fuzz(func(t *testing.T, text string) {
		list, err := ReadSpreads(strings.NewReader(text))
		if err != nil {
			require.ErrorIs(t, err, ErrJob)
			return
		}
		for _, s := range list {
			require.NoError(t, s.Check())
			require.Greater(t, s.Quantile(0.5), 0.0)
		}
	})
}
