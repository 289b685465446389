package stiff

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.com/drydown/units"
	"pgregory.net/rapid"
)

// Round-off of one step is about that of the exchanged amounts; the bounds are
// some hundred times the spacing of float64 at the conserved sum.
func TestConservedSums(t *testing.T) {
	s := robertson().solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-12, 1e-16, 1e-8}})
	must(t, s.Limit(1e11))
	inside := make([]float64, 3)
	worst := 0.0
	for s.Time() < 1e11 {
		must(t, s.Step())
		from, _ := s.Previous()
		must(t, s.Interpolate((from+s.Time())/2, inside))
		for _, y := range [][]float64{s.State(), inside} {
			worst = math.Max(worst, math.Abs(y[0]+y[1]+y[2]-1))
		}
	}
	t.Logf("Robertson: sum off by %.3g after %d steps", worst, s.Stats().Accepted)
	if !(worst <= 1e-13) {
		t.Errorf("Robertson: sum off by %g", worst)
	}
}

func TestNetworkKeepsAmounts(t *testing.T) {
	w := newNetwork(t, 40, 4)
	s := w.solver(t, 1e-6)
	must(t, s.Limit(1e4))
	worst := 0.0
	for s.Time() < 1e4 {
		must(t, s.Step())
		for k := range w.species {
			var sum, start float64
			for i := k; i < len(w.start); i += w.species {
				sum += s.State()[i]
				start += w.start[i]
			}
			worst = math.Max(worst, math.Abs(sum/start-1))
		}
	}
	t.Logf("amounts off by %.3g relative, %+v", worst, s.Stats())
	if !(worst <= 1e-12) {
		t.Errorf("amounts off by %g relative", worst)
	}
	if left := w.total(s.State(), w.nodes-1); !(left < 1e-6) {
		t.Errorf("%g left in the last node: the run was too short to test anything", left)
	}
}

// Rates without a value beyond the present state shorten the step only: the
// solution approaches the wall y = 1 from below and must not need rates there.
func TestNotFiniteRatesShortenTheStep(t *testing.T) {
	for name, bad := range map[string]float64{"NaN": math.NaN(), "infinite": math.Inf(1)} {
		p := decay()
		p.start = []float64{0}
		p.rates = func(_ float64, y, dst []float64) {
			dst[0] = 1 - y[0]
			if y[0] > 1 || y[0] < 0 {
				dst[0] = bad
			}
		}
		s := p.solver(t, Options{RelTol: 1e-3, AbsTol: []float64{1e-3}, InitialStep: 1e3})
		p.jacobian = func(_ float64, _, v []float64) { v[0] = -0.2 } // wrong on purpose: overshoots
		run(t, s, 8)
		if got := s.State()[0]; !(math.Abs(got-1) < 5e-3) {
			t.Errorf("%s: %g, want near 1", name, got)
		}
		if s.Stats().Rejected == 0 {
			t.Errorf("%s: no step rejected, nothing was tested", name)
		}
	}
}

// Whichever evaluation of an attempt has no value, the attempt is repeated
// with a shorter step and the result is right.
func TestAnyEvaluationMayFail(t *testing.T) {
	for bad := 2; bad <= stages+1; bad++ { // the first belongs to the start
		p, calls := decay(), 0
		p.rates = func(_ float64, y, dst []float64) {
			dst[0] = -y[0]
			if calls++; calls == bad {
				dst[0] = math.NaN()
			}
		}
		s := p.solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}, InitialStep: 1e-3})
		run(t, s, 1)
		if got := s.State()[0]; s.Stats().Rejected != 1 || !(math.Abs(got-math.Exp(-1)) < 1e-6) {
			t.Errorf("evaluation %d: %g after %+v", bad, got, s.Stats())
		}
	}
}

