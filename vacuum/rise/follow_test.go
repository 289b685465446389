package rise_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/rise/follow"
)

// fed is a follower that has the readings of a study record.
func fed(t require.TestingT, rec studyRecord) *follow.Follower {
	f, err := follow.New(follow.Config{
		Volume: rec.opts.Volume, SiteTemperature: rec.opts.SiteTemperature, LeakLimit: rec.opts.LeakLimit,
		Resolution: rec.opts.Resolution, Drift: rise.DefaultDrift,
	})
	require.NoError(t, err)
	for i, p := range rec.log.Pressures {
		require.NoError(t, f.Add(time.Duration(rec.log.Times[i]*1e9), p))
	}
	return f
}

// makeAny invents a record of any law of the study under conditions wider than
// the study's: minutes to days, a dozen to thousands of readings, gauges that
// resolve a hundredth of a micron to twenty, noise from 0.05 to 3 %, correlated
// up to 0.95; below 3 kPa, where all laws of a leak agree.
func makeAny(r *rand.Rand) studyRecord {
	for {
		if rec := makeAnyPressure(r); rec.log.Pressures[len(rec.log.Pressures)-1] < 3000 {
			return rec
		}
	}
}

func makeAnyPressure(r *rand.Rand) studyRecord {
	l := laws[r.IntN(len(laws))]
	c := conditions{
		dur: logUniform(r, 60, 1e5), rows: int(logUniform(r, 12, 2000)), volume: logUniform(r, 1e-4, 1),
		temp: 253.15 + 60*r.Float64(), start: logUniform(r, 2, 500), limit: logUniform(r, 0.05, 50) * float64(units.Micron) / 60,
	}
	n := noise{name: "any", step: logUniform(r, 0.01, 20)}
	s := scatter{rel: logUniform(r, 5e-4, 0.03), phi: max(0.95*(2*r.Float64()-1), 0), drift: r.NormFloat64() / c.temp}
	leak := l.leak(r) * c.limit
	shape := l.make(r, c.dur)
	rec := studyRecord{class: l.name, leak: leak * c.volume, opts: c.options(n)}
	rec.opts.Law = rise.Choked // a leak that does not heed the pressure
	rec.log = observe(r, c, n, s, func(t float64) float64 { return c.start + leak*t + shape(t) })
	return rec
}

// agreement counts what the follower says beside the batch.
type agreement struct{ records, same, open, batchOpen, wrong int }

// compare holds the follower to the batch on a record without outliers: the
// same verdict or Undetermined, and beside a verdict a leak within 0.3 of
// the batch's half-width.
func (a *agreement) compare(t *testing.T, name string, rec studyRecord) {
	batch, err := rise.Interpret(rec.log, rec.opts)
	require.NoError(t, err)
	if batch.Record.Outliers > 0 {
		return
	}
	live := fed(t, rec).Verdict()
	a.records++
	if batch.Verdict == rise.Undetermined {
		a.batchOpen++
	}
	if live.Verdict == rise.Undetermined {
		a.open++
		if live.Reason == follow.Decided {
			t.Errorf("%s: undetermined without a reason", name)
		}
		return
	}
	half := float64(batch.Leak.High-batch.Leak.Low) / 2
	if live.Verdict != batch.Verdict || math.Abs(float64(live.Best-batch.Leak.Best)) > 0.3*half {
		a.wrong++
		t.Errorf("%s, %d readings: batch %v %v (%v to %v) %v %.2g correlation %.2f, live %v %v (%v to %v) %.2f", name, len(rec.log.Times),
			batch.Verdict, batch.Leak.Best, batch.Leak.Low, batch.Leak.High, batch.Fit.Model, batch.Models, batch.Record.Correlation,
			live.Verdict, live.Best, live.Low, live.High, live.Correlation)
		return
	}
	a.same++
}

// The follower agrees with the batch on every record without outliers, of the
// laws that both fit and of those that neither does, in white and in lag-1
// noise, on a fine and on a coarse gauge, and under conditions of any kind. The
// random numbers are fixed; -study 500 makes it 36000 records, of which a few do not
// agree, see the package's documentation.
func TestFollowerAgreesWithBatch(t *testing.T) {
	count := max(*studyRecords, 20)
	var all, wide agreement
	for i, l := range laws {
		for k, n := range noises[:3] {
			r := rand.New(rand.NewPCG(uint64(300+i), uint64(k)))
			var a agreement
			for range count {
				a.compare(t, l.name+"/"+n.name, makeRecord(r, l, n))
			}
			all.add(a)
			t.Logf("%-15s %-6s %v", l.name, n.name, a)
		}
	}
	r := rand.New(rand.NewPCG(300, 300))
	for range count * 36 {
		rec := makeAny(r)
		wide.compare(t, rec.class+"/any", rec)
	}
	t.Logf("any %v", wide)
	t.Logf("study %v", all)
	require.Greater(t, all.same, all.records/5, "agreeing must not mean saying nothing")
}

func (a *agreement) add(b agreement) {
	a.records += b.records
	a.same += b.same
	a.open += b.open
	a.batchOpen += b.batchOpen
	a.wrong += b.wrong
}

func (a agreement) String() string {
	return fmt.Sprintf("of %d records the same verdict %d, undetermined %d (the batch %d), not in agreement %d", a.records, a.same, a.open, a.batchOpen, a.wrong)
}

// BenchmarkFollowerVerdict gives the cost of a verdict for 50 records of each kind
// together, of a law in white and in lag-1 noise, in units of math.Exp.
func BenchmarkFollowerVerdict(b *testing.B) {
	for _, l := range laws {
		for _, n := range noises[:2] {
			b.Run(l.name+"/"+n.name, func(b *testing.B) {
				r := rand.New(rand.NewPCG(5, 5))
				followers := make([]*follow.Follower, 50)
				for i := range followers {
					followers[i] = fed(b, makeRecord(r, l, n))
				}
				for i := 0; b.Loop(); i++ {
					followers[i%len(followers)].Verdict()
				}
				b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/expSeconds(), "exp/op")
			})
		}
	}
}
