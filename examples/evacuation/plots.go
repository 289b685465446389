package main

import (
	"fmt"
	"math"
	"path/filepath"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/rise"
)

// figureSet holds the pictures that were saved, by the place in the report
// where they go. A nil set shows nothing.
type figureSet struct {
	at    map[string][]figureRef
	files []string
	// failed are pictures that could not be made, with the reason.
	failed []string
}

// show puts the pictures of a place into the document.
func (f *figureSet) show(d *document, place string) {
	if f == nil {
		return
	}
	for _, x := range f.at[place] {
		d.figure(x)
	}
}

// save draws one picture and keeps what the HTML report takes in. One that fails
// is noted and stops nothing.
func (f *figureSet) save(dir, place, name string, fig plotstyle.Figure) {
	if err := f.add(dir, place, name, fig); err != nil {
		f.failed = append(f.failed, phrase.OneLine(err.Error()))
	}
}

func (f *figureSet) add(dir, place, name string, fig plotstyle.Figure) error {
	files, err := fig.Save(dir, name)
	if err != nil {
		return fmt.Errorf("figure %s: %w", name, err)
	}
	ref := figureRef{file: filepath.Base(files.SVG), csv: filepath.Base(files.CSV), alt: fig.Desc, words: fig.Text()}
	if ref.svg, err = fig.SVG(); err != nil {
		return fmt.Errorf("figure %s: %w", name, err)
	}
	if ref.data, err = fig.CSV(); err != nil {
		return fmt.Errorf("figure %s: %w", name, err)
	}
	f.at[place] = append(f.at[place], ref)
	f.files = append(f.files, files.SVG, files.PNG, files.CSV, files.Text)
	return nil
}

// draw saves all pictures in dir.
func (a *answer) draw(dir string) *figureSet {
	f := &figureSet{at: map[string][]figureRef{}}
	for i, r := range a.records() {
		if len(r.Samples) < 2 || r.Took() == 0 {
			continue
		}
		name, steps := fileName(i, r), "steps-"+slug(r.Procedure)
		if anyWater(r) {
			f.save(dir, "water", "water-"+name, a.waterFigure(r))
		}
		f.save(dir, steps, "pressure-"+name, a.pressureFigure(r, a.bandOf(i)))
		if fig, ok := a.limitsFigure(r); ok {
			f.save(dir, steps, "limits-"+name, fig)
		}
	}
	if a.rise != nil && a.rise.finding.Record.Usable > 1 {
		f.save(dir, "rise", "rise", a.riseFigure())
	}
	return f
}

// anyWater is true when there was water in the circuit at any time, so that a
// picture of it shows something.
func anyWater(r *purge.Record) bool {
	for i := range r.Stages {
		if r.Stages[i].WaterLeft() > 0 {
			return true
		}
	}
	return r.Before.InitialWater() > 0
}

// fileName is a procedure's name for files, numbered so that no two collide.
func fileName(i int, r *purge.Record) string { return fmt.Sprintf("%d-%s", i+1, slug(r.Procedure)) }

// minutesOf are the times of a record's samples in minutes.
func minutesOf(r *purge.Record) []float64 {
	x := make([]float64, len(r.Samples))
	for i := range r.Samples {
		x[i] = r.Samples[i].Time.Minutes()
	}
	return x
}

// bands are the stages long enough to carry a label.
func bands(r *purge.Record) []plotstyle.Band {
	var out []plotstyle.Band
	for i := range r.Stages {
		s := &r.Stages[i]
		if s.Duration() > 0 {
			out = append(out, plotstyle.Band{From: s.Start.Minutes(), To: s.End.Minutes(), Label: s.Kind})
		}
	}
	return out
}

