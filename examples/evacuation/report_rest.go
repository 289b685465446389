package main

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// riseTest says what the record shows and how long it should have run.
func (a *answer) riseTest(d *document, full bool, figures *figureSet) {
	d.heading("What the rise test shows")
	f := &a.rise.finding
	d.say("Verdict: %s. %s", strings.ToUpper(f.Verdict.String()), f.Sentence)
	a.oddities(d, full)
	if f.Reason == rise.InstrumentFault || f.Reason == rise.TooFewSamples || f.Reason == rise.UnusableRows {
		return
	}
	d.say("In the isolated %s (%s) the limit is a rise of %s micron a minute; the likeliest leak, %s, makes one of %s. Intervals are at %s confidence.",
		phrase.Litres(a.question.rise.Volume), a.volumeFrom, a.perMinute(f.Limit), phrase.Leak(f.Leak.Best), a.perMinute(f.Leak.Best), phrase.Percent(f.Confidence))
	d.say("%s %s", phrase.Lasts(a.log), a.howLong())
	d.say("%s", a.againstAssumption())
	if !full {
		return
	}
	figures.show(d, "rise")
	d.list(a.riseDetails())
}

// oddities lists what was odd about the log by kind, all of it in the full
// report.
func (a *answer) oddities(d *document, full bool) {
	most := 0
	if !full {
		most = 10
	}
	all := phrase.Issues(a.log, most)
	if len(all) == 0 {
		return
	}
	d.say("What was odd about the log (%s):", phrase.Plural(len(a.log.Issues), "place"))
	if !full {
		all = phrase.Few(all, 5)
	}
	d.list(all)
}

// perMinute words a leak as a rate of rise in the isolated volume.
func (a *answer) perMinute(q units.Throughput) string {
	return phrase.PerMinute(q, a.question.rise.Volume)
}

// howLong says how long the test should have run.
func (a *answer) howLong() string {
	f := &a.rise.finding
	switch {
	case f.Verdict == rise.Undetermined && f.DecideKnown && f.Decide <= f.Record.Duration:
		return "It is already as long as one would plan it under these conditions; only a longer one can tell whether time alone decides."
	case f.Verdict == rise.Undetermined && f.DecideKnown:
		return fmt.Sprintf("It should have run for about %s.", phrase.Took(f.Decide))
	case f.Verdict == rise.Undetermined:
		return "No watching time is known that would decide it under these conditions."
	case a.rise.settled >= f.Record.Duration:
		return "It was none too long: any shorter beginning of it that was tried gives another verdict."
	}
	return fmt.Sprintf("It was long enough: from %s on every longer beginning of it that was tried gives the same verdict, so about that long is needed.", phrase.Took(a.rise.settled))
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
	return fmt.Sprintf("The procedures above were run with the leak that the job states, %s into vacuum.", phrase.Leak(a.job.Leak.Rate))
}

