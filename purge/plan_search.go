package purge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// planner is a search under way.
type planner struct {
	rig  *rig
	opt  PlanOptions
	plan Plan
	// known holds every candidate that was run, so that none is run twice, and
	// order their choices as they were run.
	known map[Choice]Candidate
	order []Choice
	// settings are tried in this order.
	settings []knob
}

// knob is one setting of a choice with the values that the rig allows.
type knob struct {
	name       string
	breaksOnly bool
	// fromNone is true when the first value is to do without.
	fromNone bool
	set      []func(*Choice)
}

func newPlanner(j *Job, goal Goal, opt *PlanOptions) (*planner, error) {
	s := &planner{known: map[Choice]Candidate{}}
	if opt != nil {
		s.opt = *opt
	}
	if s.opt.MaxRuns == 0 {
		s.opt.MaxRuns = 300
	}
	if s.opt.MaxBreaks == nil {
		three := 3
		s.opt.MaxBreaks = &three
	}
	if s.opt.Variants == nil {
		s.opt.Variants = j.Variants()
	}
	for _, b := range []bound{
		{"MaxRuns", float64(s.opt.MaxRuns), 20, 1e5, ""},
		{"MaxBreaks", float64(*s.opt.MaxBreaks), 0, 6, ""},
		{"Workers", float64(s.opt.Workers), 0, 1024, ""},
	} {
		if err := units.CheckRange("purge.MakePlan", b.path, b.v, b.lo, b.hi, b.unit); err != nil {
			return nil, err
		}
	}
	var err error
	if s.rig, err = j.build(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrJob, err)
	}
	if err := s.rig.circuit.Check(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrJob, err)
	}
	if err := goal.complete(s.rig); err != nil {
		return nil, err
	}
	s.plan.Goal = goal
	s.allow()
	return s, nil
}

// allow lists the values that the rig allows.
func (s *planner) allow() {
	j, ambient := s.rig.job, s.rig.ambient
	rating, ratingErr := s.rig.rating()
	list := func(name string, breaksOnly, fromNone bool, set ...func(*Choice)) {
		s.settings = append(s.settings, knob{name, breaksOnly, fromNone, set})
	}
	ballast := []func(*Choice){func(c *Choice) { c.BallastAbove = 0 }}
	if p := j.Pump; p.BallastBlankOff > 0 {
		for _, above := range []units.Pressure{1.5 * p.BallastBlankOff, 10000 * units.Micron} {
			if above > max(p.BallastBlankOff, p.BlankOff) && above < ambient {
				ballast = append(ballast, func(c *Choice) { c.BallastAbove = above })
			}
		}
	}
	list("ballast", false, true, ballast...)
	if j.Nitrogen == nil || ratingErr != nil {
		none := 0
		s.opt.MaxBreaks = &none
		s.plan.Without = "no breaks and no sweep: the job states no nitrogen supply or no pressure rating"
		return
	}
	var target, to, hold []func(*Choice)
	for _, micron := range []units.Pressure{5000, 2000, 1000, 500} {
		if p := micron * units.Micron; p > 1.2*j.Pump.BlankOff && j.Gauge.canShow(p) == nil {
			target = append(target, func(c *Choice) { c.Target = p })
		}
	}
	for _, p := range []units.Pressure{0.5 * ambient, units.GaugePressure(2 * units.PSIG).Absolute(ambient), units.GaugePressure(5 * units.PSIG).Absolute(ambient)} {
		if p <= rating && (p < ambient || j.Vent != nil) {
			to = append(to, func(c *Choice) { c.BreakTo = p })
		}
	}
	for _, minutes := range []time.Duration{0, 5, 15} {
		hold = append(hold, func(c *Choice) { c.Hold = minutes * time.Minute })
	}
	list("pressure of the pulls", true, false, target...)
	list("pressure of the breaks", true, false, to...)
	list("hold", true, true, hold...)
	if len(target) == 0 || len(to) == 0 {
		none := 0
		s.opt.MaxBreaks = &none
		s.plan.Without = "no breaks: the pump's blank-off, the gauge or the pressure rating allows none"
	}
	if err := s.rig.needSweep(); err != nil {
		s.plan.Without = "no sweep: " + err.Error()
		return
	}
	var sweep []func(*Choice)
	for _, minutes := range []time.Duration{0, 5, 15, 30, 60} {
		sweep = append(sweep, func(c *Choice) { c.Sweep = minutes * time.Minute })
	}
	list("sweep", false, true, sweep...)
}