// With y' = 8 y and h = 1/2 the matrix 1/(h gamma) - 8 is zero.
func TestLostPivotShortensTheStep(t *testing.T) {
	p := decay()
	p.rates = func(_ float64, y, dst []float64) { dst[0] = 8 * y[0] }
	p.jacobian = func(_ float64, _, v []float64) { v[0] = 8 }
	s := p.solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}, InitialStep: 0.5})
	run(t, s, 1)
	if got, want := s.State()[0], math.Exp(8); s.Stats().Rejected == 0 || !(math.Abs(got/want-1) < 1e-5) {
		t.Errorf("%g, want %g, after %+v", got, want, s.Stats())
	}
}

func TestBlowUpIsReported(t *testing.T) {
	p := &problem{ // y' = y^2 from 1 ends at t = 1
		rows:     [][]int{{0}, {1}},
		start:    []float64{0, 1},
		rates:    func(_ float64, y, dst []float64) { dst[0], dst[1] = 0, y[1]*y[1] },
		jacobian: func(_ float64, y, v []float64) { v[0], v[1] = 0, 2*y[1] },
	}
	s := p.solver(t, Options{RelTol: 1e-6, AbsTol: everywhere(2, 1e-6)})
	var err error
	for err == nil {
		err = s.Step()
	}
	var failure *StepError
	if !errors.As(err, &failure) || !errors.Is(err, units.ErrNoConvergence) {
		t.Fatalf("error %v", err)
	}
	if failure.Variable != 1 || !(math.Abs(failure.Time-1) < 1e-6) || !strings.Contains(err.Error(), "variable 1") {
		t.Errorf("%v", err)
	}
	from, before := s.Previous()
	middle := s.At(1, from+(s.Time()-from)/2)
	if s.At(1, from) != before[1] || !(before[1] < middle && middle < s.State()[1]) {
		t.Errorf("the last step is not usable after the error: %g, %g, %g", before[1], middle, s.State()[1])
	}
}

func TestBadStartIsReported(t *testing.T) {
	p := decay()
	p.rates = func(_ float64, _, dst []float64) { dst[0] = math.NaN() }
	s := p.solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1}})
	if err := s.Step(); !errors.Is(err, units.ErrNoConvergence) {
		t.Errorf("rates not finite at the start: %v", err)
	}
	p = decay()
	p.jacobian = func(_ float64, _, v []float64) { v[0] = math.NaN() }
	s = p.solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1}})
	if err := s.Step(); !errors.Is(err, units.ErrNoConvergence) {
		t.Errorf("Jacobian not finite: %v", err)
	}
	s = decay().solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-6}, MaxSteps: 3})
	for range 3 {
		must(t, s.Step())
	}
	if err := s.Step(); !errors.Is(err, units.ErrNoConvergence) {
		t.Errorf("fourth step of three: %v", err)
	}
}

