package rise

import (
	"errors"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// Step is what a record proved when it was cut off at some time.
type Step struct {
	At      time.Duration // since the first row of the log
	Verdict Verdict
	// Low, Best and High are Finding.Leak, Pa·m³/s at Options.Confidence, none
	// below zero. All are zero where nothing could be said of the leak, as with too
	// few readings (the verdict is Undetermined then); with ConstantReading only
	// High is known.
	Low, Best, High units.Throughput
}

// Progress interprets the beginnings of a record, steps of them (2 to 1000) at
// equal distances in time, the last one the whole: how the decision came about,
// and when it was safe to stop. Beginnings with too few readings are
// Undetermined. Errors are those of Interpret, an empty log, and steps out of
// range.
func Progress(log trace.Log, o Options, steps int) ([]Step, error) {
	if err := units.CheckRange("rise.Progress", "steps", float64(steps), 2, 1000, ""); err != nil {
		return nil, err
	}
	if log.Len() == 0 {
		return nil, errors.New("rise.Progress: the log is empty, accepted at least one row")
	}
	first, last := log.Times[0], log.Times[0]
	for _, t := range log.Times {
		last = max(last, t)
	}
	var out []Step
	for i := 1; i <= steps; i++ {
		at := first + (last-first)*float64(i)/float64(steps)
		f, err := Interpret(log.Until(at), o)
		if err != nil {
			return out, err
		}
		out = append(out, Step{At: seconds(at - first), Verdict: f.Verdict, Low: f.Leak.Low, Best: f.Leak.Best, High: f.Leak.High})
	}
	return out, nil
}
