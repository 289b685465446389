package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// riseTest prints what a rise proves and returns its pictures.
func (q *question) riseTest(s *sheet) ([]figure, error) {
	f, err := rise.Interpret(*q.log, q.options)
	if err != nil {
		return nil, said(err)
	}
	q.opening(s, "Rise test")
	s.say("Verdict: %s. %s", strings.ToUpper(f.Verdict.String()), f.Sentence)
	judged := f.Reason != rise.InstrumentFault && f.Reason != rise.TooFewSamples && f.Reason != rise.UnusableRows
	s.heading("Evidence")
	s.list(q.evidence(&f, judged))
	if !judged {
		s.heading("What would settle it")
		s.list(q.settle(&f))
		return nil, nil
	}
	s.heading("Leak")
	if err := q.leak(s, &f); err != nil {
		return nil, err
	}
	s.heading("What would settle it")
	s.list(q.settle(&f))
	steps, err := q.progress(&f)
	if err != nil {
		return nil, err
	}
	s.heading("How long it should have run")
	s.say("%s", settled(steps, &f))
	s.say("%s", q.planned(&f))
	return q.riseFigures(&f, steps), nil
}

// opening says what is judged.
func (q *question) opening(s *sheet, what string) {
	s.title(what + ": " + q.name)
	if q.invented {
		s.say("Invented for demonstration: the record, the circuit and all its numbers.")
	}
}

// evidence lists what the verdict rests on.
func (q *question) evidence(f *rise.Finding, judged bool) []string {
	r := &f.Record
	out := []string{
		phrase.Lasts(q.log),
		phrase.Rows(q.log, r.Outliers) + ".",
	}
	if judged {
		out[1] = strings.TrimSuffix(out[1], ".") + "; step of the display " + phrase.Step(r.Resolution) + "."
	}
	if judged && len(f.Fits) > 0 {
		out[1] = strings.TrimSuffix(out[1], ".") + joint(f) + phrase.Noise(f) + "."
		var laws []string
		for i := range f.Fits {
			laws = append(laws, lawName(&f.Fits[i]))
		}
		out = append(out, "Laws that stay plausible, with their weights: "+strings.Join(laws, ", ")+".")
	}
	if source := phrase.Source(f, q.between(), q.options.Volume); source != "" {
		out = append(out, source)
	}
	if f.Settled != 0 {
		out = append(out, fmt.Sprintf("Settling as the circuit foresees it changed the reading by %s.", phrase.Pressure(f.Settled)))
	}
	out = append(out, fmt.Sprintf("Water at %s boils at %s: more than that is gas.", q.options.SiteTemperature, phrase.Pressure(f.Saturation)))
	for _, a := range f.Assumptions {
		out = append(out, "Assumed: "+a+".")
	}
	for _, i := range phrase.Issues(q.log, 20) {
		out = append(out, "Odd about the log: "+i+".")
	}
	return out
}

// joint is what stands before what the laws leave over.
func joint(f *rise.Finding) string {
	if f.Reason == rise.MeltingStep {
		return "; "
	}
	return ", "
}

// between is the usual time between readings.
func (q *question) between() time.Duration {
	seconds, _ := phrase.Readings(q.log)
	return phrase.Between(seconds)
}

// leak prints the leak and its interval in the units of the trade.
func (q *question) leak(s *sheet, f *rise.Finding) error {
	s.say("Best value and interval at %s confidence; pV flows of air at %s, in the isolated %s.",
		phrase.Percent(f.Confidence), q.options.SiteTemperature, phrase.Litres(q.options.Volume))
	cols := []units.Throughput{f.Leak.Best, f.Leak.Low, f.Leak.High, f.Limit}
	rows := [][]string{{"", "best", "at least", "at most", "limit"}}
	add := func(name string, of func(units.Throughput) (float64, error)) error {
		row := []string{name}
		for _, c := range cols {
			v, err := of(c)
			if err != nil {
				return err
			}
			row = append(row, sensible(v))
		}
		rows = append(rows, row)
		return nil
	}
	plain := func(of func(rise.LeakUnits) float64) func(units.Throughput) (float64, error) {
		return func(c units.Throughput) (float64, error) { return of(rise.InUnits(c)), nil }
	}
	err := errors.Join(
		add("micron/min in this volume", func(c units.Throughput) (float64, error) {
			return float64(c) / float64(q.options.Volume) * 60 / float64(units.Micron), nil
		}),
		add("Pa·m³/s", plain(func(u rise.LeakUnits) float64 { return u.PascalCubicMetre })),
		add("mbar·L/s", plain(func(u rise.LeakUnits) float64 { return u.MillibarLitre })),
		add("atm·cm³/s", plain(func(u rise.LeakUnits) float64 { return u.AtmosphereCubicCentm })),
		add("micron·L/s", plain(func(u rise.LeakUnits) float64 { return u.MicronLitre })),
	)
	if q.service != nil {
		for _, law := range []struct {
			name string
			of   func(rise.Loss) units.MassFlow
		}{
			{"laminar", func(l rise.Loss) units.MassFlow { return l.Laminar }},
			{"molecular", func(l rise.Loss) units.MassFlow { return l.Molecular }},
		} {
			err = errors.Join(err, add(fmt.Sprintf("g/year of %s, %s", q.gas, law.name), func(c units.Throughput) (float64, error) {
				loss, err := q.service.Loss(c)
				return rise.GramsPerYear(law.of(loss)), err
			}))
		}
	}
	if err != nil {
		return said(err)
	}
	s.table(rows)
	s.say("%s", q.lossWords(f))
	return nil
}

