package plotstyle

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// svgParts is what a test may know about an SVG: not coordinates, which differ
// between processors in their last digits.
type svgParts struct {
	role, title, desc string
	paths             int
	texts             []string
	strokes           map[string]int
}

func parse(t *testing.T, doc []byte) svgParts {
	t.Helper()
	parts := svgParts{strokes: map[string]int{}}
	d := xml.NewDecoder(bytes.NewReader(doc))
	var in string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return parts
		}
		require.NoError(t, err, "the SVG is well formed")
		switch e := token.(type) {
		case xml.StartElement:
			in = e.Name.Local
			for _, a := range e.Attr {
				if in == "svg" && a.Name.Local == "role" {
					parts.role = a.Value
				}
				if in == "path" && a.Name.Local == "style" {
					for _, item := range strings.Split(a.Value, ";") {
						if c, ok := strings.CutPrefix(item, "stroke:"); ok {
							parts.strokes[strings.ToUpper(c)]++
						}
					}
				}
			}
			if in == "path" {
				parts.paths++
			}
		case xml.EndElement:
			in = ""
		case xml.CharData:
			switch in {
			case "title":
				parts.title += string(e)
			case "desc":
				parts.desc += string(e)
			case "text":
				parts.texts = append(parts.texts, string(e))
			}
		}
	}
}

func svgOf(t *testing.T, f Figure) svgParts {
	t.Helper()
	doc, err := f.SVG()
	require.NoError(t, err)
	return parse(t, doc)
}

func TestPullDownSVG(t *testing.T) {
	f := pullDown()
	s := svgOf(t, f)
	assert.Equal(t, "img", s.role)
	assert.Equal(t, f.Title, s.title)
	assert.Equal(t, f.Desc, s.desc)
	assert.Subset(t, s.texts, []string{
		"Absolute pressure, Pa", "micron", "Time, min", "far end", "at the gauge",
		"pull 1", "break 1", "hold 1", "pull 2", "watch", "ice below this", "target, 500 micron",
		"100", "1000", "10 000", "100 000", "1 000 000", "0", "120",
	})
	// The line and its leader, in the colour of the series.
	assert.Equal(t, 2, s.strokes["#0072B2"])
	assert.Equal(t, 2, s.strokes["#D55E00"])
	assert.Less(t, s.paths, 200, "a tick is a path, a point is not")
	count := map[string]int{}
	for _, text := range s.texts {
		count[text]++
	}
	assert.Equal(t, 2, count["1000"], "each decade once per axis")
}

func TestStoresSVG(t *testing.T) {
	s := svgOf(t, stores())
	assert.Subset(t, s.texts, []string{"in oil", "ice", "liquid", "vapour", "puddle gone", "Water left, g", "0", "6"})
	// Layers that hold their names have no leader: an edge each, and vapour's two.
	assert.Equal(t, 1, s.strokes["#0072B2"])
	assert.Equal(t, 2, s.strokes["#CC79A7"])
}

func TestGapBreaksTheLine(t *testing.T) {
	s := svgOf(t, rise())
	assert.Equal(t, 3, s.strokes["#0072B2"], "two runs and the leader")
	whole := rise()
	for i, y := range whole.Series[0].Y {
		if math.IsNaN(y) {
			whole.Series[0].Y[i] = 100
		}
	}
	assert.Equal(t, 2, svgOf(t, whole).strokes["#0072B2"])
}

// A line that ends before the others is not led on in its own colour: a reader
// would take that for data.
func TestShortLineEndsWhereItsDataEnd(t *testing.T) {
	lines := func(last float64) svgParts {
		return svgOf(t, Figure{
			Title: "t", Desc: "d", XLabel: "x", YLabel: "y",
			Series: []Series{{Name: "short", X: []float64{0, last}, Y: []float64{1, 2}}, {Name: "long", X: []float64{0, 10}, Y: []float64{3, 4}}},
		})
	}
	whole, short := lines(10), lines(4)
	hex := fmt.Sprintf("#%02X%02X%02X", grey.R, grey.G, grey.B)
	assert.Equal(t, whole.strokes[hex]+1, short.strokes[hex])
	assert.Equal(t, whole.strokes["#0072B2"], short.strokes["#0072B2"], "the line and what leads to its name")
	assert.Equal(t, whole.paths+2, short.paths, "a dot and the grey line")
}

