package purge

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// bandRows reads testdata/recomputed/band.csv by name.
func bandRows(t *testing.T) map[string]row {
	t.Helper()
	f, err := os.Open("../testdata/recomputed/band.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	rows := map[string]row{}
	for _, l := range lines[1:] {
		require.NotEmpty(t, l[5])
		require.Equal(t, "recomputed", l[6])
		rows[l[0]] = row{l[0], l[1], l[2], number(t, l[3]), number(t, l[4]), l[5], l[6]}
	}
	return rows
}

// draws is the number that JCGM 101 uses.
const draws = 1_000_000

// outputs evaluates a model at independent draws, with the design and the
// mapping that bands use.
func outputs(stream uint64, model func(x []float64) float64, d ...Distribution) []float64 {
	y := make([]float64, draws)
	for i, u := range design(draws, len(d), stream, Independent) {
		y[i] = model(mapped(u, d))
	}
	return y
}

// rectangle is a Distribution for tests.
type rectangle struct{ low, high float64 }

func (r rectangle) Quantile(p float64) float64 { return r.low + p*(r.high-r.low) }

func TestPublishedMonteCarloExamples(t *testing.T) {
	want := bandRows(t)
	sum := func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }
	loss := func(x []float64) float64 { return 1e6 * (x[0]*x[0] + x[1]*x[1]) }
	n := distuv.UnitNormal
	r, wide := rectangle{-math.Sqrt(3), math.Sqrt(3)}, rectangle{-10 * math.Sqrt(3), 10 * math.Sqrt(3)}
	seen := 0
	check := func(name string, got float64) {
		seen++
		x, ok := want[name]
		require.True(t, ok, name)
		require.InDelta(t, x.value, got, x.tolerance, "%s (%s)", name, x.source)
	}
	for _, c := range []struct {
		name  string
		model func([]float64) float64
		in    []Distribution
	}{
		{"sum of four normal", sum, []Distribution{n, n, n, n}},
		{"sum of four rectangular", sum, []Distribution{r, r, r, r}},
		{"three narrow and one wide rectangular", sum, []Distribution{r, r, r, wide}},
		{"comparison loss at 0", loss, []Distribution{distuv.Normal{Sigma: 0.005}, distuv.Normal{Sigma: 0.005}}},
		{"comparison loss at 0.010", loss, []Distribution{distuv.Normal{Mu: 0.01, Sigma: 0.005}, distuv.Normal{Sigma: 0.005}}},
		{"comparison loss at 0.050", loss, []Distribution{distuv.Normal{Mu: 0.05, Sigma: 0.005}, distuv.Normal{Sigma: 0.005}}},
	} {
		y := outputs(1, c.model, c.in...)
		mean, deviation := stat.PopMeanStdDev(y, nil)
		check(c.name+" / standard uncertainty", deviation)
		if _, ok := want[c.name+" / mean"]; ok {
			check(c.name+" / mean", mean)
		}
		for _, level := range []float64{0.95, 0.975} {
			if name := fmt.Sprintf("%s / %g %% point", c.name, 100*level); want[name].name != "" {
				check(name, quantile(y, level))
			}
		}
	}
	require.Equal(t, 15, seen, "every row of the guide's examples is computed")
}

// gFunction is the function of Sobol on the unit cube.
func gFunction(a []float64) func(u []float64) float64 {
	return func(u []float64) float64 {
		g := 1.0
		for i := range u {
			g *= (math.Abs(4*u[i]-2) + a[i]) / (1 + a[i])
		}
		return g
	}
}

func TestSobolGFunction(t *testing.T) {
	want := bandRows(t)
	a := []float64{0, 1, 4.5, 9, 99, 99, 99, 99}
	names := []string{"1", "2", "3", "4", "5", "6", "7", "8"}
	g := gFunction(a)
	const n = 4000
	calls := 0
	answers, leftOut, err := saltelli(context.Background(), n, len(a), 1, 3, 1, nil, func(_ context.Context, u []float64) ([]float64, error) {
		calls++
		return []float64{g(u)}, nil
	})
	require.NoError(t, err)
	require.Zero(t, leftOut)
	require.Equal(t, n*(len(a)+2), calls)
	x := answers[0].indices("g", names, 3)
	require.InDelta(t, 1, x.Mean, 0.02)           // exactly 1
	require.InDelta(t, 0.465424, x.Variance, .03) // Π(1 + Vi) - 1

	for i, in := range x.Inputs[:4] {
		require.Equal(t, names[i], in.Input, "by falling total index")
		require.Equal(t, i+1, in.Rank, "4000 rows tell the first four apart")
	}
	for _, in := range x.Inputs {
		first, total := want["g-function / first-order index "+min(in.Input, "5")], want["g-function / total index "+min(in.Input, "5")]
		require.NotEmpty(t, first.name)
		// A 95 % interval misses one in twenty; 1.5 times as wide, one in 300.
		within := func(e Estimate, truth float64) {
			half := (e.High - e.Low) / 2
			require.InDelta(t, truth, e.Value, 1.5*half, "input %s", in.Input)
			require.Less(t, half, 0.12)
		}
		within(in.First, first.value)
		within(in.Total, total.value)
	}
	last := x.Inputs[4:]
	for _, in := range last {
		require.Equal(t, 5, in.Rank, "the last four are equal and stay unranked")
	}
}

// The intervals are honest: over many small studies of a linear model, whose
// indices are known exactly, they hold the truth about as often as they say.
func TestBootstrapIntervalsCover(t *testing.T) {
	weights := []float64{3, 2, 1}
	inside, all := 0, 0
	for stream := range uint64(100) {
		answers, _, err := saltelli(context.Background(), 100, 3, 1, stream, 1, nil, func(_ context.Context, u []float64) ([]float64, error) {
			y := 0.0
			for i := range u {
				y += weights[i] * u[i]
			}
			return []float64{y}, nil
		})
		require.NoError(t, err)
		for _, in := range answers[0].indices("y", []string{"3", "2", "1"}, stream).Inputs {
			truth := map[string]float64{"3": 9. / 14, "2": 4. / 14, "1": 1. / 14}[in.Input]
			for _, e := range []Estimate{in.First, in.Total} {
				all++
				if e.Low <= truth && truth <= e.High {
					inside++
				}
			}
		}
	}
	require.Equal(t, 600, all)
	// 95 % of 600 are 570; the estimates of one study hang together, so four
	// standard deviations of 100 independent studies are allowed for.
	require.InDelta(t, 0.95, float64(inside)/float64(all), 0.06)
}