// pressureFigure is the pressure of system and gauge's place over time, what the
// gauge shows when it is thermal, and the band of the system's pressure when
// there is one.
func (a *answer) pressureFigure(r *purge.Record, band *purge.Band) plotstyle.Figure {
	sys, gauge := indexOf(r.Nodes, r.SystemNode), indexOf(r.Nodes, r.GaugeNode)
	x := minutesOf(r)
	series := func(name string, node int) plotstyle.Series {
		y := make([]float64, len(x))
		for i := range r.Samples {
			y[i] = math.Max(float64(r.Samples[i].Pressure[node]), 1e-3)
		}
		return plotstyle.Series{Name: name, X: x, Y: y}
	}
	places := fmt.Sprintf("the %s and at the gauge's place, the %s", r.SystemNode, r.GaugeNode)
	if gauge == sys {
		places = fmt.Sprintf("the %s, where the gauge is", r.SystemNode)
	}
	f := plotstyle.Figure{
		Title: "Pressure: " + r.Procedure,
		Desc: fmt.Sprintf("Absolute pressure at %s, over the %s of %q; it ends at %s.",
			places, phrase.Took(r.Took()), r.Procedure, phrase.Pressure(units.Pressure(r.Last().Pressure[sys]))),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", LogY: true,
		Second: plotstyle.Micron(), Bands: bands(r),
		Series: []plotstyle.Series{series(r.SystemNode, sys)},
	}
	if gauge != sys {
		f.Series = append(f.Series, series(r.GaugeNode+" (gauge)", gauge))
	}
	if s, ok := shownSeries(r); ok && a.job.Gauge.Thermal {
		f.Series = append(f.Series, s)
		f.Desc += " What the thermal gauge shows is a line of its own, since it reads water vapour about twice too high; it has gaps where the gauge shows no number."
	}
	if band != nil {
		s, words := bandSeries(band, r.Took())
		f.Series = append(f.Series, s)
		f.Desc += words
	}
	return f
}

// shownSeries is what the gauge shows over time, with gaps where it shows no
// number; false when it never shows one.
func shownSeries(r *purge.Record) (plotstyle.Series, bool) {
	s := plotstyle.Series{Name: "thermal gauge", X: minutesOf(r)}
	some := false
	for i := range r.Samples {
		y := math.NaN()
		if g := r.Samples[i].Reading; len(g) > 0 && !offRange(g[0]) && g[0].Pressure > 0 {
			y, some = float64(g[0].Pressure), true
		}
		s.Y = append(s.Y, y)
	}
	return s, some
}

// stillAfter is the time from which on none of the quantiles moves by 1 % of
// itself any more: the runs have stalled or ended.
func stillAfter(p *purge.PressureBand) time.Duration {
	last := len(p.Times) - 1
	g := last
	for ; g > 0; g-- {
		for _, q := range p.Pressure {
			if math.Abs(float64(q[g-1]/q[last]-1)) > 0.01 {
				return p.Times[g]
			}
		}
	}
	return p.Times[0]
}

// bandSeries is the range of the system's pressure over the runs of a band of a
// procedure that took so long, up to the time within which 95 % of them were
// completed. Where fewer were, it ends when no pressure moves any more, though
// not before the procedure does.
func bandSeries(b *purge.Band, took time.Duration) (plotstyle.Series, string) {
	p := b.Pressure(bandLevels[:]...)
	end := min(p.Times[len(p.Times)-1], max(took, stillAfter(&p)))
	if t, ok := b.Time(bandLevels[2]); ok {
		end = min(p.Times[len(p.Times)-1], t)
	}
	s := plotstyle.Series{Name: "runs, 5 to 95 %"}
	for g, t := range p.Times {
		if t > end {
			break
		}
		s.X = append(s.X, t.Minutes())
		s.Low = append(s.Low, float64(p.Pressure[0][g]))
		s.Y = append(s.Y, float64(p.Pressure[1][g]))
		s.High = append(s.High, float64(p.Pressure[2][g]))
	}
	return s, fmt.Sprintf(" Shaded: instant by instant the range from 5 to 95 %% of %d runs with poorly known inputs drawn at random, their middle as a line, over the first %s; a run that has ended counts with its last pressure. The other lines end with the procedure.", p.Runs, phrase.Took(end))
}

// leastLayer is the share of the highest stack below which a layer is left out
// of the picture of the water.
const leastLayer = 1e-4