func TestEveryLineLooksDifferent(t *testing.T) {
	seen := map[string]bool{}
	for i := range len(okabeIto) * len(dashes) {
		style := lineStyle(i)
		r, g, b, _ := style.Color.RGBA()
		key := strconv.Itoa(int(r)) + "/" + strconv.Itoa(int(g)) + "/" + strconv.Itoa(int(b))
		for _, d := range style.Dashes {
			key += "-" + strconv.FormatFloat(float64(d), 'g', -1, 64)
		}
		assert.False(t, seen[key], "line %d", i)
		seen[key] = true
	}
	// In grey, the dash alone tells neighbours apart.
	for i := 1; i < len(dashes); i++ {
		assert.NotEqual(t, dashes[i-1], dashes[i])
	}
}

func TestSaveWritesFourFiles(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	files, err := pullDown().Save(dir, "pressure")
	require.NoError(t, err)
	for _, path := range []string{files.SVG, files.PNG, files.CSV, files.Text} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Positive(t, info.Size(), path)
		assert.Equal(t, dir, filepath.Dir(path))
	}
	image, err := os.Open(files.PNG)
	require.NoError(t, err)
	defer func() { require.NoError(t, image.Close()) }()
	config, err := png.DecodeConfig(image)
	require.NoError(t, err)
	assert.Equal(t, 1344, config.Width, "7 in at 192 dpi")
	assert.InDelta(t, 806.4, config.Height, 1)

	require.NoError(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o600))
	_, err = pullDown().Save(filepath.Join(dir, "file"), "x")
	require.Error(t, err, "a file where the folder should be")
}

func TestCSVHoldsWhatWasDrawn(t *testing.T) {
	f := rise()
	data, err := f.CSV()
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"kind", "name", "Time since isolation, min", "Absolute pressure, Pa", "low", "high"}, rows[0])
	require.Len(t, rows, 1+31+1)
	for i, y := range f.Series[0].Y {
		row := rows[i+1]
		assert.Equal(t, "series", row[0])
		if math.IsNaN(y) {
			assert.Empty(t, row[3])
			continue
		}
		got, err := strconv.ParseFloat(row[3], 64)
		require.NoError(t, err)
		assert.Equal(t, y, got, "full precision")
	}
	assert.Equal(t, []string{"level", "1000 micron", "", "133.322", "", ""}, rows[32])
	data, err = stores().CSV()
	require.NoError(t, err)
	assert.Equal(t, 4*121, strings.Count(string(data), "\narea,"))
	assert.Equal(t, 6, strings.Count(string(data), "\nstage,"))
	assert.Contains(t, string(data), "\nevent,puddle gone,85,")
}

func TestTextAlternative(t *testing.T) {
	words := stores().Text()
	for _, part := range []string{
		"Water left by store", "Stacked areas", "x axis: Time, min, from 0 to 120.", "y axis: Water left, g, linear.",
		`Layer "in oil": starts with 1.1 at 0, ends with 0.494 at 120`, `Stage "break": from 40 to 45.`,
		`Event "puddle gone": at 85.`,
	} {
		assert.Contains(t, words, part)
	}
	assert.Contains(t, pullDown().Text(), `Level "target, 500 micron": at 66.7.`)
	assert.Equal(t, "no values.", Series{X: []float64{1}, Y: []float64{math.NaN()}}.words())
}

