package plotstyle

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// fontFamily finds the font of a text element; the figure names fonts to fall
// back on, since it does not carry its own.
var fontFamily = regexp.MustCompile(`font-family:([^;"]+);`)

// SVG returns the picture as an SVG document with a title, a description and
// role="img".
func (f Figure) SVG() ([]byte, error) {
	if err := f.Check(); err != nil {
		return nil, err
	}
	canvas := vgsvg.New(width, height)
	if err := f.draw(draw.New(canvas)); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, err
	}
	doc := out.String()
	open := strings.Index(doc, "<svg ")
	end := strings.Index(doc[max(open, 0):], ">")
	if open < 0 || end < 0 {
		return nil, fmt.Errorf("%w: no svg element to describe", ErrFigure)
	}
	head, body := doc[open:open+end], doc[open+end+1:]
	head = strings.Replace(head, "<svg ", `<svg role="img" `, 1)
	about := fmt.Sprintf(">\n<title>%s</title>\n<desc>%s</desc>", html.EscapeString(f.Title), html.EscapeString(f.Desc))
	body = fontFamily.ReplaceAllString(body, "font-family:'Liberation Sans',Arial,Helvetica,sans-serif;")
	return []byte(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + head + about + body), nil
}

// PNG returns the picture as a PNG at 192 dpi.
func (f Figure) PNG() ([]byte, error) {
	if err := f.Check(); err != nil {
		return nil, err
	}
	canvas := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi))
	if err := f.draw(draw.New(canvas)); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// CSV returns the data of the figure as WriteCSV writes it.
func (f Figure) CSV() ([]byte, error) {
	var out bytes.Buffer
	err := f.WriteCSV(&out)
	return out.Bytes(), err
}

// WriteCSV writes everything that is drawn, one point per row, in full
// precision: kind (series, area, stage, event, level), name, x, y, low, high.
// A stage has its two ends in two rows. Fields that mean nothing are empty.
func (f Figure) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	row := func(kind, name string, values ...float64) error {
		record := []string{kind, name}
		for _, v := range values {
			cell := ""
			if !math.IsNaN(v) {
				cell = strconv.FormatFloat(v, 'g', -1, 64)
			}
			record = append(record, cell)
		}
		return out.Write(record)
	}
	if err := out.Write([]string{"kind", "name", f.XLabel, f.YLabel, "low", "high"}); err != nil {
		return err
	}
	none := math.NaN()
	for _, group := range []struct {
		kind string
		list []Series
	}{{"series", f.Series}, {"area", f.Areas}} {
		for _, s := range group.list {
			for i := range s.X {
				low, high := none, none
				if s.Low != nil {
					low, high = s.Low[i], s.High[i]
				}
				if err := row(group.kind, s.Name, s.X[i], s.Y[i], low, high); err != nil {
					return err
				}
			}
		}
	}
	for _, b := range f.Bands {
		for _, x := range []float64{b.From, b.To} {
			if err := row("stage", b.Label, x, none, none, none); err != nil {
				return err
			}
		}
	}
	for _, m := range f.Marks {
		if err := row("event", m.Label, m.X, none, none, none); err != nil {
			return err
		}
	}
	for _, l := range f.Levels {
		if err := row("level", l.Label, none, l.Y, none, none); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// Text returns the figure in words: what it shows, its axes, and of each line
// where it starts and ends and its extremes.
func (f Figure) Text() string {
	var b strings.Builder
	xlo, xhi := f.xRange()
	fmt.Fprintf(&b, "%s\n%s\n\nx axis: %s, from %s to %s.\n", f.Title, f.Desc, f.XLabel, short(xlo), short(xhi))
	kind := "linear"
	if f.LogY {
		kind = "logarithmic"
	}
	fmt.Fprintf(&b, "y axis: %s, %s.\n", f.YLabel, kind)
	for _, s := range f.Series {
		fmt.Fprintf(&b, "Line %q: %s\n", s.Name, s.words())
	}
	for _, s := range f.Areas {
		fmt.Fprintf(&b, "Layer %q: %s\n", s.Name, s.words())
	}
	for _, s := range f.Bands {
		fmt.Fprintf(&b, "Stage %q: from %s to %s.\n", s.Label, short(s.From), short(s.To))
	}
	for _, m := range f.Marks {
		fmt.Fprintf(&b, "Event %q: at %s.\n", m.Label, short(m.X))
	}
	for _, l := range f.Levels {
		fmt.Fprintf(&b, "Level %q: at %s.\n", l.Label, short(l.Y))
	}
	return b.String()
}

// words says where a series starts and ends and its extremes.
func (s Series) words() string {
	first, last, low, high := -1, -1, -1, -1
	for i, y := range s.Y {
		if math.IsNaN(y) {
			continue
		}
		if first < 0 {
			first, low, high = i, i, i
		}
		last = i
		if y < s.Y[low] {
			low = i
		}
		if y > s.Y[high] {
			high = i
		}
	}
	if first < 0 {
		return "no values."
	}
	at := func(i int) string { return fmt.Sprintf("%s at %s", short(s.Y[i]), short(s.X[i])) }
	return fmt.Sprintf("starts with %s, ends with %s; lowest %s, highest %s.", at(first), at(last), at(low), at(high))
}

// short prints three digits.
func short(v float64) string {
	three, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	if err != nil {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	return number(three)
}