// lossWords says how the losses are to be read.
func (q *question) lossWords(f *rise.Finding) string {
	if q.service == nil {
		return "With -refrigerant and -service-pressure the leak is worded as a loss per year as well."
	}
	text := fmt.Sprintf("Losses of %s as gas at %s absolute and %s, through one leak whose walls do not move.", q.gas, phrase.Pressure(q.service.Pressure), q.service.Temperature)
	// The row must hold for the largest leak too, which is what a tight record
	// answers for: its best value is often zero.
	most := rise.RegimeOf(f.Leak.High)
	switch {
	case f.Leak.Best > 0 && rise.RegimeOf(f.Leak.Best) != most:
		text += " Leaks of the best and of the largest size may flow by different laws: both rows are bounds."
	case most == rise.LaminarRegime:
		text += " A leak of the largest size flows laminarly: that row counts."
	case most == rise.MolecularRegime:
		text += " A leak of the largest size flows molecularly: that row counts."
	default:
		text += " A leak of the largest size may flow either way: both rows are bounds."
	}
	if strings.Contains(q.limitAs, "/year") {
		text += fmt.Sprintf(" The limit is the smaller of the two leaks that lose %s.", q.limitAs)
	}
	return text
}

// sensible has three significant digits, with an exponent when small.
func sensible(x float64) string {
	if x != 0 && math.Abs(x) < 1e-3 {
		return fmt.Sprintf("%.2e", x)
	}
	return phrase.Digits(x, 3)
}

// settle says what to do next.
func (q *question) settle(f *rise.Finding) []string {
	if f.FirstDecides {
		return append([]string{"Watch again with the gauge settled before the valve is shut, and several readings in the first seconds: the verdict rests on the first one."}, q.next(f)...)
	}
	return q.next(f)
}

// next is what to do whatever the first reading is worth.
func (q *question) next(f *rise.Finding) []string {
	switch f.Reason {
	case rise.InstrumentFault:
		if f.Record.OverRange > 0 {
			return []string{"A gauge whose range covers the pressure, or a deeper pull before; then watch again."}
		}
		return []string{"Another gauge, or the same one after cleaning; then watch again."}
	case rise.UnusableRows:
		return []string{"A log in one unit, with times that increase, and numbers in its rows."}
	case rise.TooFewSamples:
		return []string{fmt.Sprintf("At least %d usable readings, better some hundred.", rise.MinSamples)}
	case rise.DriftHides:
		return []string{"A column with the temperature of the circuit, or the same record at a steadier temperature.", "A longer record."}
	case rise.SlowSource:
		return []string{
			"A deeper and longer pull first, so that less is left to come out; then watch again.",
			"Isolate parts of the circuit and watch each: a leak stays with its part.",
			"Let in dry nitrogen and pull again: a leak's rise stays as it was, a vapour's gets smaller.",
		}
	case rise.TooShort:
		return []string{"A longer record, a gauge with a finer step, or a smaller isolated volume."}
	}
	switch f.Verdict {
	case rise.Leak:
		return []string{"Find the leak with nitrogen under pressure, within the rating, and mend it; then evacuate and watch again."}
	case rise.LeakAndMoisture:
		return []string{"Find and mend the leak first; then dry the circuit and watch again.", "Isolating parts of the circuit tells which one leaks."}
	case rise.Moisture, rise.Outgassing:
		return []string{"Pull on, with warmth where the water may be, and watch again: a rise that gets smaller each time is moisture."}
	case rise.Equalising:
		if f.Reason == rise.CircuitModel {
			return []string{"A second gauge on the far side, or a second watch: what settles is over by then, moisture comes again."}
		}
		return []string{"Wait until the pressure stands, or put a second gauge on the far side; then watch again."}
	}
	return []string{"Nothing is open within the limit; a smaller limit needs a longer record."}
}

