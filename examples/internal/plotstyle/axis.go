package plotstyle

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
)

// xRange spans all points, bands and marks.
func (f Figure) xRange() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(x float64) { lo, hi = math.Min(lo, x), math.Max(hi, x) }
	for _, all := range [][]Series{f.Series, f.Areas} {
		for _, s := range all {
			take(s.X[0])
			take(s.X[len(s.X)-1])
		}
	}
	for _, b := range f.Bands {
		take(b.From)
		take(b.To)
	}
	for _, m := range f.Marks {
		take(m.X)
	}
	if lo == hi {
		lo, hi = lo-0.5, hi+0.5
	}
	return lo, hi
}

// yRange spans all values and levels with some room, whole decades being kept
// when they are near; YMin and YMax overrule it. It is NaN when nothing has a
// value.
func (f Figure) yRange() (lo, hi float64) {
	lo, hi = f.valueRange()
	if f.LogY {
		room := math.Max(math.Pow(hi/lo, 0.04), 1.05)
		lo, hi = lo/room, hi*room
	} else {
		if lo > 0 && lo < 0.3*hi || len(f.Areas) > 0 {
			lo = 0
		}
		room := 0.04 * (hi - lo)
		if room < 1e-9*math.Abs(hi) || room == 0 {
			room = math.Max(0.05*math.Abs(hi), 1e-300)
			lo -= room
		}
		hi += room
		if lo < 0 {
			lo -= room
		}
	}
	if f.YMin != 0 {
		lo = f.YMin
	}
	if f.YMax != 0 {
		hi = f.YMax
	}
	return lo, hi
}

// valueRange is the range of all values and levels.
func (f Figure) valueRange() (lo, hi float64) {
	lo, hi = math.NaN(), math.NaN()
	take := func(y float64) {
		if !math.IsNaN(y) && !(lo <= y) {
			lo = y
		}
		if !math.IsNaN(y) && !(hi >= y) {
			hi = y
		}
	}
	for _, s := range f.Series {
		for _, values := range [][]float64{s.Y, s.Low, s.High} {
			for _, y := range values {
				take(y)
			}
		}
	}
	for _, edge := range f.stack() {
		for _, y := range edge {
			take(y)
		}
	}
	for _, l := range f.Levels {
		take(l.Y)
	}
	return lo, hi
}

// stack returns the edges of the layers from below: len(Areas)+1 of them, or
// none without areas.
func (f Figure) stack() [][]float64 {
	if len(f.Areas) == 0 {
		return nil
	}
	edges := make([][]float64, len(f.Areas)+1)
	edges[0] = make([]float64, len(f.Areas[0].X))
	for k, a := range f.Areas {
		edges[k+1] = make([]float64, len(a.Y))
		for i, y := range a.Y {
			edges[k+1][i] = edges[k][i] + y
		}
	}
	return edges
}

// decades is a ticker for a logarithmic axis: one label per decade, thinned when
// there are more than nine, and labels at 2 and 5 as well when there are fewer
// than two decades, at all digits when there is less than one. Unit turns axis values into labels.
type decades struct{ unit float64 }

func (d decades) Ticks(lo, hi float64) []plot.Tick {
	var ticks []plot.Tick
	from, to := int(math.Floor(math.Log10(lo/d.unit))), int(math.Ceil(math.Log10(hi/d.unit)))
	span := math.Log10(hi / lo)
	every := int(math.Ceil(span / 9))
	for e := from; e <= to; e++ {
		for m := 1; m <= 9; m++ {
			// Parsed, not multiplied up: the label is exactly what it says.
			value, err := strconv.ParseFloat(strconv.Itoa(m)+"e"+strconv.Itoa(e), 64)
			at := value * d.unit
			if err != nil || at < lo*(1-1e-9) || at > hi*(1+1e-9) {
				continue
			}
			label := ""
			if m == 1 && e%max(every, 1) == 0 || span < 2 && (m == 2 || m == 5) || span < 1 {
				label = number(value)
			}
			ticks = append(ticks, plot.Tick{Value: at, Label: label})
		}
	}
	return ticks
}

// steps is a ticker for a linear axis: about want labels at 1, 2 or 5 times a
// power of ten, none beyond last.
type steps struct {
	unit float64
	want float64
	last float64
}

func (s steps) Ticks(lo, hi float64) []plot.Tick {
	if hi > s.last {
		hi = s.last
	}
	span := (hi - lo) / s.unit
	if !(span > 0) {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10(span/s.want)))
	for _, m := range []float64{1, 2, 5, 10} {
		if span/(step*m) <= s.want {
			step *= m
			break
		}
	}
	var ticks []plot.Tick
	if math.Max(math.Abs(lo), math.Abs(hi))/s.unit/step > 1e12 {
		return nil // the ticks would be closer than numbers are
	}
	first := math.Ceil(lo/s.unit/step-1e-9) + 0 // -0 + 0 is 0
	for k := first; k*step*s.unit <= hi+1e-9*(hi-lo); k++ {
		value := k * step
		ticks = append(ticks, plot.Tick{Value: value * s.unit, Label: rounded(value, step)})
	}
	return ticks
}

// rounded prints v to the digits that a step needs.
func rounded(v, step float64) string {
	digits := int(math.Max(0, -math.Floor(math.Log10(step)+1e-9)))
	if digits > 6 || math.Abs(v) >= 1e7 {
		return power(v)
	}
	return grouped(strconv.FormatFloat(v, 'f', digits, 64))
}

// number prints v in short, plainly from 0.001 to 1 000 000.
func number(v float64) string {
	if v != 0 && (math.Abs(v) < 1e-3 || math.Abs(v) > 1e6) {
		return power(v)
	}
	return grouped(strconv.FormatFloat(v, 'f', -1, 64))
}

// power prints v as 5e-7, to four digits. The font of the figures has no
// superscript minus.
func power(v float64) string {
	if v == 0 {
		return "0"
	}
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', 3, 64), "e")
	mantissa = strings.TrimRight(strings.TrimRight(mantissa, "0"), ".")
	e, err := strconv.Atoi(exponent)
	if err != nil { // not a finite number
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return mantissa + "e" + strconv.Itoa(e)
}

// grouped puts a space before each group of three digits of five or more.
func grouped(s string) string {
	whole, rest, point := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	if len(whole) > 4 {
		for i := len(whole) - 3; i > 0; i -= 3 {
			whole = whole[:i] + " " + whole[i:]
		}
	}
	if point {
		whole += "." + rest
	}
	return sign + whole
}