func TestRefusesWhatCannotBeDrawn(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	change := func(base func() Figure, f func(*Figure)) error {
		figure := base()
		f(&figure)
		_, err := figure.Save(t.TempDir(), "x")
		return err
	}
	cases := map[string]error{
		"no title":      change(pullDown, func(f *Figure) { f.Title = "" }),
		"no desc":       change(pullDown, func(f *Figure) { f.Desc = "" }),
		"no y label":    change(pullDown, func(f *Figure) { f.YLabel = "" }),
		"nothing":       change(pullDown, func(f *Figure) { f.Series = nil }),
		"zero on log":   change(pullDown, func(f *Figure) { f.Series[0].Y[7] = 0 }),
		"infinite":      change(rise, func(f *Figure) { f.Series[0].Y[7] = inf }),
		"x falls":       change(rise, func(f *Figure) { f.Series[0].X[7] = 0 }),
		"x NaN":         change(rise, func(f *Figure) { f.Series[0].X[7] = nan }),
		"lengths":       change(rise, func(f *Figure) { f.Series[0].Y = f.Series[0].Y[:5] }),
		"range lengths": change(rise, func(f *Figure) { f.Series[0].High = nil }),
		"negative area": change(stores, func(f *Figure) { f.Areas[0].Y[3] = -1 }),
		"area gap":      change(stores, func(f *Figure) { f.Areas[0].Y[3] = nan }),
		"area x":        change(stores, func(f *Figure) { f.Areas[1].X = append([]float64{-1}, f.Areas[1].X[1:]...) }),
		"area log":      change(stores, func(f *Figure) { f.LogY = true }),
		"area length":   change(stores, func(f *Figure) { f.Areas[1].X, f.Areas[1].Y = f.Areas[1].X[:9], f.Areas[1].Y[:9] }),
		"second axis":   change(rise, func(f *Figure) { f.Second = &Scale{"micron", 0} }),
		"level":         change(pullDown, func(f *Figure) { f.Levels[0].Y = 0 }),
		"band":          change(pullDown, func(f *Figure) { f.Bands[0].From = 99 }),
		"mark":          change(stores, func(f *Figure) { f.Marks[0].X = nan }),
		"all gaps":      change(rise, func(f *Figure) { f.Series[0] = Series{X: []float64{1}, Y: []float64{nan}}; f.Levels = nil }),
		"axis":          change(rise, func(f *Figure) { f.YMin, f.YMax = 5, 4 }),
		"no glyph":      change(rise, func(f *Figure) { f.XLabel = "Time, 10⁻³ s" }),
		"no room":       change(rise, func(f *Figure) { f.Series[0].Name = strings.Repeat("long ", 30) }),
	}
	for name, err := range cases {
		require.ErrorIs(t, err, ErrFigure, name)
	}
}

// Values that do not vary, or only by round-off, get an axis all the same.
func TestFlatLines(t *testing.T) {
	for _, y := range [][]float64{{5, 5}, {0, 0}, {1e5, math.Nextafter(1e5, 2e5)}, {-3, -3}} {
		f := rise()
		f.Series, f.Levels = []Series{{Name: "flat", X: []float64{0, 1}, Y: y}}, nil
		lo, hi := f.yRange()
		assert.Less(t, lo, y[0])
		assert.Greater(t, hi, y[1])
		assert.Contains(t, svgOf(t, f).texts, "flat")
	}
}

func labels(ticks []plot.Tick) string {
	var all []string
	for _, t := range ticks {
		if t.Label != "" {
			all = append(all, t.Label)
		}
	}
	return strings.Join(all, "|")
}

