package purge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// BandOptions steers Bands. Nil is legal.
type BandOptions struct {
	// Runs is how many times the procedure is run, 2 to 1,000,000; zero means
	// 200. A run keeps about 2 kB of memory.
	Runs int
	// Stream names the random numbers: the same Stream gives the same answer on
	// any number of processors. Zero is a stream like any other.
	Stream uint64
	// Sampling is how they are drawn; zero means LatinHypercube.
	Sampling Sampling
	// Inputs are what varies, at least one; nil means Job.Inputs.
	Inputs []Input
	// Workers is how many runs go on at once; zero means one per processor.
	Workers int
	// Simulation steers the integrator; nil means a relative tolerance of 1e-4
	// instead of the usual 1e-6, which moves times by far less than any spread.
	Simulation *vacuum.Options
	// Progress, when not nil, hears how many runs are done. It is called by one
	// goroutine at a time.
	Progress func(done, of int)
}

// Outcome is how one run of a band ended.
type Outcome int

// Outcomes of a run.
const (
	// NotRun is a run that was not made because the band ended early.
	NotRun Outcome = iota
	// Completed is a run in which every step came to its end.
	Completed
	// NotReached is a run with a pressure that was not reached in the time the
	// step allows.
	NotReached
	// Refused is a run that could not begin, such as one with a target below the
	// blank-off of the pump.
	Refused
	// Stopped is a run that broke off for another reason.
	Stopped
)

// String is the outcome in words.
func (o Outcome) String() string {
	switch o {
	case NotRun:
		return "not run"
	case Completed:
		return "completed"
	case NotReached:
		return "pressure not reached"
	case Refused:
		return "refused"
	case Stopped:
		return "stopped"
	}
	return "unknown"
}

// BandRun is one run of a band.
type BandRun struct {
	// Factors are what the inputs were multiplied by, in the order of the band's
	// Inputs; nil when the run was not made.
	Factors []float64
	// Outcome says how it ended, and Reason why when not Completed.
	Outcome Outcome
	Reason  string
	// Took and WaterLeft are its answer. Of a run that did not reach a pressure
	// or stopped, they are the time and the water where it gave up; of one that
	// was refused they are zero and mean nothing.
	Took      time.Duration
	WaterLeft units.Mass

	pressure []float32 // of the system's node on the band's grid, Pa
}

// Band is the answer of a procedure when inputs are known only by their
// distributions.
type Band struct {
	// Procedure is its name.
	Procedure string
	// Stream and Sampling repeat the options, so that the band can be made again.
	Stream   uint64
	Sampling Sampling
	// Inputs are what was varied.
	Inputs []Input
	// Runs in the order of their draws, those not made included.
	Runs []BandRun
	// Reason says why the band ended before all runs were made; empty when they
	// were.
	Reason string

	limit units.Mass // allowed, 0 means no limit
	step  time.Duration
}

// bandPoints is how many instants a band keeps pressures for, and bandSpan how
// far they reach, in times of the procedure as the job states it.
const (
	bandPoints = 500
	bandSpan   = 2
)

// Bands runs a procedure many times with inputs drawn from their distributions.
//
// A run that does not come to its end is kept and counted, not left out: it
// ranks behind every run that does. When the context ends, Bands returns the
// runs made so far with the context's error, and Reason says how many there are.
// Before the first run it is an error (ErrJob) when the procedure cannot be run
// as stated, and when an option is out of range.
func Bands(ctx context.Context, j *Job, p *Procedure, opt *BandOptions) (*Band, error) {
	var o BandOptions
	if opt != nil {
		o = *opt
	}
	if err := o.complete(j); err != nil {
		return nil, err
	}
	base, err := Run(ctx, j, p, &RunOptions{Simulation: o.Simulation})
	if base == nil {
		return nil, err
	}
	b := &Band{
		Procedure: p.Name, Stream: o.Stream, Sampling: o.Sampling, Inputs: o.Inputs, Runs: make([]BandRun, o.Runs),
		limit: j.waterLimit(), step: max(bandSpan*base.Took()/bandPoints, time.Second),
	}
	rows := design(o.Runs, len(o.Inputs), o.Stream, o.Sampling)
	err = parallel(ctx, o.Runs, o.Workers, o.Progress, func(ctx context.Context, i int) error {
		run, err := b.run(ctx, j, p, mapped(rows[i], spreads(o.Inputs)), o.Simulation)
		if err == nil {
			b.Runs[i] = run
		}
		return err
	})
	if err != nil {
		b.Reason = fmt.Sprintf("%d of %d runs were made: %v", len(b.made()), o.Runs, err)
	}
	return b, err
}

