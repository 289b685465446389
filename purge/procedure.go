package purge

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Procedure is an ordered list of steps.
type Procedure struct {
	Name  string `json:"name"`
	Steps []Step `json:"steps"`
}

// Step is one step of a procedure: exactly one of the kinds is given.
type Step struct {
	// Name is free text for the report; empty means the kind.
	Name    string       `json:"name,omitempty"`
	Sweep   *SweepStep   `json:"sweep,omitempty"`
	Pull    *PullStep    `json:"pull,omitempty"`
	Break   *BreakStep   `json:"break,omitempty"`
	Hold    *HoldStep    `json:"hold,omitempty"`
	Bleed   *BleedStep   `json:"bleed,omitempty"`
	Isolate *IsolateStep `json:"isolate,omitempty"`
	Watch   *WatchStep   `json:"watch,omitempty"`
}

// SweepStep passes nitrogen through the circuit and out of the vent, the pump
// shut off. Below ambient pressure the vent stays shut until the nitrogen has
// filled the circuit, so that no air is drawn in.
type SweepStep struct {
	// For is how long the vent is open, above 0.
	For units.Duration `json:"for"`
	// Flow of nitrogen; zero means the supply's.
	Flow units.MolarFlow `json:"flow,omitempty"`
}

// PullStep runs the pump: until a pressure, for a time, or both in that order.
type PullStep struct {
	// Until is the absolute pressure to reach; none means pump for the time For.
	Until units.PressureReading `json:"until,omitzero"`
	// At names the node whose pressure decides; empty means the gauge's node.
	At string `json:"at,omitempty"`
	// AtMost is when to give up on Until; zero means 4 hours.
	AtMost units.Duration `json:"at_most,omitempty"`
	// For is how long to go on after Until is reached.
	For units.Duration `json:"for,omitempty"`
	// BallastAbove keeps the gas ballast open as long as the gauge's node is
	// above this pressure; none keeps it shut.
	BallastAbove units.PressureReading `json:"ballast_above,omitzero"`
}

// BreakStep fills the circuit with nitrogen, the pump shut off.
type BreakStep struct {
	// To is the pressure at the node where nitrogen enters.
	To units.PressureReading `json:"to"`
	// Flow of nitrogen; zero means the supply's.
	Flow units.MolarFlow `json:"flow,omitempty"`
	// AtMost is when to give up; zero means 1 hour.
	AtMost units.Duration `json:"at_most,omitempty"`
}

// HoldStep leaves the circuit shut.
type HoldStep struct {
	For units.Duration `json:"for"`
}

// BleedStep opens the vent until the pressure at it has come down.
type BleedStep struct {
	// To is where to stop, above ambient; none means 0.5 % above ambient.
	To units.PressureReading `json:"to,omitzero"`
	// AtMost is when to give up; zero means 1 hour.
	AtMost units.Duration `json:"at_most,omitempty"`
}

// IsolateStep shuts the pump's valve and stops the pump.
type IsolateStep struct{}

// WatchStep leaves the isolated circuit alone and records the rise.
type WatchStep struct {
	For units.Duration `json:"for"`
}

// ErrUnreachable is what errors.Is finds when a pull cannot reach its pressure,
// before the run (target at or below the blank-off) or after it.
var ErrUnreachable = errors.New("pressure cannot be reached")

// Kind is the step's kind in one word, empty when none or several are given.
func (s *Step) Kind() string {
	kind, n := "", 0
	for _, k := range []struct {
		given bool
		word  string
	}{
		{s.Sweep != nil, "sweep"},
		{s.Pull != nil, "pull"},
		{s.Break != nil, "break"},
		{s.Hold != nil, "hold"},
		{s.Bleed != nil, "bleed"},
		{s.Isolate != nil, "isolate"},
		{s.Watch != nil, "watch"},
	} {
		if k.given {
			kind = k.word
			n++
		}
	}
	if n != 1 {
		return ""
	}
	return kind
}

// Title is the step's name, or its kind when it has none.
func (s *Step) Title() string {
	if s.Name != "" {
		return s.Name
	}
	return s.Kind()
}

// check refuses a procedure that cannot be run on the rig, naming the step.
func (p *Procedure) check(r *rig) error {
	if len(p.Steps) == 0 {
		return fmt.Errorf("steps: at least one is needed")
	}
	for i := range p.Steps {
		if err := p.Steps[i].check(r); err != nil {
			return fmt.Errorf("step %d (%s): %w", i+1, p.Steps[i].Title(), err)
		}
	}
	return nil
}

// check refuses a step that cannot be run on the rig.
func (s *Step) check(r *rig) error {
	switch {
	case s.Kind() == "":
		return fmt.Errorf("exactly one of sweep, pull, break, hold, bleed, isolate, watch is needed")
	case s.Sweep != nil:
		return errors.Join(r.needSweep(), checkTime("for", s.Sweep.For, 1), checkFlow(s.Sweep.Flow))
	case s.Pull != nil:
		return s.Pull.check(r)
	case s.Break != nil:
		return s.Break.check(r)
	case s.Hold != nil:
		return checkTime("for", s.Hold.For, 1)
	case s.Bleed != nil:
		return s.Bleed.check(r)
	case s.Watch != nil:
		return checkTime("for", s.Watch.For, 1)
	}
	return nil
}

// checkTime refuses a time below lo seconds or beyond a week.
func checkTime(field string, d units.Duration, lo float64) error {
	return units.CheckRange("", field, time.Duration(d).Seconds(), lo, 7*24*3600, "s")
}

