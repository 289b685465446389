package main

import (
	"fmt"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// noBest is the answer of a rule that needs a procedure carried out to its end.
func noBest(rule string) ruled {
	return ruled{"", rule, absent, "no procedure could be carried out to its end"}
}

// micron is a rule's figure as a pressure.
func (b *bench) micron(name string) units.Pressure {
	return units.Pressure(b.book[name].value) * units.Micron
}

// finish asks how much water was left when the gauge first showed the finish
// pressure for good.
func (b *bench) finish() (ruled, error) {
	rule := fmt.Sprintf("%s, or %g micron for a circuit thought to be free of water", b.book.words("finish-wet"), b.book["finish-dry"].value)
	best, ok := b.best()
	if !ok {
		return noBest(rule), nil
	}
	target := b.micron("finish-wet")
	if !hasPuddle(b.job) {
		target = b.micron("finish-dry")
	}
	when, left, ok := firstBelow(best, b.job, target)
	if !ok {
		return ruled{"", rule, absent, fmt.Sprintf("the gauge never showed %s in %q", phrase.Pressure(target), best.Procedure)}, nil
	}
	reason := fmt.Sprintf("in %q the gauge first showed %s after %s, with %s of water left", best.Procedure, phrase.Pressure(target), phrase.Took(when), phrase.Grams(left))
	limit := float64(b.job.DrynessLimit) * float64(b.job.Charge)
	switch {
	case limit == 0:
		return ruled{"", rule, depends, reason + "; the job states no limit to judge that by"}, nil
	case float64(left) <= limit:
		return ruled{"", rule, agrees, reason + ", within the limit of " + phrase.Grams(units.Mass(limit))}, nil
	}
	return ruled{"", rule, differs, reason + ", above the limit of " + phrase.Grams(units.Mass(limit))}, nil
}

// firstBelow is when the gauge first showed p or less while the pump ran, and
// the water left then.
func firstBelow(r *purge.Record, j *purge.Job, p units.Pressure) (time.Duration, units.Mass, bool) {
	for i := range r.Stages {
		if r.Stages[i].Kind != "pull" {
			continue
		}
		for _, s := range samplesOf(r, &r.Stages[i]) {
			if len(s.Reading) > 0 && showsAtMost(s.Reading[0], j.Gauge.Bottom, p) {
				return s.Time, waterIn(r, j, &s), true
			}
		}
	}
	return 0, 0, false
}

// showsAtMost is true when a gauge with that bottom tells that its pressure is p
// or less. Below its range it tells no more than that it is below the bottom.
func showsAtMost(r vacuum.Reading, bottom, p units.Pressure) bool {
	if offRange(r) {
		return r.UnderRange && bottom <= p
	}
	return r.Pressure <= p
}

// triple holds a better procedure with breaks against its own last pull alone.
func (b *bench) triple() (ruled, error) {
	rule := fmt.Sprintf("pull to %g micron, then %g, then deep, with nitrogen between", b.book["triple-first"].value, b.book["triple-second"].value)
	best, ok := b.best()
	if !ok {
		return noBest(rule), nil
	}
	if b.alone == nil {
		return ruled{"", rule, absent, fmt.Sprintf("%q has no pull after a break", best.Procedure)}, nil
	}
	reason := b.aloneWords()
	switch alone := b.alone; {
	case !alone.Completed:
		return ruled{"", rule, agrees, reason}, nil
	case relativeShift(alone.Took(), best.Took()) < 0.01:
		return ruled{"", rule, depends, reason}, nil
	case alone.Took() < best.Took() && b.asDry(alone, best):
		return ruled{"", rule, differs, reason}, nil
	case alone.Took() < best.Took():
		return ruled{"", rule, depends, reason}, nil
	}
	return ruled{"", rule, agrees, reason}, nil
}

// asDry is true when two records are equally dry to purge.Compare: both meet the
// limit, or neither does, or there is none, and they leave the same.
func (a *answer) asDry(r, s *purge.Record) bool {
	if a.meets(r) != a.meets(s) {
		return false
	}
	return a.meets(r) || alike(r.WaterLeft(), s.WaterLeft())
}

// meets is true when the job states a limit and the record meets it.
func (a *answer) meets(r *purge.Record) bool {
	limit, ok := a.limit()
	return ok && r.WaterLeft() <= limit
}

// countKind counts the stages of one kind.
func countKind(r *purge.Record, kind string) int {
	n := 0
	for i := range r.Stages {
		if r.Stages[i].Kind == kind {
			n++
		}
	}
	return n
}

// ballast runs the better procedure with the ballast closed where the rule says.
func (b *bench) ballast() (ruled, error) {
	rule := fmt.Sprintf("open at the start, closed below %g to %g micron", b.book["ballast-late"].value, b.book["ballast-early"].value)
	best, ok := b.best()
	if !ok {
		return noBest(rule), nil
	}
	if countKind(best, "pull") == 0 || b.job.Pump.VapourTolerance == 0 {
		return ruled{"", rule, absent, "no pull, or a pump whose vapour tolerance is not stated"}, nil
	}
	rec, err := b.variant(b.ctx, ballastUntil(b.micron("ballast-late")))
	if err != nil {
		return ruled{}, fmt.Errorf("gas ballast as the rule has it: %w", err)
	}
	oil, out := movedOut(rec)
	reason := fmt.Sprintf("closed at %s, %s of the %s of water that leaves stays in the pump's oil", phrase.Pressure(b.micron("ballast-late")), phrase.Grams(oil), phrase.Grams(out))
	if own, ownOut := movedOut(best); own != oil {
		reason += fmt.Sprintf("; as the job has it, %s of %s", phrase.Grams(own), phrase.Grams(ownOut))
	}
	switch {
	case out > 0 && oil > out/20 && hasPuddle(b.job):
		return ruled{"", rule, differs, reason + ". While liquid or ice is left, vapour goes on coming below that pressure"}, nil
	case out > 0 && oil > out/20:
		return ruled{"", rule, differs, reason}, nil
	}
	return ruled{"", rule, agrees, reason}, nil
}

// hoses compares cores put back in with a pump of twice the displacement.
func (b *bench) hoses() (ruled, error) {
	rule := b.book.words("hoses")
	best, ok := b.best()
	if !ok {
		return noBest(rule), nil
	}
	tools := 0
	eachTool(b.job, func(t *purge.JobTool) {
		if !t.CoreIn {
			tools++
		}
	})
	if tools == 0 || countKind(best, "pull") == 0 {
		return ruled{"", rule, absent, "no core was taken out"}, nil
	}
	cores, err := b.variant(b.ctx, coresIn)
	if err != nil {
		return ruled{}, fmt.Errorf("cores put back: %w", err)
	}
	pump, err := b.variant(b.ctx, doublePump)
	if err != nil {
		return ruled{}, fmt.Errorf("twice the pump: %w", err)
	}
	lost, gained := pumping(cores)-pumping(best), pumping(best)-pumping(pump)
	reason := fmt.Sprintf("the pump runs %s; with the cores left in %s, with twice the pump %s", phrase.Took(pumping(best)), tookOr(cores), tookOr(pump))
	switch {
	case !cores.Completed || lost > gained:
		return ruled{"", rule, agrees, reason}, nil
	case lost < gained:
		return ruled{"", rule, differs, reason}, nil
	}
	return ruled{"", rule, depends, reason}, nil
}

// tookOr is the pumping time of a variant, or that it did not get there.
func tookOr(r *purge.Record) string {
	if !r.Completed {
		return "the pressures are not reached"
	}
	return phrase.Took(pumping(r))
}

// joints are not in the model.
func (b *bench) joints() (ruled, error) {
	return ruled{"", b.book.words("joints"), leftOut, "the model knows leaks, not what causes them"}, nil
}
