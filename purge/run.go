package purge

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// RunOptions steers Run. Nil is legal.
type RunOptions struct {
	// Simulation steers the integrator; nil means its defaults.
	Simulation *vacuum.Options
	// Progress, when not nil, hears which step is under way and how far the
	// clock of the procedure has come.
	Progress func(step int, title string, at time.Duration)
}

// Run carries out one of the job's procedures on its circuit. The procedure
// need not be among j.Procedures.
//
// An error before the first step is about the job or the procedure (ErrJob).
// Later errors come together with the record so far, which says in Reason why
// it stopped and in which step: a pull that did not reach its pressure
// (ErrUnreachable), a cancelled context, no convergence.
func Run(ctx context.Context, j *Job, p *Procedure, opt *RunOptions) (*Record, error) {
	if opt == nil {
		opt = &RunOptions{}
	}
	if err := j.inBounds(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrJob, err)
	}
	r, err := j.build()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrJob, err)
	}
	if err := p.check(r); err != nil {
		return nil, fmt.Errorf("%w: procedure %q: %w", ErrJob, p.Name, err)
	}
	var simOpt vacuum.Options
	if opt.Simulation != nil {
		simOpt = *opt.Simulation
	}
	w := &work{rig: r, rec: &Record{Procedure: p.Name, SystemNode: r.systemNode(), GaugeNode: j.Gauge.Node, Warnings: slices.Clone(r.dew)}}
	if opt.Progress != nil {
		simOpt.Progress = func(at time.Duration) { opt.Progress(w.step, w.title, at) }
	}
	if w.sim, err = vacuum.NewSimulation(r.circuit, &simOpt); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrJob, err)
	}
	err = w.all(ctx, p)
	w.rec.Record = w.sim.Record()
	w.rec.apart = r.unreached(j.Pump.Node, w.opened)
	w.rec.finish(j, err)
	return w.rec, err
}

// work is a procedure under way.
type work struct {
	rig   *rig
	sim   *vacuum.Simulation
	rec   *Record
	step  int // from 1
	title string
	// The last changeover: its link and the nodes that were behind it.
	changed string
	behind  []string
	opened  []string // links that changeovers have opened
}

// all carries out the steps in order and books each as a stage.
func (w *work) all(ctx context.Context, p *Procedure) error {
	w.rec.Before = w.sim.Ledger()
	before := w.rec.Before
	for i := range p.Steps {
		s := &p.Steps[i]
		w.step, w.title = i+1, s.Title()
		stage := Stage{Step: i + 1, Title: s.Title(), Kind: s.Kind(), Start: w.sim.Time()}
		end, err := w.carryOut(ctx, s)
		stage.End, stage.Why = w.sim.Time(), end
		if err != nil {
			err = fmt.Errorf("step %d (%s): %w", w.step, w.title, err)
			stage.Why = "stopped: " + err.Error()
		}
		after := w.sim.Ledger()
		if bookErr := w.book(&stage, before, after); bookErr != nil {
			err = errors.Join(err, bookErr)
		}
		w.rec.Stages = append(w.rec.Stages, stage)
		before = after
		if err != nil {
			return err
		}
	}
	return nil
}

// carryOut does one step and says why it ended.
func (w *work) carryOut(ctx context.Context, s *Step) (string, error) {
	if err := w.warm(s.Warm); err != nil {
		return "", err
	}
	switch {
	case s.Sweep != nil:
		return w.sweep(ctx, s.Sweep)
	case s.Pull != nil:
		return w.pull(ctx, s.Pull)
	case s.Break != nil:
		return w.breakVacuum(ctx, s.Break)
	case s.Hold != nil:
		return w.wait(ctx, s.Hold.For)
	case s.Bleed != nil:
		return w.bleed(ctx, s.Bleed)
	case s.Watch != nil:
		return w.watch(ctx, s.Watch)
	case s.Changeover != nil:
		return w.changeover(ctx, s.Changeover)
	}
	return "pump valve shut", w.set(setting{gauge: true})
}

