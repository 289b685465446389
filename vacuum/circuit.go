package vacuum

import (
	"fmt"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Circuit is a graph of volumes joined by passages, with the pumps, feeds and
// leaks attached to it. Names are the handles: they are unique within their
// list and must not be empty. A Circuit is plain data; NewSimulation checks it
// and never changes it.
type Circuit struct {
	// Gases lists the species that are told apart, 1 to MaxSpecies. The first
	// must be WaterVapour. Nil means water vapour, air, nitrogen.
	Gases []Gas
	// Nodes are the volumes and reservoirs, at least one.
	Nodes []Node
	// Links are the passages and leaks between nodes.
	Links []Link
	// Pumps take gas out of nodes.
	Pumps []Pump
	// Feeds admit metered gas into nodes.
	Feeds []Feed
	// Gauges read the total pressure of nodes.
	Gauges []Gauge
}

// Node is a volume of well-mixed gas at one temperature, or a reservoir whose
// state never changes.
type Node struct {
	// Name is the node's handle.
	Name string
	// Reservoir makes the node a boundary of unlimited size: the open air, or a
	// cylinder behind its regulator. Its Volume and Stores must be zero.
	Reservoir bool
	// Volume of the gas space, m³, above 0.
	Volume units.Volume
	// Temperature of gas and wall at the start, K, 150 to 600.
	Temperature units.Temperature
	// TemperatureAt, when not nil, gives the temperature against the time since
	// the simulation began and overrides Temperature: heat on a wet spot. It must
	// be continuous and safe for repeated calls, also for times that have passed
	// or lie a little ahead. An answer outside 150 to 600 K ends the Run with an
	// error.
	TemperatureAt func(time.Duration) units.Temperature
	// Fill is the gas at the start, or the reservoir's fixed state.
	Fill Fill
	// Stores hold the node's water outside the gas.
	Stores []PlacedStore
}

// Fill is the gas in a node: one dry gas and water vapour.
type Fill struct {
	// Gas names the dry gas, one of Circuit.Gases; empty means air.
	Gas string
	// Pressure is the total pressure, Pa, 0 to 20 MPa. Zero is a perfect vacuum.
	Pressure units.Pressure
	// Vapour is the partial pressure of water, Pa, 0 to Pressure.
	Vapour units.Pressure
}

// HumidAir returns air of the given total pressure, temperature and relative
// humidity as a Fill. Below 0 °C the humidity refers to ice. The partial
// pressure is the humidity times the saturation pressure of pure water; the
// enhancement by air, at most 0.6 %, is left out.
func HumidAir(p units.Pressure, t units.Temperature, rh units.RelativeHumidity) (Fill, error) {
	if err := units.CheckRange("vacuum.HumidAir", "rh", float64(rh), 0, 1, ""); err != nil {
		return Fill{}, err
	}
	sat, _, err := moisture.SaturationPressure(t)
	if err != nil {
		return Fill{}, fmt.Errorf("vacuum.HumidAir: %w", err)
	}
	fill := Fill{Gas: airName, Pressure: p, Vapour: units.Pressure(float64(rh) * float64(sat))}
	if err := units.CheckRange("vacuum.HumidAir", "p", float64(p), float64(fill.Vapour), maxPressure, "Pa"); err != nil {
		return Fill{}, err
	}
	return fill, nil
}

// PlacedStore is a water store at a node under a name of its own, unique in
// the circuit.
type PlacedStore struct {
	Name  string
	Store moisture.Store
}

// Link joins two nodes, either by a Passage or by a Leak.
type Link struct {
	// Name is the link's handle.
	Name string
	// From and To name the nodes. Flow from From to To counts as positive.
	From, To string
	// Passage is the way the gas takes; nil only for a leak.
	Passage Passage
	// Leak, when its Rate is above 0, makes the link a leak from the reservoir
	// From into the node To instead of a passage.
	Leak Leak
	// Closed is the link's state at the start: a shut valve or a cap.
	Closed bool
}

// Feed admits gas into a node at a metered rate, whatever the pressure there.
type Feed struct {
	// Name is the feed's handle.
	Name string
	// Node names the node it enters.
	Node string
	// Gas names the dry gas; empty means nitrogen.
	Gas string
	// Moisture is the mole fraction of water in the gas, 0 to 0.1.
	Moisture units.MoleFraction
	// Flow is the rate at the start, mol/s, 0 to 1e6; zero means off.
	Flow units.MolarFlow
}

// Limits of what a circuit may hold, wide enough for any refrigeration work
// and inside every property correlation.
const (
	minTemperature = 150.0
	maxTemperature = 600.0
	maxPressure    = 20e6
	airName        = "air"
	nitrogenName   = "nitrogen"
)

// Check reports the first thing that makes the circuit unusable: a missing or
// repeated name, a node with nothing attached, an end that does not exist, a
// value out of range. NewSimulation calls it.
func (c *Circuit) Check() error {
	_, err := resolve(c)
	return err
}

// names maps the circuit's handles to indices.
type names struct {
	gases                              []Gas
	gas, node, link, pump, feed, gauge map[string]int
	store                              map[string]storePlace
}

// storePlace says where a named store sits.
type storePlace struct{ node, index int }

// resolve checks the circuit and indexes its names.
func resolve(c *Circuit) (*names, error) {
	n := &names{gases: c.Gases}
	if n.gases == nil {
		n.gases = []Gas{WaterVapour(), Air(), Nitrogen()}
	}
	if err := units.CheckRange("vacuum.Circuit", "number of Gases", float64(len(n.gases)), 1, MaxSpecies, ""); err != nil {
		return nil, err
	}
	for i := range n.gases {
		if err := n.gases[i].Check(); err != nil {
			return nil, fmt.Errorf("vacuum.Circuit: Gases[%d]: %w", i, err)
		}
	}
	if n.gases[0].Name != WaterVapour().Name {
		return nil, fmt.Errorf("vacuum.Circuit: Gases[0] is %q, it must be %q", n.gases[0].Name, WaterVapour().Name)
	}
	if len(c.Nodes) == 0 {
		return nil, fmt.Errorf("vacuum.Circuit: no nodes")
	}
	var err error
	index := func(kind string, count int, name func(int) string) map[string]int {
		m := make(map[string]int, count)
		for i := range count {
			switch _, twice := m[name(i)]; {
			case err != nil:
			case name(i) == "":
				err = fmt.Errorf("vacuum.Circuit: %s %d has no name", kind, i+1)
			case twice:
				err = fmt.Errorf("vacuum.Circuit: two %ss are named %q", kind, name(i))
			}
			m[name(i)] = i
		}
		return m
	}
	n.gas = index("gas", len(n.gases), func(i int) string { return n.gases[i].Name })
	n.node = index("node", len(c.Nodes), func(i int) string { return c.Nodes[i].Name })
	n.link = index("link", len(c.Links), func(i int) string { return c.Links[i].Name })
	n.pump = index("pump", len(c.Pumps), func(i int) string { return c.Pumps[i].Name })
	n.feed = index("feed", len(c.Feeds), func(i int) string { return c.Feeds[i].Name })
	n.gauge = index("gauge", len(c.Gauges), func(i int) string { return c.Gauges[i].Name })
	if err != nil {
		return nil, err
	}
	return n, n.checkParts(c)
}

// checkParts checks every part in its turn and that no node stands alone.
func (n *names) checkParts(c *Circuit) error {
	if err := n.checkNodes(c); err != nil {
		return err
	}
	touched := make([]bool, len(c.Nodes))
	for i := range c.Links {
		if err := n.checkLink(c, &c.Links[i]); err != nil {
			return err
		}
		touched[n.node[c.Links[i].From]], touched[n.node[c.Links[i].To]] = true, true
	}
	for i := range c.Pumps {
		p := &c.Pumps[i]
		if err := n.inner(c, "pump", p.Name, p.Node); err != nil {
			return err
		}
		if err := p.Check(); err != nil {
			return err
		}
		if p.Return != "" && p.Return != NoReturn {
			if err := n.exists("pump", p.Name, "gas", p.Return, n.gas); err != nil {
				return err
			}
		}
		touched[n.node[p.Node]] = true
	}
	for i := range c.Feeds {
		if err := n.checkFeed(c, &c.Feeds[i]); err != nil {
			return err
		}
		touched[n.node[c.Feeds[i].Node]] = true
	}
	for i := range c.Gauges {
		g := &c.Gauges[i]
		if err := n.exists("gauge", g.Name, "node", g.Node, n.node); err != nil {
			return err
		}
		if err := g.Check(); err != nil {
			return err
		}
	}
	for i, ok := range touched {
		if !ok {
			return fmt.Errorf("vacuum.Circuit: node %q has no link, pump or feed: connect it or leave it out", c.Nodes[i].Name)
		}
	}
	return nil
}

// checkNodes checks volumes, temperatures, fills and stores.
func (n *names) checkNodes(c *Circuit) error {
	n.store = make(map[string]storePlace)
	for i := range c.Nodes {
		node := &c.Nodes[i]
		wrap := func(err error) error { return fmt.Errorf("vacuum.Circuit: node %q: %w", node.Name, err) }
		if err := n.checkVolume(node); err != nil {
			return wrap(err)
		}
		if err := n.checkFill(node.Fill); err != nil {
			return wrap(err)
		}
		for k, s := range node.Stores {
			if _, twice := n.store[s.Name]; twice || s.Name == "" {
				return wrap(fmt.Errorf("store %d is named %q: store names are unique in the circuit and not empty", k+1, s.Name))
			}
			if s.Store == nil {
				return wrap(fmt.Errorf("store %q is nil", s.Name))
			}
			if err := s.Store.Check(); err != nil {
				return wrap(fmt.Errorf("store %q: %w", s.Name, err))
			}
			n.store[s.Name] = storePlace{i, k}
		}
	}
	return nil
}

// checkVolume checks what differs between a volume and a reservoir.
func (n *names) checkVolume(node *Node) error {
	if node.Reservoir {
		if node.Volume != 0 || len(node.Stores) > 0 || node.TemperatureAt != nil {
			return fmt.Errorf("a reservoir has no Volume, Stores or TemperatureAt")
		}
	} else if err := units.CheckRange("", "Volume", float64(node.Volume), 1e-12, 1e6, "m³"); err != nil {
		return err
	}
	t := node.Temperature
	if node.TemperatureAt != nil {
		t = node.TemperatureAt(0)
	}
	return units.CheckRange("", "Temperature", float64(t), minTemperature, maxTemperature, "K")
}

// checkFill checks a fill's gas and pressures.
func (n *names) checkFill(f Fill) error {
	if _, ok := n.gas[fillGas(f.Gas, airName)]; !ok {
		return fmt.Errorf("Fill.Gas %q is not one of the circuit's gases", fillGas(f.Gas, airName))
	}
	if err := units.CheckRange("", "Fill.Pressure", float64(f.Pressure), 0, maxPressure, "Pa"); err != nil {
		return err
	}
	return units.CheckRange("", "Fill.Vapour", float64(f.Vapour), 0, float64(f.Pressure), "Pa")
}

// checkLink checks a link's ends and its way.
func (n *names) checkLink(c *Circuit, l *Link) error {
	for _, end := range []string{l.From, l.To} {
		if err := n.exists("link", l.Name, "node", end, n.node); err != nil {
			return err
		}
	}
	if l.From == l.To {
		return fmt.Errorf("vacuum.Circuit: link %q joins node %q to itself", l.Name, l.From)
	}
	from, to := &c.Nodes[n.node[l.From]], &c.Nodes[n.node[l.To]]
	if from.Reservoir && to.Reservoir {
		return fmt.Errorf("vacuum.Circuit: link %q joins two reservoirs, %q and %q", l.Name, l.From, l.To)
	}
	wrap := func(err error) error { return fmt.Errorf("vacuum.Circuit: link %q: %w", l.Name, err) }
	if l.Leak != (Leak{}) {
		if len(l.Passage) > 0 || !from.Reservoir {
			return wrap(fmt.Errorf("a leak has no Passage and comes from a reservoir"))
		}
		if from.Fill.Pressure <= 0 {
			return wrap(fmt.Errorf("a leak needs a reservoir above 0 Pa, %q is at %g Pa", l.From, float64(from.Fill.Pressure)))
		}
		if err := l.Leak.Check(); err != nil {
			return wrap(err)
		}
		return nil
	}
	if err := l.Passage.Check(); err != nil {
		return wrap(err)
	}
	return nil
}

// checkFeed checks a feed's node, gas and flow.
func (n *names) checkFeed(c *Circuit, f *Feed) error {
	if err := n.inner(c, "feed", f.Name, f.Node); err != nil {
		return err
	}
	if err := n.exists("feed", f.Name, "gas", fillGas(f.Gas, nitrogenName), n.gas); err != nil {
		return err
	}
	if err := units.CheckRange("", "Flow", float64(f.Flow), 0, 1e6, "mol/s"); err != nil {
		return fmt.Errorf("vacuum.Circuit: feed %q: %w", f.Name, err)
	}
	if err := units.CheckRange("", "Moisture", float64(f.Moisture), 0, 0.1, ""); err != nil {
		return fmt.Errorf("vacuum.Circuit: feed %q: %w", f.Name, err)
	}
	return nil
}

// inner checks that a named node exists and is no reservoir.
func (n *names) inner(c *Circuit, kind, name, node string) error {
	if err := n.exists(kind, name, "node", node, n.node); err != nil {
		return err
	}
	if c.Nodes[n.node[node]].Reservoir {
		return fmt.Errorf("vacuum.Circuit: %s %q: node %q is a reservoir", kind, name, node)
	}
	return nil
}

// exists checks one reference by name.
func (n *names) exists(kind, name, what, ref string, in map[string]int) error {
	if _, ok := in[ref]; !ok {
		return fmt.Errorf("vacuum.Circuit: %s %q: there is no %s %q", kind, name, what, ref)
	}
	return nil
}

// fillGas is the gas's name, or the default's when it is empty.
func fillGas(name, byDefault string) string {
	if name == "" {
		return byDefault
	}
	return name
}
