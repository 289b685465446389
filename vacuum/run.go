package vacuum

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/internal/stiff"
)

// Stop says how a Run ended.
type Stop struct {
	// Time since the simulation began.
	Time time.Duration
	// Condition is the index of the condition that held first; -1 when the time
	// ran out or the run was broken off.
	Condition int
}

// Run lets the circuit go on for at most d, or until one of the conditions
// holds. It returns at once when one holds already.
//
// The state, the record and the ledger stay valid up to the point reached
// whatever the error: a cancelled context (errors.Is finds its cause), too many
// steps or no convergence (units.ErrNoConvergence), a TemperatureAt out of range,
// d out of range (1 µs to 1e9 s, all Runs together up to 9.2e9 s), a condition that names nothing in the circuit
// or whose value is negative, infinite or not a number. Both d and the conditions
// are checked before anything moves.
func (s *Simulation) Run(ctx context.Context, d time.Duration, until ...Condition) (Stop, error) {
	stop := Stop{Time: s.Time(), Condition: -1}
	if err := units.CheckRange("vacuum.Simulation.Run", "d", d.Seconds(), 1e-6, 1e9, "s"); err != nil {
		return stop, err
	}
	if err := units.CheckRange("vacuum.Simulation.Run", "end", s.now+d.Seconds(), 0, latest, "s"); err != nil {
		return stop, err
	}
	for _, c := range until {
		if err := c.check(s); err != nil {
			return stop, err
		}
	}
	a, err := s.assemble()
	if err != nil {
		return stop, err
	}
	solver, err := stiff.New(a, a.pattern, stiff.Options{RelTol: s.opt.RelTol, AbsTol: a.absTol, MaxSteps: s.opt.MaxSteps})
	if err != nil {
		return stop, err
	}
	r := &run{sim: s, a: a, solver: solver, end: s.now + d.Seconds(), y: make([]float64, a.length), before: make([]float64, a.length), between: make([]float64, a.length)}
	for _, c := range until {
		r.triggers = append(r.triggers, c.bind(s, a))
	}
	stop.Condition, err = r.advance(ctx)
	s.now = r.t
	s.scatter(a, r.y)
	s.settle(a, r.y)
	stop.Time = s.Time()
	return stop, err
}

// latest is the time up to which Simulation.Time can count, s: 291 years.
const latest = 9.2e9

// run is one call of Run.
type run struct {
	sim      *Simulation
	a        *assembly
	solver   *stiff.Solver
	triggers []trigger
	end      float64
	t        float64
	y        []float64 // state at t
	before   []float64 // state at the start of the step
	between  []float64 // scratch: state inside the step
	sampler  sampler
}

// advance takes steps until the end or an event, and says which.
func (r *run) advance(ctx context.Context) (int, error) {
	s := r.sim
	s.gather(r.a, r.y)
	r.t = s.now
	s.nameColumns()
	r.startSampler()
	for i := range r.triggers {
		if r.triggers[i].eval(r.a, r.t, r.state) <= 0 {
			return i, nil
		}
	}
	if err := r.aim(r.t, r.y, r.end); err != nil {
		return -1, err
	}
	fired, err := r.steps(ctx)
	w := r.solver.Stats()
	s.record.Stats.add(Stats{Accepted: w.Accepted, Rejected: w.Rejected, Rates: w.Rates, Jacobians: w.Jacobians})
	r.fill(r.t)
	now := clock(r.t)
	r.sampler.drop(&s.record, now)
	if s.record.Last().Time != now {
		r.sampler.keep(s, r.a, now, r.t, r.y)
	}
	return fired, err
}

// startSampler keeps the first sample and sets the times of the others.
func (r *run) startSampler() {
	s := r.sim
	begin := clock(r.t)
	length := max(clock(r.end)-begin, 1)
	every := s.opt.SampleEvery
	if every == 0 {
		every = max(length/200, 1)
	}
	r.sampler = sampler{
		begin: begin, length: length, every: min(every, length),
		change: s.opt.SampleChange, limit: s.opt.MaxSamples, first: len(s.record.Samples),
	}
	r.sampler.keep(s, r.a, begin, r.t, r.y)
}

// fill keeps the samples whose regular times have been passed before time to,
// from the interpolant of the last step.
func (r *run) fill(to float64) {
	from, _ := r.solver.Previous()
	for before := clock(to); r.sampler.next < before; {
		at := r.sampler.next
		t := min(max(at.Seconds(), from), r.solver.Time())
		for i := range r.between {
			r.between[i] = r.solver.At(i, t)
		}
		r.sampler.keep(r.sim, r.a, at, t, r.between)
	}
}

