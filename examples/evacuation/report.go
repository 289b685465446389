package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// summary is the report for the terminal: what must be known, in the order in
// which it matters.
func (a *answer) summary(out written) *document {
	d := a.report(nil)
	if len(out.files) > 0 {
		d.heading("Files in " + filepath.Dir(out.files[0]))
		d.say("%s", strings.Join(grouped(out.files), ", "))
	}
	if len(out.failed) > 0 {
		d.say("Pictures that could not be made; nothing else depends on them:")
		d.list(out.failed)
	}
	return d
}

// grouped names files, those that differ only in their ending together.
func grouped(files []string) []string {
	var names []string
	endings := map[string][]string{}
	for _, f := range files {
		ending := filepath.Ext(f)
		name := strings.TrimSuffix(filepath.Base(f), ending)
		if endings[name] == nil {
			names = append(names, name)
		}
		endings[name] = append(endings[name], ending)
	}
	for i, name := range names {
		names[i] = name + strings.Join(endings[name], "/")
	}
	return names
}

// report is the whole report. With figures it is the fuller one for report.md:
// tables for all stages, pictures, assumptions.
func (a *answer) report(figures *figureSet) *document {
	d := &document{}
	full := figures != nil
	a.opening(d)
	if a.job != nil {
		a.waterLeft(d, figures)
		a.steps(d, full, figures)
		a.ledger(d, full)
		a.choice(d)
		a.band(d, full)
		a.drivers(d, full)
		a.plan(d)
		a.rigs(d)
	}
	if a.rise != nil {
		a.riseTest(d, full, figures)
	}
	if a.job != nil {
		a.hinging(d, full)
		a.practice(d, full)
		a.leftOut(d, full)
	}
	d.heading("Cautions")
	d.list(cautions(a))
	return d
}

// opening says what the report is about and how far the work came.
func (a *answer) opening(d *document) {
	if a.job == nil {
		d.title("Rise test")
		return
	}
	d.title("Evacuation report: " + a.job.Name)
	d.say("%s", a.job.Note)
	d.say("Site: %s ambient, %s, %s relative humidity.", phrase.Pressure(a.ambient), a.job.Site.Temperature, a.job.Site.Humidity)
	if a.stopped != nil {
		d.say("STOPPED EARLY (%s): this report holds what was computed until then.", a.stopped)
	}
	for _, r := range a.records() {
		if !r.Completed {
			d.say("%q was not carried out to its end: %s.%s", r.Procedure, strings.TrimSuffix(r.Reason, "."), a.leakNote(r.Reason))
		}
	}
}

// leakNote ties a leak that a reason states, as a flow of the gas where it goes,
// to the number that the job states.
func (a *answer) leakNote(reason string) string {
	if a.job.Leak == nil || !strings.Contains(reason, "a leak of") {
		return ""
	}
	return fmt.Sprintf(" The leak is the job's, %s at the temperature of %s; in the reason it is counted at the temperature of the place that was to be pulled down.",
		phrase.Leak(a.job.Leak.Rate), a.job.Leak.Node)
}

// waterLeft leads the report: water by store.
func (a *answer) waterLeft(d *document, figures *figureSet) {
	d.heading("Water left")
	recs := a.records()
	if len(recs) == 0 {
		d.say("No procedure was run.")
		return
	}
	t := &table{head: append([]string{"water"}, a.procedureNames()...)}
	row := func(name string, cell func(*purge.Record) string) {
		cells := []string{name}
		for _, r := range recs {
			cells = append(cells, cell(r))
		}
		t.add(cells...)
	}
	row("at the start", func(r *purge.Record) string { return phrase.Grams(r.Before.InitialWater()) })
	row("left in all", func(r *purge.Record) string { return phrase.Grams(r.WaterLeft()) })
	for i := range recs[0].Before.Stores {
		s := recs[0].Before.Stores[i]
		row("  in "+s.Store+" ("+s.Node+")", func(r *purge.Record) string { return contentWords(r.Final().Stores[i].Content) })
	}
	row("  as vapour in the gas", func(r *purge.Record) string { l := r.Joined(); return phrase.Grams(l.Vapour()) })
	if a.job.Charge > 0 {
		row(fmt.Sprintf("per charge of %s", a.job.Charge), func(r *purge.Record) string { return perCharge(r.WaterLeft(), a.job.Charge) })
	}
	if limit, ok := a.limit(); ok {
		row(fmt.Sprintf("limit %s", a.job.DrynessLimit), func(r *purge.Record) string {
			if r.WaterLeft() <= limit {
				return "met (" + phrase.Grams(limit) + ")"
			}
			return "NOT met (" + phrase.Grams(limit) + ")"
		})
	}
	d.table(t)
	if _, ok := a.limit(); !ok {
		d.say("The job does not state both a charge and a dryness limit, so nothing is said about dry enough.")
	}
	for _, r := range recs {
		d.say("%s", a.gaugeIsNotWater(r))
	}
	figures.show(d, "water")
}

