package plotstyle

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Size of every figure, and the resolution of its PNG.
const (
	width  = 7 * vg.Inch
	height = 4.2 * vg.Inch
	dpi    = 192
)

// Text sizes and the room around them.
const (
	titleSize = vg.Length(12)
	textSize  = vg.Length(9)
	smallSize = vg.Length(8.5)
	margin    = vg.Length(10)
	rowHeight = vg.Length(11) // a row of stage labels
	leader    = vg.Length(14) // from the end of a line to its label
)

// okabeIto is the palette of M. Okabe and K. Ito, without its yellow, which is
// too light for a line on white.
var okabeIto = [...]color.NRGBA{
	{0x00, 0x72, 0xB2, 0xff},
	{0xD5, 0x5E, 0x00, 0xff},
	{0x00, 0x9E, 0x73, 0xff},
	{0xCC, 0x79, 0xA7, 0xff},
	{0x00, 0x00, 0x00, 0xff},
	{0xE6, 0x9F, 0x00, 0xff},
	{0x56, 0xB4, 0xE9, 0xff},
}

// dashes go with the colours; their numbers of entries differ in step with the
// eight patterns, so no two of the first 56 lines look alike.
var dashes = [...][]vg.Length{
	nil, {7, 2.5}, {2, 2}, {9, 2.5, 2, 2.5}, {4, 2}, {12, 3}, {1, 3}, {6, 2, 1, 2, 1, 2},
}

var (
	ink   = color.NRGBA{0x22, 0x22, 0x22, 0xff}
	grey  = color.NRGBA{0x70, 0x70, 0x70, 0xff}
	faint = color.NRGBA{0xE4, 0xE4, 0xE4, 0xff}
	shade = color.NRGBA{0xF4, 0xF4, 0xF4, 0xff}
)

// lineStyle is the style of the i-th line.
func lineStyle(i int) draw.LineStyle {
	return draw.LineStyle{
		Color: okabeIto[i%len(okabeIto)], Width: vg.Points(1.6), Dashes: dashes[i%len(dashes)],
	}
}

// fill is the i-th colour mixed with white, share of it 0 to 1. Opaque, so that
// it looks the same in both formats.
func fill(i int, share float64) color.NRGBA {
	c := okabeIto[i%len(okabeIto)]
	mix := func(v uint8) uint8 { return uint8(255 - share*float64(255-v) + 0.5) }
	return color.NRGBA{mix(c.R), mix(c.G), mix(c.B), 0xff}
}

// text is the house font at a size.
func text(size vg.Length, c color.Color) draw.TextStyle {
	return draw.TextStyle{
		Color:   c,
		Font:    font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size),
		YAlign:  draw.YCenter,
		Handler: plot.DefaultTextHandler,
	}
}

// missingGlyph finds the first character of s that the house font lacks.
func missingGlyph(s string) (rune, bool) {
	face := font.DefaultCache.Lookup(text(textSize, ink).Font, textSize)
	for _, r := range s {
		if at, err := face.Face.GlyphIndex(nil, r); err != nil || at == 0 {
			return r, true
		}
	}
	return 0, false
}

// bold is the house font in bold.
func bold(size vg.Length, c color.Color) draw.TextStyle {
	t := text(size, c)
	t.Font.Weight = 3 // golang.org/x/image/font.WeightBold
	return t
}
