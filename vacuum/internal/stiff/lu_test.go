package stiff

import (
	"errors"
	"math"
	"testing"

	"example.com/drydown/units"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// drawRows draws the pattern of a connected sparse matrix: a random tree, a
// few loops, and rows that nothing else depends on.
func drawRows(t *rapid.T) [][]int {
	n := rapid.IntRange(1, 40).Draw(t, "size")
	rows := make([][]int, n)
	tie := func(i, j int) {
		rows[i] = append(rows[i], j)
		if rapid.IntRange(0, 9).Draw(t, "one way") > 0 {
			rows[j] = append(rows[j], i)
		}
	}
	for i := 1; i < n; i++ {
		tie(i, rapid.IntRange(0, i-1).Draw(t, "parent"))
	}
	for range rapid.IntRange(0, 5).Draw(t, "loops") {
		tie(rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(0, n-1).Draw(t, "to"))
	}
	return rows
}

// dense is shift*I - J as a full matrix.
func dense(p *Pattern, values []float64, shift float64) *mat.Dense {
	n := p.Size()
	m := mat.NewDense(n, n, nil)
	for i := range n {
		columns, first := p.Row(i)
		for at, j := range columns {
			m.Set(i, int(j), -values[first+at])
		}
		m.Set(i, i, m.At(i, i)+shift)
	}
	return m
}

// The solution agrees with gonum's dense LU with partial pivoting, for
// matrices whose diagonal outweighs the rest of the row. Both are then good
// to a few units of round-off times the size.
func TestSolveAgainstDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := NewPattern(drawRows(t))
		if err != nil {
			t.Fatal(err)
		}
		n := p.Size()
		values := rapid.SliceOfN(rapid.Float64Range(-1, 1), p.Len(), p.Len()).Draw(t, "values")
		b := rapid.SliceOfN(rapid.Float64Range(-1, 1), n, n).Draw(t, "b")
		shift := float64(n) + 1
		lu := Analyse(p)
		if variable, ok := lu.Factor(values, shift); !ok {
			t.Fatalf("pivot of %d lost", variable)
		}
		got := make([]float64, n)
		lu.Solve(b, got)
		var want mat.VecDense
		if err := want.SolveVec(dense(p, values, shift), mat.NewVecDense(n, b)); err != nil {
			t.Fatal(err)
		}
		for i := range got {
			if !(math.Abs(got[i]-want.AtVec(i)) <= 1e-13) {
				t.Fatalf("x[%d] = %g, dense %g", i, got[i], want.AtVec(i))
			}
		}
	})
}

// The factors hold exactly the entries that a dense elimination in the same
// order makes, never fewer, and the order names every unknown once.
func TestFillCoversElimination(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := NewPattern(drawRows(t))
		if err != nil {
			t.Fatal(err)
		}
		n := p.Size()
		lu := Analyse(p)
		full, count := make([][]bool, n), 0
		seen := make([]bool, n)
		for k, i := range lu.order {
			if seen[i] {
				t.Fatalf("unknown %d twice", i)
			}
			seen[i] = true
			full[k] = make([]bool, n)
			for at, j := range lu.order {
				full[k][at] = p.Index(int(i), int(j)) >= 0
			}
		}
		for k := range n {
			for i := k + 1; i < n; i++ {
				for j := k + 1; j < n && full[i][k]; j++ {
					full[i][j] = full[i][j] || full[k][j]
				}
			}
			for _, there := range full[k] {
				if there {
					count++
				}
			}
		}
		if lu.Len() != count {
			t.Fatalf("%d entries, elimination makes %d", lu.Len(), count)
		}
	})
}

// Work and memory of a network shaped like a tree grow in proportion to it.
func TestCostIsLinear(t *testing.T) {
	for _, species := range []int{3, 5, 8} {
		var last, lastEntries, lastNodes float64
		for _, nodes := range []int{50, 1000, 10000} {
			rows, _ := networkRows(nodes, species)
			p, err := NewPattern(rows)
			must(t, err)
			lu := Analyse(p)
			work, entries := float64(lu.Operations()), float64(lu.Len())
			t.Logf("%d species, %5d nodes: %.0f multiplications to factorise and %.1f entries, per node",
				species, nodes, work/float64(nodes), entries/float64(nodes))
			if last > 0 {
				ratio := math.Log(float64(nodes) / lastNodes)
				if e := math.Log(work/last) / ratio; !(e <= 1.05) {
					t.Errorf("%d species to %d nodes: work grows with exponent %.3f", species, nodes, e)
				}
				if e := math.Log(entries/lastEntries) / ratio; !(e <= 1.05) {
					t.Errorf("%d species to %d nodes: entries grow with exponent %.3f", species, nodes, e)
				}
			}
			last, lastEntries, lastNodes = work, entries, float64(nodes)
		}
	}
}

// A hub with many branches, and a sum over all nodes that nothing depends on,
// cause no fill at all.
func TestStarWithTotalHasNoFill(t *testing.T) {
	const branches = 20000
	rows := make([][]int, branches+2)
	for i := 1; i <= branches; i++ {
		rows[i] = []int{0}
		rows[0] = append(rows[0], i)
		rows[branches+1] = append(rows[branches+1], i)
	}
	p, err := NewPattern(rows)
	must(t, err)
	// The total depends on the branches only; eliminating them makes its entry
	// for the hub, the one entry more than the pattern has.
	if got, want := Analyse(p).Len(), p.Len()+1; got != want {
		t.Errorf("%d entries in the factors, want %d", got, want)
	}
}

func TestFactorReportsLostPivots(t *testing.T) {
	p, err := NewPattern([][]int{{0, 1}, {0, 1}, {2}})
	must(t, err)
	lu := Analyse(p)
	regular := []float64{0, 1, 1, 0, 0}
	for name, c := range map[string]struct {
		values []float64
		shift  float64
	}{
		"singular":     {[]float64{1, 1, 1, 1, 1}, 2},
		"zero":         {[]float64{0, 0, 0, 0, 1}, 1},
		"not a number": {[]float64{math.NaN(), 0, 0, 0, 0}, 1},
		"infinite":     {[]float64{math.Inf(1), 0, 0, 0, 0}, 1},
	} {
		if _, ok := lu.Factor(c.values, c.shift); ok {
			t.Errorf("%s: accepted", name)
		}
		// A failure leaves nothing behind.
		if _, ok := lu.Factor(regular, 3); !ok {
			t.Fatalf("%s: the next factorisation fails", name)
		}
		x := []float64{2, 2, 3}
		lu.Solve(x, x)
		for i := range x {
			if !(math.Abs(x[i]-1) < 1e-15) {
				t.Errorf("%s: afterwards x = %v", name, x)
			}
		}
	}
}

func TestPatternRefusesBadRows(t *testing.T) {
	for name, rows := range map[string][][]int{
		"empty": {}, "negative column": {{-1}}, "column too large": {{0, 1}},
	} {
		if _, err := NewPattern(rows); !errors.Is(err, units.ErrOutOfRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	p, err := NewPattern([][]int{{2, 1, 1}, {}, {0}})
	must(t, err)
	if p.Size() != 3 || p.Len() != 6 || p.Index(0, 0) != 0 || p.Index(2, 0) != 4 || p.Index(1, 2) != -1 {
		t.Errorf("pattern %v", p)
	}
}
