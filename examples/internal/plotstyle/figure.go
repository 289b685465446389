// Package plotstyle draws the figures of the example programs in one house
// style on top of gonum.org/v1/plot: lines on a linear or logarithmic axis,
// stacked areas, stages and levels, each labelled where it stands. There is no
// legend to look up.
//
// Every figure is saved as SVG (with title, description and role="img") and PNG
// (192 dpi), together with a text alternative and the CSV that made it. Lines
// differ in colour (Okabe and Ito's palette, safe for colour-blind readers) and
// in dash, so that they can be told apart in grey.
//
// Left out: legends, logarithmic x axes, a second axis for another quantity.
package plotstyle

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
)

// ErrFigure is what errors.Is finds when a figure cannot be drawn as described.
var ErrFigure = errors.New("figure not drawable")

// Figure is one picture with everything that is needed to read it.
type Figure struct {
	// Title is one line over the picture; Desc says in a sentence or two what it
	// shows, for readers who cannot see it. Both are required.
	Title, Desc string
	// XLabel and YLabel name quantity and unit, "Time, min". Both are required.
	XLabel, YLabel string
	// LogY makes the y axis logarithmic. Values must then be above 0.
	LogY bool
	// YMin and YMax bound the y axis. Zero means that the data decide.
	YMin, YMax float64
	// Second is a second axis on the right for the same quantity in another
	// unit; nil means none.
	Second *Scale
	// Series are lines; Areas are stacked from below in their order and share
	// one X. A figure has at least one of either.
	Series, Areas []Series
	// Bands are stages along x, labelled over the picture.
	Bands []Band
	// Marks are single events along x, labelled over the picture.
	Marks []Mark
	// Levels are horizontal lines with a meaning, such as a target.
	Levels []Level
}

// Series is one line or one layer of a stack. Its colour and dash follow from
// its place in the figure.
type Series struct {
	// Name labels the line at its right end.
	Name string
	// X is finite and does not fall; Y has as many values. A NaN in Y is a gap
	// in a line; a layer has no gaps and no negative values.
	X, Y []float64
	// Low and High bound a shaded range around the line, such as a quantile
	// range; both have as many values as X. Nil means none.
	Low, High []float64
	// Dots draws every value as a dot instead of joining them, for readings
	// that scatter.
	Dots bool
}

// Band is a stage from one x to another.
type Band struct {
	From, To float64
	Label    string
}

// Mark is an event at one x.
type Mark struct {
	X     float64
	Label string
}

// Level is a horizontal line at one y.
type Level struct {
	Y     float64
	Label string
}

// Scale is a second axis for the quantity of the y axis.
type Scale struct {
	// Label names quantity and unit, such as "micron".
	Label string
	// Unit is one unit of the second axis in units of the first, above 0:
	// 0.133322 for micron beside pascal.
	Unit float64
}

// Micron is the scale of microns beside a y axis in pascal, one micron being
// 101325/760000 Pa.
func Micron() *Scale { return &Scale{Label: "micron", Unit: 101325.0 / 760000} }

// Files are the paths that Save wrote.
type Files struct{ SVG, PNG, CSV, Text string }

// Save writes name.svg, name.png, name.csv and name.txt into dir, which is made
// if it does not exist, and returns their paths. Existing files are replaced.
func (f Figure) Save(dir, name string) (Files, error) {
	base := filepath.Join(dir, name)
	files := Files{base + ".svg", base + ".png", base + ".csv", base + ".txt"}
	if err := f.Check(); err != nil {
		return Files{}, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return Files{}, err
	}
	svg, err := f.SVG()
	if err != nil {
		return Files{}, err
	}
	png, err := f.PNG()
	if err != nil {
		return Files{}, err
	}
	csv, err := f.CSV()
	if err != nil {
		return Files{}, err
	}
	for _, out := range []struct {
		path string
		data []byte
	}{{files.SVG, svg}, {files.PNG, png}, {files.CSV, csv}, {files.Text, []byte(f.Text())}} {
		if err := os.WriteFile(out.path, out.data, 0o644); err != nil {
			return Files{}, err
		}
	}
	return files, nil
}

