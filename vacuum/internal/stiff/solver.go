package stiff

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"example.com/drydown/units"
)

// System is what the solver integrates. All slices have one entry per
// variable, except values, which has one per entry of the pattern. A method
// writes its result, every entry of it, and keeps no slice. The solver may
// call Rates with states that no solution passes through, negative amounts for
// instance; a rate that has no value there may be NaN, which shortens the step.
type System interface {
	// Rates writes dy/dt at (t, y).
	Rates(t float64, y, rates []float64)
	// Jacobian writes d(rate i)/d(y j), in the order of the pattern. rates are
	// those at (t, y), for one-sided differences.
	Jacobian(t float64, y, rates, values []float64)
	// TimeDerivative writes d(rates)/dt at constant y and answers true, or
	// answers false when the rates do not depend on t; dst is then not read.
	TimeDerivative(t float64, y, rates, dst []float64) bool
}

// Restorer is a System with linear invariants that the linear equations of a step
// keep less well than they could: only to the round-off of their largest terms,
// 1e-16 times |J u|.
type Restorer interface {
	System
	// Restore corrects the state after a step by the little that makes c.after =
	// c.before for every c with c.f = 0 and c.J = 0. It follows a call of Jacobian
	// at before.
	Restore(before, after []float64)
}

// Options of a Solver.
type Options struct {
	// RelTol is the tolerated error of one step relative to the size of a
	// variable, 1e-14 to 1.
	RelTol float64
	// AbsTol has one absolute tolerance per variable, in the variable's unit.
	// Zero or a negative value takes the variable out of error control, as
	// suits an integral on which nothing else depends. One must be positive.
	AbsTol []float64
	// MaxSteps bounds the accepted steps between one Reset and the next; zero
	// means 1,000,000.
	MaxSteps int
	// InitialStep is the first step tried after a Reset, raised to 1e-12 of the
	// time where it is shorter; zero lets the solver estimate it from the rates.
	InitialStep float64
	// MaxStep bounds every step; zero means no bound.
	MaxStep float64
}

// Stats counts work since the solver was made.
type Stats struct {
	Accepted, Rejected int // steps kept and attempts thrown away, whatever the reason
	Rates              int // calls of System.Rates
	Jacobians          int // calls of System.Jacobian
	Factorisations     int
}

// Solver integrates one System. All memory is allocated by New. A Solver is
// for one goroutine at a time.
type Solver struct {
	system  System
	restore Restorer // the same, when it is one
	lu      *LU
	method  tableau
	relTol  float64
	absTol  []float64
	watched []int32 // variables under error control

	maxSteps             int
	initialStep, maxStep float64

	t, limit float64
	step     float64 // proposal for the next step, zero when unknown
	steps    int     // accepted since Reset
	control  controller
	last     outcome // of the last accepted step
	stats    Stats

	y, yNew, yOld []float64
	f, fNew       []float64 // rates at y and at yNew
	fTime         []float64 // d(rates)/dt
	jacobian      []float64
	haveRates     bool // f belongs to y
	haveJacobian  bool // jacobian and fTime belong to y
	driven        bool // rates depend on t

	tOld                                float64
	denseFirst, denseSecond, denseThird []float64

	argument, rhs []float64
	u             [stages][]float64
}

// errAtLimit is the answer of Step when nothing is left to do.
var errAtLimit = errors.New("stiff: the limit is already reached")

// New makes a solver for a system whose Jacobian has the given pattern and
// does the symbolic analysis. Reset must come before the first Step. It
// answers a units.RangeError for options out of range.
func New(system System, pattern *Pattern, options Options) (*Solver, error) {
	n := pattern.Size()
	if err := options.check(n); err != nil {
		return nil, err
	}
	s := &Solver{
		system:      system,
		lu:          Analyse(pattern),
		method:      newTableau(),
		relTol:      options.RelTol,
		absTol:      append([]float64(nil), options.AbsTol...),
		maxSteps:    options.MaxSteps,
		initialStep: options.InitialStep,
		maxStep:     options.MaxStep,
		limit:       unlimited,
		jacobian:    make([]float64, pattern.Len()),
	}
	s.restore, _ = system.(Restorer)
	if s.maxSteps == 0 {
		s.maxSteps = 1_000_000
	}
	if s.maxStep == 0 {
		s.maxStep = math.Inf(1)
	}
	for i, tolerance := range s.absTol {
		if tolerance > 0 {
			s.watched = append(s.watched, int32(i))
		}
	}
	block := make([]float64, (11+stages)*n)
	take := func() []float64 {
		v := block[:n:n]
		block = block[n:]
		return v
	}
	for _, v := range []*[]float64{
		&s.y, &s.yNew, &s.yOld, &s.f, &s.fNew, &s.fTime,
		&s.denseFirst, &s.denseSecond, &s.denseThird, &s.argument, &s.rhs,
	} {
		*v = take()
	}
	for i := range s.u {
		s.u[i] = take()
	}
	return s, nil
}

