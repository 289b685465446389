package main

import (
	"fmt"
	"os"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/examples/internal/riseinput"
	"example.com/drydown/purge"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// question is everything that is asked, read and checked.
type question struct {
	job     *purge.Job // nil when only a rise record was given
	ambient units.Pressure
	log     *trace.Log // nil when there is no record
	rise    rise.Options
	// volumeFrom says where the isolated volume comes from.
	volumeFrom string
	// invented is true for the embedded scenario.
	invented bool
	study    studyInputs
	// vary are the poorly known inputs of the job with their spreads.
	vary []purge.Input
}

// load reads the files. Without a job and a log it takes the scenario; a record
// of one's own is never judged together with the scenario's job.
func (in *inputs) load() (*question, error) {
	q := &question{study: in.study}
	var err error
	switch {
	case in.job == "" && in.log == "":
		q.invented = true
		q.job, q.log, err = scenario()
	case in.job != "":
		q.job, err = readJob(in.job)
	}
	if err != nil {
		return nil, err
	}
	if q.job != nil {
		if q.ambient, err = q.job.Site.Ambient(); err != nil {
			return nil, err
		}
	}
	if err := q.studyOptions(); err != nil {
		return nil, err
	}
	switch {
	case in.log != "":
		ambient, err := in.rise.AmbientPressure()
		if err != nil {
			return nil, err
		}
		if q.rise.Ambient = ambient; ambient == 0 {
			q.rise.Ambient = q.ambient
		}
		if q.log, err = in.rise.ReadLog(in.log, q.rise.Ambient); err != nil {
			return nil, err
		}
	case in.rise.Given():
		return nil, fmt.Errorf("-volume, -temperature, -leak-limit, -ambient, -altitude and the -log-... units are for a rise record: give -log as well")
	case q.log != nil:
		q.rise.Ambient = q.ambient
	}
	if q.log == nil {
		return q, nil
	}
	return q, q.riseOptions(&in.rise)
}

// studyOptions gathers the inputs to vary and checks that a plan has a goal.
func (q *question) studyOptions() error {
	s := &q.study
	switch {
	case q.job == nil && (s.plan || s.spreads != ""):
		return fmt.Errorf("-plan and -spreads are for a job: give -job as well")
	case q.job == nil:
		return nil
	case s.plan && q.job.DrynessLimit*units.MassFraction(q.job.Charge) == 0:
		return fmt.Errorf("-plan needs to know how dry is dry enough: state charge and dryness_limit in the job")
	}
	q.vary = q.job.Inputs()
	if s.spreads == "" {
		return nil
	}
	f, err := os.Open(s.spreads)
	if err != nil {
		return fmt.Errorf("-spreads: %w", err)
	}
	defer func() { _ = f.Close() }() // only read
	list, err := purge.ReadSpreads(f)
	if err != nil {
		return fmt.Errorf("%s: %w", s.spreads, err)
	}
	for _, x := range list {
		if err := purge.SetSpread(q.vary, x); err != nil {
			return fmt.Errorf("%s: %w", s.spreads, err)
		}
	}
	return nil
}

// readJob reads a job file; errors carry its name.
func readJob(path string) (*purge.Job, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("-job: %w", err)
	}
	defer func() { _ = f.Close() }() // only read
	job, err := purge.ReadJob(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return job, nil
}

// riseOptions gathers what the record does not say from flags and job.
func (q *question) riseOptions(in *riseinput.Inputs) error {
	o := &q.rise
	o.Volume, q.volumeFrom = in.Volume, "as given by -volume"
	o.SiteTemperature = in.Temperature
	if q.job != nil {
		if o.Volume == 0 {
			o.Volume, q.volumeFrom = q.isolated()
		}
		if o.SiteTemperature == 0 {
			o.SiteTemperature = q.job.Site.Temperature
		}
		o.LeakLimit = q.job.LeakLimit
		o.Resolution = 0 // the job's gauge need not be the one that recorded
	}
	if o.Volume > 0 && in.Limit != "" {
		var err error
		if o.LeakLimit, err = in.LimitIn(o.Volume); err != nil {
			return err
		}
	}
	return riseinput.Needs(o, ", or a job that says it")
}

// isolated is the volume that stays joined to the gauge while the pump is shut
// off: everything that links reach from it, the pump's valve shut.
func (q *question) isolated() (units.Volume, string) {
	j := q.job
	reached := map[string]bool{j.Gauge.Node: true}
	for spread := true; spread; {
		spread = false
		for _, l := range j.Links {
			if l.Name != j.Pump.Valve && reached[l.From] != reached[l.To] {
				reached[l.From], reached[l.To], spread = true, true, true
			}
		}
	}
	var v units.Volume
	var names []string
	for i := range j.Nodes {
		if reached[j.Nodes[i].Name] {
			v += j.Nodes[i].Volume
			names = append(names, j.Nodes[i].Name)
		}
	}
	return v, "the job's " + phrase.Listed(names)
}
