package vacuum

import (
	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/internal/stiff"
)

// assembly is a system together with what connects it to its simulation.
type assembly struct {
	system
	// species are the gases that take part, as indices of the circuit's: those
	// that are somewhere or can come in. The rest of the state would be zeros.
	species []int
	gases   []Gas
	pattern *stiff.Pattern
	absTol  []float64
	// crossings say where the running totals belong.
	crossings []crossingTotals
}

// crossingTotals says which totals belong to which crossing: one for each
// species that takes part, or a single one for the circuit's gas only.
type crossingTotals struct {
	crossing, first, count int
	only                   int // -1 for all
}

// assemble builds the system for the present settings: only what is open,
// running or fed takes part.
func (s *Simulation) assemble() (*assembly, error) {
	a := &assembly{species: s.present()}
	a.ns, a.wet = len(a.species), a.species[0] == 0
	a.nodes = make([]sysNode, len(s.circuit.Nodes))
	for i := range s.circuit.Nodes {
		s.assembleNode(a, i)
	}
	if err := s.oilNodes(a); err != nil {
		return nil, err
	}
	a.totals = a.length
	for i := range s.circuit.Links {
		if s.open[i] {
			s.assembleLink(a, i)
		}
	}
	for i := range s.circuit.Pumps {
		if s.running[i] {
			s.assemblePump(a, i)
		}
	}
	for i := range s.circuit.Feeds {
		if s.feeds[i] > 0 {
			s.assembleFeed(a, i)
		}
	}
	a.out = make([]float64, 2*MaxSpecies+1)
	widest := 0
	for _, st := range a.stores {
		widest = max(widest, len(st.weight))
	}
	a.up, a.down = make([]float64, widest), make([]float64, widest)
	a.more = make([]float64, a.length)
	return a, a.link(s)
}

// present lists the gases that are in a node or can come into one, as indices;
// water too when there is a store. There is always one.
func (s *Simulation) present() []int {
	in := make([]bool, len(s.names.gases))
	add := func(amounts []float64) {
		for k, v := range amounts {
			in[k] = in[k] || v > 0
		}
	}
	for i := range s.moles {
		add(s.moles[i])
		in[0] = in[0] || len(s.stored[i]) > 0
	}
	for i := range s.circuit.Pumps {
		p := &s.circuit.Pumps[i]
		if gas := s.returnGas(p); gas >= 0 && s.running[i] && p.blankOff(s.ballast[i]) > 0 {
			in[gas] = true
		}
	}
	for i := range s.circuit.Links {
		for _, end := range []string{s.circuit.Links[i].From, s.circuit.Links[i].To} {
			if node := s.names.node[end]; s.open[i] && s.circuit.Nodes[node].Reservoir {
				add(s.partials(s.fills[node]))
			}
		}
	}
	for i := range s.circuit.Feeds {
		if f := &s.circuit.Feeds[i]; s.feeds[i] > 0 {
			in[s.names.gas[fillGas(f.Gas, nitrogenName)]] = true
			in[0] = in[0] || f.Moisture > 0
		}
	}
	var list []int
	for k, yes := range in {
		if yes {
			list = append(list, k)
		}
	}
	if list == nil {
		list = []int{0}
	}
	return list
}

// assembleNode lays out a node's species and stores.
func (s *Simulation) assembleNode(a *assembly, i int) {
	node, n := &s.circuit.Nodes[i], &a.nodes[i]
	n.temp = float64(s.temperature(i))
	if node.Reservoir {
		n.state = -1
		all := s.partials(s.fills[i])
		for k, sp := range a.species {
			n.partial[k] = all[sp]
			n.total += all[sp]
		}
		return
	}
	n.state = a.length
	n.volume = float64(node.Volume)
	n.schedule = node.TemperatureAt
	a.scheduled = a.scheduled || n.schedule != nil
	n.setTemperature(n.temp)
	a.length += a.ns
	for range a.ns {
		a.absTol = append(a.absTol, s.opt.RelTol*float64(s.opt.PressureScale)/n.perMole)
	}
	for _, ps := range node.Stores {
		st := sysStore{store: ps.Store, node: i, state: a.length, pat: ps.Store.Pattern()}
		k := ps.Store.Len()
		st.weight = contentWeights(ps.Store)
		st.scale = make([]float64, k)
		ps.Store.Scale(st.scale)
		st.sloped, _ = ps.Store.(moisture.Sloped)
		st.slope, st.moved = moisture.NewSlopes(k), make([]float64, k)
		for _, v := range st.scale {
			a.absTol = append(a.absTol, s.opt.RelTol*v)
		}
		a.length += k
		a.stores = append(a.stores, st)
	}
}

