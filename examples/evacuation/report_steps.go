package main

import (
	"fmt"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
)

// idle lists the steps that did not do what they were there for, as the record
// says how they ended.
func idle(r *purge.Record) []string {
	var out []string
	for i := range r.Stages {
		s := &r.Stages[i]
		switch s.Why {
		case "nothing to bleed", "the pressure was there already, nothing let in",
			"time over before the end that was asked for", "time over before the pressure was down":
			out = append(out, fmt.Sprintf("Step %d (%s) did not do its work: %s.", s.Step, s.Title, s.Why))
		}
	}
	return out
}

// farAbove is how many times the gauge's pressure counts as far above it.
const farAbove = 3

// worstNode says where the pressure stands far above the gauge's at the end of a
// pull; of several pulls it takes the last one of which that is true.
func worstNode(r *purge.Record) string {
	for i := len(r.Stages) - 1; i >= 0; i-- {
		s := &r.Stages[i]
		if s.Kind != "pull" || offRange(s.Gauge) || s.Gauge.Pressure <= 0 || s.HighestNode == r.SystemNode {
			continue
		}
		if ratio := float64(s.Highest / s.Gauge.Pressure); ratio > farAbove {
			return fmt.Sprintf("Worst place at the end of step %d (%s): %s at %s, %s times what the gauge shows. The way between them is too narrow for the gauge to speak for it.",
				s.Step, s.Title, s.HighestNode, phrase.Pressure(s.Highest), phrase.Digits(ratio, 2))
		}
	}
	return ""
}