// Check reports the first thing that keeps the figure from being drawn.
func (f Figure) Check() error {
	for _, required := range []struct{ name, text string }{
		{"Title", f.Title}, {"Desc", f.Desc}, {"XLabel", f.XLabel}, {"YLabel", f.YLabel},
	} {
		if required.text == "" {
			return fmt.Errorf("%w: %s is empty", ErrFigure, required.name)
		}
	}
	if err := f.checkGlyphs(); err != nil {
		return err
	}
	if len(f.Series)+len(f.Areas) == 0 {
		return fmt.Errorf("%w: %q has no series and no areas", ErrFigure, f.Title)
	}
	if f.LogY && len(f.Areas) > 0 {
		return fmt.Errorf("%w: areas cannot be stacked on a logarithmic axis", ErrFigure)
	}
	if f.Second != nil && !(f.Second.Unit > 0 && f.Second.Unit <= math.MaxFloat64) {
		return fmt.Errorf("%w: second axis unit = %g, accepted above 0", ErrFigure, f.Second.Unit)
	}
	for _, s := range f.Series {
		if err := s.check(f.LogY); err != nil {
			return err
		}
	}
	return f.checkRest()
}

func (f Figure) checkRest() error {
	for _, a := range f.Areas {
		if err := a.check(false); err != nil {
			return err
		}
		if len(a.X) != len(f.Areas[0].X) {
			return fmt.Errorf("%w: area %q has %d points, the first has %d", ErrFigure, a.Name, len(a.X), len(f.Areas[0].X))
		}
		for i, y := range a.Y {
			if !(y >= 0) || a.X[i] != f.Areas[0].X[i] {
				return fmt.Errorf("%w: area %q, point %d: y = %g at x = %g, accepted y at least 0 and the x of the first area", ErrFigure, a.Name, i, y, a.X[i])
			}
		}
	}
	for _, b := range f.Bands {
		if !finite(b.From) || !finite(b.To) || !(b.From <= b.To) {
			return fmt.Errorf("%w: band %q from %g to %g", ErrFigure, b.Label, b.From, b.To)
		}
	}
	for _, m := range f.Marks {
		if !finite(m.X) {
			return fmt.Errorf("%w: mark %q at x = %g", ErrFigure, m.Label, m.X)
		}
	}
	for _, l := range f.Levels {
		if !finite(l.Y) || f.LogY && !(l.Y > 0) {
			return fmt.Errorf("%w: level %q at y = %g", ErrFigure, l.Label, l.Y)
		}
	}
	lo, hi := f.yRange()
	if !(lo < hi) || f.LogY && !(lo > 0) {
		return fmt.Errorf("%w: y axis from %g to %g", ErrFigure, lo, hi)
	}
	return nil
}

// check reports the first unusable point of a series.
func (s Series) check(logY bool) error {
	if len(s.X) == 0 || len(s.X) != len(s.Y) {
		return fmt.Errorf("%w: series %q has %d x and %d y values", ErrFigure, s.Name, len(s.X), len(s.Y))
	}
	if (s.Low != nil || s.High != nil) && (len(s.Low) != len(s.X) || len(s.High) != len(s.X)) {
		return fmt.Errorf("%w: series %q has %d x, %d low and %d high values", ErrFigure, s.Name, len(s.X), len(s.Low), len(s.High))
	}
	for i, x := range s.X {
		if !finite(x) || i > 0 && x < s.X[i-1] {
			return fmt.Errorf("%w: series %q, point %d: x = %g, accepted finite and not falling", ErrFigure, s.Name, i, x)
		}
		values := []float64{s.Y[i]}
		if s.Low != nil {
			values = append(values, s.Low[i], s.High[i])
		}
		for _, y := range values {
			if math.IsInf(y, 0) || logY && y <= 0 {
				return fmt.Errorf("%w: series %q, point %d: y = %g cannot be drawn", ErrFigure, s.Name, i, y)
			}
		}
	}
	return nil
}

// checkGlyphs refuses text with a character that the font of the PNG lacks: it
// would be left out without a word, a superscript minus for instance.
func (f Figure) checkGlyphs() error {
	words := []string{f.Title, f.XLabel, f.YLabel}
	for _, all := range [][]Series{f.Series, f.Areas} {
		for _, s := range all {
			words = append(words, s.Name)
		}
	}
	for _, b := range f.Bands {
		words = append(words, b.Label)
	}
	for _, m := range f.Marks {
		words = append(words, m.Label)
	}
	for _, l := range f.Levels {
		words = append(words, l.Label)
	}
	if f.Second != nil {
		words = append(words, f.Second.Label)
	}
	for _, w := range words {
		if r, missing := missingGlyph(w); missing {
			return fmt.Errorf("%w: the font has no %q, which %q needs", ErrFigure, r, w)
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
