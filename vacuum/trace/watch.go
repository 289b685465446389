package trace

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"example.com/drydown/units"
)

// watcher follows times and readings through a log in constant memory.
type watcher struct {
	started bool
	start   time.Time // first time stamp
	zero    float64   // time of the first row before it was made zero
	latest  float64   // largest time so far
	rows    int

	clockLast, clockShift float64 // unwrapping of clock times

	lastRaw, lastSecond float64

	stuckAfter, run int
	runLine         int
	runValue        units.Pressure
	lastLine        int

	steps     []float64 // first steps of time, until usual is known
	stepLines []int
	usual     float64
}

// stepsKept is how many steps settle what step is usual.
const stepsKept = 31

// gapFactor is how many usual steps make a gap.
const gapFactor = 5

// since makes the time of the first row zero.
func (w *watcher) since(seconds float64) float64 {
	if !w.started {
		w.started, w.zero = true, seconds
	}
	return seconds - w.zero
}

// unwrap adds a day each time a clock jumps back by more than twelve hours. A
// jump forward of more than twelve hours within an hour after that is a stamp of
// the day before that came late, and the clock stays where it was.
func (w *watcher) unwrap(v float64, line int, issues *issueList) float64 {
	if w.clockShift > 0 && w.clockLast < 3600 && v > w.clockLast+43200 {
		return v + w.clockShift - 86400
	}
	if w.started && v < w.clockLast-43200 {
		w.clockShift += 86400
		issues.add(line, CrossedMidnight, "clock time wrapped to the next day")
	}
	w.clockLast = v
	return v + w.clockShift
}

// check compares a row with those before it.
func (w *watcher) check(row *Row, issues *issueList) {
	if w.rows > 0 {
		w.checkTime(row, issues)
	}
	w.rows++
	w.latest = max(w.latest, row.Time)
	w.checkStuck(row, issues)
	w.lastLine = row.Line
}

func (w *watcher) checkTime(row *Row, issues *issueList) {
	step := row.Time - w.latest
	switch {
	case step == 0:
		issues.add(row.Line, RepeatedTime, fmt.Sprintf("time %g s again", row.Time))
		if row.State == Good {
			row.State = Repeated
		}
	case step < 0:
		issues.add(row.Line, BackwardTime, fmt.Sprintf("time %g s after %g s", row.Time, w.latest))
		if row.State == Good {
			row.State = Backward
		}
	case w.usual > 0:
		w.checkGap(step, row.Line, issues)
	default:
		w.steps = append(w.steps, step)
		w.stepLines = append(w.stepLines, row.Line)
		if len(w.steps) == stepsKept {
			w.settle(issues)
		}
	}
}

func (w *watcher) checkGap(step float64, line int, issues *issueList) {
	if step > gapFactor*w.usual {
		issues.add(line, TimeGap, fmt.Sprintf("%.6g s since the row before, usually %.6g s", step, w.usual))
	}
}

// settle takes the median of the first steps as the usual one.
func (w *watcher) settle(issues *issueList) {
	if len(w.steps) == 0 {
		return
	}
	sorted := slices.Clone(w.steps)
	slices.Sort(sorted)
	w.usual = sorted[len(sorted)/2]
	for i, s := range w.steps {
		w.checkGap(s, w.stepLines[i], issues)
	}
	w.steps, w.stepLines = nil, nil
}

func (w *watcher) checkStuck(row *Row, issues *issueList) {
	if row.State != Good {
		return
	}
	if w.run > 0 && row.Pressure == w.runValue {
		w.run++
		return
	}
	w.endRun(issues)
	w.run, w.runLine, w.runValue = 1, row.Line, row.Pressure
}

func (w *watcher) endRun(issues *issueList) {
	if w.run >= w.stuckAfter {
		issues.add(w.runLine, StuckReading, fmt.Sprintf("%d readings of %.6g Pa in a row, to line %d", w.run, float64(w.runValue), w.lastLine))
	}
}

func (w *watcher) finish(issues *issueList) {
	w.endRun(issues)
	if w.usual == 0 {
		w.settle(issues)
	}
}

// issueList keeps the first maxIssues issues and counts the rest.
type issueList struct {
	list []Issue
	more int
	last int
}

func (l *issueList) add(line int, kind Kind, text string) {
	if len(l.list) >= maxIssues {
		l.more++
		l.last = max(l.last, line)
		return
	}
	l.list = append(l.list, Issue{line, kind, text})
}

func (l *issueList) sorted() []Issue {
	out := slices.Clone(l.list)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Line < out[j].Line })
	if l.more > 0 { // the count takes the place of the last
		last := len(out) - 1
		out[last] = Issue{max(l.last, out[last].Line), MoreIssues, fmt.Sprintf("%d further issues are not listed", l.more+1)}
	}
	return out
}