// steps is the loop of advance.
func (r *run) steps(ctx context.Context) (int, error) {
	s := r.sim
	for n := 0; r.t < r.end; n++ {
		if err := ctx.Err(); err != nil {
			return -1, fmt.Errorf("vacuum.Simulation.Run: stopped at %.4g s: %w", r.t, context.Cause(ctx))
		}
		if n == s.opt.MaxSteps {
			return -1, fmt.Errorf("vacuum.Simulation.Run: %w: %d steps used up at %.4g s of %.4g s", units.ErrNoConvergence, n, r.t, r.end)
		}
		copy(r.before, r.y)
		from := r.t
		if err := r.step(); err != nil {
			return -1, err
		}
		if fired := r.fired(); fired >= 0 {
			return r.locate(from, fired)
		}
		r.fill(r.t)
		if r.sampler.due(r.a, r.t, r.y) {
			r.sampler.keep(s, r.a, clock(r.t), r.t, r.y)
		}
		if s.opt.Progress != nil && n%64 == 0 {
			s.opt.Progress(clock(r.t))
		}
	}
	return -1, nil
}

// aim starts the solver at a state, to stop at time end.
func (r *run) aim(t float64, y []float64, end float64) error {
	if err := r.solver.Reset(t, y); err != nil {
		return err
	}
	return r.solver.Limit(end)
}

// retake goes from the start of the step to a time inside it, in one step where
// the error allows.
func (r *run) retake(from, to float64) error {
	r.t = from
	copy(r.y, r.before) // so that state and time belong together if this fails
	if err := r.aim(from, r.before, to); err != nil {
		return err
	}
	if err := r.solver.SetStep(to - from); err != nil {
		return err
	}
	for r.t < to {
		if err := r.step(); err != nil {
			return err
		}
	}
	return nil
}

// step takes one step and its state, unless a temperature went out of range on
// the way.
func (r *run) step() error {
	err := r.solver.Step()
	if off := r.a.astray; off != nil {
		err = units.CheckRange("", fmt.Sprintf("TemperatureAt(%.4g s) of node %q", off.time, r.sim.circuit.Nodes[off.node].Name), off.temperature, minTemperature, maxTemperature, "K")
	}
	if err != nil {
		return fmt.Errorf("vacuum.Simulation.Run: at %.4g s: %w", r.t, err)
	}
	r.t = r.solver.Time()
	copy(r.y, r.solver.State())
	return nil
}

func (r *run) state(i int) float64 { return r.y[i] }

// fired is the first condition that holds now, or -1.
func (r *run) fired() int {
	for i := range r.triggers {
		if r.triggers[i].eval(r.a, r.t, r.state) <= 0 {
			return i
		}
	}
	return -1
}

// locate finds the earliest event inside the step that has just crossed one, which,
// on the step's interpolant, and then takes the step again so that it ends on
// the event with the full order of the method.
func (r *run) locate(from float64, which int) (int, error) {
	to := r.t
	for i := range r.triggers {
		if t := r.root(&r.triggers[i], from, to); t < to {
			to, which = t, i
		}
	}
	r.fill(to) // a step taken again may not reach back that far
	tr := &r.triggers[which]
	for range 3 {
		if to <= from {
			copy(r.y, r.before)
			r.t = from
			return which, nil
		}
		if err := r.retake(from, to); err != nil {
			return -1, err
		}
		g := tr.eval(r.a, r.t, r.state)
		if math.Abs(g) <= r.sim.opt.RelTol*tr.scale {
			break
		}
		ahead := math.Max(1e-6*(to-from), 1e-12*to)
		slope := (tr.eval(r.a, to, r.at(to)) - tr.eval(r.a, to-ahead, r.at(to-ahead))) / ahead
		if !(slope < 0) {
			break
		}
		to -= g / slope
	}
	return which, nil
}

// at reads the step's interpolant at time t.
func (r *run) at(t float64) func(i int) float64 {
	return func(i int) float64 { return r.solver.At(i, t) }
}

// root is the time at which a condition begins to hold inside the last step,
// or the step's end when it does not.
func (r *run) root(tr *trigger, from, to float64) float64 {
	if tr.eval(r.a, to, r.at(to)) > 0 {
		return to
	}
	lo, hi := from, to
	for range 60 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if tr.eval(r.a, mid, r.at(mid)) <= 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// Record is everything that happened so far. The samples are shared with the
// simulation; a later Run only appends.
func (s *Simulation) Record() Record { return s.record }