// warm brings nodes to their new temperatures.
func (w *work) warm(nodes []WarmNode) error {
	for _, n := range nodes {
		if err := w.sim.SetTemperature(n.Node, n.To); err != nil {
			return err
		}
	}
	return nil
}

// watch leaves the isolated circuit alone with its gauge on.
func (w *work) watch(ctx context.Context, s *WatchStep) (string, error) {
	if err := w.set(setting{gauge: true}); err != nil {
		return "", err
	}
	return "time over", w.guarded(ctx, time.Duration(s.For))
}

// changeover opens a link and lets the pressures settle.
func (w *work) changeover(ctx context.Context, s *ChangeoverStep) (string, error) {
	w.changed, w.behind = s.Link, w.rig.unreached(w.rig.job.Pump.Node, w.opened)
	w.opened = append(w.opened, s.Link)
	if err := errors.Join(w.set(setting{}), w.sim.SetLink(s.Link, true)); err != nil {
		return "", err
	}
	return s.Link + " opened", w.guarded(ctx, orElse(s.For, time.Minute))
}

// setting is how valves, pump and supply stand. The gauge's valve is open while
// the pump runs too.
type setting struct {
	pump, ballast, vent, gauge bool
	flow                       units.MolarFlow
}

// set brings the rig into a setting. The pump's valve is open while it runs.
func (w *work) set(to setting) error {
	var errs []error
	errs = append(errs, w.sim.SetPump(pumpName, to.pump, to.ballast))
	if v := w.rig.job.Pump.Valve; v != "" {
		errs = append(errs, w.sim.SetLink(v, to.pump))
	}
	if v := w.rig.job.Gauge.Valve; v != "" {
		errs = append(errs, w.sim.SetLink(v, to.gauge || to.pump))
	}
	if w.rig.job.Vent != nil {
		errs = append(errs, w.sim.SetLink(ventLink, to.vent))
	}
	if w.rig.job.Nitrogen != nil {
		errs = append(errs, w.sim.SetFeed(nitrogenFeed, to.flow))
	}
	return errors.Join(errs...)
}

// flow is the step's nitrogen flow or the supply's.
func (w *work) flow(f units.MolarFlow) units.MolarFlow {
	if f == 0 {
		return w.rig.job.Nitrogen.Flow
	}
	return f
}

// orElse is d, or what stands in for zero.
func orElse(d units.Duration, otherwise time.Duration) time.Duration {
	if d == 0 {
		return otherwise
	}
	return time.Duration(d)
}

// wait leaves the shut circuit alone.
func (w *work) wait(ctx context.Context, d units.Duration) (string, error) {
	if err := w.set(setting{}); err != nil {
		return "", err
	}
	return "time over", w.guarded(ctx, time.Duration(d))
}

// guarded lets the circuit go on for d. Where the job states a rating, a node
// that rises above it, warmed up while shut for instance, ends the run with an
// error.
func (w *work) guarded(ctx context.Context, d time.Duration) error {
	var over []vacuum.Condition
	if !w.rig.job.Rating.IsZero() {
		rating, err := w.rig.rating()
		if err != nil {
			return err
		}
		for i := range w.rig.job.Nodes {
			over = append(over, vacuum.PressureAbove(w.rig.job.Nodes[i].Name, rating))
		}
	}
	stop, err := w.sim.Run(ctx, d, over...)
	if err == nil && stop.Condition >= 0 {
		err = fmt.Errorf("%q rises above the rating: %v", w.rig.job.Nodes[stop.Condition].Name, over[stop.Condition])
	}
	return err
}

