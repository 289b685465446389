package purge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
)

// Comparison is a job's procedures side by side.
type Comparison struct {
	// Records in the order of the job's procedures. A record that stopped early
	// is there with its Reason.
	Records []*Record
	// Best is the index of the procedure to prefer, -1 when none could be run
	// to its end.
	Best int
	// Why says in one sentence what decided, with the numbers.
	Why string
}

// Compare runs all procedures of the job and says which is better. One that
// was carried out to its end beats one that was not; one that meets the job's
// dryness limit beats one that does not. Between two that meet a stated limit
// the quicker wins. Between two that both miss it, or when the job states none,
// the one that leaves less water wins, unless they leave the same within 5 % or
// 1 mg; then the quicker wins, and within 1 % of the time the drier.
//
// A procedure that cannot reach its pressure is not an error here; anything else
// is, and comes together with the comparison so far.
func Compare(ctx context.Context, j *Job, opt *RunOptions) (*Comparison, error) {
	c := &Comparison{Best: -1}
	for i := range j.Procedures {
		rec, err := Run(ctx, j, &j.Procedures[i], opt)
		if rec != nil {
			c.Records = append(c.Records, rec)
		}
		if err != nil && !errors.Is(err, ErrUnreachable) {
			return c, err
		}
	}
	c.choose(j)
	return c, nil
}

// hasLimit is true when the job says how dry is dry enough.
func (j *Job) hasLimit() bool { return j.Charge > 0 && j.DrynessLimit > 0 }

// meetsLimit is true when the job states a limit and the record meets it.
func (r *Record) meetsLimit(j *Job) bool {
	return j.hasLimit() && float64(r.WaterLeft()) <= float64(j.DrynessLimit)*float64(j.Charge)
}

// better is true when a is to be preferred to b.
func better(a, b *Record, j *Job) bool {
	if a.Completed != b.Completed {
		return a.Completed
	}
	am, bm := a.meetsLimit(j), b.meetsLimit(j)
	if am != bm {
		return am
	}
	left, other := float64(a.WaterLeft()), float64(b.WaterLeft())
	if alike := math.Abs(left-other) <= math.Max(1e-6, 0.05*math.Max(left, other)); !am && !alike {
		return left < other
	}
	if ta, tb := a.Took().Seconds(), b.Took().Seconds(); ta < 0.99*tb || tb < 0.99*ta {
		return ta < tb
	}
	return left < other
}

// choose finds the best record and words the reason.
func (c *Comparison) choose(j *Job) {
	for i, r := range c.Records {
		if r.Completed && (c.Best < 0 || better(r, c.Records[c.Best], j)) {
			c.Best = i
		}
	}
	if c.Best < 0 {
		c.Why = "no procedure could be carried out to its end"
		return
	}
	best := c.Records[c.Best]
	c.Why = fmt.Sprintf("%q takes %s and leaves %s of water", best.Procedure, minutes(best.Took()), grams(best.WaterLeft()))
	if j.hasLimit() && !best.meetsLimit(j) {
		c.Why += ", which is more than the limit allows"
	}
	for i, r := range c.Records {
		if i == c.Best {
			continue
		}
		c.Why += fmt.Sprintf("; %q %s", r.Procedure, r.against(best, j))
	}
}

// against says how a record differs from the best one.
func (r *Record) against(best *Record, j *Job) string {
	switch {
	case !r.Completed:
		return "could not be carried out to its end"
	case best.meetsLimit(j) && !r.meetsLimit(j):
		return fmt.Sprintf("takes %s but leaves %s, more than the limit allows", minutes(r.Took()), grams(r.WaterLeft()))
	}
	return fmt.Sprintf("takes %s and leaves %s", minutes(r.Took()), grams(r.WaterLeft()))
}

// minutes words a duration for people.
func minutes(d time.Duration) string {
	if d < 2*time.Minute {
		return fmt.Sprintf("%.0f s", d.Seconds())
	}
	if d < 3*time.Hour {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.1f h", d.Hours())
}

// grams words a small mass of water.
func grams(m units.Mass) string {
	g := 1e3 * float64(m)
	switch {
	case g >= 0.1:
		return fmt.Sprintf("%.3g g", g)
	case g >= 1e-4:
		return fmt.Sprintf("%.3g mg", 1e3*g)
	}
	return "less than 0.1 mg"
}
