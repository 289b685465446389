package purge

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
)

// Sampling is how random numbers are drawn.
type Sampling int

// Ways of drawing. Latin hypercube sampling divides the range of every input
// into as many slices of equal probability as there are runs and draws once
// from each (McKay, Beckman and Conover, Technometrics 21 (1979) 239); means
// and quantiles then scatter less than with independent draws.
const (
	LatinHypercube Sampling = iota
	Independent
)

// design draws runs × k probabilities in (0, 1), one row per run. Every column
// has a random stream of its own, PCG(stream, column), so that the same stream
// gives the same numbers whatever is done with them.
func design(runs, k int, stream uint64, s Sampling) [][]float64 {
	rows := make([][]float64, runs)
	flat := make([]float64, runs*k)
	for i := range rows {
		rows[i] = flat[i*k : (i+1)*k : (i+1)*k]
	}
	for c := range k {
		r := rand.New(rand.NewPCG(stream, uint64(c)))
		var slice []int
		if s == LatinHypercube {
			slice = r.Perm(runs)
		}
		for i := range rows {
			u := inside(r)
			if slice != nil {
				u = (float64(slice[i]) + u) / float64(runs)
			}
			rows[i][c] = u
		}
	}
	return rows
}

// inside is a random number above 0 and below 1: quantile functions are
// infinite at the ends.
func inside(r *rand.Rand) float64 { return (float64(r.Uint64()>>12) + 0.5) / (1 << 52) }

// mapped turns a row of probabilities into values.
func mapped[D Distribution](row []float64, d []D) []float64 {
	x := make([]float64, len(row))
	for i := range row {
		x[i] = d[i].Quantile(row[i])
	}
	return x
}

// parallel calls do for 0 to n-1 on several workers, zero meaning one per
// processor, and tells progress how many are done. It stops early when the
// context ends or do returns an error, and returns that. What do computes may
// depend on its number only, and so the whole does not depend on the workers.
func parallel(ctx context.Context, n, workers int, progress func(done, of int), do func(context.Context, int) error) error {
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var mu sync.Mutex
	next, done := 0, 0
	take := func() int {
		mu.Lock()
		defer mu.Unlock()
		if ctx.Err() != nil || next == n {
			return -1
		}
		next++
		return next - 1
	}
	finished := func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		if progress != nil {
			progress(done, n)
		}
	}
	var wg sync.WaitGroup
	for range min(workers, n) {
		wg.Go(func() {
			for i := take(); i >= 0; i = take() {
				if err := do(ctx, i); err != nil {
					stop(err)
					return
				}
				finished()
			}
		})
	}
	wg.Wait()
	if done < n {
		return context.Cause(ctx)
	}
	return nil
}

// quantile is the smallest of the values that a share of at least level does
// not exceed: the order statistic of rank ⌈level n⌉. Values need not be sorted;
// infinities sort last. There must be a value, and level lies in (0, 1].
func quantile(values []float64, level float64) float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return sortedQuantile(sorted, level)
}

func sortedQuantile(sorted []float64, level float64) float64 {
	// 0.95 × 20 must be 19 and not 20 for a last bit.
	rank := int(math.Ceil(level*float64(len(sorted)) - 1e-9))
	return sorted[min(max(rank, 1), len(sorted))-1]
}
