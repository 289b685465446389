package main

import (
	"fmt"
	"time"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/vacuum/rise"
	"example.com/drydown/vacuum/trace"
)

// riseAnswer is what the rise record shows, and what its beginning alone would
// have shown.
type riseAnswer struct {
	finding rise.Finding
	// settled is the shortest beginning of the record from which on every
	// longer one gives the record's own verdict; zero when there is none.
	settled time.Duration
	// sooner are verdicts of the record's beginnings, by how long they are.
	sooner []soon
}

// soon is the verdict of the beginning of a record.
type soon struct {
	length  time.Duration
	verdict rise.Verdict
}

// parts is how many beginnings of a record are judged.
const parts = 20

// judge interprets the record and its beginnings.
func (q *question) judge() (*riseAnswer, error) {
	f, err := rise.Interpret(*q.log, q.rise)
	if err != nil {
		return nil, fmt.Errorf("rise record: %w", err)
	}
	r := &riseAnswer{finding: f}
	if f.Reason == rise.InstrumentFault || f.Reason == rise.TooFewSamples || f.Reason == rise.UnusableRows {
		return r, nil
	}
	first := firstGood(q.log)
	for k := 1; k <= parts; k++ {
		length := f.Record.Duration * time.Duration(k) / parts
		part, err := rise.Interpret(beginning(q.log, first+length.Seconds()), q.rise)
		if err != nil {
			return nil, fmt.Errorf("rise record, first %s: %w", phrase.Took(length), err)
		}
		r.sooner = append(r.sooner, soon{length, part.Verdict})
	}
	r.settled = settledFrom(r.sooner)
	return r, nil
}

// settledFrom is the length from which on the verdict no longer changes.
func settledFrom(s []soon) time.Duration {
	from := time.Duration(0)
	for i := len(s) - 1; i >= 0 && s[i].verdict == s[len(s)-1].verdict; i-- {
		from = s[i].length
	}
	return from
}

// at is the verdict after the given time of watching; ok is false when the
// record is shorter.
func (r *riseAnswer) at(d time.Duration) (v rise.Verdict, ok bool) {
	if d > r.finding.Record.Duration {
		return 0, false
	}
	for _, s := range r.sooner {
		if s.length <= d {
			v, ok = s.verdict, true
		}
	}
	return v, ok
}

// firstGood is the time of the first usable reading.
func firstGood(l *trace.Log) float64 {
	for i, s := range l.States {
		if s == trace.Good {
			return l.Times[i]
		}
	}
	return 0
}

// beginning is the log up to and including time end.
func beginning(l *trace.Log, end float64) trace.Log {
	n := len(l.Times)
	for i, t := range l.Times {
		if t > end*(1+1e-12) && l.States[i] == trace.Good {
			n = i
			break
		}
	}
	part := *l
	part.Times, part.Pressures, part.States = l.Times[:n], l.Pressures[:n], l.States[:n]
	if len(l.Lines) > 0 {
		part.Lines = l.Lines[:n]
	}
	if len(l.Temperatures) > 0 {
		part.Temperatures = l.Temperatures[:n]
	}
	if len(l.Second) > 0 {
		part.Second = l.Second[:n]
	}
	return part
}
