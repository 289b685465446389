package main

import (
	"fmt"
	"strings"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// comparisonTable sets the procedures side by side.
func (a *answer) comparisonTable() *table {
	t := &table{head: append([]string{""}, a.procedureNames()...)}
	row := func(name string, cell func(*purge.Record) string) {
		cells := []string{name}
		for _, r := range a.records() {
			cells = append(cells, cell(r))
		}
		t.add(cells...)
	}
	row("carried out to its end", func(r *purge.Record) string {
		if r.Completed {
			return "yes"
		}
		return "NO"
	})
	row("takes", func(r *purge.Record) string { return phrase.Took(r.Took()) })
	row("  of which the pump runs", func(r *purge.Record) string { return phrase.Took(pumping(r)) })
	row("nitrogen", func(r *purge.Record) string { return nitrogen(r.Nitrogen()) })
	row("water left", func(r *purge.Record) string { return a.leaves(r.WaterLeft()) })
	row("water in the pump's oil", func(r *purge.Record) string { oil, _ := movedOut(r); return phrase.Grams(oil) })
	row("air and nitrogen left inside", func(r *purge.Record) string { return gasLeft(r.NonCondensable()) })
	return t
}

// band says how far the answer is known when its inputs are not.
func (a *answer) band(d *document, full bool) {
	s := &a.study
	if len(s.bands) == 0 {
		return
	}
	d.heading("How far the answer is known")
	b := s.bands[0]
	d.say("%d runs of each procedure, with %s drawn from their distributions (Latin hypercube, random stream %d; the same draws for every procedure).",
		len(b.Runs), phrase.Plural(len(b.Inputs), "poorly known input"), b.Stream)
	d.table(a.bandTable())
	for _, b := range s.bands {
		if b.Reason != "" {
			d.say("%q: only %s.", b.Procedure, b.Reason)
		}
		if open := b.Made() - b.Count(purge.Completed); open > 0 {
			d.say("%q: %s not come to the end; they count as longer than any other: %s.", b.Procedure, runsDid(open), strings.Join(b.Reasons(), "; "))
		}
	}
	d.say("%s", a.winsWords())
	if !full {
		d.say("The inputs and how they were spread are in report.md, every run in the CSV files.")
		return
	}
	t := &table{head: []string{"input", "spread", "basis"}}
	for _, in := range b.Inputs {
		t.add(in.Name, in.Spread.String(), in.Basis)
	}
	d.table(t)
	d.say("Inputs are taken to be independent of each other. A time or a mass at 5, 50 or 95 %% is the smallest that this share of all runs does not exceed.")
}

// runsDid is "1 run did", "3 runs did".
func runsDid(n int) string {
	return phrase.Plural(n, "run") + " did"
}

// bandLevels are the quantiles shown.
var bandLevels = [...]float64{0.05, 0.5, 0.95}

// bandTable has a row per procedure.
func (a *answer) bandTable() *table {
	t := &table{head: []string{"procedure", "completed"}}
	for _, what := range []string{"takes", "leaves"} {
		for _, level := range bandLevels {
			t.head = append(t.head, fmt.Sprintf("%s %g %%", what, 100*level))
		}
	}
	_, limited := a.limit()
	if limited {
		t.head = append(t.head, "limit met")
	}
	for _, b := range a.study.bands {
		cells := []string{b.Procedure, fmt.Sprintf("%d of %d", b.Count(purge.Completed), b.Made())}
		for _, level := range bandLevels {
			cells = append(cells, timeCell(b, level))
		}
		for _, level := range bandLevels {
			cells = append(cells, waterCell(b, level))
		}
		if n, ok := b.Meets(); ok {
			cells = append(cells, fmt.Sprintf("%d of %d", n, b.Made()))
		}
		t.add(cells...)
	}
	return t
}

func timeCell(b *purge.Band, level float64) string {
	if d, ok := b.Time(level); ok {
		return phrase.Took(d)
	}
	return "not completed"
}

func waterCell(b *purge.Band, level float64) string {
	if m, ok := b.WaterLeft(level); ok {
		return phrase.Grams(m)
	}
	return "not known"
}

// winsWords says how often each procedure is the one to prefer.
func (a *answer) winsWords() string {
	s := &a.study
	if len(s.wins) < 2 {
		return ""
	}
	var parts []string
	sum := 0
	for i, n := range s.wins {
		parts = append(parts, fmt.Sprintf("%q in %d", s.bands[i].Procedure, n))
		sum += n
	}
	text := fmt.Sprintf("Of the %d draws, the procedure to prefer is %s", len(s.bands[0].Runs), phrase.Listed(parts))
	if none := len(s.bands[0].Runs) - sum; none > 0 {
		text += fmt.Sprintf("; in %d none came to its end", none)
	}
	return text + "."
}

// smallIndex is the total index below which an input is only named.
const smallIndex = 0.01

// drivers says which inputs the spread of the answer comes from.
func (a *answer) drivers(d *document, full bool) {
	s := a.study.drivers
	if s == nil {
		return
	}
	d.heading("Which inputs drive it")
	d.say("%q run %d times: %d rows for %s, N(k + 2) runs. An index is the share of the variance that an input explains by itself, or in all with what it does together with others; in brackets the 95 %% interval of %d bootstrap samples. Indices that are estimated may lie outside 0 to 1.",
		s.Procedure, s.Runs, s.Rows, phrase.Plural(len(s.Inputs), "input"), purge.Bootstraps)
	answers := []*purge.Indices{&s.Time}
	if full {
		answers = append(answers, &s.Water)
	}
	for _, x := range answers {
		indexTable(d, x)
	}
	if s.LeftOut > 0 {
		d.say("%s of %d left out because a run in them was refused.", wereRows(s.LeftOut), s.Rows)
	}
	if s.NotCompleted > 0 {
		d.say("%s not come to the end and counted with the time and the water where it gave up.", runsDid(s.NotCompleted))
	}
}

func wereRows(n int) string {
	if n == 1 {
		return "1 row was"
	}
	return fmt.Sprintf("%d rows were", n)
}

// indexTable prints the indices of one answer and which inputs the runs do not
// tell apart.
func indexTable(d *document, x *purge.Indices) {
	if len(x.Inputs) == 0 {
		d.say("The %s does not vary.", x.Answer)
		return
	}
	t := &table{head: []string{"variance of the " + x.Answer, "by itself", "in all", "rank"}}
	var small []string
	byRank := map[int][]string{}
	var ranks []int
	for _, in := range x.Inputs {
		if in.Total.High < smallIndex {
			small = append(small, in.Input)
			continue
		}
		if len(byRank[in.Rank]) == 0 {
			ranks = append(ranks, in.Rank)
		}
		byRank[in.Rank] = append(byRank[in.Rank], in.Input)
		t.add(in.Input, estimate(in.First), estimate(in.Total), fmt.Sprint(in.Rank))
	}
	if len(t.rows) > 0 {
		d.table(t)
	}
	for _, r := range ranks {
		if len(byRank[r]) > 1 {
			d.say("Not told apart by these runs, hence of the same rank: %s.", phrase.Listed(byRank[r]))
		}
	}
	if len(small) > 0 {
		d.say("With their whole interval below %g %% of the variance: %s.", 100*smallIndex, phrase.Listed(small))
	}
}

// estimate words an index with its interval.
func estimate(e purge.Estimate) string {
	return fmt.Sprintf("%s (%s to %s)", hundredths(e.Value), hundredths(e.Low), hundredths(e.High))
}

// hundredths is x to two decimals, without a minus before a zero.
func hundredths(x float64) string {
	return strings.Replace(fmt.Sprintf("%.2f", x), "-0.00", "0.00", 1)
}

// bandRows has one row per run: how it ended and what its inputs were.
func bandRows(b *purge.Band) [][]string {
	head := []string{"run", "outcome", "took[s]", "water left[kg]"}
	for _, in := range b.Inputs {
		head = append(head, "factor on "+in.Name)
	}
	rows := [][]string{append(head, "reason")}
	for i := range b.Runs {
		r := &b.Runs[i]
		if r.Outcome == purge.NotRun {
			continue
		}
		row := []string{fmt.Sprint(i + 1), r.Outcome.String(), "", ""}
		if r.Outcome != purge.Refused {
			row[2], row[3] = number(r.Took.Seconds()), number(float64(r.WaterLeft))
		}
		for _, f := range r.Factors {
			row = append(row, number(f))
		}
		rows = append(rows, append(row, r.Reason))
	}
	return rows
}

// rigs says what changes of the rig buy with the procedures as they are.
func (a *answer) rigs(d *document) {
	s := &a.study
	if len(s.rigs) < 2 {
		return
	}
	d.heading("What changing the rig buys")
	t := &table{head: []string{"rig"}}
	for _, name := range a.procedureNames() {
		t.head = append(t.head, name+": takes", "leaves")
	}
	for i := range s.rigs {
		t.add(a.rigCells(&s.rigs[i])...)
	}
	d.table(t)
	d.say("The steps are the same on every rig: a pull for a time takes that time whatever the rig, so look at the water left as well. The figures of the variants are common practice; warm walls are warm from the start.")
	for i := 1; i < len(s.rigs); i++ {
		if s.rigs[i].Refused != "" {
			d.say("%s: %s.", capital(s.rigs[i].Name), s.rigs[i].Refused)
		}
	}
}

// rigCells is a rig's row: time and water of each procedure.
func (a *answer) rigCells(rig *purge.Rig) []string {
	cells := []string{rig.Name}
	for i := range a.records() {
		switch {
		case rig.Comparison == nil || i >= len(rig.Comparison.Records):
			cells = append(cells, "not run", "-")
		case !rig.Comparison.Records[i].Completed:
			cells = append(cells, "not carried out", a.leaves(rig.Comparison.Records[i].WaterLeft()))
		default:
			r := rig.Comparison.Records[i]
			cells = append(cells, phrase.Took(r.Took()), a.leaves(r.WaterLeft()))
		}
	}
	return cells
}

// saved words a difference of times.
func saved(now, was float64) string {
	switch x := (was - now) / was; {
	case x > 0.01:
		return fmt.Sprintf("%.0f %% less", 100*x)
	case x < -0.01:
		return fmt.Sprintf("%.0f %% more", -100*x)
	}
	return "the same within 1 %"
}

// limitWords words the water that is allowed.
func limitWords(m units.Mass) string { return "at most " + phrase.Grams(m) + " of water" }
