package rise

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// overRangeShare is the share of rows over range, or of rows that hold no reading
// or cannot be read, from which a record is no measurement.
const overRangeShare = 0.25

// unusable sorts out records that cannot be judged.
func (j *judge) unusable() bool {
	r := j.r
	r.fillGaps()
	j.admitGaps()
	j.f.Record = RecordInfo{Rows: r.rows, Usable: len(r.t) + r.apart + r.bare, OverRange: r.over, Unreadable: r.unreadable(), Missing: r.missing()}
	switch {
	case r.most(r.over):
		j.f.Reason = InstrumentFault
		return true
	case r.most(r.unreadable() + r.missing()):
		j.f.Reason = UnusableRows
		return true
	case len(r.t) < MinSamples:
		j.f.Reason = TooFewSamples
		return true
	}
	j.f.Record.Duration = seconds(r.duration())
	j.f.Record.Resolution = j.o.Resolution
	if j.o.Resolution == 0 {
		if step := r.resolution(); !math.IsInf(step, 0) {
			j.f.Record.Resolution = units.Pressure(step)
		}
	}
	if _, run := longestRun(r.p); run == len(r.p) {
		if j.secondMoved() > 0 {
			j.f.Reason = InstrumentFault
			return true
		}
		j.constant()
		return true
	}
	if r.stuck(float64(j.f.Record.Resolution)) {
		j.f.Reason = InstrumentFault
		return true
	}
	return false
}

// admitGaps says what was done about readings missing in the columns beside the
// pressure.
func (j *judge) admitGaps() {
	for _, said := range j.r.gaps {
		if said != "" {
			j.f.Assumptions = append(j.f.Assumptions, said)
		}
	}
}

// admitEnds says that readings at the ends were set aside.
func (j *judge) admitEnds() {
	r := j.r
	if r.apart > r.last {
		text := fmt.Sprintf("the first reading, %s, was wrong and is set aside: it stands apart from the next, %s, and those that follow",
			sayPressure(units.Pressure(r.first)), sayPressure(units.Pressure(r.next)))
		if r.next > r.first {
			text += "; a source that gave all it had in between looks the same"
		} else {
			text += "; a pressure that settled in between looks the same"
		}
		j.f.Assumptions = append(j.f.Assumptions, text)
	}
	if r.last > 0 {
		j.f.Assumptions = append(j.f.Assumptions, fmt.Sprintf("readings set aside at the end, because they stand apart from the rest: %d", r.last))
	}
}