// start is common practice with a number of breaks, as far as the rig allows.
func (s *planner) start(breaks int) Choice {
	c := Choice{Breaks: breaks}
	for i := range s.settings {
		if set := s.settings[i]; len(set.set) > 0 && (breaks > 0 || !set.breaksOnly) {
			set.set[0](&c)
			if set.breaksOnly && len(set.set) > 1 {
				set.set[1](&c) // 2000 micron, 2 psig, 5 min
			}
		}
	}
	return c
}

// atEnd names the settings of a choice that are the first or the last of their
// values. Doing without is no end. Ballast is left out: its values are the
// pump's own bound and the rule of the trade.
func (s *planner) atEnd(c Choice) []string {
	var out []string
	for _, k := range s.settings {
		if k.breaksOnly && c.Breaks == 0 || k.name == "ballast" {
			continue
		}
		is := func(i int) bool {
			other := c
			k.set[i](&other)
			return other == c
		}
		if is(len(k.set)-1) || !k.fromNone && is(0) {
			out = append(out, k.name)
		}
	}
	if c.Breaks > 0 && c.Breaks == *s.opt.MaxBreaks {
		out = append(out, "number of breaks")
	}
	return out
}

// rounds of the descent at most.
const rounds = 3

// search descends for each number of breaks.
func (s *planner) search(ctx context.Context) error {
	for breaks := 0; breaks <= *s.opt.MaxBreaks; breaks++ {
		found, err := s.try(ctx, []Choice{s.start(breaks)})
		if err != nil {
			return err
		}
		if len(found) == 0 {
			return nil // no runs left
		}
		best := found[0]
		for round := 0; round < rounds; round++ {
			before := best.Choice
			for _, set := range s.settings {
				if set.breaksOnly && breaks == 0 {
					continue
				}
				var around []Choice
				for _, change := range set.set {
					c := best.Choice
					change(&c)
					around = append(around, c)
				}
				found, err := s.try(ctx, around)
				for i := range found {
					if found[i].before(&best) {
						best = found[i]
					}
				}
				if err != nil {
					s.plan.ByBreaks = append(s.plan.ByBreaks, best)
					return err
				}
			}
			if best.Choice == before {
				break
			}
		}
		s.plan.ByBreaks = append(s.plan.ByBreaks, best)
	}
	return nil
}

