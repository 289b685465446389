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

// saveAll writes the pictures into dir, none without one, and says where.
func saveAll(s *sheet, dir string, figures []figure) error {
	if dir == "" || len(figures) == 0 {
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

// riseFigures are record, residuals and decision. Where ice melts, the law is
// fitted to the beginning only and is not drawn.
func (q *question) riseFigures(f *rise.Finding, steps []rise.Step) []figure {
	read := q.readings()
	fitted := f.Fit.Start != 0 && f.Reason != rise.MeltingStep
	if fitted && f.Record.TemperatureCorrected {
		read = q.corrected(read)
	}
	record := plotstyle.Figure{
		Title: "Rise test: " + f.Verdict.String(), Desc: f.Sentence + " " + phrase.Lasts(q.log),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", Second: plotstyle.Micron(),
	}
	if !fitted {
		record.Series = []plotstyle.Series{read}
		return append([]figure{{"record", record}}, q.decision(f, steps)...)
	}
	law := plotstyle.Series{Name: "law and 95 % of readings"}
	alone := plotstyle.Series{Name: "leak alone"}
	for i := range fitPoints + 1 {
		t := f.Record.Duration * time.Duration(i) / fitPoints
		p := float64(f.Fit.Pressure(t))
		_, one := f.Fit.Band(t)
		law.X, law.Y = append(law.X, t.Minutes()), append(law.Y, p)
		law.Low, law.High = append(law.Low, p-float64(one)), append(law.High, p+float64(one))
		alone.X, alone.Y = append(alone.X, t.Minutes()), append(alone.Y, float64(f.Fit.Start)+float64(f.Fit.Slope)*t.Seconds())
	}
	record.Series = []plotstyle.Series{law, read}
	if f.VapourRise > 0 {
		record.Series = append(record.Series, alone)
	}
	record.Desc += fmt.Sprintf(" The line is the most plausible law (%s), shaded where 95 %% of readings should lie if it is true.", f.Fit.Model)
	return append([]figure{{"record", record}, {"residuals", q.residuals(f, read)}}, q.decision(f, steps)...)
}

// residuals are readings less the law.
func (q *question) residuals(f *rise.Finding, read plotstyle.Series) plotstyle.Figure {
	rest := plotstyle.Series{Name: "reading less law", X: read.X, Dots: true}
	band := plotstyle.Series{Name: "law, 95 % of readings"}
	beyond := 0
	for i, x := range read.X {
		t := time.Duration(x * float64(time.Minute))
		_, one := f.Fit.Band(t)
		d := (read.Y[i] - float64(f.Fit.Pressure(t))) / float64(units.Micron)
		w := float64(one / units.Micron)
		rest.Y = append(rest.Y, d)
		band.X, band.Y = append(band.X, x), append(band.Y, 0)
		band.Low, band.High = append(band.Low, -w), append(band.High, w)
		if math.Abs(d) > w {
			beyond++
		}
	}
	return plotstyle.Figure{
		Title: "What the law leaves over",
		Desc: fmt.Sprintf("Readings less the most plausible law (%s), in micron. %d of %d lie outside the shaded range, in which 95 %% should lie; a bend would show that the law is wrong.",
			f.Fit.Model, beyond, len(rest.Y)),
		XLabel: "Time, min", YLabel: "Reading less law, micron", Series: []plotstyle.Series{band, rest},
	}
}

// decision is the leak's interval against the length of the record; nothing when
// no beginning of it gives one.
func (q *question) decision(f *rise.Finding, steps []rise.Step) []figure {
	perMinute := 60 / float64(q.options.Volume) / float64(units.Micron)
	limit := float64(q.options.LeakLimit) * perMinute
	top := 4 * math.Max(limit, float64(f.Leak.High)*perMinute)
	leak := plotstyle.Series{Name: "leak, 95 % interval"}
	for _, s := range steps {
		low, high := float64(s.Low)*perMinute, float64(s.High)*perMinute
		if s.High == 0 && s.Verdict == rise.Undetermined { // too few readings
			continue
		}
		leak.X, leak.Y = append(leak.X, s.At.Minutes()), append(leak.Y, math.Min((low+high)/2, top))
		leak.Low, leak.High = append(leak.Low, math.Min(low, top)), append(leak.High, math.Min(high, top))
	}
	if len(leak.X) == 0 {
		return nil
	}
	return []figure{{"decision", plotstyle.Figure{
		Title: "The decision over time",
		Desc: fmt.Sprintf("Interval of the leak, and its middle, had the record been cut off at each time; the limit is %s micron/min. Values above %s are cut off. %s",
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
