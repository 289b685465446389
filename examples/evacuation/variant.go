package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/purge"
	"example.com/drydown/units"
)

// change alters a copy of a job and of the procedure to run.
type change func(*purge.Job, *purge.Procedure)

// variant runs the better procedure with something changed. A pressure that can
// no longer be reached is in the record's Reason and no error.
func (a *answer) variant(ctx context.Context, c change) (*purge.Record, error) {
	job, err := copyJob(a.job)
	if err != nil {
		return nil, err
	}
	p := &job.Procedures[a.comparison.Best]
	c(job, p)
	rec, err := purge.Run(ctx, job, p, nil)
	if rec != nil && errors.Is(err, purge.ErrUnreachable) {
		err = nil
	}
	return rec, err
}

// copyJob copies a job by writing and reading its text, which keeps every bit.
func copyJob(j *purge.Job) (*purge.Job, error) {
	text, err := json.Marshal(j)
	if err != nil {
		return nil, fmt.Errorf("job: %w", err)
	}
	return purge.ReadJob(bytes.NewReader(text))
}

// hasPuddle is true when the job holds free water anywhere.
func hasPuddle(j *purge.Job) bool {
	for i := range j.Nodes {
		if len(j.Nodes[i].Puddles) > 0 {
			return true
		}
	}
	return false
}

// scaleFade multiplies every fade mass, the default ones as well.
func scaleFade(factor float64) change {
	return func(j *purge.Job, _ *purge.Procedure) {
		for n := range j.Nodes {
			for k := range j.Nodes[n].Puddles {
				p := &j.Nodes[n].Puddles[k]
				now := moisture.Puddle{Area: p.Area, Fade: p.Fade}.FadeMass()
				p.Fade = now * units.Mass(factor)
			}
		}
	}
}

// coresIn puts the cores back into every core tool.
func coresIn(j *purge.Job, _ *purge.Procedure) {
	eachTool(j, func(t *purge.JobTool) { t.CoreIn = true })
}

// eachTool visits the core tools of all links.
func eachTool(j *purge.Job, visit func(*purge.JobTool)) {
	for l := range j.Links {
		for k := range j.Links[l].Passage {
			if t := j.Links[l].Passage[k].CoreTool; t != nil {
				visit(t)
			}
		}
	}
}

// doublePump doubles the pump's displacement.
func doublePump(j *purge.Job, _ *purge.Procedure) { j.Pump.ScaleSpeed(2) }

// ballastUntil keeps the ballast open in every pull until the gauge is below p.
func ballastUntil(p units.Pressure) change {
	return func(_ *purge.Job, proc *purge.Procedure) {
		for i := range proc.Steps {
			if pull := proc.Steps[i].Pull; pull != nil {
				pull.BallastAbove = units.AbsoluteReading(p)
			}
		}
	}
}

// pumping is the time that the pump runs.
func pumping(r *purge.Record) time.Duration {
	var d time.Duration
	for i := range r.Stages {
		if r.Stages[i].Kind == "pull" {
			d += r.Stages[i].Duration()
		}
	}
	return d
}

// relativeShift is the relative change of a time.
func relativeShift(now, before time.Duration) float64 {
	if before == 0 {
		return 0
	}
	return math.Abs((now - before).Seconds() / before.Seconds())
}
