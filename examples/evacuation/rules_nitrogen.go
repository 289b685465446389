package main

import (
	"fmt"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// breaking asks whether a break can condense the vapour.
func (b *bench) breaking() (ruled, error) {
	rule := fmt.Sprintf("break the vacuum with nitrogen to %g to %g psig, not more, for fear of condensing the vapour", b.book["break-low"].value, b.book["break-high"].value)
	rec, i := b.firstStage("break")
	if rec == nil {
		return ruled{"", rule, absent, "no procedure breaks the vacuum"}, nil
	}
	before, after := stageBefore(rec, i), rec.Stages[i]
	s := lastSampleUntil(rec, after.Start)
	if s == nil {
		return ruled{"", rule, absent, "the break left no sample"}, nil
	}
	at := indexOf(rec.Nodes, rec.SystemNode)
	wall := nodeTemperature(b.job, rec.SystemNode)
	inside := purge.Break{Low: s.Pressure[at], Vapour: units.MoleFraction(float64(s.Vapour[at] / s.Pressure[at])), Wall: wall}
	limit, err := purge.HighestDryBreakPressure(inside, purge.Piston)
	if err != nil {
		return ruled{"", rule, depends, phrase.OneLine(err.Error())}, nil
	}
	grown := after.Stored.Total() - before.Stored.Total()
	reason := fmt.Sprintf("before the first break in %q the gas in the %s is %s water vapour", rec.Procedure, rec.SystemNode, phrase.Percent(float64(inside.Vapour)))
	switch limit.Bound {
	case purge.Bounded:
		reason += fmt.Sprintf(". Well mixed it cannot condense at any pressure; pushed ahead without mixing it would from %s on", phrase.Pressure(limit.Pressure))
	case purge.AlreadyWet:
		reason += ", which condenses on that wall already"
	}
	if grown > 1e-9 {
		return ruled{"", rule, agrees, reason + fmt.Sprintf(". In the run %s more is in the stores after the break", phrase.Grams(grown))}, nil
	}
	return ruled{"", rule, differs, reason + ". In the run, with mixing as the passages allow, the break adds nothing to the stores"}, nil
}

// holding asks what a hold after a break was good for.
func (b *bench) holding() (ruled, error) {
	rule := fmt.Sprintf("leave nitrogen in for %g to %g min, up to %g when liquid water is suspected", b.book["hold-least"].value, b.book["hold-most"].value, b.book["hold-wet"].value)
	rec, i := b.firstStage("hold")
	if rec == nil {
		return ruled{"", rule, absent, "no procedure holds"}, nil
	}
	before, hold := stageBefore(rec, i), &rec.Stages[i]
	was, is := before.Stored, hold.Stored
	where := fmt.Sprintf("in %q the first hold, %s,", rec.Procedure, phrase.Took(hold.Duration()))
	switch {
	case was.Total() < 1e-9:
		return ruled{"", rule, differs, where + " has nothing to wait for: all water is vapour already"}, nil
	case was.Ice > 1e-9 && is.Ice > 1e-9:
		return ruled{"", rule, differs, fmt.Sprintf("%s leaves %s of %s of ice: too short to thaw it", where, phrase.Grams(is.Ice), phrase.Grams(was.Ice))}, nil
	case was.Ice > 1e-9:
		thaw := iceGone(rec, hold)
		reason := fmt.Sprintf("%s thaws %s of ice within %s", where, phrase.Grams(was.Ice), phrase.Took(thaw))
		if thaw.Minutes() <= b.book["hold-wet"].value {
			return ruled{"", rule, agrees, reason}, nil
		}
		return ruled{"", rule, differs, reason}, nil
	}
	return ruled{"", rule, depends, fmt.Sprintf("%s takes the water in the stores from %s to %s", where, phrase.Grams(was.Total()), phrase.Grams(is.Total()))}, nil
}

// iceGone is how long after its start a stage has no ice left.
func iceGone(r *purge.Record, s *purge.Stage) time.Duration {
	for _, x := range samplesOf(r, s) {
		if sumContent(x.Content).Ice < 1e-9 {
			return x.Time - s.Start
		}
	}
	return s.Duration()
}

// sweeping asks how far above ambient a sweep drives the circuit.
func (b *bench) sweeping() (ruled, error) {
	rule := b.book.words("sweep")
	rec, i := b.firstStage("sweep")
	if rec == nil {
		return ruled{"", rule, absent, "no procedure sweeps"}, nil
	}
	top := units.Pressure(0)
	for _, s := range samplesOf(rec, &rec.Stages[i]) {
		for _, p := range s.Pressure {
			top = max(top, p)
		}
	}
	over := float64(top/b.ambient) - 1
	reason := fmt.Sprintf("the first sweep of %q rises to %s, %s above ambient", rec.Procedure, phrase.Pressure(top), phrase.Percent(over))
	if over < 0.05 {
		return ruled{"", rule, agrees, reason}, nil
	}
	return ruled{"", rule, differs, reason}, nil
}

// carrying holds what left with the nitrogen against the most that it can hold.
func (b *bench) carrying() (ruled, error) {
	rule := b.book.words("nitrogen-carries")
	rec, _ := b.firstStage("bleed")
	if rec == nil || countKind(rec, "sweep") > 0 {
		return ruled{"", rule, absent, "no procedure bleeds nitrogen off without sweeping"}, nil
	}
	var volume units.Volume
	warmest := units.Temperature(0)
	for i := range b.job.Nodes {
		volume += b.job.Nodes[i].Volume
		warmest = max(warmest, nodeTemperature(b.job, b.job.Nodes[i].Name))
	}
	fill, err := purge.FillCarry(volume, warmest)
	if err != nil {
		return ruled{"", rule, depends, phrase.OneLine(err.Error())}, nil
	}
	vented := units.Mass(0)
	for i := range rec.Stages {
		for _, m := range rec.Stages[i].Moved {
			if m.Way == vacuum.OutByLink {
				vented += m.Water
			}
		}
	}
	bleeds := countKind(rec, "bleed")
	reason := fmt.Sprintf("saturated, one fill holds %s whatever its pressure; %s of %q carried off %s of the %s there was at the start",
		phrase.Grams(fill), phrase.Plural(bleeds, "bleed"), rec.Procedure, phrase.Grams(vented), phrase.Grams(rec.Before.InitialWater()))
	if vented <= fill*units.Mass(bleeds) {
		return ruled{"", rule, agrees, reason}, nil
	}
	return ruled{"", rule, differs, reason}, nil
}

// ice asks whether ice formed.
func (b *bench) ice() (ruled, error) {
	rule := b.book.words("ice")
	if !hasPuddle(b.job) {
		return ruled{"", rule, absent, "the job has no free water"}, nil
	}
	most, where := units.Mass(0), ""
	for _, r := range b.records() {
		for i := range r.Samples {
			if ice := sumContent(r.Samples[i].Content).Ice; ice > most {
				most, where = ice, r.Procedure
			}
		}
	}
	start := units.Mass(0)
	for i := range b.job.Nodes {
		for _, p := range b.job.Nodes[i].Puddles {
			start += p.Water
		}
	}
	if most < 1e-6 {
		return ruled{"", rule, agrees, fmt.Sprintf("with %s of free water at the start no ice forms", phrase.Grams(start))}, nil
	}
	return ruled{"", rule, differs, fmt.Sprintf("with %s of free water at the start there are up to %s of ice (%q)", phrase.Grams(start), phrase.Grams(most), where)}, nil
}

// firstStage finds the first stage of a kind, in the better procedure if it has
// one.
func (b *bench) firstStage(kind string) (*purge.Record, int) {
	order := b.records()
	if best, ok := b.best(); ok {
		order = append([]*purge.Record{best}, order...)
	}
	for _, r := range order {
		for i := range r.Stages {
			if r.Stages[i].Kind == kind {
				return r, i
			}
		}
	}
	return nil, 0
}

// stageBefore is the state before stage i.
func stageBefore(r *purge.Record, i int) purge.Stage {
	if i > 0 {
		return r.Stages[i-1]
	}
	return purge.Stage{Ledger: r.Before, Vapour: r.Before.Vapour(), Stored: r.Before.Stored()}
}

// sumContent adds up all stores.
func sumContent(c []moisture.Content) moisture.Content {
	var sum moisture.Content
	for _, x := range c {
		sum = sum.Add(x)
	}
	return sum
}