// try runs the choices that have not been run yet, as far as MaxRuns allows,
// and returns the candidates that there are, in the order of the choices.
func (s *planner) try(ctx context.Context, choices []Choice) ([]Candidate, error) {
	var fresh []Choice
	for _, c := range choices {
		if _, ok := s.known[c]; !ok {
			fresh = append(fresh, c)
		}
	}
	if room := s.opt.MaxRuns - s.plan.Runs; len(fresh) > room {
		fresh, s.plan.Exhausted = fresh[:room], true
	}
	ran := make([]Candidate, len(fresh))
	was := s.plan.Runs
	err := parallel(ctx, len(fresh), s.opt.Workers, func(done, _ int) {
		s.plan.Runs = was + done
		if s.opt.Progress != nil {
			s.opt.Progress(s.plan.Runs)
		}
	}, func(ctx context.Context, i int) error {
		var err error
		ran[i], err = s.evaluate(ctx, s.rig.job, fresh[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, c := range fresh {
		s.known[c] = ran[i]
		s.order = append(s.order, c)
	}
	var out []Candidate
	for _, c := range choices {
		if k, ok := s.known[c]; ok {
			out = append(out, k)
		}
	}
	return out, nil
}

// evaluate runs a choice with a last pull as long as the goal allows and reads
// from the record how long it has to be.
func (s *planner) evaluate(ctx context.Context, j *Job, c Choice) (Candidate, error) {
	out := Candidate{Choice: c}
	goal := &s.plan.Goal
	p := s.procedure(c, goal.AtMost)
	p.Steps = p.Steps[:len(p.Steps)-2] // neither isolated nor watched
	rec, err := Run(ctx, j, p, &RunOptions{Simulation: planSimulation(goal.AtMost)})
	switch outcome(rec, err) {
	case NotRun:
		return out, err
	case Completed:
	default:
		out.Reason = err.Error()
		return out, nil
	}
	last := rec.last()
	end, water, ok := s.dryAt(j, rec)
	if !ok {
		out.Reason = fmt.Sprintf("after a last pull of %s, %s of water is left and the system is at %v", minutes(goal.AtMost), grams(rec.WaterLeft()), last.System)
		return out, nil
	}
	out.Reached, out.Water, out.Nitrogen = true, water, rec.Nitrogen()
	out.LastPull = wholeMinutes(end - last.Start)
	out.Took = end + goal.Watch
	out.OilWater = oilWater(rec)
	return out, nil
}

// wholeMinutes rounds up, to a minute at least.
func wholeMinutes(d time.Duration) time.Duration {
	return max(time.Duration(math.Ceil(d.Minutes())), 1) * time.Minute
}

// oilWater is what the pump's oil gained over the whole record, none when it lost.
func oilWater(r *Record) units.Mass {
	var m units.Mass
	for i := range r.Stages {
		for _, x := range r.Stages[i].Moved {
			switch x.Way {
			case vacuum.ByPumpOil:
				m += x.Water
			case vacuum.InByPump: // only its oil gives vapour back
				m -= x.Water
			}
		}
	}
	return max(m, 0)
}

// leastOil is the candidate that leaves least in the pump's oil, the faster of
// two within 1 %. Less than a milligram is all the same to an oil.
func (s *planner) leastOil() *Candidate {
	var least *Candidate
	oil := func(c *Candidate) units.Mass { return max(c.OilWater, 1e-6) }
	for _, choice := range s.order {
		c := s.known[choice]
		if c.Reached && (least == nil || oil(&c) < 0.99*oil(least) || oil(&c) < 1.01*oil(least) && c.Took < least.Took) {
			least = &c
		}
	}
	return least
}

// dryAt is when the last pull first meets the goal, and the water left then:
// between the first sample that does and the one before it, pressure and water
// are taken to fall by the same factor in the same time.
func (s *planner) dryAt(j *Job, r *Record) (time.Duration, units.Mass, bool) {
	start, goal := r.last().Start, &s.plan.Goal
	system := s.rig.nodeIndex(r.SystemNode)
	for i := range r.Samples {
		x := &r.Samples[i]
		p, w := x.Pressure[system], j.waterIn(x)
		if x.Time < start || p > goal.Pressure || w > goal.Water {
			continue
		}
		if i == 0 || r.Samples[i-1].Time < start {
			return x.Time, w, true
		}
		before := &r.Samples[i-1]
		wet := j.waterIn(before)
		share := max(fallen(float64(before.Pressure[system]), float64(p), float64(goal.Pressure)), fallen(float64(wet), float64(w), float64(goal.Water)))
		met := before.Time + time.Duration(share*float64(x.Time-before.Time))
		return met, units.Mass(float64(wet) * math.Pow(float64(w/wet), share)), true
	}
	return 0, 0, false
}

// fallen is the share of the time in which a quantity falls from one value to
// another after which it is down to a third, its logarithm falling evenly.
func fallen(from, to, level float64) float64 {
	if from <= level {
		return 0
	}
	return math.Log(from/level) / math.Log(from/max(to, 1e-6*level))
}

// waterIn is all the water of a sample: in stores, and as vapour p V M/(R T).
// The nodes of a job are the first ones of its circuit.
func (j *Job) waterIn(x *vacuum.Sample) units.Mass {
	var m units.Mass
	for _, c := range x.Content {
		m += c.Total()
	}
	for i := range j.Nodes {
		t := j.Site.Temperature
		if j.Nodes[i].Temperature != nil {
			t = *j.Nodes[i].Temperature
		}
		m += x.Vapour[i].Amount(j.Nodes[i].Volume, t).Mass(moisture.MolarMass)
	}
	return m
}

// procedure writes a choice as steps with a last pull of the given length.
func (s *planner) procedure(c Choice, last time.Duration) *Procedure {
	p := &Procedure{Name: "plan"}
	add := func(step Step) { p.Steps = append(p.Steps, step) }
	ballast := units.PressureReading{}
	if c.BallastAbove > 0 {
		ballast = units.AbsoluteReading(c.BallastAbove)
	}
	if c.Sweep > 0 {
		add(Step{Sweep: &SweepStep{For: units.Duration(c.Sweep)}})
		// The sweep leaves the circuit a little above ambient.
		if s.rig.job.Vent != nil {
			add(Step{Bleed: &BleedStep{}})
		}
	}
	for range c.Breaks {
		add(Step{Pull: &PullStep{Until: units.AbsoluteReading(c.Target), AtMost: units.Duration(s.plan.Goal.AtMost), BallastAbove: ballast}})
		add(Step{Break: &BreakStep{To: units.AbsoluteReading(c.BreakTo)}})
		if c.Hold > 0 {
			add(Step{Hold: &HoldStep{For: units.Duration(c.Hold)}})
		}
		if c.BreakTo > s.rig.ambient {
			add(Step{Bleed: &BleedStep{}})
		}
	}
	add(Step{Name: "last pull", Pull: &PullStep{For: units.Duration(last), BallastAbove: ballast}})
	add(Step{Isolate: &IsolateStep{}})
	add(Step{Watch: &WatchStep{For: units.Duration(s.plan.Goal.Watch)}})
	return p
}

// confirm runs the best candidate as a procedure at full accuracy and makes its
// last pull the fewest whole minutes with which that meets the goal: a minute is
// added where the one read from the search does not suffice, and then taken off
// as long as what is left does.
func (s *planner) confirm(ctx context.Context) error {
	p := &s.plan
	last, tooShort := p.Best.LastPull, 0
	for tooShort < 5 {
		procedure := s.procedure(p.Best.Choice, last)
		rec, err := Run(ctx, s.rig.job, procedure, nil)
		p.Runs++
		if err != nil {
			return err
		}
		met := s.meets(rec)
		if !met && p.Record != nil && s.meets(p.Record) {
			return nil
		}
		p.Procedure, p.Record, p.Best.LastPull = procedure, rec, last
		p.Best.Water, p.Best.Took = rec.WaterLeft(), rec.Took()
		p.Best.Nitrogen, p.Best.OilWater = rec.Nitrogen(), oilWater(rec)
		switch {
		case !met:
			tooShort++
			last += time.Minute
		case tooShort > 0 || last <= time.Minute:
			return nil
		default:
			last -= time.Minute
		}
	}
	return fmt.Errorf("at full accuracy the plan leaves %s and ends its last pull at %v, %s and %v are allowed: %w", grams(p.Record.WaterLeft()), s.lastPull(p.Record).System, grams(p.Goal.Water), p.Goal.Pressure, ErrUnreachable)
}

// meets is true when a plan carried out to its end has met the goal.
func (s *planner) meets(r *Record) bool {
	return r.WaterLeft() <= s.plan.Goal.Water && s.lastPull(r).System <= s.plan.Goal.Pressure
}

// lastPull is the stage before the circuit is isolated and watched.
func (s *planner) lastPull(r *Record) *Stage { return &r.Stages[len(r.Stages)-3] }

// otherRigs runs the best choice on other rigs.
func (s *planner) otherRigs(ctx context.Context) error {
	p := &s.plan
	gains := make([]RigGain, len(s.opt.Variants))
	was := p.Runs
	err := parallel(ctx, len(gains), s.opt.Workers, func(done, _ int) { p.Runs = was + done }, func(ctx context.Context, i int) error {
		gains[i].Variant = s.opt.Variants[i].Name
		job := deepCopy(s.rig.job)
		s.opt.Variants[i].Change(job)
		c, err := s.evaluate(ctx, job, p.Best.Choice)
		if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			return err
		}
		gains[i].Candidate = c
		return err
	})
	if err == nil {
		p.Rigs = gains
	}
	return err
}