// limit is the water that the job allows.
func (a *answer) limit() (units.Mass, bool) {
	m := units.Mass(float64(a.job.DrynessLimit) * float64(a.job.Charge))
	return m, m > 0
}

// procedureNames are the columns of tables that compare.
func (a *answer) procedureNames() []string {
	var names []string
	for _, r := range a.records() {
		names = append(names, r.Procedure)
	}
	return names
}

// gaugeIsNotWater tells how much water was left when the gauge reached the
// first target of a pull.
func (a *answer) gaugeIsNotWater(r *purge.Record) string {
	for i := range r.Stages {
		s := &r.Stages[i]
		if s.Kind == "pull" && s.Stored.Total() > 1e-6 {
			return fmt.Sprintf("The gauge is not the water: at the end of step %d (%s) of %q the gauge %s and %s of water was left, %s of it not vapour.",
				s.Step, s.Title, r.Procedure, shown(s.Gauge), phrase.Grams(s.WaterLeft()), phrase.Percent(float64(s.Stored.Total()/s.WaterLeft())))
		}
	}
	return ""
}

// steps has pressure, time and nitrogen by stage.
func (a *answer) steps(d *document, full bool, figures *figureSet) {
	d.heading("Pressure, time and nitrogen, step by step")
	for _, r := range a.records() {
		d.say("%q: %s in all, the pump runs %s, nitrogen: %s.", r.Procedure, phrase.Took(r.Took()), phrase.Took(pumping(r)), nitrogen(r.Nitrogen()))
		t := &table{head: []string{"step", "took", r.SystemNode, "gauge at " + r.GaugeNode, "nitrogen", "water left"}}
		if full {
			t.head = append(t.head, "highest pressure at", "ended because")
		}
		for i := range r.Stages {
			s := &r.Stages[i]
			cells := []string{
				fmt.Sprintf("%d %s", s.Step, s.Title), phrase.Took(s.Duration()), phrase.Pressure(s.System), reading(s.Gauge),
				nitrogen(s.Nitrogen), phrase.Grams(s.WaterLeft()),
			}
			if full {
				cells = append(cells, fmt.Sprintf("%s: %s", s.HighestNode, phrase.Pressure(s.Highest)), s.Why)
			}
			t.add(cells...)
		}
		d.table(t)
		d.say("%s", gaugeAgainstSystem(r))
		d.say("%s", a.limitWords(r))
		d.list(idle(r))
		if !full {
			d.say("%s", worstNode(r))
		} else {
			if len(r.Warnings) > 0 {
				d.say("To know before trusting the gauge:")
				d.list(r.Warnings)
			}
			d.say("Air and nitrogen left inside at the end: %s.", gasLeft(r.NonCondensable()))
		}
		figures.show(d, "steps-"+slug(r.Procedure))
	}
}

// gaugeAgainstSystem says whether the gauge speaks for the system at the end of
// the last pull.
func gaugeAgainstSystem(r *purge.Record) string {
	for i := len(r.Stages) - 1; i >= 0; i-- {
		s := &r.Stages[i]
		if s.Kind != "pull" {
			continue
		}
		if offRange(s.Gauge) || s.Gauge.Pressure <= 0 { // a coarse display rounds to zero
			state := "shows " + reading(s.Gauge)
			if offRange(s.Gauge) {
				state = "is " + reading(s.Gauge)
			}
			return fmt.Sprintf("At the end of the last pull the gauge at the %s %s and says nothing about the %s, which stands at %s.",
				r.GaugeNode, state, r.SystemNode, phrase.Pressure(s.System))
		}
		ratio := float64(s.System / s.Gauge.Pressure)
		if ratio < 1.2 && ratio > 0.8 {
			return fmt.Sprintf("At the end of the last pull the gauge speaks for the %s within %s.", r.SystemNode, phrase.Percent(math.Max(math.Abs(ratio-1), 0.01)))
		}
		return fmt.Sprintf("At the end of the last pull the gauge at the %s shows %s, but the %s stands at %s, %s times as much.",
			r.GaugeNode, reading(s.Gauge), r.SystemNode, phrase.Pressure(s.System), phrase.Digits(ratio, 2))
	}
	return ""
}

