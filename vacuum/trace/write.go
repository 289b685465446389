package trace

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"
)

// Write writes a log as comma-separated text that Read reads back to the same
// numbers: SI units in the header, RFC 3339 time stamps in UTC when the log has
// a start and elapsed seconds otherwise, shortest digits, the words "over" and
// "under" for readings out of range, blank cells for missing ones. Rows with a
// repeated or backward time are written as they are.
//
// It refuses a log whose slices differ in length, a number that is not finite, a
// negative pressure or temperature, and writes nothing then.
func Write(w io.Writer, log Log) error {
	if err := checkLog(log); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	header := "t[s],p[Pa]"
	if !log.Start.IsZero() {
		header = "time,p[Pa]"
	}
	if len(log.Second) > 0 {
		header += ",p2[Pa]"
	}
	if len(log.Temperatures) > 0 {
		header += ",temperature[K]"
	}
	buf := append([]byte(header), '\n')
	for i := range log.Times {
		buf = appendRow(buf, log, i)
		if _, err := b.Write(buf); err != nil {
			return err
		}
		buf = buf[:0]
	}
	if len(log.Times) == 0 {
		if _, err := b.Write(buf); err != nil {
			return err
		}
	}
	return b.Flush()
}

func appendRow(buf []byte, log Log, i int) []byte {
	if log.Start.IsZero() {
		buf = strconv.AppendFloat(buf, log.Times[i], 'g', -1, 64)
	} else {
		at := log.Start.Add(time.Duration(math.Round(log.Times[i] * 1e9)))
		buf = at.UTC().AppendFormat(buf, time.RFC3339Nano)
	}
	buf = append(buf, ',')
	switch log.stateOf(i) {
	case Good, Repeated, Backward:
		buf = strconv.AppendFloat(buf, float64(log.Pressures[i]), 'g', -1, 64)
	case OverRange:
		buf = append(buf, "over"...)
	case UnderRange:
		buf = append(buf, "under"...)
	}
	if len(log.Second) > 0 {
		buf = append(buf, ',')
		if log.Second[i] >= 0 {
			buf = strconv.AppendFloat(buf, float64(log.Second[i]), 'g', -1, 64)
		}
	}
	if len(log.Temperatures) > 0 {
		buf = append(buf, ',')
		if log.Temperatures[i] > 0 {
			buf = strconv.AppendFloat(buf, float64(log.Temperatures[i]), 'g', -1, 64)
		}
	}
	return append(buf, '\n')
}

func (l Log) stateOf(i int) State {
	if len(l.States) == 0 {
		return Good
	}
	return l.States[i]
}

func checkLog(log Log) error {
	n := len(log.Times)
	bad := func(got int) bool { return got != 0 && got != n }
	if len(log.Pressures) != n || bad(len(log.States)) || bad(len(log.Second)) || bad(len(log.Temperatures)) {
		return fmt.Errorf("trace.Write: %d times, %d pressures, %d states, %d second readings, %d temperatures; accepted equal lengths",
			n, len(log.Pressures), len(log.States), len(log.Second), len(log.Temperatures))
	}
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	for i, t := range log.Times {
		if !finite(t) || !finite(float64(log.Pressures[i])) || log.Pressures[i] < 0 {
			return fmt.Errorf("trace.Write: line %d: time %g s, pressure %g Pa; accepted finite numbers, pressure at least 0",
				log.Line(i), t, float64(log.Pressures[i]))
		}
		if len(log.Second) > 0 && !finite(float64(log.Second[i])) {
			return fmt.Errorf("trace.Write: line %d: second pressure %g Pa, accepted finite numbers, negative for no reading",
				log.Line(i), float64(log.Second[i]))
		}
		if len(log.Temperatures) > 0 && (!finite(float64(log.Temperatures[i])) || log.Temperatures[i] < 0) {
			return fmt.Errorf("trace.Write: line %d: temperature %g K, accepted finite numbers above 0, and 0 for no reading",
				log.Line(i), float64(log.Temperatures[i]))
		}
	}
	return nil
}