// steps of the decision that are looked at; fewer for long records.
func (q *question) progress(f *rise.Finding) ([]rise.Step, error) {
	n := 40
	if f.Record.Usable > 20000 {
		n = 12
	}
	steps, err := rise.Progress(*q.log, q.options, n)
	if err != nil {
		return nil, said(err)
	}
	return steps, nil
}

// settled says from when on the verdict stood, or when an open one should.
func settled(steps []rise.Step, f *rise.Finding) string {
	from := time.Duration(-1)
	for _, s := range slices.Backward(steps) {
		if s.Verdict != f.Verdict {
			break
		}
		from = s.At
	}
	switch {
	case f.Verdict == rise.Undetermined && f.DecideKnown:
		return fmt.Sprintf("Longer than it did: it has not decided. About %s in all should decide.", phrase.Took(f.Decide))
	case f.Verdict == rise.Undetermined:
		return "Longer than it did: it has not decided, and no watching time is known that would decide it under these conditions."
	case from < 0 || from == steps[len(steps)-1].At:
		return "It was none too long: any shorter beginning of it that was tried gives another verdict."
	}
	return fmt.Sprintf("Every beginning of it of %s and more that was tried gives this verdict.", phrase.Took(from))
}

// planned is how long a test like this one must be by design; nothing where the
// record is open, since the design does not know what keeps it open.
func (q *question) planned(f *rise.Finding) string {
	switch {
	case f.Reason == rise.AtSaturation || f.Reason == rise.MeltingStep:
		return "While there is free water no duration shows a leak: dry the circuit first."
	case f.Verdict == rise.Undetermined:
		return ""
	}
	p, ok := q.design(f)
	if !ok {
		return ""
	}
	where := ""
	small, err := p.SmallestLeak()
	if err == nil && len(p.Sources) > 0 && small.Leak > f.Limit { // the record has decided: it knows more than the design
		p.Sources = nil
		small, err = p.SmallestLeak()
	}
	if err != nil {
		return ""
	}
	if len(p.Sources) == 0 && f.Fit.Model != rise.Steady {
		where = " in a dry, settled circuit"
	}
	text := fmt.Sprintf("By design, a test of %s with this gauge%s sees a leak of %s micron/min or more (5 %% false alarms, 5 %% missed)",
		phrase.Took(p.Duration), where, phrase.PerMinute(small.Leak, q.options.Volume))
	if len(p.Sources) > 0 {
		text += ", beside one source like the one found"
	}
	return text + ". " + q.limitTakes(p, where)
}

// limitTakes is how long the plan must be to see the limit.
func (q *question) limitTakes(p rise.Plan, where string) string {
	d, err := p.DurationFor(q.options.LeakLimit)
	switch {
	case errors.Is(err, rise.ErrCannotDecide):
		return "No duration up to 30 days shows a leak at the limit under these conditions."
	case err != nil:
		return ""
	}
	text := fmt.Sprintf("To see the limit of %s micron/min%s takes %s", phrase.PerMinute(q.options.LeakLimit, q.options.Volume), where, phrase.Took(d))
	if len(p.Sources) > 0 {
		p.Sources = nil
		if dry, err := p.DurationFor(q.options.LeakLimit); err == nil && phrase.Took(dry) != phrase.Took(d) {
			text += fmt.Sprintf(", and %s once the circuit is dry", phrase.Took(dry))
		}
		text += " (a second, slower source asks for more)"
	}
	return text + "."
}

// design is the plan of a test like this one. Noise includes what rounding adds,
// which the plan adds by itself.
func (q *question) design(f *rise.Finding) (rise.Plan, bool) {
	_, pressures := phrase.Readings(q.log)
	r := &f.Record
	interval := q.between()
	step := float64(r.Resolution)
	p := rise.Plan{
		Volume: q.options.Volume, Start: pressures[0], SiteTemperature: q.options.SiteTemperature, Interval: interval, Duration: r.Duration,
		Gauge: rise.Gauge{Resolution: r.Resolution, Noise: units.Pressure(math.Sqrt(math.Max(float64(r.Noise*r.Noise)-step*step/12, 0)))},
	}
	if r.Correlation > 0.05 {
		p.Gauge.CorrelationTime = time.Duration(-float64(interval) / math.Log(r.Correlation))
	}
	if !r.TemperatureCorrected {
		p.Drift = rise.DefaultDrift
	}
	if f.TimeConstant > 0 && f.FinalRise > 0 {
		p.Sources = []rise.Source{{Rise: f.FinalRise, Time: f.TimeConstant}}
	}
	return p, interval > 0
}
