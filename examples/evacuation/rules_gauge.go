package main

import (
	"fmt"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// thermalGauge is not in the model: a gauge that is thermal weighs the gases the
// same at every pressure, one that is not reads the true total.
func (b *bench) thermalGauge() (ruled, error) {
	reason := "the gauge of this job is not thermal: it reads the total pressure of its node"
	if b.job.Gauge.Thermal {
		reason = "the gauge of this job is thermal: each gas counts by its own factor, the same at every pressure, so that nothing shows where it stops being useful"
	}
	return ruled{"", b.book.words("thermal-gauge"), leftOut, reason + capped(b.job.Gauge.Ceiling)}, nil
}

// capped says where a gauge stops showing a pressure.
func capped(ceiling units.Pressure) string {
	if ceiling == 0 {
		return ", without a ceiling"
	}
	return ", up to its ceiling of " + phrase.Pressure(ceiling)
}

// compoundGauge asks how much of the first pull has passed at the depth.
func (b *bench) compoundGauge() (ruled, error) {
	rule := b.book.words("compound-gauge")
	rec, i := b.firstStage("pull")
	if rec == nil {
		return noBest(rule), nil
	}
	depth := units.InHgVacuum(b.book["compound-gauge"].value).Absolute(b.ambient)
	pull, at := &rec.Stages[i], indexOf(rec.Nodes, rec.SystemNode)
	for _, s := range samplesOf(rec, pull) {
		if s.Pressure[at] > depth {
			continue
		}
		share := float64(s.Time-pull.Start) / float64(pull.Duration())
		reason := fmt.Sprintf("the %s passes it (%s) %s into the first pull of %q, which lasts %s (its first quarter counts as early)",
			rec.SystemNode, phrase.Pressure(depth), phrase.Took(s.Time-pull.Start), rec.Procedure, phrase.Took(pull.Duration()))
		if share < 0.25 {
			return ruled{"", rule, agrees, reason}, nil
		}
		return ruled{"", rule, differs, reason}, nil
	}
	return ruled{"", rule, absent, fmt.Sprintf("the first pull of %q does not get there", rec.Procedure)}, nil
}

// watching asks what the rise record would have shown after the usual time.
func (b *bench) watching() (ruled, error) {
	rule := b.book.words("watch")
	usual := time.Duration(b.book["watch"].value * float64(time.Minute))
	if b.rise == nil {
		return ruled{"", rule, absent, "there is no rise record"}, nil
	}
	f := &b.rise.finding
	v, ok := b.rise.at(usual)
	switch {
	case !ok:
		return ruled{"", rule, absent, fmt.Sprintf("the record lasts %s", phrase.Took(f.Record.Duration))}, nil
	case f.Verdict == rise.Undetermined:
		return ruled{"", rule, differs, fmt.Sprintf("even all %s of the record do not decide", phrase.Took(f.Record.Duration))}, nil
	case v == f.Verdict:
		return ruled{"", rule, agrees, fmt.Sprintf("its first %s give the verdict of all %s: %s", phrase.Took(usual), phrase.Took(f.Record.Duration), v)}, nil
	}
	return ruled{"", rule, differs, fmt.Sprintf("its first %s give %s, all %s give %s", phrase.Took(usual), v, phrase.Took(f.Record.Duration), f.Verdict)}, nil
}