// riseDetails are the numbers behind the finding.
func (a *answer) riseDetails() []string {
	f := &a.rise.finding
	r := &f.Record
	out := []string{fmt.Sprintf("%s; step of the display %s; %s.", phrase.Rows(a.log, r.Outliers), phrase.Step(r.Resolution), phrase.Noise(f))}
	seconds, _ := phrase.Readings(a.log)
	if source := phrase.Source(f, phrase.Between(seconds), a.question.rise.Volume); source != "" {
		out = append(out, source)
	}
	for i := range f.Fits {
		out = append(out, fmt.Sprintf("Weight of the law %q among those that stay plausible: %s.", f.Fits[i].Model.String(), phrase.Percent(f.Fits[i].Weight)))
	}
	for _, s := range f.Assumptions {
		out = append(out, "Assumed: "+s+".")
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
	d.say("%q again with one input changed at a time; as stated it takes %s and leaves %s.", best.Procedure, phrase.Took(best.Took()), phrase.Grams(best.WaterLeft()))
	inputs := a.byInput()
	t := &table{head: []string{"input", "changed to", "takes", "change", "leaves"}}
	var small []string
	for i, in := range inputs {
		if !full && (i >= topHinges || in.weight < 0.01) {
			small = append(small, in.name)
			continue
		}
		for _, h := range in.runs {
			takes, shift := phrase.Took(h.Took), phrase.Change(h.Shift())
			if h.Stopped != "" {
				takes, shift = "not carried out", "-"
			}
			t.add(h.Input, fmt.Sprintf("× %g", h.Factor), takes, shift, a.leaves(h.WaterLeft))
		}
	}
	if len(t.rows) > 0 {
		d.table(t)
	} else {
		d.say("No input that was varied moves the time, or the water against its limit, by 1 %%.")
	}
	if len(small) > 0 {
		d.say("Changed as well, with less effect: %s. All runs are in report.md.", phrase.Listed(small))
	}
	switch {
	case a.fade == nil:
	case a.fade.shift > 0.01:
		d.say("The mass over which the last of the water fades out, halved or doubled, moves the time by up to %s: it matters here.", phrase.Percent(a.fade.shift))
	case full:
		d.say("The mass over which the last of the water fades out, halved or doubled, moves the time by %s, which is not more than 1 %%.", phrase.Percent(a.fade.shift))
	}
}

// leaves words the water left and whether that is too much.
func (a *answer) leaves(m units.Mass) string {
	if limit, ok := a.limit(); ok && m > limit {
		return phrase.Grams(m) + ", above the limit"
	}
	return phrase.Grams(m)
}

// inputEffect is one input with the runs in which it was changed.
type inputEffect struct {
	name string
	runs []purge.Hinge
	// weight is the largest effect: the relative change of time, or the change
	// of water as a share of the limit (of the water left when there is none).
	weight float64
}

// byInput gathers the variations by input, the weightiest first.
func (a *answer) byInput() []inputEffect {
	var out []inputEffect
	at := map[string]int{}
	for _, h := range a.hinges {
		i, ok := at[h.Input]
		if !ok {
			i = len(out)
			at[h.Input] = i
			out = append(out, inputEffect{name: h.Input})
		}
		out[i].runs = append(out[i].runs, h)
		out[i].weight = math.Max(out[i].weight, a.weight(&h))
	}
	for i := range out {
		runs := out[i].runs
		sort.SliceStable(runs, func(x, y int) bool { return runs[x].Factor < runs[y].Factor })
	}
	sort.SliceStable(out, func(x, y int) bool {
		if out[x].weight != out[y].weight {
			return out[x].weight > out[y].weight
		}
		return out[x].name < out[y].name
	})
	return out
}

// weight is how much one variation moves the answer.
func (a *answer) weight(h *purge.Hinge) float64 {
	base, ok := a.limit()
	if !ok {
		base = max(h.WaterLeftBefore, 1e-6)
	}
	return math.Max(math.Abs(h.Shift()), math.Abs(float64((h.WaterLeft-h.WaterLeftBefore)/base)))
}

// practice holds the rules of the trade against the model.
func (a *answer) practice(d *document, full bool) {
	if len(a.rules) == 0 {
		return
	}
	d.heading("Rules of the trade and the model")
	if full {
		t := &table{head: []string{"", "rule (common practice)", "the model", "reason"}}
		for _, r := range a.rules {
			t.add(r.name, r.rule, string(r.outcome), r.reason)
		}
		d.table(t)
		return
	}
	var list, agreeing []string
	for _, r := range a.rules {
		switch r.outcome {
		case agrees:
			agreeing = append(agreeing, r.name)
		case differs, depends:
			list = append(list, fmt.Sprintf("%s %s: %s. %s.", capital(r.name), r.outcome, r.rule, capital(r.reason)))
		}
	}
	if len(agreeing) > 0 {
		d.say("Common practice that the model bears out on this job: %s.", phrase.Listed(agreeing))
	}
	if len(list) > 0 {
		d.say("Common practice that it does not bear out, or not plainly:")
		d.list(list)
	}
	d.say("All of it with reasons is in report.md.")
}

// capital makes the first letter large.
func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