func TestOptionsAreChecked(t *testing.T) {
	good := Options{RelTol: 1e-6, AbsTol: []float64{1}}
	for name, spoil := range map[string]func(o *Options){
		"no RelTol":        func(o *Options) { o.RelTol = 0 },
		"NaN RelTol":       func(o *Options) { o.RelTol = math.NaN() },
		"AbsTol missing":   func(o *Options) { o.AbsTol = nil },
		"AbsTol too many":  func(o *Options) { o.AbsTol = []float64{1, 1} },
		"no AbsTol":        func(o *Options) { o.AbsTol = []float64{0} },
		"NaN AbsTol":       func(o *Options) { o.AbsTol = []float64{math.NaN()} },
		"negative steps":   func(o *Options) { o.MaxSteps = -1 },
		"negative first":   func(o *Options) { o.InitialStep = -1 },
		"infinite first":   func(o *Options) { o.InitialStep = math.Inf(1) },
		"negative MaxStep": func(o *Options) { o.MaxStep = -1 },
		"NaN MaxStep":      func(o *Options) { o.MaxStep = math.NaN() },
	} {
		p, o := decay(), good
		spoil(&o)
		if _, err := New(p, p.pattern(t), o); !errors.Is(err, units.ErrOutOfRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	s := decay().solver(t, good)
	if got := s.NextStep(); got != 0 {
		t.Errorf("next step %g before the first", got)
	}
	must(t, s.SetStep(0.5))
	if got := s.NextStep(); got != 0.5 {
		t.Errorf("next step %g, want 0.5", got)
	}
	for name, err := range map[string]error{
		"Reset to NaN time":   s.Reset(math.NaN(), []float64{1}),
		"Reset to NaN state":  s.Reset(0, []float64{math.NaN()}),
		"Limit before now":    s.Limit(-1),
		"Limit NaN":           s.Limit(math.NaN()),
		"SetStep zero":        s.SetStep(0),
		"SetStep NaN":         s.SetStep(math.NaN()),
		"Interpolate outside": s.Interpolate(1, []float64{0}),
	} {
		if !errors.Is(err, units.ErrOutOfRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Steps end exactly on limits, however close, and a limit on the way does not
// cost the step size found before it.
func TestLimitsAreMetExactly(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		gaps := rapid.SliceOfN(rapid.Float64Range(1e-12, 3), 1, 12).Draw(rt, "gaps")
		s := decay().solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}})
		for _, gap := range gaps {
			tEnd := s.Time() + gap
			run(t, s, tEnd)
			if s.Time() != tEnd {
				rt.Fatalf("at %v, want %v", s.Time(), tEnd)
			}
			if want := math.Exp(-tEnd); !(math.Abs(s.State()[0]-want) < 1e-5*want+1e-8) {
				rt.Fatalf("y(%g) = %g, want %g", tEnd, s.State()[0], want)
			}
			if err := s.Step(); err == nil {
				rt.Fatal("a step beyond the limit")
			}
		}
	})
	s := decay().solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}})
	run(t, s, 1)
	before := s.NextStep()
	run(t, s, 1+1e-6)
	if got := s.NextStep(); !(got >= before) {
		t.Errorf("step %g after a short one onto a limit, was %g", got, before)
	}
}

// At rest steps grow without bound; time ends before numbers do. Late in time
// a transient too fast for the clock is stepped over, not given up on.
func TestEndsOfTime(t *testing.T) {
	s := decay().solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}})
	must(t, s.Reset(0, []float64{0}))
	for s.Time() < 1e300 {
		must(t, s.Step())
	}
	if err := s.Step(); err == nil || s.State()[0] != 0 {
		t.Errorf("after the end: %v, %v", err, s.State())
	}
	p := decay()
	p.rates = func(_ float64, y, dst []float64) { dst[0] = -1e12 * (y[0] - 1) }
	p.jacobian = func(_ float64, _, v []float64) { v[0] = -1e12 }
	for _, first := range []float64{0, 1e-15} {
		s = p.solver(t, Options{RelTol: 1e-6, AbsTol: []float64{1e-9}, InitialStep: first})
		must(t, s.Reset(1e5, []float64{1.0001}))
		run(t, s, 2e5)
		if got := s.State()[0]; !(math.Abs(got-1) < 1e-6) {
			t.Errorf("%g, want 1", got)
		}
	}
}

// The continuous solution meets both ends of the step and stays within the
// accuracy of the step between them; outside there is no value.
func TestContinuousSolution(t *testing.T) {
	s := decay().solver(t, Options{RelTol: 1e-8, AbsTol: []float64{1e-8}})
	if got := s.At(0, 0); got != 1 {
		t.Errorf("before the first step: %g", got)
	}
	for range 12 {
		must(t, s.Step())
		from, y := s.Previous()
		if s.At(0, from) != y[0] || s.At(0, s.Time()) != s.State()[0] {
			t.Error("the ends of the step are not met")
		}
		middle := (from + s.Time()) / 2
		if want := math.Exp(-middle); !(math.Abs(s.At(0, middle)-want) < 1e-6*want) {
			t.Errorf("y(%g) = %g, want %g", middle, s.At(0, middle), want)
		}
	}
	if !math.IsNaN(s.At(0, s.Time()+1)) || !math.IsNaN(s.At(0, -1)) || !math.IsNaN(s.At(0, math.NaN())) {
		t.Error("a value outside the step")
	}
}

