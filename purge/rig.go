package purge

import (
	"fmt"
	"strings"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Names that build gives to what a job does not name itself.
const (
	ambientNode  = "ambient"
	pumpName     = "pump"
	gaugeName    = "gauge"
	nitrogenFeed = "nitrogen"
	ventLink     = "vent"
	leakLink     = "leak"
)

// rig is a job turned into a circuit.
type rig struct {
	job     *Job
	ambient units.Pressure
	circuit vacuum.Circuit
	dew     []string // what condensed before the start and is not in the circuit
}

// build turns the job into a circuit. The circuit is not checked yet.
func (j *Job) build() (*rig, error) {
	ambient, err := j.Site.Ambient()
	if err != nil {
		return nil, err
	}
	air, err := vacuum.HumidAir(ambient, j.Site.Temperature, j.Site.Humidity)
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	r := &rig{job: j, ambient: ambient}
	c := &r.circuit
	for i := range j.Nodes {
		node, err := j.Nodes[i].build(j, ambient, air)
		if err != nil {
			return nil, fmt.Errorf("nodes[%d] %q: %w", i+1, j.Nodes[i].Name, err)
		}
		c.Nodes = append(c.Nodes, node)
		r.sayDew(&j.Nodes[i], &node, air.Vapour)
	}
	if j.Vent != nil || j.Leak != nil { // nothing else reaches the open air
		c.Nodes = append(c.Nodes, vacuum.Node{Name: ambientNode, Reservoir: true, Temperature: j.Site.Temperature, Fill: air})
	}
	for i, l := range j.Links {
		way, err := passage(l.Passage)
		if err != nil {
			return nil, fmt.Errorf("links[%d] %q: passage: %w", i+1, l.Name, err)
		}
		c.Links = append(c.Links, vacuum.Link{Name: l.Name, From: l.From, To: l.To, Passage: way, Closed: l.Closed})
	}
	return r, r.attach()
}

// attach adds pump, gauge, nitrogen, vent and leak.
func (r *rig) attach() error {
	j, c := r.job, &r.circuit
	pump, err := j.Pump.build(r.ambient)
	if err != nil {
		return err
	}
	c.Pumps, c.Gauges = []vacuum.Pump{pump}, []vacuum.Gauge{j.Gauge.build()}
	if n := j.Nitrogen; n != nil {
		c.Feeds = []vacuum.Feed{{Name: nitrogenFeed, Node: n.Node, Moisture: n.Moisture}}
	}
	if v := j.Vent; v != nil {
		way, err := passage(v.Passage)
		if err != nil {
			return fmt.Errorf("vent: passage: %w", err)
		}
		c.Links = append(c.Links, vacuum.Link{Name: ventLink, From: v.Node, To: ambientNode, Passage: way, Closed: true})
	}
	if l := j.Leak; l != nil {
		c.Links = append(c.Links, vacuum.Link{Name: leakLink, From: ambientNode, To: l.Node, Leak: vacuum.Leak{Rate: l.Rate}})
	}
	if j.System != "" && !r.hasNode(j.System) {
		return fmt.Errorf("system: there is no node %q, there are %s", j.System, r.nodeList())
	}
	if v := j.Pump.Valve; v != "" && v == j.Gauge.Valve {
		return fmt.Errorf("gauge.valve: %q is the pump's valve too; a gauge behind it sees nothing once the pump is shut off", v)
	}
	for field, v := range map[string]string{"pump.valve": j.Pump.Valve, "gauge.valve": j.Gauge.Valve} {
		if v != "" && !r.hasLink(v) {
			return fmt.Errorf("%s: there is no link %q", field, v)
		}
	}
	return nil
}

// sayDew admits the water that the site's air has too much for a node colder than its
// dew point: where and how it lies there is for the job to say.
func (r *rig) sayDew(n *JobNode, node *vacuum.Node, vapour units.Pressure) {
	if n.Holds != "" && n.Holds != "air" || node.Fill.Vapour >= vapour {
		return
	}
	water := (vapour - node.Fill.Vapour).Amount(node.Volume, node.Temperature).Mass(moisture.MolarMass)
	r.dew = append(r.dew, fmt.Sprintf("%q is colder than the dew point of the site's air: %s of water condensed in it before the start and are not counted; state them as a puddle there", n.Name, grams(water)))
}

// build turns one node of the job into a volume.
func (n *JobNode) build(j *Job, ambient units.Pressure, air vacuum.Fill) (vacuum.Node, error) {
	out := vacuum.Node{Name: n.Name, Volume: n.Volume, Temperature: j.Site.Temperature}
	if n.Temperature != nil {
		out.Temperature = *n.Temperature
	}
	switch n.Holds {
	case "", "air":
		// A node colder than the air's dew point cannot hold its vapour.
		sat, _, err := moisture.SaturationPressure(out.Temperature)
		if err != nil {
			return out, err
		}
		out.Fill = air
		out.Fill.Vapour = min(air.Vapour, sat)
	case "nitrogen":
		out.Fill = vacuum.Fill{Gas: "nitrogen", Pressure: ambient}
	case "vacuum":
		out.Fill = vacuum.Fill{Pressure: 1}
	default:
		return out, fmt.Errorf("holds: %q is not known, accepted are air, nitrogen, vacuum", n.Holds)
	}
	for _, p := range n.Puddles {
		out.Stores = append(out.Stores, vacuum.PlacedStore{Name: p.Name, Store: p.store()})
	}
	for _, o := range n.Oils {
		store, err := o.store()
		if err != nil {
			return out, fmt.Errorf("oil %q: %w", o.Name, err)
		}
		out.Stores = append(out.Stores, vacuum.PlacedStore{Name: o.Name, Store: store})
	}
	return out, nil
}

// passage joins the parts of a link.
func passage(parts []JobPart) (vacuum.Passage, error) {
	if len(parts) == 0 {
		return nil, fmt.Errorf("at least one part is needed")
	}
	var all []vacuum.Passage
	for i := range parts {
		p, err := parts[i].passage()
		if err != nil {
			return nil, fmt.Errorf("part %d: %w", i+1, err)
		}
		all = append(all, p)
	}
	return vacuum.Series(all...), nil
}

// passage is the one part that is given.
func (p *JobPart) passage() (vacuum.Passage, error) {
	var found []vacuum.Passage
	for _, t := range []struct {
		tube *JobTube
		make func(bore, length units.Length) vacuum.Passage
	}{{p.Tube, vacuum.Tube}, {p.Hose, vacuum.Hose}, {p.Capillary, vacuum.Capillary}, {p.BallValve, vacuum.BallValve}} {
		if t.tube != nil {
			found = append(found, t.make(t.tube.Bore, t.tube.Length))
		}
	}
	if p.Orifice != nil {
		found = append(found, vacuum.Orifice(p.Orifice.Bore))
	}
	if p.ValveCore != nil {
		found = append(found, vacuum.ValveCore())
	}
	if p.CoreTool != nil {
		found = append(found, vacuum.CoreTool(p.CoreTool.CoreIn))
	}
	if len(found) != 1 {
		return nil, fmt.Errorf("exactly one of tube, hose, capillary, orifice, ball_valve, valve_core, core_tool is needed")
	}
	return found[0], found[0].Check()
}

func (r *rig) hasNode(name string) bool {
	for i := range r.job.Nodes {
		if r.job.Nodes[i].Name == name {
			return true
		}
	}
	return false
}

func (r *rig) hasLink(name string) bool {
	for i := range r.job.Links {
		if r.job.Links[i].Name == name {
			return true
		}
	}
	return false
}

// nodeList names the job's nodes for error texts.
func (r *rig) nodeList() string {
	var list []string
	for i := range r.job.Nodes {
		list = append(list, fmt.Sprintf("%q", r.job.Nodes[i].Name))
	}
	return strings.Join(list, ", ")
}

// systemNode is the node whose pressure counts as the system's.
func (r *rig) systemNode() string {
	if r.job.System != "" || len(r.job.Nodes) == 0 {
		return r.job.System
	}
	return r.job.Nodes[0].Name
}
