package rise

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// record is a cleaned log: increasing times from zero, finite pressures.
type record struct {
	t, p   []float64            // s, Pa
	temp   []float64            // K, NaN where missing up to fillGaps; nil without a temperature column that can be used
	second []float64            // Pa, the same for a second gauge
	gaps   [2]string            // what was done about readings missing in temp and second; empty without any
	bare   int                  // rows at the ends that were left out for them
	row    []int                // row of the log behind each reading, the first one of a block
	zero   float64              // s, from the first usable reading to the time that counts as zero
	over   int                  // rows that were over range
	rows   int                  // rows of the log
	lost   map[trace.State]loss // rows that do not count
	line   func(i int) int      // line of a row of the log
	digit  float64              // what the last digit that the log writes stands for, Pa; zero when unknown
	apart  int                  // readings at the ends that stood apart and were set aside, last of them at the end
	last   int
	step   float64 // of the gauge as far as known before any reading is looked at, Pa; zero when unknown
	first  float64 // Pa, a first reading that was set aside and the one after it; both zero without
	next   float64
	span   float64 // s, from the first usable reading to the last row of any kind
}

func (r *record) duration() float64 { return r.t[len(r.t)-1] }

// newRecord keeps the good rows of a log. Data that no reader would hand on,
// such as a negative pressure marked good, is refused with its line in the name
// of function fn.
func newRecord(fn string, log trace.Log, ambient float64) (*record, error) {
	n := len(log.Times)
	other := func(rows int) bool { return rows != 0 && rows != n }
	if len(log.Pressures) != n || other(len(log.States)) || other(len(log.Temperatures)) || other(len(log.Second)) {
		return nil, fmt.Errorf("%s: log has %d times, %d pressures, %d states, %d temperatures and %d readings of a second gauge, accepted equal lengths, or none of the last three",
			fn, n, len(log.Pressures), len(log.States), len(log.Temperatures), len(log.Second))
	}
	r := &record{lost: map[trace.State]loss{}, rows: n, line: log.Line, digit: float64(log.Format.Digit), step: float64(log.Format.Digit)}
	for i := range n {
		if len(log.States) > 0 && log.States[i] != trace.Good {
			if log.States[i] == trace.OverRange {
				r.over++
			}
			r.lose(&log, i)
			continue
		}
		t, p := log.Times[i], float64(log.Pressures[i])
		if !(p >= 0 && p <= 1.05*ambient) {
			return nil, units.CheckRange(fn, fmt.Sprintf("pressure in line %d", log.Line(i)), p, 0, 1.05*ambient, "Pa")
		}
		if k := len(r.t); k > 0 && !(t > r.t[k-1]) || math.IsNaN(t) || math.IsInf(t, 0) {
			return nil, fmt.Errorf("%s: time in line %d = %g s, accepted times that increase: %w", fn, log.Line(i), t, units.ErrOutOfRange)
		}
		r.t, r.p, r.row = append(r.t, t), append(r.p, p), append(r.row, i)
		if len(log.Temperatures) > 0 {
			r.temp = append(r.temp, present(float64(log.Temperatures[i]), log.Temperatures[i] > 0))
		}
		if len(log.Second) > 0 {
			r.second = append(r.second, present(float64(log.Second[i]), log.Second[i] >= 0))
		}
	}
	if len(r.t) > 0 {
		r.span = latest(log.Times) - r.t[0]
	}
	for i := len(r.t) - 1; i >= 0; i-- {
		r.t[i] -= r.t[0]
	}
	return r, nil
}

