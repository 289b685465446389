package purge

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/rise"
)

// Goal is what a plan has to reach.
type Goal struct {
	// Water is the most that may be left, kg; zero means the job's dryness limit
	// times its charge.
	Water units.Mass
	// Pressure is what the system's node must be at or below when the pump is
	// shut off, Pa; zero means 500 micron (common practice).
	Pressure units.Pressure
	// Watch is how long the isolated circuit is watched for a leak; zero means
	// the longer of 15 minutes (common practice) and what rise.Plan asks for to
	// find the job's leak limit with its gauge, read every 10 s, in the isolated
	// volume.
	Watch time.Duration
	// AtMost is the longest last pull that is considered; zero means 8 hours.
	AtMost time.Duration
}

// PlanOptions steers MakePlan. Nil is legal.
type PlanOptions struct {
	// MaxRuns bounds how often a procedure is run during the search, 20 to
	// 100,000; zero means 300. Confirming the plan takes two more as a rule, and
	// every variant of the rig one.
	MaxRuns int
	// MaxBreaks is the largest number of nitrogen breaks considered, 0 to 6; nil
	// means 3.
	MaxBreaks *int
	// Variants are changes to the rig to set against the plan; nil means
	// Job.Variants.
	Variants []Variant
	// Workers is how many runs go on at once; zero means one per processor. The
	// plan does not depend on it.
	Workers int
	// Progress, when not nil, hears how many runs are done. It is called by one
	// goroutine at a time.
	Progress func(done int)
}

// Choice is a point of the planner's search.
type Choice struct {
	// Sweep is how long nitrogen is passed through at first; zero means no sweep.
	Sweep time.Duration
	// Breaks is the number of nitrogen breaks, each after a pull until Target at
	// the gauge, up to BreakTo (absolute), held for Hold. All three mean nothing
	// without breaks.
	Breaks          int
	Target, BreakTo units.Pressure
	Hold            time.Duration
	// BallastAbove is the pressure at the gauge's node down to which the gas
	// ballast is open in every pull; zero means never open.
	BallastAbove units.Pressure
}

// Candidate is a choice with what the model says of it.
type Candidate struct {
	Choice
	// Reached is true when the goal was reached; Reason says why not.
	Reached bool
	Reason  string
	// LastPull is how long the last pull has to be, rounded up to a minute: as the
	// search reads it, to about a second, from a run of less accuracy. In Plan.Best
	// it is the whole minutes with which the plan meets the goal at the full accuracy
	// of Run, while with one minute less it does not.
	LastPull time.Duration
	// Took is the whole plan with the watch. The last pull counts without
	// rounding, so that candidates compare; in Plan.Best it is the record's time.
	Took time.Duration
	// Water left when the last pull ends (in Plan.Best after the watch), nitrogen used,
	// and the water that the pump's oil keeps.
	Water    units.Mass
	Nitrogen units.Amount
	OilWater units.Mass
}

// RigGain is the plan's time on another rig: the same choice, its last pull as
// long as that rig needs.
type RigGain struct {
	Variant string
	Candidate
}

// Plan is the outcome of MakePlan.
type Plan struct {
	// Goal is what was to be reached, defaults filled in.
	Goal Goal
	// Best is the fastest candidate, nil when none reached the goal.
	Best *Candidate
	// Procedure is Best as a procedure of the job, and Record how it went at the
	// full accuracy of Run; nil when there is none.
	Procedure *Procedure
	Record    *Record
	// ByBreaks are the best candidates found for 0, 1, 2 ... breaks.
	ByBreaks []Candidate
	// AtEnd names the settings of Best that stand at the end of the values tried,
	// so that going further might be faster still.
	AtEnd []string
	// LeastOil is the candidate, of all that reach the goal, with which the
	// pump's oil keeps least water; nil when none reaches it.
	LeastOil *Candidate
	// Without says why no breaks or no sweep were considered, empty when they
	// were.
	Without string
	// Rigs says what changes of the rig buy; empty when there is no Best.
	Rigs []RigGain
	// Runs is how often a procedure was run, and Exhausted is true when the
	// search stopped because of MaxRuns.
	Runs      int
	Exhausted bool
}

// ErrNoGoal is what errors.Is finds when neither the goal nor the job says how
// dry is dry enough.
var ErrNoGoal = errors.New("no dryness limit")

