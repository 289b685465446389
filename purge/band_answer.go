package purge

import (
	"fmt"
	"math"
	"sort"
	"time"

	"example.com/drydown/units"
)

// made are the runs that were made.
func (b *Band) made() []*BandRun {
	var out []*BandRun
	for i := range b.Runs {
		if b.Runs[i].Outcome != NotRun {
			out = append(out, &b.Runs[i])
		}
	}
	return out
}

// Count is how many runs ended in that way.
func (b *Band) Count(o Outcome) int {
	n := 0
	for i := range b.Runs {
		if b.Runs[i].Outcome == o {
			n++
		}
	}
	return n
}

// Made is how many runs were made.
func (b *Band) Made() int { return len(b.Runs) - b.Count(NotRun) }

// Time is the quantile of the procedure's time, level in (0, 1]: the shortest
// time within which at least that share of all runs made was completed. It is
// false when fewer were completed, and when no run was made.
func (b *Band) Time(level float64) (time.Duration, bool) {
	var t []float64
	for _, r := range b.made() {
		if r.Outcome == Completed {
			t = append(t, r.Took.Seconds())
		} else {
			t = append(t, math.Inf(1))
		}
	}
	s, ok := finiteQuantile(t, level)
	return time.Duration(s * float64(time.Second)), ok
}

// WaterLeft is the quantile of the water left, level in (0, 1]. Runs that did
// not reach a pressure or stopped count with the water where they gave up,
// runs that were refused as more than any other. It is false when the quantile
// falls among the latter, and when no run was made.
func (b *Band) WaterLeft(level float64) (units.Mass, bool) {
	var m []float64
	for _, r := range b.made() {
		if r.Outcome == Refused {
			m = append(m, math.Inf(1))
		} else {
			m = append(m, float64(r.WaterLeft))
		}
	}
	x, ok := finiteQuantile(m, level)
	return units.Mass(x), ok
}

func finiteQuantile(values []float64, level float64) (float64, bool) {
	if len(values) == 0 || !(level > 0 && level <= 1) {
		return 0, false
	}
	x := quantile(values, level)
	if math.IsInf(x, 1) {
		return 0, false
	}
	return x, true
}

// meets is true when the job states a limit and the run was completed within
// it.
func (b *Band) meets(r *BandRun) bool {
	return r.Outcome == Completed && b.limit > 0 && r.WaterLeft <= b.limit
}

// Meets is how many runs were completed and left no more water than the job's
// limit allows; it is false when the job states no limit.
func (b *Band) Meets() (int, bool) {
	n := 0
	for i := range b.Runs {
		if b.meets(&b.Runs[i]) {
			n++
		}
	}
	return n, b.limit > 0
}

// Reasons lists why runs were not completed, the commonest first, each with how
// many there were. Numbers in the reasons differ between runs, so runs are told
// apart by outcome only and the first reason stands for all.
func (b *Band) Reasons() []string {
	var out []string
	for _, o := range []Outcome{NotReached, Refused, Stopped} {
		for i := range b.Runs {
			if b.Runs[i].Outcome == o {
				out = append(out, fmt.Sprintf("%d %s, the first because: %s", b.Count(o), o, b.Runs[i].Reason))
				break
			}
		}
	}
	sort.SliceStable(out, func(a, c int) bool { return leading(out[a]) > leading(out[c]) })
	return out
}

func leading(s string) int {
	var n int
	if _, err := fmt.Sscan(s, &n); err != nil {
		return 0
	}
	return n
}

// PressureBand is the pressure of the system's node over time.
type PressureBand struct {
	// Times on the procedure's clock.
	Times []time.Duration
	// Levels are the quantile levels asked for, and Pressure[i] the quantile of
	// Levels[i] at each of Times, Pa.
	Levels   []float64
	Pressure [][]units.Pressure
	// Runs is how many runs it is made of: all but those refused, which have no
	// pressure.
	Runs int
}

// Pressure gives quantiles of the pressure at the system's node, instant by
// instant, until twice the time that the procedure takes as the job states it.
// A run that has ended counts with its last pressure. Levels lie in (0, 1]. It
// is empty when no run has a pressure.
func (b *Band) Pressure(levels ...float64) PressureBand {
	out := PressureBand{Levels: levels, Pressure: make([][]units.Pressure, len(levels))}
	var with []*BandRun
	for _, r := range b.made() {
		if r.pressure != nil {
			with = append(with, r)
		}
	}
	if out.Runs = len(with); out.Runs == 0 {
		return out
	}
	now := make([]float64, len(with))
	for g := range bandPoints + 1 {
		for i, r := range with {
			now[i] = float64(r.pressure[g])
		}
		sort.Float64s(now)
		out.Times = append(out.Times, time.Duration(g)*b.step)
		for k, level := range levels {
			out.Pressure[k] = append(out.Pressure[k], units.Pressure(sortedQuantile(now, level)))
		}
	}
	return out
}

// Wins counts, over draws that all bands have made, how often each band's
// procedure is the one to prefer, by the rules of Compare; draws in which no
// procedure was completed count for none. It is an error when the bands were
// not made with the same draws.
func Wins(bands []*Band) ([]int, error) {
	wins := make([]int, len(bands))
	for k, b := range bands {
		if len(b.Runs) != len(bands[0].Runs) || b.Stream != bands[0].Stream || b.Sampling != bands[0].Sampling || len(b.Inputs) != len(bands[0].Inputs) {
			return nil, fmt.Errorf("bands 1 and %d were not made with the same draws: %w", k+1, units.ErrOutOfRange)
		}
	}
	if len(bands) == 0 {
		return wins, nil
	}
	for i := range bands[0].Runs {
		best, all := -1, true
		for k, b := range bands {
			r := &b.Runs[i]
			all = all && r.Outcome != NotRun
			if r.Outcome == Completed && (best < 0 || b.beats(r, bands[best], &bands[best].Runs[i])) {
				best = k
			}
		}
		if all && best >= 0 {
			wins[best]++
		}
	}
	return wins, nil
}

// beats is true when completed run r is to be preferred to completed run s, by
// the rules of better.
func (b *Band) beats(r *BandRun, other *Band, s *BandRun) bool {
	rm, sm := b.meets(r), other.meets(s)
	if rm != sm {
		return rm
	}
	left, left2 := float64(r.WaterLeft), float64(s.WaterLeft)
	if alike := math.Abs(left-left2) <= math.Max(1e-6, 0.05*math.Max(left, left2)); !rm && !alike {
		return left < left2
	}
	if tr, ts := r.Took.Seconds(), s.Took.Seconds(); tr < 0.99*ts || ts < 0.99*tr {
		return tr < ts
	}
	return r.WaterLeft < s.WaterLeft
}