func TestTicks(t *testing.T) {
	assert.Equal(t, "100|1000|10 000|100 000", labels(decades{1}.Ticks(50, 1.3e5)))
	assert.Equal(t, "1000|10 000|100 000", labels(decades{101325.0 / 760000}.Ticks(100, 1e5)))
	assert.Equal(t, "50|100|200|500", labels(decades{1}.Ticks(40, 600)))
	assert.Equal(t, "3e-7|4e-7|5e-7", labels(decades{1}.Ticks(2.9e-7, 5.1e-7)))
	assert.Equal(t, "1e-6|1e-4|0.01|1|100|10 000|1 000 000", labels(decades{1}.Ticks(1e-6, 1e6)))
	assert.Equal(t, "0|20|40|60|80|100|120", labels(steps{1, 8, 120}.Ticks(0, 130)))
	assert.Equal(t, "0.0|0.5|1.0|1.5", labels(steps{1, 5, 1.5}.Ticks(0, 2)))
	assert.Equal(t, "0|200|400|600|800|1000", labels(steps{101325.0 / 760000, 8, 1e9}.Ticks(0, 140)))
	assert.Equal(t, "-10|-5|0|5", labels(steps{1, 4, 9}.Ticks(-10, 9)))
	assert.Empty(t, labels(steps{1, 4, 0}.Ticks(1, 9)))
	assert.Empty(t, labels(steps{1, 4, 2}.Ticks(1, math.Nextafter(1, 2))))
}

// Ticks lie within the axis and rise, for any range a figure may have.
func TestTicksStayInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := math.Exp(rapid.Float64Range(-20, 20).Draw(t, "ln lo"))
		hi := lo * math.Exp(rapid.Float64Range(0.1, 25).Draw(t, "ln hi/lo"))
		for _, ticks := range [][]plot.Tick{decades{0.13}.Ticks(lo, hi), steps{0.13, 7, hi}.Ticks(lo, hi)} {
			for i, tick := range ticks {
				assert.GreaterOrEqual(t, tick.Value, lo-1e-6*(hi-lo))
				assert.LessOrEqual(t, tick.Value, hi+1e-6*(hi-lo))
				assert.True(t, i == 0 || tick.Value > ticks[i-1].Value)
			}
			assert.LessOrEqual(t, strings.Count(labels(ticks), "|"), 10)
		}
	})
}

// Name labels never overlap when they fit at all, and keep the order of their
// lines.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "n")
		var all []*nameLabel
		for range n {
			y := vg.Length(rapid.Float64Range(0, 200).Draw(t, "y"))
			all = append(all, &nameLabel{from: vg.Point{Y: y}, y: y})
		}
		spread(all, 10, 0, 200)
		assert.True(t, sort.SliceIsSorted(all, func(i, j int) bool { return all[i].from.Y < all[j].from.Y }))
		for i, l := range all {
			assert.GreaterOrEqual(t, float64(l.y), -1e-9)
			assert.LessOrEqual(t, float64(l.y), 200+1e-9)
			if i > 0 {
				assert.GreaterOrEqual(t, float64(l.y-all[i-1].y), 10-1e-9)
			}
		}
	})
}

// Thinning a long record keeps its ends, its extremes and its gaps.
func TestThinKeepsExtremes(t *testing.T) {
	f := Figure{Title: "long", Desc: "long", XLabel: "x", YLabel: "y"}
	var x, y []float64
	for i := range 100000 {
		x, y = append(x, float64(i)), append(y, math.Sin(float64(i)/3000))
	}
	y[50001], y[70002], y[30003] = 9, -9, math.NaN()
	f.Series = []Series{{X: x, Y: y}}
	p := painter{f: f, l: f.layout()}
	keep := p.thin(x, y)
	assert.Less(t, len(keep), 5000)
	assert.Subset(t, keep, []int{0, 50001, 70002, 30003, 99999})
	assert.True(t, sort.IntsAreSorted(keep))
}

// Dots leave no line between them: far fewer strokes of their colour than the
// same values joined.
func TestDots(t *testing.T) {
	f := Figure{
		Title: "t", Desc: "d", XLabel: "x", YLabel: "y",
		Series: []Series{{Name: "a", X: []float64{0, 1, 2, 3}, Y: []float64{0, 10, 0, 10}, Dots: true}},
	}
	dots, err := f.SVG()
	require.NoError(t, err)
	f.Series[0].Dots = false
	line, err := f.SVG()
	require.NoError(t, err)
	require.NotEqual(t, dots, line)
	blue := []byte("fill:#0072B2")
	require.Equal(t, 4, bytes.Count(dots, blue), "one dot for each value")
	require.Zero(t, bytes.Count(line, blue))
}
