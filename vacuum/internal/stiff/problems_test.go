package stiff

import (
	"math"
	"testing"
)

// must stops the test on an error.
func must(tb testing.TB, err error) {
	tb.Helper()
	if err != nil {
		tb.Fatal(err)
	}
}

// problem is a System made of functions; jacobian may be given row by row.
type problem struct {
	rows     [][]int
	start    []float64
	rates    func(t float64, y, dst []float64)
	jacobian func(t float64, y, values []float64)
	time     func(t float64, y, dst []float64)
}

func (p *problem) Rates(t float64, y, dst []float64)          { p.rates(t, y, dst) }
func (p *problem) Jacobian(t float64, y, _, values []float64) { p.jacobian(t, y, values) }

func (p *problem) TimeDerivative(t float64, y, _, dst []float64) bool {
	if p.time == nil {
		return false
	}
	p.time(t, y, dst)
	return true
}

func (p *problem) pattern(t testing.TB) *Pattern {
	pattern, err := NewPattern(p.rows)
	must(t, err)
	return pattern
}

// solver makes a solver at the start of the problem at t = 0.
func (p *problem) solver(t testing.TB, options Options) *Solver {
	s, err := New(p, p.pattern(t), options)
	must(t, err)
	must(t, s.Reset(0, p.start))
	return s
}

// run steps to tEnd.
func run(t testing.TB, s *Solver, tEnd float64) {
	t.Helper()
	must(t, s.Limit(tEnd))
	for s.Time() < tEnd {
		must(t, s.Step())
	}
}

// everywhere gives n equal values.
func everywhere(n int, value float64) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = value
	}
	return v
}

// The test problems; equations and sources stand in testdata/published/stiff.csv.

func robertson() *problem {
	return &problem{
		rows:  [][]int{{0, 1, 2}, {0, 1, 2}, {1, 2}},
		start: []float64{1, 0, 0},
		rates: func(_ float64, y, dst []float64) {
			a, b, c := 0.04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
			dst[0], dst[1], dst[2] = -a+b, a-b-c, c
		},
		jacobian: func(_ float64, y, v []float64) {
			v[0], v[1], v[2] = -0.04, 1e4*y[2], 1e4*y[1]
			v[3], v[4], v[5] = 0.04, -1e4*y[2]-6e7*y[1], -1e4*y[1]
			v[6], v[7] = 6e7*y[1], 0
		},
	}
}

// vanDerPol with the second rate multiplied by stiffness and the last term by
// back: 1/eps for both, or mu and one.
func vanDerPol(stiffness, back float64) *problem {
	return &problem{
		rows:  [][]int{{1}, {0, 1}},
		start: []float64{2, 0},
		rates: func(_ float64, y, dst []float64) {
			dst[0], dst[1] = y[1], stiffness*(1-y[0]*y[0])*y[1]-back*y[0]
		},
		jacobian: func(_ float64, y, v []float64) {
			v[0], v[1] = 0, 1
			v[2], v[3] = -2*stiffness*y[0]*y[1]-back, stiffness*(1-y[0]*y[0])
		},
	}
}

func oregonator() *problem {
	const s, w, q = 77.27, 0.161, 8.375e-6
	return &problem{
		rows:  [][]int{{0, 1}, {0, 1, 2}, {0, 2}},
		start: []float64{1, 2, 3},
		rates: func(_ float64, y, dst []float64) {
			dst[0] = s * (y[1] + y[0]*(1-q*y[0]-y[1]))
			dst[1] = (y[2] - (1+y[0])*y[1]) / s
			dst[2] = w * (y[0] - y[2])
		},
		jacobian: func(_ float64, y, v []float64) {
			v[0], v[1] = s*(1-2*q*y[0]-y[1]), s*(1-y[0])
			v[2], v[3], v[4] = -y[1]/s, -(1+y[0])/s, 1/s
			v[5], v[6] = w, -w
		},
	}
}

// decay is y' = -y.
func decay() *problem {
	return &problem{
		rows:     [][]int{{0}},
		start:    []float64{1},
		rates:    func(_ float64, y, dst []float64) { dst[0] = -y[0] },
		jacobian: func(_ float64, _, v []float64) { v[0] = -1 },
	}
}

