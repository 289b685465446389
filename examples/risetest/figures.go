package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// figure is a picture with the name of its files.
type figure struct {
	name string
	plotstyle.Figure
}

// saveAll writes the pictures into dir, none without one, and says where, or why
// there are none.
func saveAll(s *sheet, dir string, figures []figure) error {
	if dir == "" {
		return nil
	}
	if len(figures) == 0 {
		s.heading("Files in " + dir)
		s.say("None: a record that cannot be judged has no pictures.")
		return nil
	}
	var names []string
	for _, f := range figures {
		files, err := f.Save(dir, f.name)
		if err != nil {
			return fmt.Errorf("-out: picture %s: %w", f.name, err)
		}
		names = append(names, filepath.Base(files.SVG)+"/.png/.csv/.txt")
	}
	s.heading("Files in " + dir)
	s.say("%s", strings.Join(names, ", "))
	return nil
}

// readings are the usable readings as they were read.
func (q *question) readings() plotstyle.Series {
	s := plotstyle.Series{Name: "readings", Dots: true}
	t, p := phrase.Readings(q.log)
	for i := range t {
		s.X, s.Y = append(s.X, t[i]/60), append(s.Y, float64(p[i]))
	}
	return s
}

// corrected brings readings to the mean temperature, p T̄/T, as the fit does when
// the log has a temperature for each.
func (q *question) corrected(s plotstyle.Series) plotstyle.Series {
	var kelvin []float64
	mean := 0.0
	for i, state := range q.log.States {
		if state == trace.Good {
			kelvin = append(kelvin, float64(q.log.Temperatures[i]))
			mean += kelvin[len(kelvin)-1]
		}
	}
	mean /= float64(len(kelvin))
	for i := range s.Y {
		s.Y[i] *= mean / kelvin[i]
	}
	s.Name = "readings at " + fmt.Sprintf("%.1f °C", mean-273.15)
	return s
}

// fitPoints is how many points a law is drawn with.
const fitPoints = 200

// riseFigures are record, residuals and decision. Where ice melts, the laws are
// fitted to the beginning only and are not drawn.
func (q *question) riseFigures(f *rise.Finding, steps []rise.Step) []figure {
	read := q.readings()
	fitted := len(f.Fits) > 0 && f.Reason != rise.MeltingStep
	if fitted && f.Record.TemperatureCorrected {
		read = q.corrected(read)
	}
	record := plotstyle.Figure{
		Title: "Rise test: " + f.Verdict.String(), Desc: f.Sentence + " " + phrase.Lasts(q.log),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", Second: plotstyle.Micron(),
	}
	if !fitted {
		record.Series = []plotstyle.Series{read}
		if f.Reason == rise.MeltingStep {
			record.Desc += " No law is drawn, and no residuals: the laws are fitted up to the end of the pause, and none describes ice that melts."
		}
		return append([]figure{{"record", record}}, q.decision(f, steps)...)
	}
	record.Series = append([]plotstyle.Series{read, average(f)}, laws(f)...)
	record.Desc += " " + lawWords(f)
	return append([]figure{{"record", record}, {"residuals", q.residuals(f, read)}}, q.decision(f, steps)...)
}

// along calls draw at equal distances over the fitted part of the record, with
// the time since the first usable reading in minutes and the one since Fit.From.
func along(f *rise.Finding, draw func(minutes float64, t time.Duration)) {
	for i := range fitPoints + 1 {
		t := time.Duration(float64(f.Fit.To-f.Fit.From) * float64(i) / fitPoints)
		draw((f.Fit.From + t).Minutes(), t)
	}
}

// average is the mean of the laws with the range of readings.
func average(f *rise.Finding) plotstyle.Series {
	s := plotstyle.Series{Name: "average, 95 % of readings"}
	if len(f.Fits) == 1 {
		s.Name = f.Fits[0].Model.String() + ", 95 % of readings"
	}
	along(f, func(minutes float64, t time.Duration) {
		mean, _, reading := f.Average(t)
		s.X, s.Y = append(s.X, minutes), append(s.Y, float64(mean))
		s.Low, s.High = append(s.Low, float64(reading.Low)), append(s.High, float64(reading.High))
	})
	return s
}

// laws are the plausible laws, none when there is but one, and what the leak of
// the best would do alone beside a source.
func laws(f *rise.Finding) []plotstyle.Series {
	var out []plotstyle.Series
	for i := range f.Fits {
		if len(f.Fits) == 1 {
			break
		}
		s := plotstyle.Series{Name: lawName(&f.Fits[i])}
		along(f, func(minutes float64, t time.Duration) {
			s.X, s.Y = append(s.X, minutes), append(s.Y, float64(f.Fits[i].Pressure(t)))
		})
		out = append(out, s)
	}
	if f.VapourRise > 0 {
		s := plotstyle.Series{Name: "leak alone"}
		along(f, func(minutes float64, t time.Duration) {
			s.X, s.Y = append(s.X, minutes), append(s.Y, float64(f.Fit.Start)+float64(f.Fit.Slope)*t.Seconds())
		})
		out = append(out, s)
	}
	return out
}

// lawName is a law with its weight.
func lawName(f *rise.Fit) string { return fmt.Sprintf("%v %s", f.Model, phrase.Percent(f.Weight)) }

// lawWords says what the lines are.
func lawWords(f *rise.Finding) string {
	var names []string
	for i := range f.Fits {
		names = append(names, lawName(&f.Fits[i]))
	}
	return fmt.Sprintf("The lines are the laws that stay plausible with their weights (%s) and their average, shaded where 95 %% of readings should lie. They lie on one another where the record cannot tell them apart.",
		phrase.Listed(names))
}

