package rise_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

// BenchmarkInterpret gives the time for a record of leak and vapour as a
// multiple of one math.Exp per sample ("exp/sample"), measured in the same run.
func BenchmarkInterpret(b *testing.B) {
	for _, c := range []struct {
		name string
		rows int
		n    noise
	}{{"900 white", 900, noises[0]}, {"900 lag-1", 900, noises[1]}, {"4000 white", 4000, noises[0]}, {"1e6 white", 1_000_000, noises[0]}} {
		b.Run(c.name, func(b *testing.B) {
			log := made(c.rows, 900/float64(c.rows), 0.2, func(t float64) float64 {
				return 40 + 0.02*t + 60*(1-math.Exp(-t/90))
			})
			if c.n.name == "lag-1" {
				r := rand.New(rand.NewPCG(1, 1))
				e := 0.0
				for i := range log.Pressures {
					e = 0.6*e + 0.2*r.NormFloat64()
					log.Pressures[i] += units.Pressure(e)
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := rise.Interpret(log, site); err != nil {
					b.Fatal(err)
				}
			}
			perSample := b.Elapsed().Seconds() / float64(b.N) / float64(c.rows)
			b.ReportMetric(perSample/expSeconds(), "exp/sample")
		})
	}
}

// expSeconds times one math.Exp, the best of several passes.
func expSeconds() float64 {
	const calls = 100_000
	best := math.Inf(1)
	sink := 0.0
	for range 20 {
		start := time.Now()
		for i := range calls {
			sink += math.Exp(-float64(i) * 1e-5)
		}
		best = min(best, time.Since(start).Seconds()/calls)
	}
	if sink < 0 {
		panic("unreachable")
	}
	return best
}
