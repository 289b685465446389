package plotstyle

import (
	"fmt"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

func errTooTight(title string) error {
	return fmt.Errorf("%w: %q: labels leave no room for the data; shorten names or stages", ErrFigure, title)
}

// levels draws the horizontal lines.
func (p painter) levels() {
	for _, v := range p.f.Levels {
		y := p.l.y(v.Y)
		if y >= p.l.box.Min.Y && y <= p.l.box.Max.Y {
			p.line(draw.LineStyle{Color: grey, Width: vg.Points(0.9), Dashes: []vg.Length{1.5, 2.5}},
				vg.Point{X: p.l.box.Min.X, Y: y}, vg.Point{X: p.l.dataEnd, Y: y})
		}
	}
}

// levelLabels writes the label of each level over or under it, at the left, the
// middle or the right, wherever the lines leave most room.
func (p painter) levelLabels() {
	style := text(smallSize, ink)
	obstacles := p.points()
	for _, v := range p.f.Levels {
		y := p.l.y(v.Y)
		if v.Label == "" || y < p.l.box.Min.Y || y > p.l.box.Max.Y {
			continue
		}
		w, h := style.Width(v.Label), smallSize
		var best vg.Rectangle
		room := math.Inf(-1)
		left, right := p.l.box.Min.X+4, p.l.dataEnd-4-w
		for _, x := range []vg.Length{left, (left + right) / 2, right} {
			for _, low := range []vg.Length{y + 2, y - h - 2} {
				at := vg.Rectangle{Min: vg.Point{X: x, Y: low}, Max: vg.Point{X: x + w, Y: low + h}}
				if free := clearance(at, obstacles); free > room+1 && low > p.l.box.Min.Y && low+h < p.l.box.Max.Y {
					best, room = at, free
				}
			}
		}
		if math.IsInf(room, -1) {
			continue
		}
		p.write(style, vg.Point{X: best.Min.X, Y: best.Min.Y + h/2}, v.Label)
		for share := vg.Length(0); share <= 1; share += 0.1 {
			obstacles = append(obstacles, vg.Point{X: best.Min.X + share*w, Y: best.Min.Y + h/2})
		}
	}
}

// points are the drawn lines as points no further apart than a few points.
func (p painter) points() []vg.Point {
	var all []vg.Point
	add := func(x, y []float64) {
		var last vg.Point
		have := false
		for _, i := range p.thin(x, y) {
			if math.IsNaN(y[i]) {
				have = false
				continue
			}
			next := vg.Point{X: p.l.x(x[i]), Y: p.l.y(y[i])}
			if have {
				n := math.Ceil(math.Hypot(float64(next.X-last.X), float64(next.Y-last.Y)) / 4)
				for k := 1.0; k < n; k++ {
					s := vg.Length(k / n)
					all = append(all, vg.Point{X: last.X + s*(next.X-last.X), Y: last.Y + s*(next.Y-last.Y)})
				}
			}
			all, last, have = append(all, next), next, true
		}
	}
	for _, s := range p.f.Series {
		add(s.X, s.Y)
	}
	edges := p.f.stack()
	for k, a := range p.f.Areas {
		add(a.X, edges[k+1])
	}
	return all
}

// clearance is the distance from a rectangle to the nearest point, at most 40.
func clearance(r vg.Rectangle, points []vg.Point) float64 {
	nearest := 40.0
	for _, q := range points {
		dx := math.Max(0, math.Max(float64(r.Min.X-q.X), float64(q.X-r.Max.X)))
		dy := math.Max(0, math.Max(float64(r.Min.Y-q.Y), float64(q.Y-r.Max.Y)))
		nearest = math.Min(nearest, math.Hypot(dx, dy))
	}
	return nearest
}

// insideNames says which layers are thick enough somewhere to hold their names.
func (f Figure) insideNames(l *layout) map[int]bool {
	inside := map[int]bool{}
	for k := range f.Areas {
		_, fits := f.insidePlace(l, k)
		inside[k] = fits
	}
	return inside
}

// insidePlace is the middle of the roomiest place for the name of layer k
// within the layer, and whether it is roomy enough.
func (f Figure) insidePlace(l *layout, k int) (vg.Point, bool) {
	const need = smallSize + 4
	a, edges := f.Areas[k], f.stack()
	half := text(smallSize, ink).Width(a.Name)/2 + 8
	best, room := vg.Point{}, vg.Length(0)
	for centre := l.box.Min.X + half; centre <= l.dataEnd-half; centre += 4 {
		floor, ceiling, found := l.box.Min.Y, l.box.Max.Y, false
		for i, x := range a.X {
			if at := l.x(x); at >= centre-half && at <= centre+half {
				floor, ceiling, found = max(floor, l.y(edges[k][i])), min(ceiling, l.y(edges[k+1][i])), true
			}
		}
		for _, end := range []vg.Length{centre - half, centre + half} { // between samples
			if low, high, ok := l.between(a.X, edges[k], edges[k+1], end); ok {
				floor, ceiling, found = max(floor, low), min(ceiling, high), true
			}
		}
		if found && ceiling-floor > room {
			best, room = vg.Point{X: centre, Y: (floor + ceiling) / 2}, ceiling-floor
		}
	}
	return best, a.Name != "" && room >= need
}

// between is where two edges over the same x stand at a place across the canvas,
// false outside them.
func (l *layout) between(x, lower, upper []float64, at vg.Length) (low, high vg.Length, ok bool) {
	i := sort.Search(len(x), func(i int) bool { return l.x(x[i]) >= at })
	if i == 0 || i == len(x) {
		return 0, 0, false
	}
	left, right := l.x(x[i-1]), l.x(x[i])
	share := (at - left) / (right - left)
	mix := func(edge []float64) vg.Length { return l.y(edge[i-1]) + share*(l.y(edge[i])-l.y(edge[i-1])) }
	return mix(lower), mix(upper), true
}

// insideLabels writes the names of the layers that hold them.
func (p painter) insideLabels() {
	style := text(smallSize, ink)
	style.XAlign = draw.XCenter
	for k, a := range p.f.Areas {
		if at, _ := p.f.insidePlace(p.l, k); p.l.inside[k] {
			p.write(style, at, a.Name)
		}
	}
}

// nameLabel is the label of one line or layer beside the data.
type nameLabel struct {
	name  string
	style draw.LineStyle
	from  vg.Point  // end of the line
	y     vg.Length // of the text
}

// nameLabels writes the name of each line, and of each layer too thin to hold it,
// beside its right end, pushed
// apart where they would overlap, with a leader in the line's own style. A line
// that ends before the data do ends with a dot, and a thin grey line leads on.
func (p painter) nameLabels() {
	labels := p.namePlaces()
	spread(labels, smallSize+2.5, p.l.box.Min.Y+smallSize/2, p.l.box.Max.Y-smallSize/2)
	style := text(smallSize, ink)
	x := p.l.dataEnd + leader + 2
	for _, n := range labels {
		line := n.style
		line.Width = vg.Points(1.2)
		start := n.from
		if start.X < p.l.dataEnd-leader {
			p.c.DrawGlyph(draw.GlyphStyle{Color: line.Color, Radius: vg.Points(2), Shape: draw.CircleGlyph{}}, start)
			start.X = p.l.dataEnd
			p.line(hair(grey, 1, 2), vg.Point{X: n.from.X + 3, Y: n.from.Y}, start)
		}
		bend := vg.Point{X: max(start.X, p.l.dataEnd) + 3, Y: start.Y}
		p.c.StrokeLines(line, []vg.Point{start, bend, {X: x - 2, Y: n.y}})
		w := style.Width(n.name)
		p.c.SetColor(color.White)
		p.c.Fill(vg.Rectangle{Min: vg.Point{X: x - 1, Y: n.y - smallSize/2}, Max: vg.Point{X: x + w + 1, Y: n.y + smallSize/2}}.Path())
		p.write(style, vg.Point{X: x, Y: n.y}, n.name)
	}
}

// namePlaces finds where each line ends and each layer has its middle.
func (p painter) namePlaces() []*nameLabel {
	var labels []*nameLabel
	edges := p.f.stack()
	for k, a := range p.f.Areas {
		if p.l.inside[k] {
			continue
		}
		last := len(a.X) - 1
		middle := (edges[k][last] + edges[k+1][last]) / 2
		labels = append(labels, &nameLabel{name: a.Name, style: lineStyle(k), from: vg.Point{X: p.l.x(a.X[last]), Y: p.l.y(middle)}})
	}
	for i, s := range p.f.Series {
		last := len(s.Y) - 1
		for last > 0 && math.IsNaN(s.Y[last]) {
			last--
		}
		if math.IsNaN(s.Y[last]) {
			continue
		}
		style := lineStyle(len(p.f.Areas) + i)
		if s.Dots {
			style.Dashes = nil
		}
		labels = append(labels, &nameLabel{
			name: s.Name, style: style, from: vg.Point{X: p.l.x(s.X[last]), Y: p.l.y(s.Y[last])},
		})
	}
	kept := labels[:0]
	for _, n := range labels {
		if n.name != "" {
			n.from.Y = max(p.l.box.Min.Y, min(n.from.Y, p.l.box.Max.Y))
			n.y = n.from.Y
			kept = append(kept, n)
		}
	}
	return kept
}

// spread moves labels apart to at least gap, within lo and hi as far as they
// fit, each as near to its line as the others allow.
func spread(labels []*nameLabel, gap, lo, hi vg.Length) {
	sort.SliceStable(labels, func(i, j int) bool { return labels[i].y < labels[j].y })
	for i, n := range labels {
		n.y = max(n.y, lo)
		if i > 0 {
			n.y = max(n.y, labels[i-1].y+gap)
		}
	}
	for i := len(labels) - 1; i >= 0; i-- {
		top := hi
		if i < len(labels)-1 {
			top = labels[i+1].y - gap
		}
		labels[i].y = min(labels[i].y, top)
	}
}
