package main

import (
	"fmt"
	"math"
	"path/filepath"
	"time"

	"example.com/drydown/examples/internal/plotstyle"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// figureSet holds the pictures that were saved, by the place in the report
// where they go. A nil set shows nothing.
type figureSet struct {
	at    map[string][]figureRef
	files []string
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

// save draws one picture.
func (f *figureSet) save(dir, place, name string, fig plotstyle.Figure) error {
	files, err := fig.Save(dir, name)
	if err != nil {
		return fmt.Errorf("figure %s: %w", name, err)
	}
	f.at[place] = append(f.at[place], figureRef{filepath.Base(files.SVG), fig.Desc})
	f.files = append(f.files, files.SVG, files.PNG)
	return nil
}

// draw saves all pictures in dir.
func (a *answer) draw(dir string) (*figureSet, error) {
	f := &figureSet{at: map[string][]figureRef{}}
	for i, r := range a.records() {
		if len(r.Samples) < 2 || r.Took() == 0 {
			continue
		}
		name := fileName(i, r)
		if err := f.save(dir, "water", "water-"+name, a.waterFigure(r)); err != nil {
			return f, err
		}
		if err := f.save(dir, "pressure-"+slug(r.Procedure), "pressure-"+name, a.pressureFigure(r)); err != nil {
			return f, err
		}
	}
	if a.rise != nil && a.rise.finding.Record.Usable > 1 {
		if err := f.save(dir, "rise", "rise", a.riseFigure()); err != nil {
			return f, err
		}
	}
	return f, nil
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

// pressureFigure is the pressure of system and gauge over time.
func (a *answer) pressureFigure(r *purge.Record) plotstyle.Figure {
	sys, gauge := indexOf(r.Nodes, r.SystemNode), indexOf(r.Nodes, r.GaugeNode)
	x := minutesOf(r)
	series := func(name string, node int) plotstyle.Series {
		y := make([]float64, len(x))
		for i := range r.Samples {
			y[i] = math.Max(float64(r.Samples[i].Pressure[node]), 1e-3)
		}
		return plotstyle.Series{Name: name, X: x, Y: y}
	}
	f := plotstyle.Figure{
		Title: "Pressure: " + r.Procedure,
		Desc: fmt.Sprintf("Absolute pressure at the %s and at the gauge's place, the %s, over the %s of %q; it ends at %s.",
			r.SystemNode, r.GaugeNode, took(r.Took()), r.Procedure, pressure(units.Pressure(r.Last().Pressure[sys]))),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", LogY: true,
		Second: plotstyle.Micron(), Bands: bands(r),
		Series: []plotstyle.Series{series(r.SystemNode, sys)},
	}
	if gauge != sys {
		f.Series = append(f.Series, series(r.GaugeNode+" (gauge)", gauge))
	}
	return f
}

// waterFigure is the water left by form over time.
func (a *answer) waterFigure(r *purge.Record) plotstyle.Figure {
	x := minutesOf(r)
	type layer struct {
		name string
		y    []float64
	}
	layers := []layer{{"ice", nil}, {"liquid", nil}, {"other stores", nil}, {"vapour", nil}}
	for i := range r.Samples {
		c := sumContent(r.Samples[i].Content)
		vapour := vapourIn(r, a.job, &r.Samples[i])
		for k, m := range []units.Mass{c.Ice, c.Liquid, c.Dissolved + c.Adsorbed, vapour} {
			layers[k].y = append(layers[k].y, math.Max(m.In(units.Gram), 0))
		}
	}
	f := plotstyle.Figure{
		Title: "Water left: " + r.Procedure,
		Desc: fmt.Sprintf("Water in the circuit by form over the %s of %q: %s at the start, %s at the end.",
			took(r.Took()), r.Procedure, grams(r.Before.InitialWater()), grams(r.WaterLeft())),
		XLabel: "Time, min", YLabel: "Water, g", Bands: bands(r),
	}
	for _, l := range layers {
		if highest(l.y) > 0 {
			f.Areas = append(f.Areas, plotstyle.Series{Name: l.name, X: x, Y: l.y})
		}
	}
	return f
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
	var read plotstyle.Series
	read.Name = "readings"
	first := firstGood(a.log)
	for i, s := range a.log.States {
		if s == trace.Good {
			read.X = append(read.X, (a.log.Times[i]-first)/60)
			read.Y = append(read.Y, float64(a.log.Pressures[i]))
		}
	}
	f := &a.rise.finding
	fig := plotstyle.Figure{
		Title: "Rise test: " + f.Verdict.String(),
		Desc: fmt.Sprintf("Absolute pressure in the isolated circuit over %s, from %s to %s. %s",
			took(f.Record.Duration), pressure(units.Pressure(read.Y[0])), pressure(units.Pressure(read.Y[len(read.Y)-1])), f.Sentence),
		XLabel: "Time, min", YLabel: "Absolute pressure, Pa", Second: plotstyle.Micron(),
		Series: []plotstyle.Series{read},
	}
	if f.Fit.Start == 0 {
		return fig
	}
	law := plotstyle.Series{Name: "best fit"}
	alone := plotstyle.Series{Name: "leak alone"}
	for i := range fitPoints + 1 {
		t := f.Record.Duration * time.Duration(i) / fitPoints
		law.X, law.Y = append(law.X, t.Minutes()), append(law.Y, float64(f.Fit.Pressure(t)))
		alone.X, alone.Y = append(alone.X, t.Minutes()), append(alone.Y, float64(f.Fit.Start)+float64(f.Fit.Slope)*t.Seconds())
	}
	fig.Series = append(fig.Series, law)
	if f.VapourRise > 0 {
		fig.Series = append(fig.Series, alone)
	}
	return fig
}
