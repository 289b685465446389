package purge

import (
	"context"
	"fmt"
	"math"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// DriversOptions steers Drivers. Nil is legal.
type DriversOptions struct {
	// Rows is N, the rows of the design, 8 to 1,000,000; zero means 64. With k
	// inputs the procedure is run N(k+2) times.
	Rows int
	// Stream names the random numbers, as in BandOptions.
	Stream uint64
	// Inputs are what varies, at least one; nil means Job.Inputs.
	Inputs []Input
	// Workers, Simulation and Progress as in BandOptions.
	Workers    int
	Simulation *vacuum.Options
	Progress   func(done, of int)
}

// Sensitivity says which inputs drive the answer of a procedure.
type Sensitivity struct {
	// Procedure is its name.
	Procedure string
	// Stream repeats the option. Rows is N and Runs N(k+2), the runs made.
	Stream     uint64
	Rows, Runs int
	// Inputs are what was varied.
	Inputs []Input
	// LeftOut is how many of the rows were left out because a run in them was
	// refused and has no answer.
	LeftOut int
	// NotCompleted is how many runs gave up at a pressure or stopped; they count
	// with the time and the water where they did.
	NotCompleted int
	// Time are the indices of the time taken in seconds, Water those of the
	// decimal logarithm of the water left in kilograms, 1 µg at least.
	Time, Water Indices
}

// Drivers works out Sobol indices of a procedure's time and water left: how
// much of their variance each poorly known input explains by itself and in all,
// with bootstrap intervals.
//
// It is an error when the procedure cannot be run as stated (ErrJob), when an
// option is out of range and when the context ends first; there is no partial
// answer, since part of a design has no indices.
func Drivers(ctx context.Context, j *Job, p *Procedure, opt *DriversOptions) (*Sensitivity, error) {
	var o DriversOptions
	if opt != nil {
		o = *opt
	}
	if err := o.complete(j); err != nil {
		return nil, err
	}
	if base, err := Run(ctx, j, p, &RunOptions{Simulation: o.Simulation}); base == nil {
		return nil, err
	}
	k := len(o.Inputs)
	s := &Sensitivity{Procedure: p.Name, Stream: o.Stream, Rows: o.Rows, Runs: o.Rows * (k + 2), Inputs: o.Inputs}
	given := spreads(o.Inputs)
	answers, leftOut, err := saltelli(ctx, o.Rows, k, 3, o.Stream, o.Workers, o.Progress, func(ctx context.Context, u []float64) ([]float64, error) {
		rec, err := varied(ctx, j, p, o.Inputs, mapped(u, given), o.Simulation)
		return answerOf(rec, err)
	})
	if err != nil {
		return nil, fmt.Errorf("drivers of %q: %w", p.Name, err)
	}
	s.LeftOut = leftOut
	s.NotCompleted = notCompleted(&answers[2])
	names := make([]string, k)
	for i := range names {
		names[i] = o.Inputs[i].Name
	}
	s.Time = answers[0].indices("time taken", names, o.Stream)
	s.Water = answers[1].indices("logarithm of the water left", names, o.Stream)
	return s, nil
}

func (o *DriversOptions) complete(j *Job) error {
	if o.Rows == 0 {
		o.Rows = 64
	}
	if err := units.CheckRange("purge.Drivers", "Rows", float64(o.Rows), 8, 1e6, ""); err != nil {
		return err
	}
	return completeStudy("purge.Drivers", j, o.Workers, &o.Inputs, &o.Simulation)
}

// answerOf is a run in three numbers: time, logarithm of the water left, and 1
// when it was not completed. A refused run has none.
func answerOf(rec *Record, err error) ([]float64, error) {
	switch outcome(rec, err) {
	case NotRun:
		return nil, err
	case Refused:
		return nil, nil
	}
	open := 0.0
	if err != nil {
		open = 1
	}
	return []float64{rec.Took().Seconds(), math.Log10(math.Max(float64(rec.WaterLeft()), 1e-9)), open}, nil
}

// notCompleted counts the runs of a design that gave up.
func notCompleted(e *evaluated) int {
	sum := 0.0
	for _, y := range append([][]float64{e.a, e.b}, e.ab...) {
		for _, v := range y {
			sum += v
		}
	}
	return int(sum)
}
