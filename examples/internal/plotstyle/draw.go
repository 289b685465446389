package plotstyle

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// draw paints the figure, from the back to the front.
func (f Figure) draw(c draw.Canvas) error {
	l := f.layout()
	if l.dataEnd-l.box.Min.X < 100 || l.box.Max.Y-l.box.Min.Y < 60 {
		return errTooTight(f.Title)
	}
	c.SetColor(color.White)
	c.Fill(c.Path())
	p := painter{f, l, c}
	p.bands()
	p.grid()
	p.areas()
	p.ribbons()
	p.levels()
	p.series()
	p.axes()
	p.headings()
	p.levelLabels()
	p.insideLabels()
	p.nameLabels()
	return nil
}

// painter draws one figure on one canvas.
type painter struct {
	f Figure
	l *layout
	c draw.Canvas
}

func (p painter) line(style draw.LineStyle, points ...vg.Point) { p.c.StrokeLines(style, points) }

// write writes text; centred text is lifted by the descender that gonum counts as
// part of its height, so that it stands level with its tick.
func (p painter) write(style draw.TextStyle, at vg.Point, s string) {
	if style.YAlign == draw.YCenter {
		at.Y += 0.12 * style.Font.Size
	}
	p.c.FillText(style, at, s)
}

func hair(c color.Color, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: vg.Points(0.6), Dashes: dashes}
}

// bands shades every other stage, bounds each, and labels them over the box.
func (p painter) bands() {
	l := p.l
	for i, b := range p.f.Bands {
		x0, x1 := l.x(b.From), l.x(b.To)
		if i%2 == 0 {
			p.c.SetColor(shade)
			p.c.Fill(vg.Rectangle{Min: vg.Point{X: x0, Y: l.box.Min.Y}, Max: vg.Point{X: x1, Y: l.box.Max.Y}}.Path())
		}
		for _, x := range []vg.Length{x0, x1} {
			p.line(hair(faint), vg.Point{X: x, Y: l.box.Min.Y}, vg.Point{X: x, Y: l.box.Max.Y})
		}
	}
	for _, m := range p.f.Marks {
		x := l.x(m.X)
		p.line(hair(grey, 3, 2), vg.Point{X: x, Y: l.box.Min.Y}, vg.Point{X: x, Y: l.box.Max.Y})
	}
	style := text(smallSize, ink)
	style.XAlign = draw.XCenter
	for _, s := range l.strip {
		y := l.box.Max.Y + 6 + vg.Length(s.row)*rowHeight
		if s.row > 0 {
			x := l.x(s.at)
			p.line(hair(grey), vg.Point{X: x, Y: l.box.Max.Y}, vg.Point{X: x, Y: y - smallSize/2})
		}
	}
	for _, s := range l.strip {
		y := l.box.Max.Y + 6 + vg.Length(s.row)*rowHeight
		p.c.SetColor(color.White)
		p.c.Fill(vg.Rectangle{
			Min: vg.Point{X: s.centre - s.half + 1, Y: y - smallSize/2}, Max: vg.Point{X: s.centre + s.half - 1, Y: y + smallSize/2},
		}.Path())
		p.write(style, vg.Point{X: s.centre, Y: y}, s.text)
	}
}

func (p painter) grid() {
	right := p.l.dataEnd
	if p.f.Second != nil {
		right = p.l.box.Max.X
	}
	for _, t := range p.l.yTicks {
		if t.Label != "" {
			y := p.l.y(t.Value)
			p.line(hair(faint), vg.Point{X: p.l.box.Min.X, Y: y}, vg.Point{X: right, Y: y})
		}
	}
}

// areas fills the layers and draws their upper edges.
func (p painter) areas() {
	edges := p.f.stack()
	for k, a := range p.f.Areas {
		keep := p.thin(a.X, edges[k+1])
		var outline []vg.Point
		for _, i := range keep {
			outline = append(outline, vg.Point{X: p.l.x(a.X[i]), Y: p.l.y(edges[k+1][i])})
		}
		for j := len(keep) - 1; j >= 0; j-- {
			i := keep[j]
			outline = append(outline, vg.Point{X: p.l.x(a.X[i]), Y: p.l.y(edges[k][i])})
		}
		p.c.FillPolygon(fill(k, 0.45), p.data().ClipPolygonXY(outline))
	}
	for k, a := range p.f.Areas {
		style := lineStyle(k)
		style.Width = vg.Points(1.2)
		p.curve(style, a.X, p.visible(edges[k], edges[k+1]))
	}
}

// visible is the upper edge of a layer with gaps where the layer is too thin to
// see, so that empty layers do not paint over one another.
func (p painter) visible(lower, upper []float64) []float64 {
	edge := make([]float64, len(upper))
	for i := range upper {
		edge[i] = upper[i]
		if p.l.y(upper[i])-p.l.y(lower[i]) < 0.5 {
			edge[i] = math.NaN()
		}
	}
	return edge
}

// ribbons fills the ranges around lines, under everything that is a line.
func (p painter) ribbons() {
	for i, s := range p.f.Series {
		if s.Low != nil {
			p.ribbon(len(p.f.Areas)+i, s)
		}
	}
}

func (p painter) series() {
	for i, s := range p.f.Series {
		style := lineStyle(len(p.f.Areas) + i)
		if s.Dots {
			p.dots(style.Color, s)
			continue
		}
		p.curve(style, s.X, s.Y)
	}
}

// dots draws the values of a series that lie in the box.
func (p painter) dots(c color.Color, s Series) {
	for _, i := range p.thin(s.X, s.Y) {
		at := vg.Point{X: p.l.x(s.X[i]), Y: p.l.y(s.Y[i])}
		if !math.IsNaN(s.Y[i]) && p.data().Contains(at) {
			p.c.DrawGlyph(draw.GlyphStyle{Color: c, Radius: vg.Points(1.3), Shape: draw.CircleGlyph{}}, at)
		}
	}
}

