package purge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sort"
	"sync"
	"time"

	"example.com/drydown/units"
)

// Hinge is how one poorly known input moves the answer of a procedure: the
// input is multiplied by Factor and everything else is left alone.
type Hinge struct {
	// Input says what was varied, in words, and where.
	Input string
	// Factor is what it was multiplied by.
	Factor float64
	// Took and WaterLeft are the answer with the changed input; TookBefore and
	// WaterLeftBefore with the job's own.
	Took, TookBefore           time.Duration
	WaterLeft, WaterLeftBefore units.Mass
	// Stopped is why the procedure could not be carried out to its end with the
	// changed input, empty when it could.
	Stopped string
}

// Shift is the relative change of the time; a procedure that could no longer be
// carried out counts as a change by its whole time or more.
func (h *Hinge) Shift() float64 {
	s := (h.Took - h.TookBefore).Seconds() / h.TookBefore.Seconds()
	if h.Stopped != "" && s < 1 {
		return 1
	}
	return s
}

// variation is one input of a job that can be scaled.
type variation struct {
	input  string
	factor float64
	apply  func(*Job, float64)
}

// variations lists what is poorly known on site, each halved and doubled, the water in
// an oil no further than to saturation; the bores of narrow passages, which enter to the
// third or fourth power, by 10 %.
// The fade mass of a puddle, which is the model's and not the site's, is halved
// to show whether it matters.
func (j *Job) variations() []variation {
	var v []variation
	both := func(input string, low, high float64, apply func(*Job, float64)) {
		v = append(v, variation{input, low, apply}, variation{input, high, apply})
	}
	for n := range j.Nodes {
		for p := range j.Nodes[n].Puddles {
			name := j.Nodes[n].Puddles[p].Name
			puddle := func(j *Job) *JobPuddle { return &j.Nodes[n].Puddles[p] }
			both("water in "+name, 0.5, 2, func(j *Job, f float64) { puddle(j).Water *= units.Mass(f) })
			both("heat conductance from metal to "+name, 0.5, 2, func(j *Job, f float64) { puddle(j).Metal *= units.HeatConductance(f) })
			both("surface of "+name, 0.5, 2, func(j *Job, f float64) { puddle(j).Area *= units.Area(f) })
			fade := j.Nodes[n].Puddles[p].store().FadeMass()
			v = append(v, variation{"fade mass of " + name, 0.5, func(j *Job, f float64) { puddle(j).Fade = units.Mass(f) * fade }})
		}
	}
	for n := range j.Nodes {
		for o := range j.Nodes[n].Oils {
			name := j.Nodes[n].Oils[o].Name
			oil := func(j *Job) *JobOil { return &j.Nodes[n].Oils[o] }
			if high := j.Nodes[n].Oils[o].waterSpread().High; high > 0 {
				both("water in "+name, 0.5, high, func(j *Job, f float64) { oil(j).Water *= units.MassFraction(f) })
			}
			both("exchange time of "+name, 0.5, 2, func(j *Job, f float64) { oil(j).Exchange = units.Duration(f * float64(oil(j).Exchange)) })
		}
	}
	for l := range j.Links {
		for p := range j.Links[l].Passage {
			if j.Links[l].Passage[p].Capillary != nil || j.Links[l].Passage[p].Orifice != nil {
				both("bore of "+j.Links[l].Name, 0.9, 1.1, func(j *Job, f float64) {
					part := &j.Links[l].Passage[p]
					if part.Capillary != nil {
						part.Capillary.Bore *= units.Length(f)
					} else {
						part.Orifice.Bore *= units.Length(f)
					}
				})
			}
		}
	}
	both("blank-off of the pump", 0.5, j.Pump.blankOffSpread().High, func(j *Job, f float64) { j.Pump.BlankOff *= units.Pressure(f) })
	return v
}

// Hinges runs a procedure again with each poorly known input changed in turn,
// and returns the answers with the largest shift of time first. The runs go in
// parallel; the answer does not depend on how many processors there are. Only
// one input is changed at a time, so what two do together is left out.
func Hinges(ctx context.Context, j *Job, p *Procedure, opt *RunOptions) ([]Hinge, error) {
	base, err := Run(ctx, j, p, opt)
	if err != nil {
		return nil, err
	}
	vs := j.variations()
	out := make([]Hinge, len(vs))
	errs := make([]error, len(vs))
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for i := range vs {
		wg.Add(1)
		turns <- struct{}{}
		go func() {
			defer func() { <-turns; wg.Done() }()
			out[i], errs[i] = vs[i].run(ctx, j, p, opt, base)
		}()
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	sort.SliceStable(out, func(a, b int) bool { return math.Abs(out[a].Shift()) > math.Abs(out[b].Shift()) })
	return out, nil
}

// run carries out the procedure with one input changed.
func (v *variation) run(ctx context.Context, j *Job, p *Procedure, opt *RunOptions, base *Record) (Hinge, error) {
	h := Hinge{
		Input: v.input, Factor: v.factor,
		TookBefore: base.Took(), WaterLeftBefore: base.WaterLeft(),
	}
	changed := j.clone()
	v.apply(changed, v.factor)
	var quiet RunOptions
	if opt != nil {
		quiet.Simulation = opt.Simulation
	}
	rec, err := Run(ctx, changed, p, &quiet)
	if rec == nil {
		if errors.Is(err, ErrJob) {
			h.Took, h.WaterLeft, h.Stopped = base.Took(), base.WaterLeft(), err.Error()
			return h, nil
		}
		return h, err
	}
	h.Took, h.WaterLeft, h.Stopped = rec.Took(), rec.WaterLeft(), rec.Reason
	if err != nil && !errors.Is(err, ErrUnreachable) {
		return h, fmt.Errorf("%s × %g: %w", v.input, v.factor, err)
	}
	return h, nil
}

// clone copies the job so that a change to the copy leaves it alone.
func (j *Job) clone() *Job {
	c := *j
	c.Nodes = append([]JobNode(nil), j.Nodes...)
	for i := range c.Nodes {
		c.Nodes[i].Puddles = append([]JobPuddle(nil), c.Nodes[i].Puddles...)
		c.Nodes[i].Oils = append([]JobOil(nil), c.Nodes[i].Oils...)
	}
	c.Links = append([]JobLink(nil), j.Links...)
	for i := range c.Links {
		c.Links[i].Passage = append([]JobPart(nil), c.Links[i].Passage...)
		for k := range c.Links[i].Passage {
			p := &c.Links[i].Passage[k]
			if p.Capillary != nil {
				copied := *p.Capillary
				p.Capillary = &copied
			}
			if p.Orifice != nil {
				copied := *p.Orifice
				p.Orifice = &copied
			}
		}
	}
	return &c
}
