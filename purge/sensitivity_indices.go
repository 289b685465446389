package purge

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"
)

// Estimate is a number with the ends of its 95 % bootstrap interval.
type Estimate struct{ Value, Low, High float64 }

// Index is how much of the variance of an answer comes from one input.
type Index struct {
	// Input is its name.
	Input string
	// First is the share that the input explains by itself, Total the share that
	// is gone when all inputs but this are known: its own and that of every
	// combination it takes part in. Both are 0 to 1 in truth; estimates may lie
	// a little outside. Where they differ, inputs act together.
	First, Total Estimate
	// Rank counts from 1 by Total. Inputs share a rank unless a gap between
	// their intervals separates them: the runs do not tell them apart.
	Rank int
}

// Indices are the sensitivity indices of one answer.
type Indices struct {
	// Answer says of what.
	Answer string
	// Mean and Variance of the answer over its distribution.
	Mean, Variance float64
	// Inputs by falling Total. Empty when the answer does not vary, since there
	// is nothing to share out then.
	Inputs []Index
}

// Bootstraps is how many resamples the intervals rest on.
const Bootstraps = 500

// evaluated are the answers to a Saltelli design: at rows of A, of B, and of A
// with column i taken from B, one slice per input.
type evaluated struct {
	a, b []float64
	ab   [][]float64
}

// saltelli evaluates a model with k inputs at n(k+2) points: two independent
// designs A and B of n rows, and A with one column after the other taken from
// B (A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, section 3). The
// model returns one number per answer, m of them; rows of which any point has
// none (nil) are left out and counted.
func saltelli(ctx context.Context, n, k, m int, stream uint64, workers int, progress func(done, of int), model func(ctx context.Context, u []float64) ([]float64, error)) (out []evaluated, leftOut int, err error) {
	both := design(n, 2*k, stream, Independent)
	points := make([][]float64, n*(k+2))
	err = parallel(ctx, len(points), workers, progress, func(ctx context.Context, at int) error {
		row, which := at/(k+2), at%(k+2)
		u := slices.Clone(both[row][:k])
		switch {
		case which == 1:
			copy(u, both[row][k:])
		case which > 1:
			u[which-2] = both[row][k+which-2]
		}
		var err error
		points[at], err = model(ctx, u)
		return err
	})
	if err != nil {
		return nil, 0, err
	}
	out = make([]evaluated, m)
	for o := range out {
		out[o].ab = make([][]float64, k)
	}
	for row := range n {
		here := points[row*(k+2) : (row+1)*(k+2)]
		if slices.ContainsFunc(here, func(y []float64) bool { return y == nil }) {
			leftOut++
			continue
		}
		for o := range out {
			out[o].a = append(out[o].a, here[0][o])
			out[o].b = append(out[o].b, here[1][o])
			for i := range k {
				out[o].ab[i] = append(out[o].ab[i], here[2+i][o])
			}
		}
	}
	return out, leftOut, nil
}

// shares are the indices of input i over the chosen rows: of first order by
// Saltelli 2010, table 2 (b), with the mean taken off B, which changes nothing
// but the scatter; total by M. Jansen, Comput. Phys. Commun. 117 (1999) 35,
// table 2 (f).
func (e *evaluated) shares(i int, rows []int, mean, variance float64) (first, total float64) {
	for _, r := range rows {
		d := e.ab[i][r] - e.a[r]
		first += (e.b[r] - mean) * d
		total += d * d / 2
	}
	n := float64(len(rows)) * variance
	return first / n, total / n
}

// moments are mean and variance over A and B together.
func (e *evaluated) moments(rows []int) (mean, variance float64) {
	y := make([]float64, 0, 2*len(rows))
	for _, r := range rows {
		y = append(y, e.a[r], e.b[r])
	}
	return stat.PopMeanVariance(y, nil)
}

// indices works out the indices with bootstrap intervals over rows (G. Archer,
// A. Saltelli and I. Sobol, J. Stat. Comput. Simul. 58 (1997) 99).
func (e *evaluated) indices(answer string, names []string, stream uint64) Indices {
	all := make([]int, len(e.a))
	for i := range all {
		all[i] = i
	}
	out := Indices{Answer: answer}
	if len(all) == 0 {
		return out
	}
	out.Mean, out.Variance = e.moments(all)
	// Below this the answers differ by round-off only.
	if !(out.Variance > 1e-18*out.Mean*out.Mean) || out.Variance == 0 {
		return out
	}
	k := len(names)
	first, total := make([][]float64, k), make([][]float64, k)
	draw := rand.New(rand.NewPCG(stream, 1<<32)) // no column of a design
	rows := make([]int, len(all))
	for range Bootstraps {
		for i := range rows {
			rows[i] = draw.IntN(len(all))
		}
		mean, variance := e.moments(rows)
		if !(variance > 0) {
			continue
		}
		for i := range k {
			f, t := e.shares(i, rows, mean, variance)
			first[i], total[i] = append(first[i], f), append(total[i], t)
		}
	}
	for i, name := range names {
		f, t := e.shares(i, all, out.Mean, out.Variance)
		out.Inputs = append(out.Inputs, Index{Input: name, First: interval(f, first[i]), Total: interval(t, total[i])})
	}
	out.rank()
	return out
}

// interval is the central 95 % of the resamples around the estimate.
func interval(value float64, resampled []float64) Estimate {
	if len(resampled) == 0 {
		return Estimate{value, math.Inf(-1), math.Inf(1)}
	}
	return Estimate{value, quantile(resampled, 0.025), quantile(resampled, 0.975)}
}

// rank sorts by total index and gives equal ranks where intervals overlap, also
// by way of a third one.
func (x *Indices) rank() {
	in := x.Inputs
	sort.SliceStable(in, func(a, b int) bool { return in[a].Total.Value > in[b].Total.Value })
	rank := 0
	for i := range in {
		// A gap: all intervals before lie above all from here on.
		lowest, highest := math.Inf(1), math.Inf(-1)
		for _, before := range in[:i] {
			lowest = math.Min(lowest, before.Total.Low)
		}
		for _, after := range in[i:] {
			highest = math.Max(highest, after.Total.High)
		}
		if i == 0 || lowest > highest {
			rank = i + 1
		}
		in[i].Rank = rank
	}
}