// choice says which procedure is better and why.
func (a *answer) choice(d *document) {
	d.heading("Which procedure is better, and why")
	best, ok := a.best()
	switch {
	case a.stopped != nil && !ok:
		d.say("Not decided: the work stopped early.")
		return
	case !ok:
		d.say("None: %s.", a.comparison.Why)
		return
	case len(a.records()) == 1:
		d.say("There is one procedure: %s.", a.comparison.Why)
	}
	if len(a.records()) > 1 {
		d.table(a.comparisonTable())
	}
	for _, r := range a.records() {
		if r != best {
			d.say("%q is better than %q: %s.", best.Procedure, r.Procedure, a.decisive(best, r))
			d.say("%s", whyBetter(best, r))
		}
	}
	if a.alone != nil {
		d.say("What the breaks are worth: %s.", a.aloneWords())
	}
	if limit, ok := a.limit(); ok && best.WaterLeft() > limit {
		d.say("%q does not meet the limit: %s is left, %s is allowed.", best.Procedure, phrase.Grams(best.WaterLeft()), phrase.Grams(limit))
	}
}

// decisive is what decided between two records, in the order in which
// purge.Compare weighs things. The best of three or more need not beat each of
// the others by itself, since what counts as the same adds up.
func (a *answer) decisive(best, other *purge.Record) string {
	limit, limited := a.limit()
	times := fmt.Sprintf("%s against %s", phrase.Took(best.Took()), phrase.Took(other.Took()))
	waters := fmt.Sprintf("%s of water left against %s", phrase.Grams(best.WaterLeft()), phrase.Grams(other.WaterLeft()))
	even := "both meet the limit and "
	switch {
	case !other.Completed:
		return "it was carried out to its end, the other was not"
	case a.meets(best) && !a.meets(other):
		return fmt.Sprintf("it meets the limit of %s and the other does not, %s; it takes %s", phrase.Grams(limit), waters, times)
	case !a.meets(best) && !alike(best.WaterLeft(), other.WaterLeft()) && best.WaterLeft() < other.WaterLeft():
		return a.neither() + fmt.Sprintf("it leaves less, %s; it takes %s", waters, times)
	case !a.meets(best):
		even = a.neither() + "they leave the same within 5 % or a milligram and "
	}
	switch ta, tb := best.Took().Seconds(), other.Took().Seconds(); {
	case a.meets(best) == a.meets(other) && (limited && a.meets(best) || alike(best.WaterLeft(), other.WaterLeft())) && ta < 0.99*tb:
		return even + fmt.Sprintf("it is the quicker one, %s; %s", times, waters)
	case ta <= tb/0.99 && best.WaterLeft() < other.WaterLeft():
		return even + fmt.Sprintf("it takes as long within 1 %% and leaves less, %s", waters)
	case ta <= tb/0.99 && best.WaterLeft() == other.WaterLeft():
		return even + fmt.Sprintf("it takes as long within 1 %% and leaves as much, %s", waters)
	}
	return fmt.Sprintf("not by itself but by way of a third procedure that lies between them; it takes %s, with %s", times, waters)
}

// neither says so when there is a limit; it goes before what decides between two
// records that both miss it.
func (a *answer) neither() string {
	if _, ok := a.limit(); ok {
		return "neither meets the limit and "
	}
	return ""
}

// alike is true when two amounts of water are the same to purge.Compare, which
// then looks at the time: within 5 % or a milligram.
func alike(a, b units.Mass) bool {
	return math.Abs(float64(a-b)) <= math.Max(1e-6, 0.05*math.Max(float64(a), float64(b)))
}

// elseTook is the time without the pump, so rounded that it and the pump's add
// up to the whole as they are worded.
func elseTook(r *purge.Record) string {
	all, pump := r.Took(), pumping(r)
	if pump >= 2*time.Minute && all < 3*time.Hour {
		return phrase.Took(all.Round(time.Minute) - pump.Round(time.Minute))
	}
	if pump >= 3*time.Hour {
		return phrase.Took(all.Round(6*time.Minute) - pump.Round(6*time.Minute))
	}
	return "about " + phrase.Took(all-pump)
}

// whyBetter sets the two procedures' times side by side.
func whyBetter(best, other *purge.Record) string {
	if !other.Completed {
		return ""
	}
	text := fmt.Sprintf("The pump runs %s of the %s in %q, which leaves %s for everything else, against %s of the %s, which leaves %s, in %q.",
		phrase.Took(pumping(best)), phrase.Took(best.Took()), best.Procedure, elseTook(best),
		phrase.Took(pumping(other)), phrase.Took(other.Took()), elseTook(other), other.Procedure)
	if best.Nitrogen() != other.Nitrogen() {
		text += fmt.Sprintf(" Nitrogen: %s against %s.", nitrogen(best.Nitrogen()), nitrogen(other.Nitrogen()))
	}
	oil, out := movedOut(best)
	otherOil, otherOut := movedOut(other)
	if max(oil, otherOil) > 1e-5 {
		text += fmt.Sprintf(" Of the water that leaves, %s of %s stays in the pump's oil against %s of %s.", phrase.Grams(oil), phrase.Grams(out), phrase.Grams(otherOil), phrase.Grams(otherOut))
	}
	return text
}