// checkFlow refuses a negative or absurd flow; zero means the supply's.
func checkFlow(f units.MolarFlow) error {
	return units.CheckRange("", "flow", float64(f), 0, 10, "mol/s")
}

func (s *PullStep) check(r *rig) error {
	if s.Until.IsZero() {
		if err := checkTime("for", s.For, 1); err != nil {
			return fmt.Errorf("without until a pull needs for: %w", err)
		}
	}
	if err := errors.Join(checkTime("for", s.For, 0), checkTime("at_most", s.AtMost, 0)); err != nil {
		return err
	}
	if s.At != "" && !r.hasNode(s.At) {
		return fmt.Errorf("at: there is no node %q, there are %s", s.At, r.nodeList())
	}
	if _, err := s.ballast(r); err != nil {
		return err
	}
	if s.Until.IsZero() {
		return nil
	}
	target, err := s.Until.Absolute(r.ambient)
	if err != nil {
		return fmt.Errorf("until: %w", err)
	}
	if err := units.CheckRange("", "until", float64(target), 0, float64(r.ambient), "Pa"); err != nil {
		return err
	}
	if low := r.job.Pump.BlankOff; target <= low {
		return fmt.Errorf("%w: until %s is not above the pump's blank-off of %s; choose a target above it or another pump", ErrUnreachable, target.WithMicron(), low.WithMicron())
	}
	return nil
}

// ballast is the pressure at which the gas ballast is shut, zero when it stays
// shut.
func (s *PullStep) ballast(r *rig) (units.Pressure, error) {
	if s.BallastAbove.IsZero() {
		return 0, nil
	}
	p, err := s.BallastAbove.Absolute(r.ambient)
	if err != nil {
		return 0, fmt.Errorf("ballast_above: %w", err)
	}
	low := math.Max(float64(r.job.Pump.BallastBlankOff), float64(r.job.Pump.BlankOff))
	if err := units.CheckRange("", "ballast_above", float64(p), low, float64(r.ambient), "Pa"); err != nil {
		return 0, fmt.Errorf("%w: the ballast would never be shut below the pump's blank-off with ballast", err)
	}
	return p, nil
}

func (s *BreakStep) check(r *rig) error {
	if r.job.Nitrogen == nil {
		return fmt.Errorf("a break needs the job's nitrogen supply")
	}
	to, err := s.To.Absolute(r.ambient)
	if err != nil {
		return fmt.Errorf("to: %w", err)
	}
	rating, err := r.rating()
	if err != nil {
		return err
	}
	if to > rating {
		return fmt.Errorf("to: %w", units.CheckRange("", "break pressure", float64(to), 0, float64(rating), "Pa absolute"))
	}
	return errors.Join(checkFlow(s.Flow), checkTime("at_most", s.AtMost, 0))
}

func (s *BleedStep) check(r *rig) error {
	if r.job.Vent == nil {
		return fmt.Errorf("bleeding needs the job's vent")
	}
	if _, err := s.target(r); err != nil {
		return err
	}
	return checkTime("at_most", s.AtMost, 0)
}

// target is the pressure at which bleeding stops.
func (s *BleedStep) target(r *rig) (units.Pressure, error) {
	if s.To.IsZero() {
		return 1.005 * r.ambient, nil
	}
	to, err := s.To.Absolute(r.ambient)
	if err != nil {
		return 0, fmt.Errorf("to: %w", err)
	}
	if err := units.CheckRange("", "to", float64(to), 1.0001*float64(r.ambient), 20e6, "Pa absolute"); err != nil {
		return 0, fmt.Errorf("%w: an open vent cannot take the circuit to or below ambient", err)
	}
	return to, nil
}

// needSweep refuses a sweep that has no supply, no vent or no way between.
func (r *rig) needSweep() error {
	switch {
	case r.job.Nitrogen == nil:
		return fmt.Errorf("a sweep needs the job's nitrogen supply")
	case r.job.Vent == nil:
		return fmt.Errorf("a sweep needs the job's vent: never sweep into a closed end")
	}
	if _, err := r.rating(); err != nil {
		return err
	}
	reached := map[string]bool{r.job.Nitrogen.Node: true}
	for spread := true; spread; {
		spread = false
		for _, l := range r.job.Links {
			if l.Name != r.job.Pump.Valve && reached[l.From] != reached[l.To] {
				reached[l.From], reached[l.To], spread = true, true, true
			}
		}
	}
	if !reached[r.job.Vent.Node] {
		return fmt.Errorf("with the pump's valve shut no way leads from the nitrogen at %q to the vent at %q: never sweep into a closed end", r.job.Nitrogen.Node, r.job.Vent.Node)
	}
	return nil
}

// rating is the highest absolute pressure allowed.
func (r *rig) rating() (units.Pressure, error) {
	if r.job.Rating.IsZero() {
		return 0, fmt.Errorf("rating is missing: state the pressure rating of the weakest part before nitrogen is used")
	}
	p, err := r.job.Rating.Absolute(r.ambient)
	if err != nil {
		return 0, fmt.Errorf("rating: %w", err)
	}
	return p, nil
}

// pullNode is the node whose pressure ends a pull.
func (s *PullStep) node(r *rig) string {
	if s.At != "" {
		return s.At
	}
	return r.job.Gauge.Node
}

// condition ends the pull at its target.
func (s *PullStep) condition(r *rig) (vacuum.Condition, error) {
	target, err := s.Until.Absolute(r.ambient)
	return vacuum.PressureBelow(s.node(r), target), err
}