// A variable out of error control is integrated all the same: the time
// integral of a decay, as accurate as the decay itself.
func TestVariableOutOfErrorControl(t *testing.T) {
	p := &problem{
		rows:     [][]int{{0}, {0}},
		start:    []float64{1, 0},
		rates:    func(_ float64, y, dst []float64) { dst[0], dst[1] = -y[0], y[0] },
		jacobian: func(_ float64, _, v []float64) { v[0], v[1], v[2] = -1, 1, 0 },
	}
	s := p.solver(t, Options{RelTol: 1e-7, AbsTol: []float64{1e-7, 0}})
	run(t, s, 3)
	if got, want := s.State()[1], 1-math.Exp(-3); !(math.Abs(got-want) < 1e-6) {
		t.Errorf("integral %g, want %g", got, want)
	}
}

func TestSolverIsDeterministic(t *testing.T) {
	w := newNetwork(t, 20, 3)
	a, b := w.solver(t, 1e-6), w.solver(t, 1e-6)
	run(t, a, 10)
	run(t, b, 10)
	if a.Stats() != b.Stats() {
		t.Errorf("work differs: %+v, %+v", a.Stats(), b.Stats())
	}
	for i := range a.State() {
		if a.State()[i] != b.State()[i] {
			t.Fatalf("variable %d differs", i)
		}
	}
}

func TestStepsDoNotAllocate(t *testing.T) {
	w := newNetwork(t, 20, 3)
	s := w.solver(t, 1e-8)
	dst := make([]float64, len(w.start))
	allocs := testing.AllocsPerRun(200, func() {
		if err := s.Step(); err != nil {
			t.Fatal(err)
		}
		if err := s.Interpolate(s.Time(), dst); err != nil {
			t.Fatal(err)
		}
	})
	if err := s.Reset(0, w.start); err != nil {
		t.Fatal(err)
	}
	allocs += testing.AllocsPerRun(20, func() {
		if s.Reset(0, w.start) != nil || s.Limit(1) != nil || s.Step() != nil {
			t.Fatal("refused")
		}
	})
	if allocs != 0 {
		t.Errorf("%g allocations", allocs)
	}
}

// Differences agree with the exact Jacobian of the network to the accuracy of
// one-sided differences, and need as many calls as one corner of it has
// unknowns, whatever its size.
func TestDifferencesAgainstExactJacobian(t *testing.T) {
	w := newNetwork(t, 30, 3)
	n := len(w.start)
	y, base := make([]float64, n), make([]float64, n)
	for i := range y {
		y[i] = 0.3 + 0.1*math.Sin(float64(i))
	}
	w.Rates(0, y, base)
	exact, approximate := make([]float64, w.pattern.Len()), make([]float64, w.pattern.Len())
	w.Jacobian(0, y, base, exact)
	d := NewDifferences(w.pattern)
	d.Fill(w.Rates, 0, y, base, everywhere(n, 1e-7), approximate)
	for i := range n {
		columns, first := w.pattern.Row(i)
		scale := 0.0
		for at := range columns {
			scale = math.Max(scale, math.Abs(exact[first+at]))
		}
		for at, j := range columns {
			if !(math.Abs(approximate[first+at]-exact[first+at]) <= 1e-6*scale) {
				t.Errorf("entry (%d, %d): %g, exact %g", i, j, approximate[first+at], exact[first+at])
			}
		}
	}
	if got := NewDifferences(newNetwork(t, 300, 3).pattern).Groups(); got != d.Groups() || got > 15 {
		t.Errorf("%d groups for 300 nodes, %d for 30", got, d.Groups())
	}
}

// An error that stays just above the tolerance is not followed in small cuts for ever.
func TestRejectedStepDoesNotCreep(t *testing.T) {
	var c controller
	slightly := outcome{norm: 1.26, reason: reasonError}
	for count, want := range map[int]float64{0: 0.86, patience - 1: 0.86, patience: 0.1, mostAttempts - 1: 0.1} {
		if got := c.reject(1, slightly, count); math.Abs(got-want) > 0.01 {
			t.Errorf("after %d failures: %g, want %g", count, got, want)
		}
	}
}
