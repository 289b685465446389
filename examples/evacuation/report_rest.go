package main

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// riseTest says what the record shows and how long it should have run.
func (a *answer) riseTest(d *document, full bool, figures *figureSet) {
	d.heading("What the rise test shows")
	f := &a.rise.finding
	d.say("Verdict: %s. %s", strings.ToUpper(f.Verdict.String()), f.Sentence)
	if f.Reason == rise.InstrumentFault || f.Reason == rise.TooFewSamples {
		return
	}
	d.say("Leak: best %s, between %s and %s at %s confidence; the limit is %s. In the isolated %s (%s) that is %s micron a minute, the limit %s.",
		leak(f.Leak.Best), leak(f.Leak.Low), leak(f.Leak.High), percent(f.Confidence), leak(f.Limit),
		volume(a.rise_().Volume), a.volumeFrom, a.perMinute(f.Leak.Best), a.perMinute(f.Limit))
	d.say("The record lasts %s, from %s to %s, in %s. %s", took(f.Record.Duration), pressure(f.Record.First), pressure(f.Record.Last),
		plural(f.Record.Usable, "usable reading"), a.howLong())
	d.say("%s", a.againstAssumption())
	if !full {
		if n := len(a.log.Issues); n > 0 {
			d.say("The log has %s, listed in report.md.", plural(n, "oddity that was noted"))
		}
		return
	}
	figures.show(d, "rise")
	d.list(riseDetails(f, a.log))
}

// rise_ are the options of the rise test.
func (a *answer) rise_() rise.Options { return a.question.rise }

// perMinute words a leak as a rate of rise in the isolated volume.
func (a *answer) perMinute(q units.Throughput) string {
	return digits(float64(q)/float64(a.rise_().Volume)*60/float64(units.Micron), 2)
}

// volume words a volume in litres.
func volume(v units.Volume) string { return digits(1e3*float64(v), 3) + " L" }

// howLong says how long the test should have run.
func (a *answer) howLong() string {
	f := &a.rise.finding
	switch {
	case f.Verdict == rise.Undetermined && f.DecideKnown:
		return fmt.Sprintf("It should have run for about %s.", took(f.Decide))
	case f.Verdict == rise.Undetermined:
		return "No watching time is known that would decide it under these conditions."
	case a.rise.settled >= f.Record.Duration:
		return "It was none too long: any shorter beginning of it that was tried gives another verdict."
	}
	return fmt.Sprintf("It was long enough: from %s on every longer beginning of it gives the same verdict, so about that long is needed.", took(a.rise.settled))
}

// againstAssumption says so when the record shows a leak that the procedures
// were run without.
func (a *answer) againstAssumption() string {
	f := &a.rise.finding
	leaks := f.Verdict == rise.Leak || f.Verdict == rise.LeakAndMoisture
	switch {
	case a.job == nil || !leaks || f.Leak.Low == 0:
		return ""
	case a.job.Leak == nil:
		return "The procedures above were run without a leak: find and mend it first, then evacuate and watch again."
	}
	return fmt.Sprintf("The procedures above were run with a leak of %s.", leak(a.job.Leak.Rate))
}

// riseDetails are the numbers behind the finding.
func riseDetails(f *rise.Finding, log *trace.Log) []string {
	r := &f.Record
	out := []string{fmt.Sprintf("%d rows, %d usable, %d over range, %d outliers; resolution %s, noise %s, worth %s independent readings.",
		r.Rows, r.Usable, r.OverRange, r.Outliers, pressure(r.Resolution), pressure(r.Noise), digits(r.Effective, 2))}
	if f.VapourRise > 0 {
		text := fmt.Sprintf("A source that fades added %s, %s if all of it is water vapour", pressure(f.VapourRise), grams(f.Water))
		if f.TimeConstant > 0 {
			text += ", with a time constant of " + took(f.TimeConstant)
		}
		out = append(out, text+".")
	}
	for m, p := range f.Models {
		if p >= 0.005 {
			out = append(out, fmt.Sprintf("Probability of the law \"%s\": %s.", rise.Model(m), percent(p)))
		}
	}
	for _, s := range f.Assumptions {
		out = append(out, "Assumed: "+s+".")
	}
	for _, i := range log.Issues {
		out = append(out, "Log: "+i.String()+".")
	}
	return out
}

// topHinges is how many inputs the summary names.
const topHinges = 4

// hinging says which inputs move the answer.
func (a *answer) hinging(d *document, full bool) {
	d.heading("What the answer hinges on")
	if a.noHinges != "" {
		d.say("%s", a.noHinges)
		return
	}
	best, _ := a.best()
	d.say("%q again with one input changed at a time; as stated it takes %s and leaves %s.", best.Procedure, took(best.Took()), grams(best.WaterLeft()))
	t := &table{head: []string{"input", "changed to", "takes", "change", "leaves"}}
	for _, h := range a.byInput(full) {
		takes, shift := took(h.Took), fmt.Sprintf("%+.0f %%", 100*h.Shift())
		if h.Stopped != "" {
			takes, shift = "not carried out", "-"
		}
		t.add(h.Input, fmt.Sprintf("× %g", h.Factor), takes, shift, grams(h.WaterLeft))
	}
	d.table(t)
	switch {
	case a.fade == nil:
	case a.fade.shift > 0.01:
		d.say("The mass over which the last of the water fades out, halved or doubled, moves the time by up to %s: it matters here.", percent(a.fade.shift))
	case full:
		d.say("The mass over which the last of the water fades out, halved or doubled, moves the time by %s, which is below 1 %%.", percent(a.fade.shift))
	}
}

// byInput is the variations with those of one input together, the input that
// moves the time most first; the summary takes a few inputs only.
func (a *answer) byInput(full bool) []purge.Hinge {
	most := map[string]float64{}
	for i := range a.hinges {
		h := &a.hinges[i]
		most[h.Input] = math.Max(most[h.Input], math.Abs(h.Shift()))
	}
	out := append([]purge.Hinge(nil), a.hinges...)
	sort.SliceStable(out, func(i, j int) bool {
		x, y := &out[i], &out[j]
		if x.Input != y.Input {
			if most[x.Input] != most[y.Input] {
				return most[x.Input] > most[y.Input]
			}
			return x.Input < y.Input
		}
		return x.Factor < y.Factor
	})
	if !full {
		out = out[:min(len(out), 2*topHinges)]
	}
	return out
}

// practice holds the rules of the trade against the model.
func (a *answer) practice(d *document, full bool) {
	if len(a.rules) == 0 {
		return
	}
	d.heading("Rules of the trade and the model")
	if full {
		t := &table{head: []string{"rule (common practice)", "the model", "reason"}}
		for _, r := range a.rules {
			t.add(r.rule, string(r.outcome), r.reason)
		}
		d.table(t)
		return
	}
	var list []string
	for _, r := range a.rules {
		if r.outcome != absent && r.outcome != leftOut {
			list = append(list, fmt.Sprintf("%s: %s. %s.", strings.ToUpper(string(r.outcome)), r.rule, capital(r.reason)))
		}
	}
	d.list(list)
}

// capital makes the first letter large.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