// residuals are readings less the best law, and by how much the other plausible
// laws differ from it.
func (q *question) residuals(f *rise.Finding, read plotstyle.Series) plotstyle.Figure {
	rest := plotstyle.Series{Name: read.Name, Dots: true}
	band := plotstyle.Series{Name: f.Fit.Model.String() + ", 95 % of readings"}
	beyond, inside := 0, 0
	for i, x := range read.X {
		t := time.Duration(x*float64(time.Minute)) - f.Fit.From
		if t < 0 || t > f.Fit.To-f.Fit.From+time.Millisecond {
			continue // set aside
		}
		_, one := f.Fit.Band(t)
		d := (read.Y[i] - float64(f.Fit.Pressure(t))) / float64(units.Micron)
		w := float64(one / units.Micron)
		rest.X, rest.Y = append(rest.X, x), append(rest.Y, d)
		band.X, band.Y = append(band.X, x), append(band.Y, 0)
		band.Low, band.High = append(band.Low, -w), append(band.High, w)
		inside++
		if math.Abs(d) > w {
			beyond++
		}
	}
	return plotstyle.Figure{
		Title: "What the best law leaves over",
		Desc: fmt.Sprintf("Readings less the law that fits best for its number of terms (%s), in micron. %d of %d lie outside the shaded range, in which 95 %% should lie; a bend would show that the law is wrong.%s",
			f.Fit.Model, beyond, inside, otherWords(f)),
		XLabel: "Time, min", YLabel: "Less the best law, micron",
		Series: append(append([]plotstyle.Series{band}, others(f)...), rest),
	}
}

// others are the other plausible laws less the best.
func others(f *rise.Finding) []plotstyle.Series {
	var out []plotstyle.Series
	for i := range f.Fits {
		g := &f.Fits[i]
		if g.Model == f.Fit.Model {
			continue
		}
		s := plotstyle.Series{Name: lawName(g)}
		along(f, func(minutes float64, t time.Duration) {
			s.X, s.Y = append(s.X, minutes), append(s.Y, (g.Pressure(t)-f.Fit.Pressure(t)).In(units.Micron))
		})
		out = append(out, s)
	}
	return out
}

func otherWords(f *rise.Finding) string {
	if len(others(f)) == 0 {
		return ""
	}
	return " The other lines are the other plausible laws less the best."
}

// decision is the leak's interval against the length of the record; nothing when
// no beginning of it gives one.
func (q *question) decision(f *rise.Finding, steps []rise.Step) []figure {
	perMinute := 60 / float64(q.options.Volume) / float64(units.Micron)
	limit := float64(q.options.LeakLimit) * perMinute
	top := 4 * math.Max(limit, float64(f.Leak.High)*perMinute)
	leak := plotstyle.Series{Name: "best value, " + phrase.Percent(f.Confidence) + " interval"}
	for _, s := range steps {
		low, high := float64(s.Low)*perMinute, float64(s.High)*perMinute
		if s.High == 0 && s.Verdict == rise.Undetermined { // too few readings
			continue
		}
		leak.X, leak.Y = append(leak.X, s.At.Minutes()), append(leak.Y, math.Min(float64(s.Best)*perMinute, top))
		leak.Low, leak.High = append(leak.Low, math.Min(low, top)), append(leak.High, math.Min(high, top))
	}
	if len(leak.X) == 0 {
		return nil
	}
	return []figure{{"decision", plotstyle.Figure{
		Title: "The decision over time",
		Desc: fmt.Sprintf("Best value of the leak and its interval, had the record been cut off at each time; the limit is %s micron/min. Values above %s are cut off. %s",
			phrase.Digits(limit, 2), phrase.Digits(top, 2), stretches(steps)),
		XLabel: "Length of the record, min", YLabel: "Leak, micron/min in this volume", YMax: top,
		Series: []plotstyle.Series{leak}, Bands: verdictBands(steps),
		Levels: []plotstyle.Level{{Y: limit, Label: "limit"}},
	}}}
}

// shortest is the share of the record from which a stretch with one verdict is
// named; shorter neighbours are one stretch in which it changes.
const shortest = 0.08

// verdictBands are stretches with one verdict.
func verdictBands(steps []rise.Step) []plotstyle.Band {
	var out []plotstyle.Band
	from, whole := 0.0, steps[len(steps)-1].At.Minutes()
	for i, s := range steps {
		if i+1 < len(steps) && steps[i+1].Verdict == s.Verdict {
			continue
		}
		b := plotstyle.Band{From: from, To: s.At.Minutes(), Label: s.Verdict.String()}
		from = b.To
		if i+1 < len(steps) && b.To-b.From < shortest*whole {
			b.Label = changing
		}
		if n := len(out) - 1; n >= 0 && b.Label == changing && out[n].Label == changing {
			out[n].To = b.To
			continue
		}
		out = append(out, b)
	}
	return out
}

// changing names a stretch in which the verdict does not stand.
const changing = "changing"

// stretches says the same in words.
func stretches(steps []rise.Step) string {
	var parts []string
	for _, b := range verdictBands(steps) {
		parts = append(parts, fmt.Sprintf("%s up to %s min", b.Label, phrase.Digits(b.To, 2)))
	}
	return "Verdicts: " + strings.Join(parts, ", ") + "."
}