// ribbon fills between Low and High, gap by gap.
func (p painter) ribbon(k int, s Series) {
	var upper, lower []vg.Point
	flush := func() {
		for j := len(lower) - 1; j >= 0; j-- {
			upper = append(upper, lower[j])
		}
		if len(upper) > 2 {
			p.c.FillPolygon(fill(k, 0.2), p.data().ClipPolygonXY(upper))
		}
		upper, lower = nil, nil
	}
	for _, i := range p.thin(s.X, s.High) {
		if math.IsNaN(s.Low[i]) || math.IsNaN(s.High[i]) {
			flush()
			continue
		}
		upper = append(upper, vg.Point{X: p.l.x(s.X[i]), Y: p.l.y(s.High[i])})
		lower = append(lower, vg.Point{X: p.l.x(s.X[i]), Y: p.l.y(s.Low[i])})
	}
	flush()
}

// curve strokes a line with its gaps; a point alone between gaps becomes a dot.
func (p painter) curve(style draw.LineStyle, x, y []float64) {
	var run []vg.Point
	flush := func() {
		if len(run) == 1 && p.data().Contains(run[0]) {
			p.c.DrawGlyph(draw.GlyphStyle{Color: style.Color, Radius: vg.Points(2), Shape: draw.CircleGlyph{}}, run[0])
		}
		if len(run) > 1 {
			p.c.StrokeLines(style, p.data().ClipLinesXY(run)...)
		}
		run = nil
	}
	for _, i := range p.thin(x, y) {
		if math.IsNaN(y[i]) {
			flush()
			continue
		}
		run = append(run, vg.Point{X: p.l.x(x[i]), Y: p.l.y(y[i])})
	}
	flush()
}

// data is the part of the canvas that lines and areas may use.
func (p painter) data() *draw.Canvas {
	box := p.l.box
	box.Max.X = p.l.dataEnd
	return &draw.Canvas{Canvas: p.c.Canvas, Rectangle: box}
}

// thin returns the indices to draw: all of a short line; of a long one, in each
// half point of width, the first, lowest, highest and last value and every gap.
func (p painter) thin(x, y []float64) []int {
	keep := make([]int, 0, len(x))
	if len(x) <= 1000 {
		for i := range x {
			keep = append(keep, i)
		}
		return keep
	}
	for i := 0; i < len(x); {
		column := math.Floor(2 * float64(p.l.x(x[i])))
		low, high, j := i, i, i
		for ; j < len(x) && math.Floor(2*float64(p.l.x(x[j]))) == column && !math.IsNaN(y[j]); j++ {
			if y[j] < y[low] {
				low = j
			}
			if y[j] > y[high] {
				high = j
			}
		}
		if j == i { // a gap
			keep, i = append(keep, i), i+1
			continue
		}
		last := -1
		for _, k := range []int{i, min(low, high), max(low, high), j - 1} {
			if k > last {
				keep, last = append(keep, k), k
			}
		}
		i = j
	}
	return keep
}

// axes draws the axis lines, ticks and tick labels.
func (p painter) axes() {
	l, tick := p.l, text(textSize, ink)
	axis := draw.LineStyle{Color: ink, Width: vg.Points(0.8)}
	p.line(axis, vg.Point{X: l.box.Min.X, Y: l.box.Max.Y}, l.box.Min, vg.Point{X: l.dataEnd, Y: l.box.Min.Y})
	tick.XAlign = draw.XRight
	p.verticalTicks(axis, tick, l.yTicks, l.box.Min.X, -1)
	if p.f.Second != nil {
		p.line(axis, vg.Point{X: l.box.Max.X, Y: l.box.Min.Y}, l.box.Max)
		tick.XAlign = draw.XLeft
		p.verticalTicks(axis, tick, l.secondTicks, l.box.Max.X, 1)
	}
	tick.XAlign, tick.YAlign = draw.XCenter, draw.YTop
	for _, t := range l.xTicks {
		x := l.x(t.Value)
		p.line(axis, vg.Point{X: x, Y: l.box.Min.Y}, vg.Point{X: x, Y: l.box.Min.Y - 4})
		p.write(tick, vg.Point{X: x, Y: l.box.Min.Y - 6}, t.Label)
	}
}

// verticalTicks draws the ticks of an upright axis at x, out to the side.
func (p painter) verticalTicks(axis draw.LineStyle, style draw.TextStyle, ticks []plot.Tick, x, side vg.Length) {
	for _, t := range ticks {
		y, length := p.l.y(t.Value), vg.Length(2)
		if t.Label != "" {
			length = 4
			p.write(style, vg.Point{X: x + 6*side, Y: y}, t.Label)
		}
		p.line(axis, vg.Point{X: x, Y: y}, vg.Point{X: x + length*side, Y: y})
	}
}

// headings writes the title and the axis labels, each horizontal.
func (p painter) headings() {
	l, title, label := p.l, bold(titleSize, ink), text(textSize, ink)
	for i, line := range l.title {
		p.write(title, vg.Point{X: margin, Y: l.titleTop - titleSize/2 - vg.Length(i)*(titleSize+3)}, line)
	}
	p.write(label, vg.Point{X: margin, Y: l.axisRow}, p.f.YLabel)
	if p.f.Second != nil {
		label.XAlign = draw.XRight
		p.write(label, vg.Point{X: width - margin, Y: l.axisRow}, p.f.Second.Label)
	}
	label.XAlign = draw.XCenter
	p.write(label, vg.Point{X: (l.box.Min.X + l.dataEnd) / 2, Y: margin + textSize/2}, p.f.XLabel)
}
