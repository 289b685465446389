package stiff

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// StepError reports an integration that cannot go on. Time, State and the
// continuous solution of the last accepted step stay valid. errors.Is finds
// units.ErrNoConvergence in it.
type StepError struct {
	Time     float64 // reached
	Step     float64 // last size tried
	Variable int     // the one with the largest error, or the one that failed; -1 for none
	Attempts int     // at the last step
	Norm     float64 // error of that variable over its tolerance in the last attempt, if it got so far
	Reason   string  // in words
}

// Error gives reason, time, step and variable.
func (e *StepError) Error() string {
	return fmt.Sprintf("stiff.Step: %s at t = %.9g s, step %.3g s, variable %d, error/tolerance %.3g, %d attempts: %v",
		e.Reason, e.Time, e.Step, e.Variable, e.Norm, e.Attempts, units.ErrNoConvergence)
}

// Unwrap makes errors.Is(err, units.ErrNoConvergence) true.
func (e *StepError) Unwrap() error { return units.ErrNoConvergence }

// words for each reason of failure.
func (r reason) String() string {
	switch r {
	case reasonError:
		return "error too large"
	case reasonPivot:
		return "lost pivot"
	case reasonNotFinite:
		return "rate or state not finite"
	default:
		return "step too small"
	}
}

// Step takes one accepted step, after as many failed attempts as it needs. It
// answers a StepError when the step would fall below 1e-14 of the time, after
// 100 attempts, or when MaxSteps is used up, and another error when the limit
// was reached before. Cancellation is left to the caller's loop.
func (s *Solver) Step() error {
	if s.t >= s.limit {
		return errAtLimit
	}
	if s.steps >= s.maxSteps {
		return &StepError{Time: s.t, Step: s.step, Variable: -1, Reason: "more steps than MaxSteps"}
	}
	if failed := s.prepare(); failed.reason != reasonNone {
		return s.giveUp(failed, 0, 0)
	}
	failed := s.last // speaks for a step that is too small from the start
	for count := range mostAttempts {
		try := s.propose()
		if s.tooSmall(try) {
			return s.giveUp(failed, try.h, count)
		}
		result := s.trial(try.h, try.tNew)
		if result.reason == reasonNone {
			s.accept(try, result)
			return nil
		}
		failed = result
		s.stats.Rejected++
		s.step = s.control.reject(try.h, failed, count)
	}
	return s.giveUp(failed, s.step, mostAttempts)
}

func (s *Solver) giveUp(failed outcome, h float64, attempts int) error {
	return &StepError{
		Time: s.t, Step: h, Variable: failed.variable, Attempts: attempts,
		Norm: failed.norm, Reason: failed.reason.String(),
	}
}

// prepare evaluates at the present state what a step starts from.
func (s *Solver) prepare() outcome {
	if !s.haveRates {
		s.rates(s.t, s.y, s.f)
		if !finite(s.f) {
			return s.notFinite(s.f, s.y)
		}
		s.haveRates = true
	}
	if !s.haveJacobian {
		s.stats.Jacobians++
		s.system.Jacobian(s.t, s.y, s.f, s.jacobian)
		s.driven = s.system.TimeDerivative(s.t, s.y, s.f, s.fTime)
		s.haveJacobian = true
	}
	if s.step == 0 {
		s.step = s.firstStep()
	}
	return outcome{}
}

// attempt is the extent of a step to be tried.
type attempt struct {
	h, tNew float64 // size and end, in agreement to the last bit
	cut     bool    // shorter than the controller proposed
}

// propose gives the next attempt: the controller's choice, bounded by MaxStep,
// stretched or shortened onto the limit, and halved when a very short step
// would be left over.
func (s *Solver) propose() attempt {
	h := math.Min(s.step, s.maxStep)
	remaining := s.limit - s.t
	if h*landingMargin >= remaining {
		return attempt{h: remaining, tNew: s.limit, cut: remaining < s.step}
	}
	if 2*h > remaining {
		h = remaining / 2
	}
	tNew := s.t + h
	return attempt{h: tNew - s.t, tNew: tNew, cut: h < s.step}
}

// shortest is the smallest step first tried, a little above the smallest that
// failed attempts may shrink to.
func (s *Solver) shortest() float64 {
	return 100 * math.Max(smallestStep*math.Abs(s.t), smallestAbsolute)
}

// tooSmall reports a step that no longer moves the time; the last short step
// onto the limit is let through.
func (s *Solver) tooSmall(try attempt) bool {
	if try.tNew == s.limit {
		return false
	}
	return !(try.h >= math.Max(smallestStep*math.Abs(s.t), smallestAbsolute))
}

// accept makes the tried state the present one.
func (s *Solver) accept(done attempt, result outcome) {
	s.finishDense()
	s.yOld, s.y, s.yNew = s.y, s.yNew, s.yOld
	s.f, s.fNew = s.fNew, s.f
	s.tOld, s.t = s.t, done.tNew
	s.haveJacobian = false
	s.steps++
	s.stats.Accepted++

	s.last = result
	if done.cut {
		s.step = s.control.resume(done.h, result.norm, s.step)
	} else {
		s.step = s.control.accept(done.h, result.norm)
	}
}

// firstStep is a first step that leaves room for shorter attempts.
func (s *Solver) firstStep() float64 {
	return math.Max(s.guessStep(), s.shortest())
}

// guessStep estimates a step from the sizes of state, rates and their change
// over a short explicit step (Hairer, Norsett and Wanner, Solving ODEs I, 2nd
// ed., section II.4, "starting step size").
func (s *Solver) guessStep() float64 {
	span := math.Min(s.limit-s.t, s.maxStep)
	size, rate := s.scaled(s.y), s.scaled(s.f)
	short := 1e-6
	if size >= 1e-5 && rate >= 1e-5 {
		short = 0.01 * size / rate
	}
	short = math.Max(math.Min(short, span), 1e-30)
	copy(s.argument, s.y)
	addScaled(s.argument, short, s.f)
	if !finite(s.argument) {
		return short * 0.01
	}
	s.rates(s.t+short, s.argument, s.rhs)
	for i, f := range s.f {
		s.rhs[i] -= f
	}
	change := s.scaled(s.rhs) / short
	steepest := math.Max(rate, change)
	if !(steepest <= math.MaxFloat64) {
		return short * 0.01
	}
	second := math.Max(1e-6, short*1e-3)
	if steepest > 1e-15 {
		second = fifthRoot(0.01 / steepest)
	}
	return math.Min(math.Min(100*short, second), span)
}

// scaled is the largest |v| over the tolerance at the present state.
func (s *Solver) scaled(v []float64) float64 {
	var largest float64
	for _, i := range s.watched {
		largest = math.Max(largest, math.Abs(v[i])/(s.absTol[i]+s.relTol*math.Abs(s.y[i])))
	}
	return largest
}
