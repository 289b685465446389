package purge

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Procedure is an ordered list of steps.
type Procedure struct {
	// Name is the procedure's handle in reports.
	Name string `json:"name"`
	// Steps in their order, at least one.
	Steps []Step `json:"steps"`
}

// Step is one step of a procedure: exactly one of the kinds is given.
type Step struct {
	// Name is free text for the report; empty means the kind.
	Name string `json:"name,omitempty"`
	// Warm sets the temperature of nodes from this step on: heat on a wet spot,
	// or its end. The metal is taken to follow at once.
	Warm       []WarmNode      `json:"warm,omitempty"`
	Sweep      *SweepStep      `json:"sweep,omitempty"`
	Pull       *PullStep       `json:"pull,omitempty"`
	Break      *BreakStep      `json:"break,omitempty"`
	Hold       *HoldStep       `json:"hold,omitempty"`
	Bleed      *BleedStep      `json:"bleed,omitempty"`
	Isolate    *IsolateStep    `json:"isolate,omitempty"`
	Watch      *WatchStep      `json:"watch,omitempty"`
	Changeover *ChangeoverStep `json:"changeover,omitempty"`
}

// WarmNode is a node and the temperature that its metal is brought to.
type WarmNode struct {
	// Node names a node of the job.
	Node string `json:"node"`
	// To is the temperature, K, 223.15 to 393.15.
	To units.Temperature `json:"to"`
}

// ChangeoverStep opens a link that was shut so far, such as the hose that will
// bring the refrigerant, and waits For so that the pressures settle. The stage
// books what air and water the far side of the link brought in.
type ChangeoverStep struct {
	// Link names a link of the job that is marked closed.
	Link string `json:"link"`
	// For is how long to wait; zero means one minute.
	For units.Duration `json:"for,omitempty"`
}

// SweepStep passes nitrogen through the circuit and out of the vent, the pump
// shut off. Below ambient pressure the vent stays shut until the nitrogen has
// filled the circuit, so that no air is drawn in.
//
// It ends with the first of For, Nitrogen and DewPoint that is reached; at least
// one is needed, and the last two give up after For, or 4 hours when For is
// zero.
type SweepStep struct {
	// For is how long the vent is open; zero means that it is not the end.
	For units.Duration `json:"for,omitempty"`
	// Nitrogen is the amount to pass; zero means that it is not the end.
	Nitrogen units.Amount `json:"nitrogen,omitempty"`
	// DewPoint of the leaving gas to reach, the frost point below 0.01 °C, at
	// ambient pressure; zero means that it is not the end.
	DewPoint units.Temperature `json:"dew_point,omitempty"`
	// Flow of nitrogen; zero means the supply's.
	Flow units.MolarFlow `json:"flow,omitempty"`
}

// PullStep runs the pump: until a pressure, for a time, or both in that order.
type PullStep struct {
	// Until is the absolute pressure to reach; none means pump for the time For.
	// Where the gauge decides it lies within the gauge's Bottom and Ceiling.
	Until units.PressureReading `json:"until,omitzero"`
	// At names the node whose pressure decides; empty or the gauge's node means
	// what the gauge shows.
	At string `json:"at,omitempty"`
	// AtMost is when to give up on Until; zero means 4 hours.
	AtMost units.Duration `json:"at_most,omitempty"`
	// For is how long to go on after Until is reached.
	For units.Duration `json:"for,omitempty"`
	// BallastAbove keeps the gas ballast open as long as the gauge shows more
	// than this pressure; none keeps it shut.
	BallastAbove units.PressureReading `json:"ballast_above,omitzero"`
}

// BreakStep fills the circuit with nitrogen, the pump shut off, up to a pressure
// or by an amount, whichever comes first. At least one is needed; an amount
// alone stops at the rating.
type BreakStep struct {
	// To is the pressure at the node where nitrogen enters; none means that it
	// is not the end.
	To units.PressureReading `json:"to,omitzero"`
	// Nitrogen is the amount to let in; zero means that it is not the end.
	Nitrogen units.Amount `json:"nitrogen,omitempty"`
	// Flow of nitrogen; zero means the supply's.
	Flow units.MolarFlow `json:"flow,omitempty"`
	// AtMost is when to give up; zero means 1 hour.
	AtMost units.Duration `json:"at_most,omitempty"`
}