// complete fills in defaults and checks.
func (o *BandOptions) complete(j *Job) error {
	if o.Runs == 0 {
		o.Runs = 200
	}
	if err := units.CheckRange("purge.Bands", "Runs", float64(o.Runs), 2, 1e6, ""); err != nil {
		return err
	}
	return completeStudy("purge.Bands", j, o.Workers, &o.Inputs, &o.Simulation)
}

// completeStudy checks what bands and drivers have in common and fills in
// defaults.
func completeStudy(fn string, j *Job, workers int, inputs *[]Input, simulation **vacuum.Options) error {
	if err := units.CheckRange(fn, "Workers", float64(workers), 0, 1024, ""); err != nil {
		return err
	}
	if *inputs == nil {
		*inputs = j.Inputs()
	}
	if *simulation == nil {
		*simulation = bandSimulation()
	}
	return checkInputs(*inputs)
}

// bandSimulation is the integrator's setting for runs by the hundred.
func bandSimulation() *vacuum.Options { return &vacuum.Options{RelTol: 1e-4, PressureScale: 0.5} }

// checkInputs refuses inputs that cannot be varied.
func checkInputs(in []Input) error {
	if len(in) == 0 {
		return fmt.Errorf("inputs: at least one is needed: %w", units.ErrOutOfRange)
	}
	for i := range in {
		if err := in[i].Spread.Check(); err != nil {
			return fmt.Errorf("input %q: %w", in[i].Name, err)
		}
		if in[i].Apply == nil {
			return fmt.Errorf("input %q: Apply is nil: %w", in[i].Name, units.ErrOutOfRange)
		}
	}
	return nil
}

// spreads are the distributions of inputs.
func spreads(in []Input) []Spread {
	out := make([]Spread, len(in))
	for i := range in {
		out[i] = in[i].Spread
	}
	return out
}

// waterLimit is the water that the job allows, kg; zero means none stated.
func (j *Job) waterLimit() units.Mass {
	return units.Mass(float64(j.DrynessLimit) * float64(j.Charge))
}

// varied runs the procedure with inputs multiplied by factors.
func varied(ctx context.Context, j *Job, p *Procedure, in []Input, factors []float64, sim *vacuum.Options) (*Record, error) {
	job, proc := deepCopy(j), deepCopy(p)
	for i := range in {
		in[i].Apply(job, proc, factors[i])
	}
	return Run(ctx, job, proc, &RunOptions{Simulation: sim})
}

// run makes one run. An error is one that ends the band.
func (b *Band) run(ctx context.Context, j *Job, p *Procedure, factors []float64, sim *vacuum.Options) (BandRun, error) {
	out := BandRun{Factors: factors}
	rec, err := varied(ctx, j, p, b.Inputs, factors, sim)
	if out.Outcome = outcome(rec, err); out.Outcome == NotRun {
		return out, err
	}
	if err != nil {
		out.Reason = err.Error()
	}
	if rec != nil {
		out.Took, out.WaterLeft = rec.Took(), rec.WaterLeft()
		out.pressure = onGrid(rec, b.step)
	}
	return out, nil
}

// outcome sorts what Run returned.
func outcome(rec *Record, err error) Outcome {
	switch {
	case err == nil:
		return Completed
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return NotRun
	case rec == nil:
		return Refused
	case errors.Is(err, ErrUnreachable):
		return NotReached
	}
	return Stopped
}

// onGrid is the pressure of the system's node every step, its logarithm linear
// between samples; after the end of the record it stays what it was there.
func onGrid(r *Record, step time.Duration) []float32 {
	node := 0
	for i, name := range r.Nodes {
		if name == r.SystemNode {
			node = i
		}
	}
	out := make([]float32, bandPoints+1)
	at := func(i int) float64 { return math.Max(float64(r.Samples[i].Pressure[node]), 1e-6) }
	k := 0
	for g := range out {
		t := time.Duration(g) * step
		for k+1 < len(r.Samples) && r.Samples[k+1].Time <= t {
			k++
		}
		p := at(k)
		if k+1 < len(r.Samples) && t > r.Samples[k].Time {
			share := float64(t-r.Samples[k].Time) / float64(r.Samples[k+1].Time-r.Samples[k].Time)
			p *= math.Pow(at(k+1)/p, share)
		}
		out[g] = float32(p)
	}
	return out
}
