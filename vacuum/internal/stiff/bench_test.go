package stiff

import (
	"fmt"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
)

// One step of a chain network, with its eight evaluations of the rates.
func BenchmarkStep(b *testing.B) {
	for _, nodes := range []int{4, 49, 499} {
		w := newNetwork(b, nodes, 4)
		s := w.solver(b, 1e-6)
		n := len(w.start)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if s.Time() > 100 {
					if err := s.Reset(0, w.start); err != nil {
						b.Fatal(err)
					}
				}
				if err := s.Step(); err != nil {
					b.Fatal(err)
				}
			}
			perStep := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			b.ReportMetric(perStep/float64(n), "ns/step/variable")
			b.ReportMetric(1e9/perStep, "steps/s")
		})
	}
}

// The linear algebra of one step, one factorisation and eight solutions, against
// the same by gonum's dense LU in the same run.
func BenchmarkLinearAlgebra(b *testing.B) {
	for _, nodes := range []int{4, 49} {
		w := newNetwork(b, nodes, 4)
		n := len(w.start)
		values, x := make([]float64, w.pattern.Len()), make([]float64, n)
		w.Jacobian(0, w.start, nil, values)
		lu := Analyse(w.pattern)
		full := dense(w.pattern, values, 1)
		right, solution := mat.NewVecDense(n, everywhere(n, 1)), mat.NewVecDense(n, nil)

		sparseStep := func() {
			if _, ok := lu.Factor(values, 1); !ok {
				b.Fatal("pivot lost")
			}
			for range stages {
				lu.Solve(w.start, x)
			}
		}
		var dense mat.LU
		denseStep := func() {
			dense.Factorize(full)
			for range stages {
				if err := dense.SolveVecTo(solution, false, right); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sparseStep()
			}
			sparseTime := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			const repeats = 2000
			start := time.Now()
			for range repeats {
				denseStep()
			}
			denseTime := float64(time.Since(start).Nanoseconds()) / repeats
			b.ReportMetric(sparseTime/denseTime, "dense/op")
		})
	}
}

// The symbolic analysis, once per network.
func BenchmarkAnalyse(b *testing.B) {
	for _, nodes := range []int{50, 1000, 10000} {
		rows, _ := networkRows(nodes, 5)
		p, err := NewPattern(rows)
		must(b, err)
		b.Run(fmt.Sprintf("n=%d", p.Size()), func(b *testing.B) {
			for b.Loop() {
				Analyse(p)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(p.Size()), "ns/variable")
		})
	}
}
