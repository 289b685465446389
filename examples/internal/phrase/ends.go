package phrase

import (
	"fmt"
	"strings"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

// Readings are the usable readings of a log: seconds since the first of them,
// and pressures in Pa.
func Readings(log *trace.Log) (seconds []float64, pressures []units.Pressure) {
	first := 0.0
	for i, s := range log.States {
		if s != trace.Good {
			continue
		}
		if len(seconds) == 0 {
			first = log.Times[i]
		}
		seconds = append(seconds, log.Times[i]-first)
		pressures = append(pressures, log.Pressures[i])
	}
	return seconds, pressures
}

// Lasts says how long a log lasts and between which readings, first and last
// usable ones; empty when there are none.
func Lasts(log *trace.Log) string {
	t, p := Readings(log)
	if len(t) == 0 {
		return ""
	}
	d := time.Duration(t[len(t)-1] * float64(time.Second))
	return "The record lasts " + Took(d) + ", from a first reading of " + Pressure(p[0]) + " to a last of " + Pressure(p[len(p)-1]) +
		", in " + Plural(len(t), "usable reading") + "."
}

// Rows counts the rows of a log by what became of them, so that the counts add up;
// outliers are usable readings that were set aside.
func Rows(log *trace.Log, outliers int) string {
	count := map[trace.State]int{}
	for _, s := range log.States {
		count[s]++
	}
	parts := []string{fmt.Sprintf("%d usable", count[trace.Good])}
	if outliers > 0 {
		parts[0] += fmt.Sprintf(" (%s set aside)", Plural(outliers, "outlier"))
	}
	for s := trace.OverRange; s <= trace.Backward; s++ {
		if count[s] > 0 {
			parts = append(parts, fmt.Sprintf("%d %v", count[s], s))
		}
	}
	return Plural(len(log.States), "row") + ": " + strings.Join(parts, ", ")
}