// HoldStep leaves the circuit shut.
type HoldStep struct {
	// For is how long, 1 s to a week.
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
	// For is how long, 1 s to a week.
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
		{s.Changeover != nil, "changeover"},
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
	switch {
	case s.Name != "":
		return s.Name
	case s.Kind() != "":
		return s.Kind()
	}
	return "of no kind"
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
	for _, w := range s.Warm {
		if !r.hasNode(w.Node) {
			return fmt.Errorf("warm: there is no node %q, there are %s", w.Node, r.nodeList())
		}
		if err := units.CheckRange("", "warm: to", w.To.Celsius(), -50, 120, "°C"); err != nil {
			return err
		}
	}
	switch {
	case s.Kind() == "":
		return fmt.Errorf("exactly one of sweep, pull, break, hold, bleed, isolate, watch, changeover is needed")
	case s.Sweep != nil:
		return s.Sweep.check(r)
	case s.Changeover != nil:
		return s.Changeover.check(r)
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

func (s *SweepStep) check(r *rig) error {
	if err := errors.Join(r.needSweep(), checkTime("for", s.For, 0), checkFlow(s.Flow), checkAmount(s.Nitrogen)); err != nil {
		return err
	}
	if s.For == 0 && s.Nitrogen == 0 && s.DewPoint == 0 {
		return fmt.Errorf("at least one of for, nitrogen, dew_point is needed")
	}
	if s.DewPoint == 0 {
		return nil
	}
	vapour, _, err := moisture.SaturationPressure(s.DewPoint)
	if err != nil {
		return fmt.Errorf("dew_point: %w", err)
	}
	if wet := float64(r.job.Nitrogen.Moisture) * float64(r.ambient); float64(vapour) <= wet {
		return fmt.Errorf("%w: dew_point %v means %.3g Pa of vapour, the nitrogen itself brings %.3g Pa", ErrUnreachable, s.DewPoint, float64(vapour), wet)
	}
	return nil
}

// check refuses a changeover without a closed link.
func (s *ChangeoverStep) check(r *rig) error {
	for i := range r.job.Links {
		if l := &r.job.Links[i]; l.Name == s.Link {
			if !l.Closed {
				return fmt.Errorf("link: %q is open from the start; mark it closed", s.Link)
			}
			return checkTime("for", s.For, 0)
		}
	}
	return fmt.Errorf("link: there is no link %q", s.Link)
}

// checkAmount refuses a negative or absurd amount; zero means that it is not
// the end.
func checkAmount(n units.Amount) error {
	return units.CheckRange("", "nitrogen", float64(n), 0, 1e6, "mol")
}

func (s *PullStep) check(r *rig) error {
	if s.Until.IsZero() {
		if err := checkTime("for", s.For, 1); err != nil {
			return fmt.Errorf("without until a pull needs a time: %w", err)
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
	if s.node(r) == r.job.Gauge.Node {
		if err := r.job.Gauge.canShow(target); err != nil {
			return fmt.Errorf("until %w, so that the gauge that ends this pull cannot show it", err)
		}
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
	if s.To.IsZero() && s.Nitrogen == 0 {
		return fmt.Errorf("at least one of to, nitrogen is needed")
	}
	if _, err := s.target(r); err != nil {
		return err
	}
	return errors.Join(checkFlow(s.Flow), checkAmount(s.Nitrogen), checkTime("at_most", s.AtMost, 0))
}

// target is the pressure to stop at, the rating when none is given.
func (s *BreakStep) target(r *rig) (units.Pressure, error) {
	rating, err := r.rating()
	if err != nil || s.To.IsZero() {
		return rating, err
	}
	to, err := s.To.Absolute(r.ambient)
	if err != nil {
		return 0, fmt.Errorf("to: %w", err)
	}
	if err := units.CheckRange("", "break pressure", float64(to), 0, float64(rating), "Pa absolute"); err != nil {
		return 0, fmt.Errorf("to: %w, the rating of the weakest part", err)
	}
	return to, nil
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
	cut := r.unreached(r.job.Nitrogen.Node, nil, r.job.Pump.Valve)
	if slices.Contains(cut, r.job.Vent.Node) {
		return fmt.Errorf("with the pump's valve shut no way leads from the nitrogen at %q to the vent at %q: never sweep into a closed end", r.job.Nitrogen.Node, r.job.Vent.Node)
	}
	return nil
}

// unreached lists the nodes to which no open link leads from a node. Links
// marked closed count as open when they are among opened, any link among shut
// does not.
func (r *rig) unreached(from string, opened []string, shut ...string) []string {
	reached := map[string]bool{from: true}
	for spread := true; spread; {
		spread = false
		for _, l := range r.job.Links {
			open := (!l.Closed || slices.Contains(opened, l.Name)) && !slices.Contains(shut, l.Name)
			if open && reached[l.From] != reached[l.To] {
				reached[l.From], reached[l.To], spread = true, true, true
			}
		}
	}
	var cut []string
	for i := range r.job.Nodes {
		if name := r.job.Nodes[i].Name; !reached[name] {
			cut = append(cut, name)
		}
	}
	return cut
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
	if err := units.CheckRange("", "rating, absolute", float64(p), math.Nextafter(float64(r.ambient), math.Inf(1)), highestRating, "Pa"); err != nil {
		return 0, err
	}
	return p, nil
}

// highestRating is beyond any refrigeration circuit, Pa.
const highestRating = 20e6

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
	if s.node(r) == r.job.Gauge.Node {
		return vacuum.ReadingBelow(gaugeName, target), err
	}
	return vacuum.PressureBelow(s.node(r), target), err
}