// waterFigure is the water left over time, stacked by store and, within a store,
// by form.
func (a *answer) waterFigure(r *purge.Record) plotstyle.Figure {
	x := minutesOf(r)
	f := plotstyle.Figure{
		Title: "Water left: " + r.Procedure,
		Desc: fmt.Sprintf("Water in the circuit by store and form over the %s of %q: %s at the start, %s at the end.",
			phrase.Took(r.Took()), r.Procedure, phrase.Grams(r.Before.InitialWater()), phrase.Grams(r.WaterLeft())),
		XLabel: "Time, min", YLabel: "Water, g", Bands: bands(r),
	}
	layer := func(name string, mass func(*vacuum.Sample) units.Mass) {
		y := make([]float64, len(x))
		for i := range r.Samples {
			y[i] = math.Max(mass(&r.Samples[i]).In(units.Gram), 0)
		}
		f.Areas = append(f.Areas, plotstyle.Series{Name: name, X: x, Y: y})
	}
	for s, name := range r.Stores {
		layer(name+": ice", func(x *vacuum.Sample) units.Mass { return x.Content[s].Ice })
		layer(name+": liquid", func(x *vacuum.Sample) units.Mass { return x.Content[s].Liquid })
		layer(name+": bound", func(x *vacuum.Sample) units.Mass { return x.Content[s].Dissolved + x.Content[s].Adsorbed })
	}
	layer("vapour", func(x *vacuum.Sample) units.Mass { return vapourIn(r, a.job, x) })
	f.Areas = worthShowing(f.Areas)
	return f
}

// worthShowing leaves out layers that nobody could see; the highest always
// stays.
func worthShowing(layers []plotstyle.Series) []plotstyle.Series {
	top := 0.0
	for _, l := range layers {
		top = math.Max(top, highest(l.Y))
	}
	var out []plotstyle.Series
	for _, l := range layers {
		if h := highest(l.Y); h > 0 && h >= leastLayer*top {
			out = append(out, l)
		}
	}
	if len(out) == 0 { // no water at all
		return layers[len(layers)-1:]
	}
	return out
}

func highest(y []float64) float64 {
	top := 0.0
	for _, v := range y {
		top = math.Max(top, v)
	}
	return top
}

// fitPoints is how many points the fitted curve is drawn with.
const fitPoints = 200

// riseFigure is the rise record and the law that fits best.
func (a *answer) riseFigure() plotstyle.Figure {
	read := plotstyle.Series{Name: "readings"}
	seconds, pressures := phrase.Readings(a.log)
	for i := range seconds {
		read.X, read.Y = append(read.X, seconds[i]/60), append(read.Y, float64(pressures[i]))
	}
	f := &a.rise.finding
	fig := plotstyle.Figure{
		Title: "Rise test: " + f.Verdict.String(),
		Desc: fmt.Sprintf("Absolute pressure in the isolated circuit over %s, from %s to %s. %s",
			phrase.Took(f.Record.Duration), phrase.Pressure(pressures[0]), phrase.Pressure(pressures[len(pressures)-1]), f.Sentence),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", Second: plotstyle.Micron(),
		Series: []plotstyle.Series{read},
	}
	// Where ice melts the law is fitted only up to the end of the pause.
	if f.Fit.Start == 0 || f.Reason == rise.MeltingStep {
		return fig
	}
	law := plotstyle.Series{Name: "best fit"}
	alone := plotstyle.Series{Name: "leak alone"}
	for i := range fitPoints + 1 {
		t := (f.Fit.To - f.Fit.From) * time.Duration(i) / fitPoints
		at := (f.Fit.From + t).Minutes()
		law.X, law.Y = append(law.X, at), append(law.Y, float64(f.Fit.Pressure(t)))
		alone.X, alone.Y = append(alone.X, at), append(alone.Y, float64(f.Fit.Start)+float64(f.Fit.Slope)*t.Seconds())
	}
	fig.Series = append(fig.Series, law)
	if f.VapourRise > 0 {
		fig.Series = append(fig.Series, alone)
	}
	return fig
}
