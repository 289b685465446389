package purge

import (
	"fmt"
	"slices"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Record is a procedure as it went: the simulation's samples, one row per
// stage, and the water ledger before and after every stage.
type Record struct {
	vacuum.Record
	// Procedure is the procedure's name.
	Procedure string
	// SystemNode and GaugeNode name the nodes that count as the system's and
	// that the gauge sits at.
	SystemNode, GaugeNode string
	// Before is the ledger when the procedure began.
	Before vacuum.Ledger
	// Stages are the steps carried out, the last one possibly in part.
	Stages []Stage
	// Completed is true when every step was carried out to its end, which for a sweep or
	// a bleed may be its time limit: Stage.Why says so.
	Completed bool
	// Reason says why the record stops where it does when not Completed.
	Reason string
	// Warnings are what a person should know before trusting the gauge.
	Warnings []string

	apart []string // nodes behind links that were never opened
}

// Stage is one step as it went.
type Stage struct {
	// Step counts from 1; Title and Kind are the step's.
	Step        int
	Title, Kind string
	// Start and End on the procedure's clock.
	Start, End time.Duration
	// Why says how it ended.
	Why string
	// System and Gauge are the pressure of the system's node and what the gauge
	// showed at the end.
	System units.Pressure
	Gauge  vacuum.Reading
	// Highest is the highest pressure at the end of any node that is not behind a link
	// shut from the start, and where.
	Highest     units.Pressure
	HighestNode string
	// Ledger is the ledger at the end.
	Ledger vacuum.Ledger
	// Vapour and Stored are the water left at the end, in the gas and by form, of all
	// nodes of the job.
	Vapour units.Mass
	Stored moisture.Content
	// Moved is the water that crossed by each way during this stage, kg; of what
	// went into the pump's oil and came out again only the difference counts; ways
	// that moved nothing are left out.
	Moved []Moved
	// Nitrogen is what the supply gave during this stage, mol.
	Nitrogen units.Amount
	// Brought is what a changeover let into the circuit, nil for other stages.
	Brought *Brought
}

// Brought is what the far side of a link brought in when it was opened: what a
// charging hose that was not evacuated would have carried in with the first
// charge.
type Brought struct {
	Link string
	// Water as vapour, kg, and air and nitrogen together, mol.
	Water          units.Mass
	NonCondensable units.Amount
}

// Moved is water that crossed by one way during a stage.
type Moved struct {
	Way   vacuum.Way
	Name  string
	Water units.Mass
}

// WaterLeft is all the water left at the stage's end, kg.
func (s *Stage) WaterLeft() units.Mass { return s.Vapour + s.Stored.Total() }

// Duration is how long the stage took.
func (s *Stage) Duration() time.Duration { return s.End - s.Start }

// last is the latest stage; the zero stage when there is none.
func (r *Record) last() Stage {
	if len(r.Stages) == 0 {
		return Stage{Ledger: r.Before}
	}
	return r.Stages[len(r.Stages)-1]
}

// Took is the time from the first step to the last.
func (r *Record) Took() time.Duration { return r.last().End }

// Final is the ledger at the end.
func (r *Record) Final() vacuum.Ledger { return r.last().Ledger }

// Joined is what the circuit holds at the end: Final without the nodes and stores
// behind links that stayed shut from the start, such as the hose of a charge that was
// not connected. It is for sums of what is inside; its balance does not close.
func (r *Record) Joined() vacuum.Ledger {
	l := r.Final()
	l.Nodes = slices.DeleteFunc(slices.Clone(l.Nodes), func(n vacuum.NodeGas) bool { return slices.Contains(r.apart, n.Node) })
	l.Stores = slices.DeleteFunc(slices.Clone(l.Stores), func(s vacuum.StoreWater) bool { return slices.Contains(r.apart, s.Node) })
	return l
}

// WaterLeft is the water left in the circuit at the end, kg, as Joined counts it.
func (r *Record) WaterLeft() units.Mass {
	l := r.Joined()
	return l.Inside()
}

// Nitrogen is what the supply gave in all, mol.
func (r *Record) Nitrogen() units.Amount {
	var n units.Amount
	for i := range r.Stages {
		n += r.Stages[i].Nitrogen
	}
	return n
}

// WaterPerCharge is the water left per refrigerant charge. It is an error when
// the charge is not known.
func (r *Record) WaterPerCharge(charge units.Mass) (units.MassFraction, error) {
	if err := units.CheckRange("purge.Record.WaterPerCharge", "charge", float64(charge), 1e-6, 1e9, "kg"); err != nil {
		return 0, err
	}
	return units.MassFraction(float64(r.WaterLeft()) / float64(charge)), nil
}

// NonCondensable is the amount of air and nitrogen left in the circuit, mol, as Joined
// counts it: what would sit above the refrigerant once it is charged. Round-off below
// zero counts as none.
func (r *Record) NonCondensable() units.Amount {
	var n units.Amount
	l := r.Joined()
	for _, node := range l.Nodes {
		for _, a := range node.Amounts[1:] {
			n += a
		}
	}
	return max(n, 0)
}

// net takes out what circulated between the pump's oil and its inlet.
func net(moved []Moved) []Moved {
	water := map[vacuum.Way]units.Mass{}
	for _, m := range moved {
		water[m.Way] += m.Water // there is one pump
	}
	circulated := min(water[vacuum.ByPumpOil], water[vacuum.InByPump])
	for i := range moved {
		if w := moved[i].Way; w == vacuum.ByPumpOil || w == vacuum.InByPump {
			moved[i].Water -= circulated
		}
	}
	return slices.DeleteFunc(moved, func(m Moved) bool { return m.Water == 0 })
}

// book fills in a stage from the ledgers around it.
func (w *work) book(s *Stage, before, after vacuum.Ledger) error {
	s.Ledger, s.Vapour, s.Stored = after, after.Vapour(), after.Stored()
	was := map[string]units.Mass{}
	key := func(c vacuum.Crossing) string { return fmt.Sprint(int(c.Way), " ", c.Name) }
	for _, c := range before.Crossings {
		was[key(c)] = c.Water()
	}
	for _, c := range after.Crossings {
		if m := c.Water() - was[key(c)]; m != 0 {
			s.Moved = append(s.Moved, Moved{c.Way, c.Name, m})
		}
	}
	s.Moved = net(s.Moved)
	s.Nitrogen = fed(after) - fed(before)
	if s.Kind == "changeover" {
		s.Brought = w.brought(before)
	}
	now, err := w.sim.Sample()
	if err != nil {
		return err
	}
	s.System = at(w.rig.nodeIndex(w.rig.systemNode()), now.Pressure)
	s.Gauge = now.Reading[0]
	cut := w.rig.unreached(w.rig.job.Pump.Node, w.opened)
	for i, p := range now.Pressure {
		if p > s.Highest && !slices.Contains(cut, w.rig.job.Nodes[i].Name) {
			s.Highest, s.HighestNode = p, w.rig.job.Nodes[i].Name
		}
	}
	w.warn(s, now)
	return after.Check()
}

// brought is what the part of the circuit behind the opened link held before.
func (w *work) brought(before vacuum.Ledger) *Brought {
	b := &Brought{Link: w.changed}
	for _, n := range before.Nodes {
		if !slices.Contains(w.behind, n.Node) {
			continue
		}
		b.Water += n.Water()
		for _, a := range n.Amounts[1:] {
			b.NonCondensable += a
		}
	}
	return b
}

// fed is all nitrogen that came by the feed so far.
func fed(l vacuum.Ledger) units.Amount {
	var n units.Amount
	for _, c := range l.Crossings {
		if c.Way == vacuum.InByFeed {
			for k, name := range l.Gases {
				if name == "nitrogen" {
					n += c.Amounts[k]
				}
			}
		}
	}
	return n
}

// nodeIndex finds a node of the job; the job is checked, so it is there.
func (r *rig) nodeIndex(name string) int {
	for i := range r.job.Nodes {
		if r.job.Nodes[i].Name == name {
			return i
		}
	}
	return -1
}

// at is the pressure of a node.
func at(i int, p []units.Pressure) units.Pressure { return p[i] }

// warn says what the gauge does not show at the end of a stage.
func (w *work) warn(s *Stage, now vacuum.Sample) {
	say := func(format string, args ...any) {
		text := fmt.Sprintf("step %d (%s): ", s.Step, s.Title) + fmt.Sprintf(format, args...)
		w.rec.Warnings = append(w.rec.Warnings, text)
	}
	if b := s.Brought; b != nil && (b.NonCondensable > 0 || b.Water > 0) {
		say("what was behind %s let %.3g mmol of air and nitrogen and %s of water into the circuit", b.Link, 1e3*float64(b.NonCondensable), grams(b.Water))
	}
	if s.Kind == "sweep" && w.rig.job.Nitrogen.Node == w.rig.job.Vent.Node && len(now.Content) > 0 && len(w.rig.job.Nodes) > 1 {
		say("the nitrogen enters and leaves at %s: it sweeps no other part of the circuit", w.rig.job.Vent.Node)
	}
	if s.Kind != "pull" {
		return
	}
	here := at(w.rig.nodeIndex(w.rig.job.Gauge.Node), now.Pressure)
	if s.Highest > 3*here {
		say("the gauge's node is at %s, but %s is still at %s: the way between them is too narrow for the gauge to speak for it", here.WithMicron(), s.HighestNode, s.Highest.WithMicron())
	}
	if g := s.Gauge; w.rig.job.Gauge.Thermal && g.Pressure > 11*here/10 {
		say("the thermal gauge shows %s where there are %s: %.0f %% of the gas is water vapour, which it reads too high", g.Pressure.WithMicron(), here.WithMicron(), 100*float64(at(w.rig.nodeIndex(w.rig.job.Gauge.Node), now.Vapour)/here))
	}
	for i, c := range now.Content {
		if c.Total() < 1e-6 {
			continue
		}
		ice := ""
		if c.Ice > 0 {
			ice = fmt.Sprintf(", %.0f %% of it ice", 100*float64(c.Ice/c.Total()))
		}
		say("%s still holds %.3g g of water at %.1f °C%s; %s holds it back", w.rec.storeName(w.sim, i), 1e3*float64(c.Total()), now.Temperature[i].Celsius(), ice, now.Governing[i])
	}
	for _, m := range s.Moved {
		if m.Way != vacuum.ByPumpOil || m.Water < 1e-5 {
			continue
		}
		lifted := ""
		if oil, err := w.sim.PumpOil(pumpName); err == nil {
			lifted = fmt.Sprintf(", which now reaches %s at best", oil.BlankOff.WithMicron())
		}
		say("%.3g g of water stayed in the oil of the pump%s: open the gas ballast while vapour comes, or change the oil", 1e3*float64(m.Water), lifted)
	}
}

// storeName names a store by its place in a sample.
func (r *Record) storeName(s *vacuum.Simulation, i int) string { return s.Record().Stores[i] }

// finish closes the record after the last step.
func (r *Record) finish(j *Job, err error) {
	r.Completed = err == nil
	if err != nil {
		r.Reason = err.Error()
	}
	if left := r.WaterLeft(); j.Charge > 0 && j.DrynessLimit > 0 && float64(left) > float64(j.DrynessLimit)*float64(j.Charge) {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%.3g g of water is left, %v of the charge; the limit is %v", 1e3*float64(left), units.MassFraction(float64(left)/float64(j.Charge)), j.DrynessLimit))
	}
}