// check answers an error for options that New cannot use.
func (o *Options) check(n int) error {
	const name = "stiff.New"
	if len(o.AbsTol) != n {
		return units.CheckRange(name, "number of absolute tolerances", float64(len(o.AbsTol)), float64(n), float64(n), "")
	}
	watched := 0
	for _, tolerance := range o.AbsTol {
		if tolerance > 0 {
			watched++
		}
		if err := units.CheckRange(name, "AbsTol", tolerance, -math.MaxFloat64, math.MaxFloat64, ""); err != nil {
			return err
		}
	}
	return cmp.Or(
		units.CheckRange(name, "number of positive absolute tolerances", float64(watched), 1, float64(n), ""),
		units.CheckRange(name, "RelTol", o.RelTol, 1e-14, 1, ""),
		units.CheckRange(name, "MaxSteps", float64(o.MaxSteps), 0, math.MaxInt32, ""),
		units.CheckRange(name, "InitialStep", o.InitialStep, 0, math.MaxFloat64, ""),
		units.CheckRange(name, "MaxStep", o.MaxStep, 0, math.Inf(1), ""),
	)
}

// Reset starts anew at (t, y), lifts the limit and forgets step size and last
// step; it keeps the counts of Stats. It must also be called when the system
// itself has changed, a valve turned for instance. It answers a
// units.RangeError when t is beyond 1e300 or a y not finite, and panics when y has not one
// entry per variable.
func (s *Solver) Reset(t float64, y []float64) error {
	if len(y) != len(s.y) {
		panic("stiff: state of wrong length")
	}
	if err := units.CheckRange("stiff.Reset", "t", t, -unlimited, unlimited, "s"); err != nil {
		return err
	}
	if i := firstNotFinite(y); i >= 0 {
		arg := fmt.Sprintf("y[%d]", i)
		return units.CheckRange("stiff.Reset", arg, y[i], -math.MaxFloat64, math.MaxFloat64, "")
	}
	copy(s.y, y)
	copy(s.yOld, y)
	clear(s.denseFirst)
	clear(s.denseSecond)
	clear(s.denseThird)
	s.t, s.tOld, s.limit = t, t, unlimited
	s.step, s.steps = s.initialStep, 0
	if s.step > 0 {
		s.step = math.Max(s.step, s.shortest())
	}
	s.control, s.last = controller{}, outcome{variable: int(s.watched[0])}
	s.haveRates, s.haveJacobian = false, false
	return nil
}

// Limit makes steps end exactly at tEnd when they would pass it, and stops
// Step there; +Inf lifts the limit (to 1e300). It answers a units.RangeError when tEnd is
// before the present time or NaN.
func (s *Solver) Limit(tEnd float64) error {
	if err := units.CheckRange("stiff.Limit", "tEnd", tEnd, s.t, math.Inf(1), "s"); err != nil {
		return err
	}
	s.limit = math.Min(tEnd, unlimited)
	return nil
}

// Time is the time reached.
func (s *Solver) Time() float64 { return s.t }

// State is the state at Time: a view, valid until the next call of Step or
// Reset, not to be written to.
func (s *Solver) State() []float64 { return s.y }

// Previous gives time and state before the last accepted step, as a view like
// State; both are those of Reset when no step was taken since.
func (s *Solver) Previous() (t float64, y []float64) { return s.tOld, s.yOld }

// NextStep is the size that the next step will try, zero when it is not known
// yet. SetStep changes it.
func (s *Solver) NextStep() float64 { return s.step }

// SetStep proposes the size of the next step, for instance to resume after a
// Reset at an event without a new estimate. It answers a units.RangeError when
// h is not positive and finite.
func (s *Solver) SetStep(h float64) error {
	if err := units.CheckRange("stiff.SetStep", "h", h, smallestAbsolute, math.MaxFloat64, "s"); err != nil {
		return err
	}
	s.step = h
	return nil
}

// Stats gives the work done since New.
func (s *Solver) Stats() Stats { return s.stats }

// rates calls the system and counts.
func (s *Solver) rates(t float64, y, dst []float64) {
	s.stats.Rates++
	s.system.Rates(t, y, dst)
}
