package main

import (
	"fmt"

	"example.com/drydown/examples/internal/phrase"
	"example.com/drydown/purge"
)

// cautions go with every report.
func cautions(a *answer) []string {
	out := phrase.Cautions()
	if a.job != nil && !a.job.Rating.IsZero() {
		out = append(out, fmt.Sprintf("The pressure rating in this job, %s, was taken as stated. Check it on the name plates.", a.job.Rating))
	}
	return out
}

// leftOut says what the models do not know about this job.
func (a *answer) leftOut(d *document, full bool) {
	if !full {
		return
	}
	d.heading("What the models leave out")
	list := []string{
		"Water held by a desiccant or adsorbed on walls: a job cannot state it yet, so the water left is that of puddles, oil and vapour only.",
		"Temperatures that drift: every wall keeps its temperature but where a step warms it.",
		"Nothing here has been checked against measurements on the circuit of this job.",
	}
	if a.job.Pump.Oil == nil {
		list = append(list, "What water in the pump's oil does to the pump's lowest pressure: the job states no pump oil; at that pressure the pump is taken to give back dry gas, so the last milligrams are uncertain.")
	} else {
		list = append(list, "How slowly the pump's oil gives off its water: the oil is taken to be well mixed and in equilibrium with the gas at the inlet, which is the most that its water can lift the blank-off.")
	}
	if a.job.Gauge.Thermal {
		list = append(list, "How a thermal gauge flattens above 100 Pa (750 micron) in its own way: the factors used are means for less than that, with a scatter of about a tenth (common practice).")
	} else {
		list = append(list, "How a thermal gauge's reading depends on the kind of gas: the gauge of this job reads the true total pressure.")
	}
	if hasPuddle(a.job) && !anyGap(a.job) {
		list = append(list, "Heat that gas carries to the water: the job states no gap, so all of it comes through metal.")
	}
	if a.job.Leak == nil {
		list = append(list, "Leaks: the job states none, so the procedures were run without.")
	}
	d.list(list)
}

// anyGap is true when gas carries heat to some puddle.
func anyGap(j *purge.Job) bool {
	for i := range j.Nodes {
		for k := range j.Nodes[i].Puddles {
			if j.Nodes[i].Puddles[k].Gap > 0 {
				return true
			}
		}
	}
	return false
}