// network is a chain of nodes with a side branch on every third, each node
// holding amounts of several species. What flows along an edge grows with the
// pressure, all species together, so that every species of a node depends on
// all of both nodes. Node 0 is pumped, and what the pump takes is a state of
// its own per species. Edge conductances spread over six decades.
type network struct {
	nodes, species int
	parent         []int
	conductance    []float64
	start          []float64
	pattern        *Pattern
}

const pumpSpeed = 0.5

func networkRows(nodes, species int) (rows [][]int, parent []int) {
	parent = make([]int, nodes)
	rows = make([][]int, (nodes+1)*species)
	block := func(node, of int) {
		for s := range species {
			for k := range species {
				rows[node*species+s] = append(rows[node*species+s], of*species+k)
			}
		}
	}
	for i := range nodes {
		block(i, i)
		parent[i] = i - 1
		if i > 0 && i%3 == 0 {
			parent[i] = i - 2
		}
		if i > 0 {
			block(i, parent[i])
			block(parent[i], i)
		}
	}
	for s := range species {
		rows[nodes*species+s] = []int{s}
	}
	return rows, parent
}

func newNetwork(tb testing.TB, nodes, species int) *network {
	rows, parent := networkRows(nodes, species)
	pattern, err := NewPattern(rows)
	must(tb, err)
	w := &network{nodes: nodes, species: species, parent: parent, pattern: pattern}
	for i := range nodes {
		w.conductance = append(w.conductance, math.Pow(10, float64(i*5%7)))
		for s := range species {
			w.start = append(w.start, 1/float64(1+s))
		}
	}
	w.start = append(w.start, make([]float64, species)...)
	return w
}

func (w *network) total(y []float64, node int) (sum float64) {
	for _, amount := range y[node*w.species : (node+1)*w.species] {
		sum += amount
	}
	return sum
}

func (w *network) Rates(_ float64, y, dst []float64) {
	clear(dst)
	m := w.species
	for i := 1; i < w.nodes; i++ {
		j := w.parent[i]
		g := w.conductance[i] * (1 + w.total(y, i) + w.total(y, j)) / 2
		for s := range m {
			flow := g * (y[i*m+s] - y[j*m+s])
			dst[i*m+s] -= flow
			dst[j*m+s] += flow
		}
	}
	for s := range m {
		out := pumpSpeed * y[s]
		dst[s] -= out
		dst[w.nodes*m+s] += out
	}
}

func (w *network) Jacobian(_ float64, y, _, values []float64) {
	clear(values)
	m := w.species
	for i := 1; i < w.nodes; i++ {
		j := w.parent[i]
		g := w.conductance[i] * (1 + w.total(y, i) + w.total(y, j)) / 2
		for s := range m {
			slope := w.conductance[i] / 2 * (y[i*m+s] - y[j*m+s])
			for k := range m {
				direct := 0.0
				if k == s {
					direct = g
				}
				w.add(values, i*m+s, i*m+k, -slope-direct)
				w.add(values, i*m+s, j*m+k, -slope+direct)
				w.add(values, j*m+s, i*m+k, slope+direct)
				w.add(values, j*m+s, j*m+k, slope-direct)
			}
		}
	}
	for s := range m {
		w.add(values, s, s, -pumpSpeed)
		w.add(values, w.nodes*m+s, s, pumpSpeed)
	}
}

func (w *network) add(values []float64, i, j int, x float64) { values[w.pattern.Index(i, j)] += x }

func (w *network) TimeDerivative(float64, []float64, []float64, []float64) bool { return false }

// options with the pump's states out of error control.
func (w *network) options(relTol float64) Options {
	n := len(w.start)
	absTol := everywhere(n, 1e-3*relTol)
	clear(absTol[n-w.species:])
	return Options{RelTol: relTol, AbsTol: absTol}
}

func (w *network) solver(tb testing.TB, relTol float64) *Solver {
	s, err := New(w, w.pattern, w.options(relTol))
	must(tb, err)
	must(tb, s.Reset(0, w.start))
	return s
}
