package stiff

import (
	"math"
	"testing"
)

// smooth is nonlinear and driven by time:
//
//	y0' = y0 cos t,  y1' = -y1^2 y0 sin(t) exp(-sin t)
//
// From (1, 1) the solution is y0 = exp(sin t), whence y1' = -y1^2 sin t and
// y1 = 1/(2 - cos t).
func smooth() *problem {
	return &problem{
		rows:  [][]int{{0}, {0, 1}},
		start: []float64{1, 1},
		rates: func(t float64, y, dst []float64) {
			dst[0] = y[0] * math.Cos(t)
			dst[1] = -y[1] * y[1] * y[0] * math.Sin(t) * math.Exp(-math.Sin(t))
		},
		jacobian: func(t float64, y, v []float64) {
			drive := math.Sin(t) * math.Exp(-math.Sin(t))
			v[0] = math.Cos(t)
			v[1], v[2] = -y[1]*y[1]*drive, -2*y[1]*y[0]*drive
		},
		time: func(t float64, y, dst []float64) {
			dst[0] = -y[0] * math.Sin(t)
			slope := math.Cos(t) * math.Exp(-math.Sin(t)) * (1 - math.Sin(t))
			dst[1] = -y[1] * y[1] * y[0] * slope
		},
	}
}

func smoothSolution(t float64) [2]float64 {
	return [2]float64{math.Exp(math.Sin(t)), 1 / (2 - math.Cos(t))}
}

// fixedSteps integrates with equal steps and answers the largest error at the
// ends of steps and the largest error of the continuous solution inside them.
func fixedSteps(t *testing.T, p *problem, solution func(t float64) [2]float64, tEnd float64, steps int) (atEnds, inside float64) {
	h := tEnd / float64(steps)
	s := p.solver(t, Options{RelTol: 1, AbsTol: everywhere(len(p.start), 1e9), InitialStep: h, MaxStep: h})
	must(t, s.Limit(tEnd))
	for s.Time() < tEnd {
		must(t, s.Step())
		from, _ := s.Previous()
		for i, want := range solution(s.Time()) {
			atEnds = math.Max(atEnds, math.Abs(s.State()[i]-want))
		}
		for _, share := range []float64{0.2, 0.5, 0.8} {
			at := from + share*(s.Time()-from)
			for i, want := range solution(at) {
				inside = math.Max(inside, math.Abs(s.At(i, at)-want))
			}
		}
	}
	if got := s.Stats().Accepted; got != steps {
		t.Fatalf("%d steps, want %d", got, steps)
	}
	return atEnds, inside
}

// checkOrder halves the step and compares the slope of the errors.
func checkOrder(t *testing.T, p *problem, solution func(t float64) [2]float64, tEnd float64, steps int) {
	t.Helper()
	coarse, coarseInside := fixedSteps(t, p, solution, tEnd, steps)
	fine, fineInside := fixedSteps(t, p, solution, tEnd, 2*steps)
	order, inside := math.Log2(coarse/fine), math.Log2(coarseInside/fineInside)
	t.Logf("%d and %d steps: errors %.3g, %.3g, order %.3f; inside steps %.3g, %.3g, order %.3f",
		steps, 2*steps, coarse, fine, order, coarseInside, fineInside, inside)
	// Order 4 is the published property (Hairer and Wanner, section IV.7). A
	// continuous solution of order 3 has a local error of order h^4.
	if !(math.Abs(order-4) < 0.25) {
		t.Errorf("observed order %.3f, want 4", order)
	}
	if !(inside > 3.7) {
		t.Errorf("observed order inside steps %.3f, want 4", inside)
	}
}

func TestOrderSmoothDriven(t *testing.T) {
	for _, steps := range []int{40, 80, 160} {
		checkOrder(t, smooth(), smoothSolution, 4, steps)
	}
}

// The stiff linear problem has the rates -1 and -1e6, strongly mixed, and
// starts on the slow solution; the steps are 1e4 and more times the fast time.
func TestOrderLinearStiff(t *testing.T) {
	const fast = 1e6
	p := &problem{
		rows:  [][]int{{0, 1}, {0, 1}},
		start: []float64{1, 1},
		rates: func(_ float64, y, dst []float64) {
			pull := fast * (y[0] - y[1])
			dst[0], dst[1] = -y[0]-pull, -y[1]+pull
		},
		jacobian: func(_ float64, _, v []float64) {
			v[0], v[1], v[2], v[3] = -1-fast, fast, fast, -1-fast
		},
	}
	solution := func(t float64) [2]float64 { return [2]float64{math.Exp(-t), math.Exp(-t)} }
	for _, steps := range []int{20, 40, 80} {
		checkOrder(t, p, solution, 2, steps)
	}
}

// The fast mode itself is damped within few steps (L-stability): one step of
// 1e6 times the fast time leaves less than 1e-5 of it.
func TestFastModeDamped(t *testing.T) {
	p := decay()
	s := p.solver(t, Options{RelTol: 1, AbsTol: []float64{1e9}, InitialStep: 1e6})
	must(t, s.Limit(1e6))
	must(t, s.Step())
	if got := math.Abs(s.State()[0]); !(got < 1e-5) {
		t.Errorf("left %g of the fast mode", got)
	}
}