// sweep fills to ambient first when the circuit is below it, then opens the
// vent. It watches the rating all the while.
func (w *work) sweep(ctx context.Context, s *SweepStep) (string, error) {
	flow := w.flow(s.Flow)
	rating, err := w.rig.rating()
	if err != nil {
		return "", err
	}
	if err := w.set(setting{flow: flow}); err != nil {
		return "", err
	}
	over := vacuum.PressureAbove(w.rig.job.Nitrogen.Node, rating)
	stop, err := w.sim.Run(ctx, time.Hour, over, vacuum.PressureAbove(w.rig.job.Vent.Node, w.rig.ambient))
	switch {
	case err != nil:
		return "", err
	case stop.Condition == 0:
		return "", fmt.Errorf("filling the circuit for the sweep drives %q above the rating of %s absolute: less flow is needed", w.rig.job.Nitrogen.Node, rating.WithMicron())
	case stop.Condition < 0:
		return "", fmt.Errorf("an hour of nitrogen did not bring %q up to ambient pressure", w.rig.job.Vent.Node)
	}
	if err := w.set(setting{flow: flow, vent: true}); err != nil {
		return "", err
	}
	until, err := w.sweepEnds(s, over)
	if err != nil {
		return "", err
	}
	stop, err = w.sim.Run(ctx, orElse(s.For, 4*time.Hour), until...)
	switch {
	case err != nil:
		return "", err
	case stop.Condition == 0:
		return "", fmt.Errorf("the sweep drives %q above the rating of %s absolute: less flow or a wider vent is needed", w.rig.job.Nitrogen.Node, rating.WithMicron())
	case stop.Condition > 0:
		return until[stop.Condition].String(), nil
	case s.Nitrogen > 0 || s.DewPoint > 0:
		return "time over before the end that was asked for", nil
	}
	return "time over", nil
}

// sweepEnds are the conditions that end a sweep, the rating first.
func (w *work) sweepEnds(s *SweepStep, over vacuum.Condition) ([]vacuum.Condition, error) {
	until := []vacuum.Condition{over}
	if s.Nitrogen > 0 {
		until = append(until, vacuum.AdmittedAbove(nitrogenFeed, s.Nitrogen))
	}
	if s.DewPoint > 0 {
		vapour, _, err := moisture.SaturationPressure(s.DewPoint)
		if err != nil {
			return nil, err
		}
		share := units.MoleFraction(vapour / w.rig.ambient)
		until = append(until, vacuum.VapourShareBelow(w.rig.job.Vent.Node, min(share, 1)))
	}
	return until, nil
}

// breakVacuum lets nitrogen in until the pressure is reached.
func (w *work) breakVacuum(ctx context.Context, s *BreakStep) (string, error) {
	to, err := s.target(w.rig)
	if err != nil {
		return "", err
	}
	if err := w.set(setting{flow: w.flow(s.Flow)}); err != nil {
		return "", err
	}
	until := []vacuum.Condition{vacuum.PressureAbove(w.rig.job.Nitrogen.Node, to)}
	if s.Nitrogen > 0 {
		until = append(until, vacuum.AdmittedAbove(nitrogenFeed, s.Nitrogen))
	}
	if p, err := w.pressure(w.rig.job.Nitrogen.Node); err != nil {
		return "", err
	} else if p >= to {
		return "the pressure was there already, nothing let in", w.set(setting{})
	}
	limit := orElse(s.AtMost, time.Hour)
	stop, err := w.sim.Run(ctx, limit, until...)
	if err == nil {
		err = w.set(setting{})
	}
	switch {
	case err != nil:
		return "", err
	case stop.Condition < 0:
		return "", fmt.Errorf("%w: %s of nitrogen did not raise %q to %v", ErrUnreachable, minutes(limit), w.rig.job.Nitrogen.Node, to)
	case stop.Condition == 1:
		return "amount let in", nil
	case s.To.IsZero():
		return "stopped at the rating", nil
	}
	return "pressure reached", nil
}

