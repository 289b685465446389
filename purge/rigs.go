package purge

import (
	"context"
	"fmt"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Variant is the same circuit with another rig on it.
type Variant struct {
	// Name says what is different, and Basis where its figure comes from.
	Name, Basis string
	// Change makes the change in a copy of the job.
	Change func(*Job)
}

// Figures of the standard variants (common practice).
const (
	widerHose = 1.5                             // times the bore
	warmSpot  = units.Temperature(273.15 + 45.) // what a heat blanket or lamp keeps a wall at
)

// Variants lists the changes to the rig that people consider, as far as they
// change this job: hoses of 1.5 times the bore, valve cores taken out, a second
// hose beside each, a pump of twice the displacement, and the walls of the nodes
// that hold puddles kept at 45 °C. The figures are common practice.
//
// Warming is modelled as walls that are warm from the start; heating up takes
// time that is not counted.
func (j *Job) Variants() []Variant {
	var out []Variant
	add := func(applies bool, name string, change func(*Job)) {
		if applies {
			out = append(out, Variant{name, commonPractice, change})
		}
	}
	hoses := len(hosesOf(j)) > 0
	add(hoses, fmt.Sprintf("hoses of %g times the bore", widerHose), func(j *Job) {
		for _, h := range hosesOf(j) {
			h.Bore *= widerHose
		}
	})
	add(coresIn(j), "valve cores taken out", takeCoresOut)
	add(len(hoseLinks(j)) > 0, "a second hose beside each", doubleHoses)
	add(true, "pump of twice the displacement", func(j *Job) { j.Pump.ScaleSpeed(2) })
	add(coolSpot(j), fmt.Sprintf("wet walls kept at %.0f °C", warmSpot.Celsius()), warmWetNodes)
	return out
}

// eachPart visits the parts of all links of the circuit, the vent apart.
func (j *Job) eachPart(visit func(*JobPart)) {
	for l := range j.Links {
		for p := range j.Links[l].Passage {
			visit(&j.Links[l].Passage[p])
		}
	}
}

func hosesOf(j *Job) []*JobTube {
	var out []*JobTube
	j.eachPart(func(p *JobPart) {
		if p.Hose != nil {
			out = append(out, p.Hose)
		}
	})
	return out
}

func coresIn(j *Job) bool {
	found := false
	j.eachPart(func(p *JobPart) { found = found || p.ValveCore != nil || p.CoreTool != nil && p.CoreTool.CoreIn })
	return found
}

// takeCoresOut puts a core tool with the core removed wherever a core is.
func takeCoresOut(j *Job) {
	j.eachPart(func(p *JobPart) {
		if p.ValveCore != nil || p.CoreTool != nil {
			*p = JobPart{CoreTool: &JobTool{}}
		}
	})
}

// hoseLinks are the links with a hose that are open. The valves of pump and gauge are
// none of them: each stays one link, so that shutting it shuts the way.
func hoseLinks(j *Job) []JobLink {
	var out []JobLink
	for _, l := range j.Links {
		hose := false
		for i := range l.Passage {
			hose = hose || l.Passage[i].Hose != nil
		}
		if hose && l.Name != j.Pump.Valve && l.Name != j.Gauge.Valve && !l.Closed {
			out = append(out, l)
		}
	}
	return out
}

// doubleHoses lays a copy beside every link with a hose.
func doubleHoses(j *Job) {
	for _, l := range hoseLinks(j) {
		second := *deepCopy(&l)
		second.Name += " (second)"
		j.Links = append(j.Links, second)
	}
}

// coolSpot is true when a node with a puddle is colder than a warmed wall.
func coolSpot(j *Job) bool {
	for n := range j.Nodes {
		if wetAndCool(j, &j.Nodes[n]) {
			return true
		}
	}
	return false
}

func wetAndCool(j *Job, n *JobNode) bool {
	t := j.Site.Temperature
	if n.Temperature != nil {
		t = *n.Temperature
	}
	return len(n.Puddles) > 0 && t < warmSpot
}

func warmWetNodes(j *Job) {
	for n := range j.Nodes {
		if wetAndCool(j, &j.Nodes[n]) {
			t := warmSpot
			j.Nodes[n].Temperature = &t
		}
	}
}

// RigOptions steers CompareRigs. Nil is legal.
type RigOptions struct {
	// Variants to set beside the job's own rig; nil means Job.Variants.
	Variants []Variant
	// Workers is how many rigs are run at once; zero means one per processor.
	Workers int
	// Simulation steers the integrator; nil means its defaults.
	Simulation *vacuum.Options
	// Progress, when not nil, hears how many rigs are done. It is called by one
	// goroutine at a time.
	Progress func(done, of int)
}

// Rig is a job's procedures on one rig.
type Rig struct {
	// Name is the variant's, and "as stated" for the job's own rig.
	Name string
	// Comparison has the procedures in the job's order; nil when the rig was
	// refused or not reached.
	Comparison *Comparison
	// Refused is why the rig could not be run, empty when it could.
	Refused string
}

// CompareRigs runs all procedures of the job on its own rig, which comes first,
// and on variants of it. When the context ends, the rigs finished until then
// come with the error.
func CompareRigs(ctx context.Context, j *Job, opt *RigOptions) ([]Rig, error) {
	var o RigOptions
	if opt != nil {
		o = *opt
	}
	if o.Variants == nil {
		o.Variants = j.Variants()
	}
	rigs := []Rig{{Name: "as stated"}}
	for _, v := range o.Variants {
		rigs = append(rigs, Rig{Name: v.Name})
	}
	err := parallel(ctx, len(rigs), o.Workers, o.Progress, func(ctx context.Context, i int) error {
		job := deepCopy(j)
		if i > 0 {
			o.Variants[i-1].Change(job)
		}
		if err := job.Check(); err != nil {
			rigs[i].Refused = err.Error()
			return nil
		}
		c, err := Compare(ctx, job, &RunOptions{Simulation: o.Simulation})
		switch {
		case err == nil:
			rigs[i].Comparison = c
		case ctx.Err() != nil:
			return err
		default:
			rigs[i].Refused = err.Error()
		}
		return nil
	})
	return rigs, err
}

// Buys is what a change of the rig does to one procedure.
type Buys struct {
	// Time is how much sooner the procedure is done, negative when later, and
	// Water how much less water it leaves.
	Time  time.Duration
	Water units.Mass
}

// Buys sets procedure number i on this rig against the same on another, usually
// the job's own. It is false when either was not carried out to its end: the two
// are then not comparable.
func (r *Rig) Buys(i int, own *Rig) (Buys, bool) {
	if r.Comparison == nil || own.Comparison == nil || i < 0 || i >= len(r.Comparison.Records) || i >= len(own.Comparison.Records) {
		return Buys{}, false
	}
	now, was := r.Comparison.Records[i], own.Comparison.Records[i]
	if !now.Completed || !was.Completed {
		return Buys{}, false
	}
	return Buys{was.Took() - now.Took(), was.WaterLeft() - now.WaterLeft()}, true
}
