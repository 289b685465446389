package stiff

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// endValue is one row of the reference files.
type endValue struct {
	problem         string
	time            float64
	component       int
	want, tolerance float64
}

// endValues reads the rows of a file whose names start with the problem's.
func endValues(t *testing.T, path, problem string) (rows []endValue) {
	t.Helper()
	file, err := os.Open(path)
	must(t, err)
	defer func() { must(t, file.Close()) }()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	records, err := reader.ReadAll()
	must(t, err)
	number := func(text string) float64 {
		x, err := strconv.ParseFloat(text, 64)
		must(t, err)
		return x
	}
	for _, record := range records[1:] {
		name, component, found := strings.Cut(record[0], ".y")
		if found && name == problem {
			rows = append(rows, endValue{
				name, number(strings.TrimPrefix(record[1], "t=")),
				int(number(component)) - 1, number(record[3]), number(record[4]),
			})
		}
	}
	return rows
}

// Published and recomputed end values. The tolerance of a row is the larger of
// its printed digits and factor times the requested relative accuracy, factor
// allowing for what errors grow to along the way: 2 where they die out, 10 for the
// Oregonator, where an error shifts the time of the next jump.
func TestEndValues(t *testing.T) {
	const published, recomputed = "../../../testdata/published/stiff.csv", "../../../testdata/recomputed/stiff.csv"
	cases := []struct {
		name, path string
		make       func() *problem
		absTol     []float64 // at unit relative tolerance
		factor     float64
	}{
		{"rober", published, robertson, []float64{1e-9, 1e-15, 1}, 2},
		{"rober", recomputed, robertson, []float64{1e-9, 1e-15, 1}, 2},
		{"vdpol", published, func() *problem { return vanDerPol(1e6, 1e6) }, []float64{1, 1}, 2},
		{"vdpolmu", published, func() *problem { return vanDerPol(1e3, 1) }, []float64{1, 1e-3}, 2},
		{"orego", published, oregonator, []float64{1, 1e-3, 1e-3}, 10},
	}
	for _, c := range cases {
		for _, relTol := range []float64{1e-5, 1e-8, 1e-10} {
			worst := 0.0
			rows := endValues(t, c.path, c.name)
			if len(rows) == 0 {
				t.Fatalf("%s has no row of %s", c.path, c.name)
			}
			absTol := make([]float64, len(c.absTol))
			for i := range absTol {
				absTol[i] = c.absTol[i] * relTol
			}
			for _, row := range rows {
				if row.component > 0 {
					continue // one run serves all components
				}
				s := c.make().solver(t, Options{RelTol: relTol, AbsTol: absTol})
				run(t, s, row.time)
				for _, r := range rows {
					if r.time != row.time {
						continue
					}
					got := s.State()[r.component]
					off := math.Abs(got - r.want)
					worst = math.Max(worst, off/math.Abs(r.want)/relTol)
					if !(off <= math.Max(r.tolerance, c.factor*relTol*math.Abs(r.want))) {
						t.Errorf("%s y%d at t = %g, relative tolerance %g: got %.12g, want %.12g", c.name, r.component+1, r.time, relTol, got, r.want)
					}
				}
			}
			t.Logf("%-8s relative tolerance %g: largest error %.3g tolerances", c.name, relTol, worst)
		}
	}
}
