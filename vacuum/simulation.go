package vacuum

import (
	"fmt"
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Options steers a simulation. Nil is legal, and every zero field means its
// default.
type Options struct {
	// RelTol is the relative accuracy asked of every step, 1e-10 to 1e-2; zero
	// means 1e-6. Pressure differences below this share of the pressure are beneath
	// notice: there, flow held back by inertia goes in proportion to the difference
	// and not with its root, which would make much of noise.
	RelTol float64
	// PressureScale is the pressure below which partial pressures need be right
	// only absolutely, to RelTol of this, Pa, above 0; zero means 50 Pa, which
	// lets a wrong step be 5e-5 Pa at the default RelTol.
	PressureScale units.Pressure
	// MaxSteps limits the steps of one Run, 1 to 2,147,483,647; zero means 1,000,000. A
	// stage of a procedure usually takes from 50 to 1000 at the default RelTol.
	MaxSteps int
	// SampleEvery is the longest time between two samples of one Run, 0 or more;
	// zero means 1/200 of the time given to Run. There is a sample at the start and
	// the end of a Run and at every whole multiple of SampleEvery after the start,
	// read from the continuous solution within the integrator's steps, which is off
	// by up to some ten times the tolerance of a step.
	SampleEvery time.Duration
	// SampleChange is the relative change of any node's pressure since the last
	// sample after which the end of a step is a sample too, 0.001 and up; zero
	// means 0.05.
	SampleChange float64
	// MaxSamples bounds the samples of one Run, 16 and up; beyond it every second
	// one is dropped, and SampleEvery and SampleChange count double
	// for the rest of the Run. Zero means 2000.
	MaxSamples int
	// Progress, when not nil, is called now and then during Run with the time
	// since the simulation began.
	Progress func(time.Duration)
}

// withDefaults checks the options and fills in defaults.
func (o *Options) withDefaults() (Options, error) {
	var out Options
	if o != nil {
		out = *o
	}
	if out.RelTol == 0 {
		out.RelTol = 1e-6
	}
	if out.PressureScale == 0 {
		out.PressureScale = 50
	}
	if out.MaxSteps == 0 {
		out.MaxSteps = 1_000_000
	}
	if out.SampleChange == 0 {
		out.SampleChange = 0.05
	}
	if out.MaxSamples == 0 {
		out.MaxSamples = 2000
	}
	for _, f := range []struct {
		arg    string
		v      float64
		lo, hi float64
		unit   string
	}{
		{"RelTol", out.RelTol, 1e-10, 1e-2, ""},
		{"PressureScale", float64(out.PressureScale), 1e-6, 1e5, "Pa"},
		{"MaxSteps", float64(out.MaxSteps), 1, math.MaxInt32, ""},
		{"SampleEvery", out.SampleEvery.Seconds(), 0, 1e9, "s"},
		{"SampleChange", out.SampleChange, 1e-3, 1e6, ""},
		{"MaxSamples", float64(out.MaxSamples), 16, 1e8, ""},
	} {
		if err := units.CheckRange("vacuum.Options", f.arg, f.v, f.lo, f.hi, f.unit); err != nil {
			return out, err
		}
	}
	return out, nil
}

// Simulation is a circuit under way: its state, the settings of its valves,
// pumps and feeds, and the record so far. Between two calls of Run the settings
// may be changed. It must not be used from several goroutines at once.
type Simulation struct {
	circuit Circuit
	names   *names
	opt     Options

	now     float64 // s since the simulation began
	moles   [][]float64
	stored  [][][]float64 // by node and store
	initial []float64     // mol by species

	open    []bool
	running []bool
	ballast []bool
	feeds   []float64
	fills   []Fill
	temps   []units.Temperature

	crossings []Crossing
	crossed   map[crossingKey]int

	record Record
}

type crossingKey struct {
	way  Way
	name string
}

// NewSimulation checks the circuit and places it at time zero, with valves and
// pumps as the circuit says. Opt may be nil.
func NewSimulation(c Circuit, opt *Options) (*Simulation, error) {
	n, err := resolve(&c)
	if err != nil {
		return nil, err
	}
	o, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	s := &Simulation{circuit: c, names: n, opt: o, crossed: map[crossingKey]int{}}
	for i := range c.Links {
		s.open = append(s.open, !c.Links[i].Closed)
	}
	for i := range c.Pumps {
		s.running = append(s.running, !c.Pumps[i].Stopped)
		s.ballast = append(s.ballast, c.Pumps[i].Ballast)
	}
	for i := range c.Feeds {
		s.feeds = append(s.feeds, float64(c.Feeds[i].Flow))
	}
	for i := range c.Nodes {
		s.fills = append(s.fills, c.Nodes[i].Fill)
		s.temps = append(s.temps, c.Nodes[i].Temperature)
	}
	s.start()
	return s, nil
}

// start fills nodes and stores and takes stock.
func (s *Simulation) start() {
	ns := len(s.names.gases)
	s.initial = make([]float64, ns)
	s.moles = make([][]float64, len(s.circuit.Nodes))
	s.stored = make([][][]float64, len(s.circuit.Nodes))
	for i := range s.circuit.Nodes {
		node := &s.circuit.Nodes[i]
		if node.Reservoir {
			continue
		}
		t := s.temperature(i)
		s.moles[i] = make([]float64, ns)
		for k, p := range s.partials(node.Fill) {
			s.moles[i][k] = p * float64(node.Volume) / (units.GasConstant * float64(t))
			s.initial[k] += s.moles[i][k]
		}
		at := moisture.Surroundings{Wall: t, Vapour: node.Fill.Vapour, Dry: node.Fill.Pressure - node.Fill.Vapour}
		for _, ps := range node.Stores {
			state := make([]float64, ps.Store.Len())
			ps.Store.Start(state, at)
			s.stored[i] = append(s.stored[i], state)
			s.initial[0] += float64(ps.Store.Content(state).Total()) / float64(moisture.MolarMass)
		}
	}
	s.startOil()
}

// partials are the partial pressures of a fill by species, Pa.
func (s *Simulation) partials(f Fill) []float64 {
	p := make([]float64, len(s.names.gases))
	p[s.names.gas[fillGas(f.Gas, airName)]] += float64(f.Pressure - f.Vapour)
	p[0] += float64(f.Vapour)
	return p
}

// temperature of a node now.
func (s *Simulation) temperature(node int) units.Temperature {
	if at := s.circuit.Nodes[node].TemperatureAt; at != nil {
		return at(s.Time())
	}
	return s.temps[node]
}

// Time since the simulation began.
func (s *Simulation) Time() time.Duration { return clock(s.now) }

// SetLink opens or shuts a link. It is an error when there is none of that name.
func (s *Simulation) SetLink(name string, open bool) error {
	i, ok := s.names.link[name]
	if !ok {
		return fmt.Errorf("vacuum.Simulation.SetLink: there is no link %q", name)
	}
	s.open[i] = open
	return nil
}

// SetPump starts or stops a pump and opens or shuts its gas ballast. It is an
// error when there is none of that name.
func (s *Simulation) SetPump(name string, running, ballast bool) error {
	i, ok := s.names.pump[name]
	if !ok {
		return fmt.Errorf("vacuum.Simulation.SetPump: there is no pump %q", name)
	}
	s.running[i], s.ballast[i] = running, ballast
	return nil
}

// SetFeed sets a feed's flow, mol/s, 0 to 1e6; zero turns it off. It is an error
// when there is none of that name.
func (s *Simulation) SetFeed(name string, flow units.MolarFlow) error {
	i, ok := s.names.feed[name]
	if !ok {
		return fmt.Errorf("vacuum.Simulation.SetFeed: there is no feed %q", name)
	}
	if err := units.CheckRange("vacuum.Simulation.SetFeed", "flow", float64(flow), 0, 1e6, "mol/s"); err != nil {
		return err
	}
	s.feeds[i] = float64(flow)
	return nil
}

// SetReservoir gives a reservoir a new state, such as a regulator's setting. It
// is an error when there is no reservoir of that name or the fill is out of range.
func (s *Simulation) SetReservoir(name string, fill Fill) error {
	i, ok := s.names.node[name]
	if !ok || !s.circuit.Nodes[i].Reservoir {
		return fmt.Errorf("vacuum.Simulation.SetReservoir: there is no reservoir %q", name)
	}
	if err := s.names.checkFill(fill); err != nil {
		return fmt.Errorf("vacuum.Simulation.SetReservoir: %q: %w", name, err)
	}
	s.fills[i] = fill
	return nil
}

// SetTemperature gives a node, volume or reservoir, a new temperature at once, K,
// 150 to 600; the amounts of gas stay. It is refused for a node with
// TemperatureAt and for a name that is none.
func (s *Simulation) SetTemperature(node string, t units.Temperature) error {
	i, ok := s.names.node[node]
	if !ok {
		return fmt.Errorf("vacuum.Simulation.SetTemperature: there is no node %q", node)
	}
	if s.circuit.Nodes[i].TemperatureAt != nil {
		return fmt.Errorf("vacuum.Simulation.SetTemperature: node %q follows its TemperatureAt", node)
	}
	if err := units.CheckRange("vacuum.Simulation.SetTemperature", "t", float64(t), minTemperature, maxTemperature, "K"); err != nil {
		return err
	}
	s.temps[i] = t
	return nil
}

// CutOff lists the nodes from which no open link leads to a running pump, in
// the circuit's order; reservoirs are left out. Such regions are legal: they
// keep what they hold.
func (s *Simulation) CutOff() []string {
	reached := make([]bool, len(s.circuit.Nodes))
	for i := range s.circuit.Pumps {
		if s.running[i] {
			reached[s.names.node[s.circuit.Pumps[i].Node]] = true
		}
	}
	s.spread(reached)
	var cut []string
	for i := range s.circuit.Nodes {
		if !reached[i] && !s.circuit.Nodes[i].Reservoir {
			cut = append(cut, s.circuit.Nodes[i].Name)
		}
	}
	return cut
}

// ends are the node indices of a link.
func (s *Simulation) ends(link int) (from, to int) {
	l := &s.circuit.Links[link]
	return s.names.node[l.From], s.names.node[l.To]
}

// Ledger takes stock of all gas and water, inside and passed.
func (s *Simulation) Ledger() Ledger {
	l := Ledger{Initial: amounts(s.initial)}
	for _, g := range s.names.gases {
		l.Gases = append(l.Gases, g.Name)
	}
	for i := range s.circuit.Nodes {
		node := &s.circuit.Nodes[i]
		if node.Reservoir {
			continue
		}
		l.Nodes = append(l.Nodes, NodeGas{Node: node.Name, Amounts: amounts(s.moles[i])})
		for k, ps := range node.Stores {
			l.Stores = append(l.Stores, StoreWater{Store: ps.Name, Node: node.Name, Content: ps.Store.Content(s.stored[i][k])})
		}
	}
	for _, c := range s.crossings {
		c.Amounts = append([]units.Amount(nil), c.Amounts...)
		l.Crossings = append(l.Crossings, c)
	}
	return l
}

func amounts(x []float64) []units.Amount {
	out := make([]units.Amount, len(x))
	for i, v := range x {
		out[i] = units.Amount(v)
	}
	return out
}
