package main

import (
	"context"
	"errors"
	"fmt"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
)

// answer is everything that was worked out. Parts that were not asked for, or
// not reached before an interruption, are empty.
type answer struct {
	*question
	comparison *purge.Comparison
	// hinges are the better procedure's answers with one input changed, and
	// noHinges says why there are none.
	hinges   []purge.Hinge
	noHinges string
	fade     *fadeEffect
	// alone is the better procedure's last pull and what follows it, without the
	// breaks before; nil when it has none.
	alone *purge.Record
	rise  *riseAnswer
	rules []ruled
	study study
	// stopped is why the work ended early: an interruption, or an error in the
	// middle of a run.
	stopped error
}

// answer works out all parts. An error is about the input; what ends a run
// halfway leaves its mark in the answer, and what was computed is kept.
func (q *question) answer(ctx context.Context, p *progress) (*answer, error) {
	a := &answer{question: q}
	if q.log != nil {
		r, err := q.judge()
		if err != nil {
			return nil, err
		}
		a.rise = r
	}
	if q.job == nil {
		return a, nil
	}
	if a.stopped = a.procedures(ctx, p); errors.Is(a.stopped, purge.ErrJob) {
		return nil, a.stopped
	}
	return a, nil
}

// procedures compares the job's procedures and looks at what the better one
// hinges on and at the rules of the trade.
func (a *answer) procedures(ctx context.Context, p *progress) error {
	var err error
	a.comparison, err = purge.Compare(ctx, a.job, &purge.RunOptions{Progress: p.step})
	if err != nil {
		a.noHinges = "The procedures did not run to their ends, so nothing was varied."
		return err
	}
	best, ok := a.best()
	if !ok {
		a.noHinges = "No procedure could be carried out to its end, so nothing was varied."
	} else {
		defer p.during("running %q again with one input changed at a time", best.Procedure)()
		a.noHinges = "The variations were not finished."
		if a.hinges, err = purge.Hinges(ctx, a.job, a.bestProcedure(), nil); err != nil {
			return err
		}
		if a.fade, err = a.fadeEffect(ctx, best); err != nil {
			return err
		}
		a.noHinges = ""
		if err := a.withoutBreaks(ctx); err != nil {
			return err
		}
	}
	if a.rules, err = a.judgeRules(ctx); err != nil {
		return err
	}
	return a.lookInto(ctx, p)
}

// best is the record of the procedure to prefer.
func (a *answer) best() (*purge.Record, bool) {
	if a.comparison == nil || a.comparison.Best < 0 {
		return nil, false
	}
	return a.comparison.Records[a.comparison.Best], true
}

// bestProcedure is the procedure to prefer; there must be one.
func (a *answer) bestProcedure() *purge.Procedure { return &a.job.Procedures[a.comparison.Best] }

// records are the records so far.
func (a *answer) records() []*purge.Record {
	if a.comparison == nil {
		return nil
	}
	return a.comparison.Records
}

// fadeEffect is how much the fade mass, over which the last of a puddle fades
// out, moves the time that the better procedure takes.
type fadeEffect struct {
	// shift is the largest relative change of the procedure's time, or of the
	// time until its last pull ends, when every fade mass is halved or doubled.
	shift float64
}

// fadeEffect runs the better procedure with all fade masses halved and doubled.
// It is nil when the job has no puddle.
func (a *answer) fadeEffect(ctx context.Context, best *purge.Record) (*fadeEffect, error) {
	if !hasPuddle(a.job) {
		return nil, nil
	}
	f := &fadeEffect{}
	for _, factor := range []float64{0.5, 2} {
		rec, err := a.variant(ctx, scaleFade(factor))
		if err != nil {
			return nil, fmt.Errorf("fade mass × %g: %w", factor, err)
		}
		f.shift = max(f.shift, relativeShift(pumping(rec), pumping(best)), relativeShift(rec.Took(), best.Took()))
	}
	return f, nil
}

// withoutBreaks runs the better procedure from its last pull on, when breaks
// come before it.
func (a *answer) withoutBreaks(ctx context.Context) error {
	steps, last, breaks := a.bestProcedure().Steps, -1, 0
	for i := range steps {
		if steps[i].Pull != nil {
			last = i
		}
	}
	for i := 0; i < last; i++ {
		if steps[i].Break != nil {
			breaks++
		}
	}
	if breaks == 0 {
		return nil
	}
	var err error
	a.alone, err = a.variant(ctx, func(_ *purge.Job, p *purge.Procedure) { p.Steps = p.Steps[last:] })
	return err
}

// aloneWords sets the better procedure beside its last pull alone; there must
// be such a run.
func (a *answer) aloneWords() string {
	best, _ := a.best()
	if !a.alone.Completed {
		return fmt.Sprintf("the last pull of %q alone, without the steps before it, does not get there: %s", best.Procedure, a.alone.Reason)
	}
	text := fmt.Sprintf("the last pull of %q and what follows, without the steps before, would take %s and leave %s; with them it takes %s and leaves %s",
		best.Procedure, phrase.Took(a.alone.Took()), a.leaves(a.alone.WaterLeft()), phrase.Took(best.Took()), a.leaves(best.WaterLeft()))
	if more := best.Took() - a.alone.Took(); relativeShift(a.alone.Took(), best.Took()) > 0.01 && more > 0 && a.asDry(a.alone, best) {
		text += fmt.Sprintf(". So the steps before cost %s and %s of nitrogen here", phrase.Took(more), nitrogen(best.Nitrogen()-a.alone.Nitrogen()))
	}
	return text
}
