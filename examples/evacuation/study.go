package main

import (
	"context"
	"fmt"

	"example.com/drydown/purge"
)

// study is what goes beyond running the procedures once: bands, drivers, other
// rigs and a plan. Parts that were not asked for, or not reached, are empty.
type study struct {
	bands   []*purge.Band // by procedure
	wins    []int         // of each band, by the same draws
	drivers *purge.Sensitivity
	rigs    []purge.Rig
	plan    *purge.Plan
}

// lookInto works out the parts of the study, the quick ones first.
func (a *answer) lookInto(ctx context.Context, p *progress) error {
	s := &a.study
	rigs, err := purge.CompareRigs(ctx, a.job, &purge.RigOptions{Progress: p.counter("rig")})
	if err != nil {
		return err
	}
	s.rigs = rigs
	if a.question.study.plan {
		goal := purge.Goal{}
		s.plan, err = purge.MakePlan(ctx, a.job, goal, &purge.PlanOptions{Progress: func(done int) { p.say("looking for a plan, run %d", done) }})
		if err != nil {
			return err
		}
	}
	if err := a.bandsOf(ctx, p); err != nil {
		return err
	}
	best, ok := a.best()
	if n := a.question.study.driverRows; n > 0 && ok {
		s.drivers, err = purge.Drivers(ctx, a.job, a.bestProcedure(), &purge.DriversOptions{
			Rows: n, Stream: a.question.study.stream, Inputs: a.vary, Progress: p.counter(fmt.Sprintf("what drives %q, run", best.Procedure)),
		})
	}
	return err
}

// bandsOf makes a band of every procedure with the same draws. One that ends
// early is kept with its reason.
func (a *answer) bandsOf(ctx context.Context, p *progress) error {
	n := a.question.study.bandRuns
	if n == 0 {
		return nil
	}
	s := &a.study
	for i := range a.job.Procedures {
		proc := &a.job.Procedures[i]
		b, err := purge.Bands(ctx, a.job, proc, &purge.BandOptions{
			Runs: n, Stream: a.question.study.stream, Inputs: a.vary, Progress: p.counter(fmt.Sprintf("band of %q, run", proc.Name)),
		})
		if b != nil {
			s.bands = append(s.bands, b)
		}
		if err != nil {
			return err
		}
	}
	var err error
	s.wins, err = purge.Wins(s.bands)
	return err
}

// bandOf is the band of procedure i, nil when there is none.
func (a *answer) bandOf(i int) *purge.Band {
	if i < len(a.study.bands) && a.study.bands[i].Made() > 0 {
		return a.study.bands[i]
	}
	return nil
}