// bleed opens the vent.
func (w *work) bleed(ctx context.Context, s *BleedStep) (string, error) {
	to, err := s.target(w.rig)
	if err != nil {
		return "", err
	}
	below := vacuum.PressureBelow(w.rig.job.Vent.Node, to)
	// Already down: opening the vent would draw air in.
	if p, err := w.pressure(w.rig.job.Vent.Node); err != nil {
		return "", err
	} else if p <= to {
		return "nothing to bleed", w.set(setting{})
	}
	if err := w.set(setting{vent: true}); err != nil {
		return "", err
	}
	stop, err := w.sim.Run(ctx, orElse(s.AtMost, time.Hour), below)
	if err == nil {
		err = w.set(setting{})
	}
	if err == nil && stop.Condition < 0 {
		return "time over before the pressure was down", nil
	}
	return "pressure reached", err
}

// pull runs the pump, with the ballast open as long as the step says.
func (w *work) pull(ctx context.Context, s *PullStep) (string, error) {
	left := orElse(s.AtMost, 4*time.Hour)
	ballast, err := s.ballast(w.rig)
	if err != nil {
		return "", err
	}
	if s.Until.IsZero() {
		return w.pump(ctx, time.Duration(s.For), ballast)
	}
	cond, err := s.condition(w.rig)
	if err != nil {
		return "", err
	}
	switch why, err := w.pump(ctx, left, ballast, cond); {
	case err != nil:
		return "", err
	case why != pressureReached:
		return "", w.unreached(s, left)
	}
	if s.For == 0 {
		return pressureReached, w.set(setting{})
	}
	_, err = w.pump(ctx, time.Duration(s.For), ballast)
	return "pressure reached and pumped on", err
}

// pump runs the pump for d or until a condition holds, shutting the ballast on
// the way, and then shuts the pump's valve.
func (w *work) pump(ctx context.Context, d time.Duration, ballast units.Pressure, until ...vacuum.Condition) (string, error) {
	end := w.sim.Time() + d
	if ballast > 0 {
		if err := w.set(setting{pump: true, ballast: true}); err != nil {
			return "", err
		}
		shut := vacuum.ReadingBelow(gaugeName, ballast)
		stop, err := w.sim.Run(ctx, d, append([]vacuum.Condition{shut}, until...)...)
		if err != nil || stop.Condition > 0 {
			return pressureReached, errors.Join(err, w.set(setting{}))
		}
	}
	why := "time over"
	if rest := end - w.sim.Time(); rest > 0 {
		if err := w.set(setting{pump: true}); err != nil {
			return "", err
		}
		stop, err := w.sim.Run(ctx, rest, until...)
		if err != nil {
			return "", errors.Join(err, w.set(setting{}))
		}
		if stop.Condition >= 0 {
			why = pressureReached
		}
	}
	return why, w.set(setting{})
}

// pressureReached is why a pull ends that got where it was to go. The clock
// cannot tell: it is rounded to nanoseconds.
const pressureReached = "pressure reached"

// pressure of a node now.
func (w *work) pressure(node string) (units.Pressure, error) {
	s, err := w.sim.Sample()
	if err != nil {
		return 0, err
	}
	return at(w.rig.nodeIndex(node), s.Pressure), nil
}

// unreached explains a pull that ran out of time: where the pressure hangs and
// what holds it there.
func (w *work) unreached(s *PullStep, limit time.Duration) error {
	if err := w.set(setting{pump: true}); err != nil {
		return err
	}
	f, err := w.sim.Floor(s.node(w.rig))
	if err != nil {
		return err
	}
	target, err := s.Until.Absolute(w.rig.ambient)
	if err != nil {
		return err
	}
	shown := ""
	if s.node(w.rig) == w.rig.job.Gauge.Node && w.rig.job.Gauge.Thermal {
		now, err := w.sim.Sample()
		if err != nil {
			return err
		}
		shown = fmt.Sprintf("; the thermal gauge there shows %s, since it reads water vapour too high", now.Reading[0].Pressure.WithMicron())
	}
	return fmt.Errorf("%w: %s not reached in %s; %v%s", ErrUnreachable, target.WithMicron(), minutes(limit), f, shown)
}