// contentWeights are the store's water per unit of each state, kg.
func contentWeights(store moisture.Store) []float64 {
	w := make([]float64, store.Len())
	unit := make([]float64, len(w))
	for i := range w {
		unit[i] = 1
		w[i] = float64(store.Content(unit).Total())
		unit[i] = 0
	}
	return w
}

// crossing opens running totals for one way and returns the first.
func (s *Simulation) crossing(a *assembly, way Way, name string, count int) int {
	key := crossingKey{way, name}
	i, ok := s.crossed[key]
	if !ok {
		i = len(s.crossings)
		s.crossed[key] = i
		s.crossings = append(s.crossings, Crossing{Way: way, Name: name, Amounts: make([]units.Amount, len(s.names.gases))})
	}
	first := a.length
	a.crossings = append(a.crossings, crossingTotals{crossing: i, first: first, count: count, only: -1})
	a.length += count
	for range count {
		a.absTol = append(a.absTol, 0)
	}
	return first
}

// crossingOf opens the running total of one of the circuit's gases.
func (s *Simulation) crossingOf(a *assembly, way Way, name string, gas int) int {
	first := s.crossing(a, way, name, 1)
	a.crossings[len(a.crossings)-1].only = gas
	return first
}

// assembleLink adds a passage or a leak.
func (s *Simulation) assembleLink(a *assembly, i int) {
	l := &s.circuit.Links[i]
	from, to := s.ends(i)
	p := part{kind: innerLink, nodes: []int{from, to}, outs: a.ns, passage: l.Passage}
	if a.nodes[from].state < 0 {
		p.nodes[0], p.nodes[1] = to, from
	}
	in, other := &a.nodes[p.nodes[0]], &a.nodes[p.nodes[1]]
	p.vars = speciesVars(p.vars, p.nodes[0], a.ns)
	if other.state >= 0 {
		p.vars = speciesVars(p.vars, p.nodes[1], a.ns)
		for k := range a.ns {
			p.rows = append(p.rows, [2]rowRef{{in.state + k, -1}, {other.state + k, 1}})
		}
	} else {
		p.kind, p.outs = boundaryLink, 2*a.ns
		if l.Leak.Rate > 0 {
			p.kind, p.leak = leakLink, l.Leak
			p.leakRef = float64(s.circuit.Nodes[from].Fill.Pressure)
		}
		left := s.crossing(a, OutByLink, l.Name, a.ns)
		came := s.crossing(a, InByLink, l.Name, a.ns)
		for k := range a.ns {
			p.rows = append(p.rows, [2]rowRef{{in.state + k, -1}, {left + k, 1}})
		}
		for k := range a.ns {
			p.rows = append(p.rows, [2]rowRef{{in.state + k, 1}, {came + k, 1}})
		}
	}
	a.parts = append(a.parts, p)
}

// speciesVars appends the partial pressures of a node.
func speciesVars(vars []partVar, node, ns int) []partVar {
	for k := range ns {
		vars = append(vars, partVar{node, k})
	}
	return vars
}

// assembleFeed adds a feed that flows.
func (s *Simulation) assembleFeed(a *assembly, i int) {
	f := &s.circuit.Feeds[i]
	node := s.names.node[f.Node]
	n := &a.nodes[node]
	p := part{kind: feedPart, nodes: []int{node}, outs: a.ns}
	for k, sp := range a.species {
		if sp == s.names.gas[fillGas(f.Gas, nitrogenName)] {
			p.feed[k] = s.feeds[i] * (1 - float64(f.Moisture))
		}
		if sp == 0 { // water, which may be the feed's gas too
			p.feed[k] += s.feeds[i] * float64(f.Moisture)
		}
	}
	came := s.crossing(a, InByFeed, f.Name, a.ns)
	for k := range a.ns {
		p.rows = append(p.rows, [2]rowRef{{n.state + k, 1}, {came + k, 1}})
	}
	a.parts = append(a.parts, p)
}
