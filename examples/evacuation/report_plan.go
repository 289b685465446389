package main

import (
	"fmt"
	"strings"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// plan says what the search for the fastest procedure found.
func (a *answer) plan(d *document) {
	p := a.study.plan
	if p == nil {
		return
	}
	d.heading("The fastest plan found")
	g := &p.Goal
	d.say("Wanted: %s left, the %s at %s or below when the pump is shut off, then %s of watching for a leak. %s, each with its last pull as long as it takes.",
		limitWords(g.Water), a.systemName(), phrase.Pressure(g.Pressure), phrase.Took(g.Watch), a.searchWords())
	if a.job.Gauge.Thermal {
		d.say("That pressure is the true one at the %s. The job's own pulls end by what its thermal gauge shows, which is more while there is vapour.", a.systemName())
	}
	if p.Best == nil {
		d.say("No plan reaches that within a last pull of %s:", phrase.Took(g.AtMost))
		d.list(a.planReasons())
		return
	}
	d.say("The plan takes %s, leaves %s and uses nitrogen: %s.", phrase.Took(p.Best.Took), phrase.Grams(p.Best.Water), nitrogen(p.Best.Nitrogen))
	t := &table{head: []string{"step", "took", a.systemName(), "gauge", "water left"}}
	for i := range p.Record.Stages {
		s := &p.Record.Stages[i]
		t.add(fmt.Sprintf("%d %s", s.Step, a.stepWords(s, &p.Procedure.Steps[i])), phrase.Took(s.Duration()), phrase.Pressure(s.System), reading(s.Gauge), phrase.Grams(s.WaterLeft()))
	}
	d.table(t)
	if len(p.AtEnd) > 0 {
		d.say("At the end of the values that were tried, so that going further might be faster still: %s.", phrase.Listed(p.AtEnd))
	}
	d.say("%s", a.planAgainstJob())
	d.say("%s", a.oilWords())
	if len(p.ByBreaks) > 1 {
		d.table(breaksTable(p))
		d.say("%s", breaksWords(p))
	}
	if p.Without != "" {
		d.say("Considered were %s.", p.Without)
	}
	a.planRigs(d)
}

// systemName is the node that counts as the system.
func (a *answer) systemName() string { return a.records()[0].SystemNode }

// searchWords says how far the search went.
func (a *answer) searchWords() string {
	p := a.study.plan
	if p.Exhausted {
		return fmt.Sprintf("The search stopped at its bound, after %s", phrase.Plural(p.Runs, "run"))
	}
	return fmt.Sprintf("The search took %s in all", phrase.Plural(p.Runs, "run"))
}

// planReasons says for each number of breaks what is in the way.
func (a *answer) planReasons() []string {
	var out []string
	for i := range a.study.plan.ByBreaks {
		c := &a.study.plan.ByBreaks[i]
		out = append(out, fmt.Sprintf("%s: %s", phrase.Plural(c.Breaks, "break"), c.Reason))
	}
	return out
}

// stepWords says what a step of the plan does.
func (a *answer) stepWords(s *purge.Stage, step *purge.Step) string {
	words := s.Title
	if pull := step.Pull; pull != nil {
		if !pull.Until.IsZero() {
			words += " to " + a.inSteps(pull.Until)
		}
		if pull.For > 0 {
			words += " for " + pull.For.String()
		}
		if !pull.BallastAbove.IsZero() {
			words += ", ballast open above " + a.inSteps(pull.BallastAbove)
		}
	}
	if step.Break != nil {
		words += " to " + a.inSteps(step.Break.To)
	}
	return words
}

// inSteps words a pressure of a step; the plan's are all absolute.
func (a *answer) inSteps(r units.PressureReading) string {
	p, err := r.Absolute(a.ambient)
	if err != nil {
		return r.String()
	}
	if p < 10000*units.Micron {
		return phrase.Digits(p.In(units.Micron), 3) + " micron"
	}
	return phrase.Digits(p.In(units.Millibar), 3) + " mbar"
}

// planAgainstJob sets the plan beside the job's best procedure.
func (a *answer) planAgainstJob() string {
	p := a.study.plan
	best, ok := a.best()
	if !ok {
		return ""
	}
	limit, _ := a.limit()
	if best.WaterLeft() > limit {
		return fmt.Sprintf("None of the job's procedures that were carried out meets the limit; %q takes %s and leaves %s.", best.Procedure, phrase.Took(best.Took()), phrase.Grams(best.WaterLeft()))
	}
	return fmt.Sprintf("The job's %q takes %s and leaves %s: the plan takes %s.", best.Procedure, phrase.Took(best.Took()), phrase.Grams(best.WaterLeft()),
		saved(p.Best.Took.Seconds(), best.Took().Seconds()))
}

// oilWords warns of water in the pump's oil, which the search does not charge
// for.
func (a *answer) oilWords() string {
	c := a.study.plan.Best
	if c.OilWater < 1e-4 {
		return ""
	}
	text := fmt.Sprintf("With this plan %s of water stays in the pump's oil.", phrase.Grams(c.OilWater))
	if a.job.Pump.Oil == nil {
		text += " The job states no oil, so the model does not let that spoil the pump's vacuum; in a real pump it does, so change the oil."
	}
	if l := a.study.plan.LeastOil; l.OilWater < 0.9*c.OilWater {
		text += fmt.Sprintf(" Of the candidates that were run, the one that leaves least there, %s, takes %s (%s; %s).", phrase.Grams(l.OilWater), tenths(l.Took), phrase.Plural(l.Breaks, "break"), choiceWords(&l.Choice))
	}
	return text
}

// tenths is a time to a tenth of a minute, for times that lie close together.
func tenths(d time.Duration) string { return fmt.Sprintf("%.1f min", d.Minutes()) }

// breaksTable has the best candidate for each number of breaks.
func breaksTable(p *purge.Plan) *table {
	t := &table{head: []string{"breaks", "best settings found", "last pull", "takes", "nitrogen", "in the pump's oil"}}
	for i := range p.ByBreaks {
		c := &p.ByBreaks[i]
		if !c.Reached {
			t.add(fmt.Sprint(c.Breaks), choiceWords(&c.Choice), "-", "not reached", "-", "-")
			continue
		}
		t.add(fmt.Sprint(c.Breaks), choiceWords(&c.Choice), phrase.Took(c.LastPull), tenths(c.Took), nitrogen(c.Nitrogen), phrase.Grams(c.OilWater))
	}
	return t
}

// choiceWords says what the settings of a candidate are.
func choiceWords(c *purge.Choice) string {
	var parts []string
	if c.Sweep > 0 {
		parts = append(parts, "sweep "+phrase.Took(c.Sweep))
	}
	if c.Breaks > 0 {
		parts = append(parts, fmt.Sprintf("pull to %s micron, break to %s mbar", phrase.Digits(c.Target.In(units.Micron), 3), phrase.Digits(c.BreakTo.In(units.Millibar), 3)))
		if c.Hold > 0 {
			parts = append(parts, "hold "+phrase.Took(c.Hold))
		}
	}
	if c.BallastAbove > 0 {
		parts = append(parts, fmt.Sprintf("ballast above %s micron", phrase.Digits(c.BallastAbove.In(units.Micron), 3)))
	} else {
		parts = append(parts, "no ballast")
	}
	return strings.Join(parts, ", ")
}

// breaksWords says what breaks gain in the model on this job.
func breaksWords(p *purge.Plan) string {
	none := &p.ByBreaks[0]
	var with *purge.Candidate
	for i := 1; i < len(p.ByBreaks); i++ {
		if c := &p.ByBreaks[i]; c.Reached && (with == nil || c.Took < with.Took) {
			with = c
		}
	}
	switch {
	case with == nil:
		return "No candidate with breaks reaches the goal."
	case !none.Reached:
		return "Without breaks no candidate reaches the goal."
	}
	times := fmt.Sprintf("%s without, %s with %s at best", tenths(none.Took), tenths(with.Took), phrase.Plural(with.Breaks, "break"))
	switch gain := (none.Took - with.Took).Seconds() / none.Took.Seconds(); {
	case gain > 0.01:
		return fmt.Sprintf("Breaks gain %s of the time here: %s.", phrase.Percent(gain), times)
	case gain > 0:
		return "Breaks gain less than 1 % of the time here: " + times + "."
	}
	return "Breaks gain nothing here: " + times + "."
}

// planRigs says what a change of the rig would buy instead.
func (a *answer) planRigs(d *document) {
	p := a.study.plan
	if len(p.Rigs) == 0 {
		return
	}
	t := &table{head: []string{"the same plan with", "last pull", "takes", "against the plan"}}
	for i := range p.Rigs {
		r := &p.Rigs[i]
		if !r.Reached {
			t.add(r.Variant, "-", "not reached", r.Reason)
			continue
		}
		t.add(r.Variant, phrase.Took(r.LastPull), tenths(r.Took), saved(r.Took.Seconds(), p.ByBreaks[p.Best.Breaks].Took.Seconds()))
	}
	d.table(t)
	d.say("Last pulls are rounded up to whole minutes in the plan; times of candidates and of other rigs are compared without rounding. The figures of the variants are common practice; warm walls are warm from the start.")
}
