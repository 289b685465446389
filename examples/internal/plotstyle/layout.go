package plotstyle

import (
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// layout is where everything goes, in points from the lower left corner.
type layout struct {
	box      vg.Rectangle // the axes
	dataEnd  vg.Length    // right end of the data; line labels lie between it and the box's
	title    []string
	titleTop vg.Length
	axisRow  vg.Length // middle of the row with the axis labels
	xlo, xhi float64
	ylo, yhi float64
	logY     bool
	inside   map[int]bool // layers that hold their own names

	xTicks, yTicks, secondTicks []plot.Tick
	strip                       []stripLabel
}

// stripLabel is a stage or event label over the box.
type stripLabel struct {
	text   string
	at     float64   // x of the stage's middle
	centre vg.Length // of the text
	half   vg.Length // half its width, with a little room
	row    int       // 0 is next to the box
}

func (l *layout) x(v float64) vg.Length {
	return l.box.Min.X + (l.dataEnd-l.box.Min.X)*vg.Length((v-l.xlo)/(l.xhi-l.xlo))
}

func (l *layout) y(v float64) vg.Length {
	share := (v - l.ylo) / (l.yhi - l.ylo)
	if l.logY {
		share = math.Log(v/l.ylo) / math.Log(l.yhi/l.ylo)
	}
	return l.box.Min.Y + (l.box.Max.Y-l.box.Min.Y)*vg.Length(share)
}

// layout places the parts from the outside in: text first, the box gets what is
// left. Layers thick enough to hold their names need no room beside the box,
// which is known only once there is a box, hence the second pass.
func (f Figure) layout() *layout {
	l := f.place(nil)
	if len(f.Areas) == 0 {
		return l
	}
	return f.place(f.insideNames(l))
}

// place makes the layout for layers of which some, by index, are named inside.
func (f Figure) place(inside map[int]bool) *layout {
	l := &layout{logY: f.LogY, inside: inside}
	l.xlo, l.xhi = f.xRange()
	l.ylo, l.yhi = f.yRange()
	l.yTicks = f.yTicker(1).Ticks(l.ylo, l.yhi)
	tick := text(textSize, ink)
	left := margin + widest(tick, l.yTicks) + 7
	right := margin
	if f.Second != nil {
		l.secondTicks = f.yTicker(f.Second.Unit).Ticks(l.ylo, l.yhi)
		right += widest(tick, l.secondTicks) + 7
	}
	l.box.Min.X, l.box.Max.X = left, width-right
	l.dataEnd = l.box.Max.X
	if w := f.widestName(inside); w > 0 {
		l.dataEnd -= leader + w + 8
	}
	want := math.Max(3, float64((l.dataEnd-left)/(52*vg.Points(1))))
	l.xTicks = steps{unit: 1, want: want, last: l.xhi}.Ticks(l.xlo, l.xhi)
	if n := len(l.xTicks); n > 0 {
		over := l.x(l.xTicks[n-1].Value) + tick.Width(l.xTicks[n-1].Label)/2 - (width - 4)
		if over > 0 {
			l.dataEnd -= over
			l.box.Max.X = min(l.box.Max.X, width-right-over)
		}
	}
	l.box.Min.Y = margin + 2*textSize + 14
	l.title = wrap(bold(titleSize, ink), f.Title, width-2*margin)
	l.titleTop = height - margin
	l.axisRow = l.titleTop - vg.Length(len(l.title))*(titleSize+3) - 9
	l.strip = f.stripLabels(l)
	rows := 0
	for _, s := range l.strip {
		rows = max(rows, s.row+1)
	}
	l.box.Max.Y = l.axisRow - textSize/2 - 4 - vg.Length(rows)*rowHeight
	return l
}

func (f Figure) yTicker(unit float64) plot.Ticker {
	if f.LogY {
		return decades{unit}
	}
	return steps{unit: unit, want: 8, last: math.Inf(1)}
}

// widestName is the width of the longest name that stands beside the box.
func (f Figure) widestName(inside map[int]bool) vg.Length {
	var w vg.Length
	style := text(smallSize, ink)
	for _, s := range f.Series {
		if s.Name != "" {
			w = max(w, style.Width(s.Name))
		}
	}
	for k, a := range f.Areas {
		if a.Name != "" && !inside[k] {
			w = max(w, style.Width(a.Name))
		}
	}
	return w
}

// stripLabels puts stage and event labels over their places, in as many rows as
// keep them apart.
func (f Figure) stripLabels(l *layout) []stripLabel {
	var labels []stripLabel
	for _, b := range f.Bands {
		labels = append(labels, stripLabel{text: b.Label, at: (b.From + b.To) / 2})
	}
	for _, m := range f.Marks {
		labels = append(labels, stripLabel{text: m.Label, at: m.X})
	}
	style := text(smallSize, ink)
	var kept []stripLabel
	for _, s := range labels {
		if s.text == "" {
			continue
		}
		s.half = style.Width(s.text)/2 + 3
		s.centre = max(l.box.Min.X+s.half, min(l.x(s.at), width-margin-s.half))
		for !free(s, kept) {
			s.row++
		}
		kept = append(kept, s)
	}
	for i := range kept {
		kept[i].centre = dodge(l, i, kept)
	}
	return kept
}

// free reports whether a label overlaps none of the others in its row.
func free(s stripLabel, others []stripLabel) bool {
	for _, o := range others {
		if o.row == s.row && s.centre-s.half < o.centre+o.half && o.centre-o.half < s.centre+s.half {
			return false
		}
	}
	return true
}

// dodge moves a label aside, by at most its own half width, when the line that
// leads down from a label in a higher row would run through it.
func dodge(l *layout, i int, all []stripLabel) vg.Length {
	s := all[i]
	others := append(append([]stripLabel{}, all[:i]...), all[i+1:]...)
	for _, o := range others {
		x := l.x(o.at)
		if o.row <= s.row || x < s.centre-s.half || x > s.centre+s.half {
			continue
		}
		for _, centre := range []vg.Length{x - s.half, x + s.half} {
			moved := s
			moved.centre = centre
			if math.Abs(float64(centre-s.centre)) <= float64(s.half) && centre-s.half >= l.box.Min.X-3 &&
				centre+s.half <= width && free(moved, others) {
				return centre
			}
		}
	}
	return s.centre
}

// widest is the width of the longest tick label.
func widest(style draw.TextStyle, ticks []plot.Tick) vg.Length {
	var w vg.Length
	for _, t := range ticks {
		w = max(w, style.Width(t.Label))
	}
	return w
}

// wrap breaks a title into lines that fit.
func wrap(style draw.TextStyle, title string, room vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(title) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && style.Width(longer) > room {
			lines, longer = append(lines, line), word
		}
		line = longer
	}
	return append(lines, line)
}