// MakePlan looks for the fastest procedure that leaves the job's circuit dry
// enough on the job's rig: sweep, pulls with nitrogen breaks, ballast, a last
// pull as long as it takes, and a watch. The job's own procedures play no part.
//
// The search is a deterministic descent: for each number of breaks it starts
// from common practice (no sweep, pulls to 2000 micron, breaks to 2 psig held
// for 5 minutes, no ballast), tries every listed value of one setting with the
// others kept, takes the best, goes on to the next setting, and repeats until a
// round changes nothing, at most three rounds. It finds the best of what it
// tried, which need not be the best of all combinations. Within 1 % of the time
// it prefers fewer breaks, then no sweep, then less water in the pump's oil.
//
// The listed values are: sweep 0, 5, 15, 30, 60 minutes; pulls to 5000, 2000, 1000,
// 500 micron; breaks to half of ambient pressure, 2 and 5 psig; held 0, 5, 15
// minutes; ballast never, open above 1.5 times its blank-off, open above 10000
// micron. Those that the rig does not allow are left out.
//
// When the context ends, what was found until then comes with the error.
func MakePlan(ctx context.Context, j *Job, goal Goal, opt *PlanOptions) (*Plan, error) {
	s, err := newPlanner(j, goal, opt)
	if err != nil {
		return nil, err
	}
	err = s.search(ctx)
	p := &s.plan
	for i := range p.ByBreaks {
		if c := &p.ByBreaks[i]; c.Reached && (p.Best == nil || c.before(p.Best)) {
			p.Best = c
		}
	}
	if err != nil || p.Best == nil {
		return p, err
	}
	p.LeastOil = s.leastOil()
	p.AtEnd = s.atEnd(p.Best.Choice)
	best := *p.Best
	p.Best = &best
	if err := s.confirm(ctx); err != nil {
		return p, err
	}
	return p, s.otherRigs(ctx)
}

// complete fills in the goal's defaults and checks it.
func (g *Goal) complete(r *rig) error {
	if g.Water == 0 {
		g.Water = r.job.waterLimit()
	}
	if g.Water == 0 {
		return fmt.Errorf("%w: state charge and dryness_limit in the job, or Goal.Water", ErrNoGoal)
	}
	if g.Pressure == 0 {
		g.Pressure = 500 * units.Micron
	}
	if g.AtMost == 0 {
		g.AtMost = 8 * time.Hour
	}
	if g.Watch == 0 {
		g.Watch = max(15*time.Minute, r.watchFor(g.Pressure))
	}
	for _, b := range []bound{
		{"Water", float64(g.Water), 1e-9, 1e3, "kg"},
		{"Watch", g.Watch.Seconds(), 1, 7 * 24 * 3600, "s"},
		{"AtMost", g.AtMost.Seconds(), 60, 7 * 24 * 3600, "s"},
		{"Pressure", float64(g.Pressure), 0, float64(r.ambient), "Pa"},
	} {
		if err := units.CheckRange("purge.MakePlan", "Goal."+b.path, b.v, b.lo, b.hi, b.unit); err != nil {
			return err
		}
	}
	if g.Pressure <= r.job.Pump.BlankOff {
		return fmt.Errorf("%w: Goal.Pressure %v is not above the pump's blank-off %v", ErrUnreachable, g.Pressure, r.job.Pump.BlankOff)
	}
	return nil
}

// watchFor is how long it takes to find the job's leak limit, zero when the job
// does not say enough to tell.
func (r *rig) watchFor(start units.Pressure) time.Duration {
	j := r.job
	if j.LeakLimit == 0 || j.Gauge.Resolution == 0 {
		return 0
	}
	var v units.Volume
	reached := j.reachedFrom(j.Gauge.Node)
	for i := range j.Nodes {
		if reached[j.Nodes[i].Name] {
			v += j.Nodes[i].Volume
		}
	}
	d, err := rise.Plan{
		Volume: v, Start: start, SiteTemperature: j.Site.Temperature,
		Gauge: rise.Gauge{Resolution: j.Gauge.Resolution}, Interval: 10 * time.Second, Duration: 15 * time.Minute,
	}.DurationFor(j.LeakLimit)
	if err != nil {
		return 0 // no watching time finds it; the report of a rise test says more
	}
	return d
}

// reachedFrom are the nodes joined to one with the pump's valve shut.
func (j *Job) reachedFrom(node string) map[string]bool {
	reached := map[string]bool{node: true}
	for spread := true; spread; {
		spread = false
		for _, l := range j.Links {
			if l.Name != j.Pump.Valve && !l.Closed && reached[l.From] != reached[l.To] {
				reached[l.From], reached[l.To], spread = true, true, true
			}
		}
	}
	return reached
}

// before is true when c is to be preferred to other.
func (c *Candidate) before(other *Candidate) bool {
	if c.Reached != other.Reached {
		return c.Reached
	}
	if !c.Reached {
		return false
	}
	if a, b := c.Took.Seconds(), other.Took.Seconds(); a < 0.99*b || b < 0.99*a {
		return a < b
	}
	switch {
	case c.Breaks != other.Breaks:
		return c.Breaks < other.Breaks
	case (c.Sweep == 0) != (other.Sweep == 0):
		return c.Sweep == 0
	case c.OilWater < 0.9*other.OilWater || other.OilWater < 0.9*c.OilWater:
		return c.OilWater < other.OilWater
	}
	return c.Took < other.Took
}

// planSimulation is the integrator's setting while planning; the samples are
// dense enough to read the end of the last pull between two of them to a second.
func planSimulation(atMost time.Duration) *vacuum.Options {
	return &vacuum.Options{RelTol: 1e-4, PressureScale: 0.5, SampleEvery: max(15*time.Second, atMost/960)}
}
