package vacuum_test

import (
	"math"
	"testing"
	"time"
)

// BenchmarkPathAt prints the cost of one steady state of core, hose and pump
// as a multiple of math.Exp in the same run.
func BenchmarkPathAt(b *testing.B) {
	p := oneHose()
	for b.Loop() {
		if _, err := p.At(67); err != nil {
			b.Fatal(err)
		}
	}
	const n = 1_000_000
	start, sum := time.Now(), 0.0
	for i := range n {
		sum += math.Exp(float64(i) * 1e-7)
	}
	exp := float64(time.Since(start).Nanoseconds()) / n
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/exp, "exp/op")
	if sum == 0 {
		b.Fatal("no sum")
	}
}