// present is v where a reading is there, and NaN where it is missing.
func present(v float64, there bool) float64 {
	if !there || math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// mostGaps is the largest share of missing readings up to which a column beside
// the pressure is filled in.
const mostGaps = 0.25

// fillGaps leaves out rows at the ends that a column lacks, since a value held
// there would bend the pressures as a source does, and brings lines into the gaps
// between. A column that lacks too many goes.
func (r *record) fillGaps() {
	r.temp, r.gaps[0] = r.admit(r.temp, "temperature", "temperature column")
	r.second, r.gaps[1] = r.admit(r.second, "reading of the second gauge", "second gauge")
	whole := func(i int) bool {
		return !(len(r.temp) > 0 && math.IsNaN(r.temp[i])) && !(len(r.second) > 0 && math.IsNaN(r.second[i]))
	}
	from, to := 0, len(r.t)
	for from < to && !whole(from) {
		from++
	}
	for to > from && !whole(to-1) {
		to--
	}
	r.bare = len(r.t) - (to - from)
	if r.bare > 0 && to > from {
		r.keep(from, to)
	}
	fillIn(r.t, r.temp)
	fillIn(r.t, r.second)
}

// admit says how many readings a column lacks, if any; it comes back nil when
// they are too many.
func (r *record) admit(v []float64, reading, column string) (used []float64, said string) {
	missing, first := 0, 0
	for i := len(v) - 1; i >= 0; i-- {
		if math.IsNaN(v[i]) {
			missing, first = missing+1, i
		}
	}
	if missing == 0 {
		return v, ""
	}
	line := r.line(r.row[first])
	if float64(missing) > mostGaps*float64(len(v)) {
		return nil, fmt.Sprintf("the %s has no reading in %d of %d usable rows, the first in line %d; it is not used", column, missing, len(v), line)
	}
	hold := "hold"
	if missing == 1 {
		hold = "holds"
	}
	return v, fmt.Sprintf("%d of %d usable rows %s no %s, the first in line %d; filled in between their neighbours, left out at the ends",
		missing, len(v), hold, reading, line)
}

// fillIn brings lines into the gaps of a column whose ends are there.
func fillIn(t, v []float64) {
	before := 0
	for i := range v {
		if math.IsNaN(v[i]) {
			continue
		}
		for k := before + 1; k < i; k++ {
			v[k] = v[before] + (v[i]-v[before])*(t[k]-t[before])/(t[i]-t[before])
		}
		before = i
	}
}

// keep cuts the record to rows from, which becomes time zero, up to below to.
func (r *record) keep(from, to int) {
	r.t, r.p, r.row = r.t[from:to], r.p[from:to], r.row[from:to]
	if r.temp != nil {
		r.temp = r.temp[from:to]
	}
	if r.second != nil {
		r.second = r.second[from:to]
	}
	start := r.t[0]
	r.zero += start
	for i := range r.t {
		r.t[i] -= start
	}
}

// loss is how many rows of one state do not count, the line of the first, and
// what the reader said about it.
type loss struct {
	rows, line int
	text       string
}

func (r *record) lose(log *trace.Log, i int) {
	s := log.States[i]
	l := r.lost[s]
	if l.rows++; l.rows == 1 {
		l.line = log.Line(i)
		for _, issue := range log.Issues {
			if issue.Line == l.line {
				l.text = fmt.Sprintf(" (%v: %s)", issue.Kind, issue.Text)
				break
			}
		}
	}
	r.lost[s] = l
}

// unreadable is how many rows no reading could be taken from: text that is no
// number, another unit, a negative pressure, a time before an earlier one. A time
// that comes again does no harm: a clock may tick more slowly than the logger.
func (r *record) unreadable() int { return r.lost[trace.Unreadable].rows + r.lost[trace.Backward].rows }

// missing is how many rows hold no reading: a blank cell, or a word or number that
// stands for none.
func (r *record) missing() int { return r.lost[trace.Missing].rows }

// most is true when rows are more than overRangeShare of the log's.
func (r *record) most(rows int) bool { return float64(rows) > overRangeShare*float64(r.rows) }

// sayLost lists the rows that do not count, the most frequent state first.
func (r *record) sayLost() string {
	var states []trace.State
	for s := range r.lost {
		states = append(states, s)
	}
	slices.SortFunc(states, func(a, b trace.State) int {
		if d := r.lost[b].rows - r.lost[a].rows; d != 0 {
			return d
		}
		return int(a) - int(b)
	})
	var parts []string
	for _, s := range states {
		switch l := r.lost[s]; l.rows {
		case 1:
			parts = append(parts, fmt.Sprintf("%v in line %d%s", s, l.line, l.text))
		default:
			parts = append(parts, fmt.Sprintf("%v in %d rows, the first in line %d%s", s, l.rows, l.line, l.text))
		}
	}
	return strings.Join(parts, "; ")
}

// latest is the largest finite time, s; rows without a usable reading count too.
func latest(times []float64) float64 {
	most := math.Inf(-1)
	for _, t := range times {
		if !math.IsInf(t, 1) {
			most = math.Max(most, t)
		}
	}
	return most
}

// correct brings pressures to the mean gas temperature, p T̄/T, when the record
// has a temperature column.
func (r *record) correct() {
	if r.temp == nil {
		return
	}
	mean := 0.0
	for _, t := range r.temp {
		mean += t / float64(len(r.temp))
	}
	for i := range r.p {
		r.p[i] *= mean / r.temp[i]
	}
}

// maxRows is how many rows are fitted; longer records are averaged in blocks.
const maxRows = 4000

// blocks is how many blocks a long record is reduced to.
const blocks = 2000

// reduce averages rows in blocks of equal duration when there are more than
// maxRows. A source that fades within a block is lost; one that lasts ten
// blocks loses under 1 % of its information.
func (r *record) reduce() {
	if len(r.t) <= maxRows {
		return
	}
	width := r.duration() / blocks
	var out record
	for i := 0; i < len(r.t); {
		j := i + 1
		for j < len(r.t) && blockOf(r.t[j], width) == blockOf(r.t[i], width) {
			j++
		}
		out.t = append(out.t, mean(r.t[i:j]))
		out.p = append(out.p, mean(r.p[i:j]))
		out.row = append(out.row, r.row[i])
		if r.second != nil {
			out.second = append(out.second, mean(r.second[i:j]))
		}
		i = j
	}
	out.row[len(out.row)-1] = r.row[len(r.row)-1]
	r.zero += out.t[0]
	for i := len(out.t) - 1; i >= 0; i-- {
		out.t[i] -= out.t[0]
	}
	r.t, r.p, r.second, r.row = out.t, out.p, out.second, out.row
}

// blockOf is the number of the block that time t falls into; the last row
// belongs to the last block.
func blockOf(t, width float64) int { return min(int(t/width), blocks-1) }

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// resolution is the smallest step between two different readings, Pa.
func (r *record) resolution() float64 {
	s := slices.Clone(r.p)
	slices.Sort(s)
	least := math.Inf(1)
	for i := 1; i < len(s); i++ {
		if d := s[i] - s[i-1]; d > 1e-9*s[len(s)-1] {
			least = min(least, d)
		}
	}
	return least
}

// stuck reports a gauge that repeats one value in at least half of the rows, in
// one run, while the rest scatters by more than two steps of the gauge.
func (r *record) stuck(resolution float64) bool {
	first, length := longestRun(r.p)
	n := len(r.p)
	if length < 20 || 2*length < n {
		return false
	}
	return scatter(r.p[:first]) > 2*resolution || scatter(r.p[first+length:]) > 2*resolution
}

func longestRun(p []float64) (first, length int) {
	start := 0
	for i := 1; i <= len(p); i++ {
		if i == len(p) || p[i] != p[start] {
			if i-start > length {
				first, length = start, i-start
			}
			start = i
		}
	}
	return first, length
}

// scatter is the noise of p from its second differences, zero below 12 rows.
func scatter(p []float64) float64 {
	if len(p) < MinSamples {
		return 0
	}
	sum := 0.0
	for i := 2; i < len(p); i++ {
		d := p[i] - 2*p[i-1] + p[i-2]
		sum += d * d
	}
	return math.Sqrt(sum / float64(6*(len(p)-2)))
}
