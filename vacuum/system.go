package vacuum

import (
	"math"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/internal/stiff"
)

// system is a circuit with its valves, pumps and feeds set, as a system of
// ordinary differential equations. The state holds, node by node, the moles of
// each species and then the states of the node's stores; behind all nodes, one
// running total for every way by which gas enters or leaves. All balances are
// linear in the state, so the integrator keeps them to round-off.
type system struct {
	ns        int
	wet       bool // the first species is water
	nodes     []sysNode
	parts     []part
	stores    []sysStore
	length    int   // of the state
	totals    int   // index of the first running total
	scheduled bool  // a node's temperature depends on time
	driven    []int // parts whose temperature does
	astray    *astray

	balances

	out    []float64  // scratch: a part's flows
	slopes partSlopes // scratch: their derivatives
	slope  flowSlopes // scratch: those of a passage
	up     []float64  // scratch: a store's rates, disturbed one way
	down   []float64  // scratch: and the other
	more   []float64  // scratch: rates that nobody reads
}

// sysNode is a node in the hot path.
type sysNode struct {
	state    int  // index of its first species; -1 for a reservoir
	oil      bool // the water in a pump's oil, see oilNodes
	volume   float64
	schedule func(time.Duration) units.Temperature
	temp     float64 // K
	perMole  float64 // R T/V, Pa/mol
	partial  [MaxSpecies]float64
	total    float64
	through  float64 // gas passing, mol/s
}

// sysStore is a store in the hot path.
type sysStore struct {
	store  moisture.Store
	sloped moisture.Sloped // the same, when it is one
	slope  moisture.Slopes // of it
	moved  []float64       // scratch: a column of them
	node   int
	state  int       // index of its first state
	weight []float64 // water per unit of each state, kg
	scale  []float64
	pat    moisture.Pattern
	// Places in the Jacobian's values: entry [v][r] for variable v (vapour,
	// total pressure by species, then states) and row r.
	states  [][]int // by variable state, by row state; -1 where not coupled
	water   []int   // by variable state: row of the node's water
	felt    [][]int // by species, by row state
	feltOut []int   // by species: row of the node's water
	passing []flowPlace
}

// flowPlace is where a variable of a part acts on a store through the gas that
// passes its node.
type flowPlace struct {
	part, variable int
	rows           []int // by row state
	water          int   // row of the node's water
}

// surroundings of the store at the node's present gas.
func (n *sysNode) surroundings() moisture.Surroundings {
	return moisture.Surroundings{
		Wall:        units.Temperature(n.temp),
		Vapour:      units.Pressure(n.partial[0]), // a store implies water
		Dry:         units.Pressure(sumOf(n.partial[1:])),
		ThroughFlow: units.MolarFlow(n.through),
	}
}

// load sets temperatures and partial pressures from the state. Negative trial
// amounts count as none; the state itself is left alone.
func (s *system) load(t float64, y []float64) {
	for i := range s.nodes {
		n := &s.nodes[i]
		n.through = 0
		if n.state < 0 {
			continue
		}
		if n.schedule != nil {
			s.follow(n, i, t)
		}
		n.total = 0
		for k := range s.ns {
			moles := y[n.state+k]
			if moles < 0 { // quicker than math.Max
				moles = 0
			}
			n.partial[k] = moles * n.perMole
			n.total += n.partial[k]
		}
	}
	for _, i := range s.driven {
		p := &s.parts[i]
		p.law.setTemperature(s.passageTemperature(p))
	}
}

// follow sets a node's temperature by its schedule. One out of range is noted
// for Run to report, and the old one kept.
func (s *system) follow(n *sysNode, index int, t float64) {
	temp := float64(n.schedule(time.Duration(t * float64(time.Second))))
	if !(temp >= minTemperature && temp <= maxTemperature) {
		s.astray = &astray{node: index, time: t, temperature: temp}
		return
	}
	n.setTemperature(temp)
}

// astray is a temperature out of range that a schedule gave.
type astray struct {
	node              int
	time, temperature float64
}

func (n *sysNode) setTemperature(t float64) {
	n.temp = t
	n.perMole = units.GasConstant * t / n.volume
}

// Rates writes the time derivative of the state.
func (s *system) Rates(t float64, y, dst []float64) {
	s.load(t, y)
	clear(dst)
	for i := range s.parts {
		p := &s.parts[i]
		if p.kind == innerLink && s.ns == 1 {
			p.pureFlow(s, dst)
			continue
		}
		p.flow(s, s.out)
		for j, f := range s.out[:p.outs] {
			r := &p.rows[j]
			dst[r[0].row] += r[0].sign * f
			dst[r[1].row] += r[1].sign * f
		}
		s.pass(p, sumOf(s.out[:p.outs]))
	}
	for i := range s.stores {
		st := &s.stores[i]
		n := &s.nodes[st.node]
		k := len(st.weight)
		st.store.Rates(dst[st.state:st.state+k], y[st.state:st.state+k], n.surroundings())
		dst[n.state] += st.release(dst[st.state : st.state+k])
	}
}

// release is the vapour that a store gives off in mol/s, taken from the rates
// of its states, so that the water balance is exact.
func (st *sysStore) release(rates []float64) float64 {
	water := 0.0
	for i, w := range st.weight {
		water -= w * rates[i]
	}
	return water / float64(moisture.MolarMass)
}

// TimeDerivative writes the partial derivative of the rates by time and
// returns true when a node's temperature depends on time.
func (s *system) TimeDerivative(t float64, y, f, dst []float64) bool {
	if !s.scheduled {
		return false
	}
	dt := math.Max(1e-3, 1e-7*t)
	s.Rates(t+dt, y, dst)
	for i := range dst {
		dst[i] = (dst[i] - f[i]) / dt
	}
	return true
}

// Difference increments as shares of a variable's scale: for pressures, and for
// the states of stores, whose temperature may carry the round-off of its own 273 K.
const (
	shareOfScale = 1e-7
	shareOfState = 1e-6
)

// Jacobian writes the derivatives of the rates by the state in the order of
// the pattern. The derivative of a flow goes to both rows that it feeds, so that
// the balances that hold for the rates hold for their derivatives.
func (s *system) Jacobian(t float64, y, _, values []float64) {
	s.load(t, y)
	s.weigh(y)
	clear(values)
	for i := range s.parts {
		p := &s.parts[i]
		if p.kind == innerLink && s.ns == 1 {
			p.pureSlopes(s, values)
			continue
		}
		p.slopes(s, s.out, &s.slopes)
		sum := sumOf(s.out[:p.outs])
		s.pass(p, sum)
		passing := math.Copysign(0.5, sum)
		at := p.at
		for v, pv := range p.vars {
			scale := s.nodes[pv.node].perMole
			sum := 0.0
			for j := range p.outs {
				d := s.slopes[j][v] * scale
				sum += d
				values[at[0]] += p.rows[j][0].sign * d
				values[at[1]] += p.rows[j][1].sign * d
				at = at[2:]
			}
			p.through[v] = passing * sum
		}
	}
	for i := range s.stores {
		s.stores[i].jacobian(s, y, values)
	}
}

// pass counts a part's flow among the gas that passes its nodes, which only
// stores feel.
func (s *system) pass(p *part, flow float64) {
	if len(s.stores) == 0 {
		return
	}
	half := math.Abs(flow) / 2
	for _, node := range p.nodes {
		s.nodes[node].through += half
	}
}

func sumOf(x []float64) float64 {
	total := 0.0
	for _, v := range x {
		total += v
	}
	return total
}

// jacobian adds the store's derivatives, in closed form where it has them.
func (st *sysStore) jacobian(s *system, y, values []float64) {
	n := &s.nodes[st.node]
	state := y[st.state : st.state+len(st.weight)]
	at := n.surroundings()
	if st.sloped != nil {
		st.sloped.Slopes(&st.slope, state, at)
		st.known(s, n, values)
	} else {
		st.feelStates(s, state, at, values)
		st.feelPressure(s, n, state, at, values)
	}
	if len(st.passing) > 0 {
		st.feelFlow(s, n, state, at, values)
	}
}

// known adds the derivatives that the store gave.
func (st *sysStore) known(s *system, n *sysNode, values []float64) {
	k, d := len(st.weight), &st.slope
	for v := range k {
		for r := range k {
			st.moved[r] = d.State[r*k+v]
		}
		st.moves(st.moved, st.states[v], st.water[v], values)
	}
	for sp := range s.ns {
		by := d.Dry
		if sp == 0 {
			by = d.Vapour
		}
		for r := range k {
			st.moved[r] = by[r] * n.perMole
		}
		st.moves(st.moved, st.felt[sp], st.feltOut[sp], values)
	}
}

// moves adds what one variable moves: the rates of the states and the water that
// the node's gas gets.
func (st *sysStore) moves(moved []float64, places []int, water int, values []float64) {
	for r, place := range places {
		if place >= 0 {
			values[place] += moved[r]
		}
	}
	values[water] += st.release(moved)
}

// feelStates adds the derivatives by the states, by central differences: rates may
// bend, and one-sided ones would be wrong by as much.
func (st *sysStore) feelStates(s *system, state []float64, at moisture.Surroundings, values []float64) {
	full := 1.0 // how many times its scale the store holds: an enthalpy may be 0 in much water
	for v, x := range state {
		full = math.Max(full, math.Abs(x)/st.scale[v])
	}
	for v := range state {
		keep := state[v]
		d := shareOfState * math.Max(math.Abs(keep), 1e-3*st.scale[v]*full)
		up, down := keep+d, keep-d
		if keep >= 0 && down < 0 {
			down = keep // contents are held to 0 there
		}
		state[v] = up
		st.store.Rates(s.up, state, at)
		state[v] = down
		st.store.Rates(s.down, state, at)
		state[v] = keep
		st.moves(st.slopes(s, up-down), st.states[v], st.water[v], values)
	}
}

// slopes are the differences of the rates in s.up and s.down over d.
func (st *sysStore) slopes(s *system, d float64) []float64 {
	moved := s.up[:len(st.weight)]
	for i := range moved {
		moved[i] = (moved[i] - s.down[i]) / d
	}
	return moved
}

// feelPressure adds the derivatives by the gas: by the vapour with the dry gas
// as it is, and by the dry gas with the vapour as it is.
func (st *sysStore) feelPressure(s *system, n *sysNode, state []float64, at moisture.Surroundings, values []float64) {
	d := units.Pressure(shareOfScale * math.Max(n.partial[0], 1e-2*n.total+1e-3))
	more, less := at, at
	more.Vapour += d
	less.Vapour -= min(d, at.Vapour)
	st.feel(s, n, state, more, less, values, 0, 1)
	if s.ns == 1 {
		return
	}
	d = units.Pressure(shareOfScale * math.Max(n.total, 1))
	more, less = at, at
	more.Dry += d
	less.Dry -= min(d, at.Dry)
	st.feel(s, n, state, more, less, values, 1, s.ns)
}

// feel adds the derivatives between two surroundings by the species from first
// to before end.
func (st *sysStore) feel(s *system, n *sysNode, state []float64, more, less moisture.Surroundings, values []float64, first, end int) {
	st.store.Rates(s.up, state, more)
	st.store.Rates(s.down, state, less)
	moved := st.slopes(s, float64(more.Vapour-less.Vapour+(more.Dry-less.Dry))/n.perMole)
	for sp := first; sp < end; sp++ {
		st.moves(moved, st.felt[sp], st.feltOut[sp], values)
	}
}

// feelFlow adds the derivatives by way of the gas that passes the node, which
// depends on the pressures at the far ends of its links too.
func (st *sysStore) feelFlow(s *system, n *sysNode, state []float64, at moisture.Surroundings, values []float64) {
	d := 1e-6*n.through + 1e-12
	st.store.Rates(s.down, state, at)
	at.ThroughFlow += units.MolarFlow(d)
	st.store.Rates(s.up, state, at)
	moved := st.slopes(s, d)
	water := st.release(moved)
	for _, f := range st.passing {
		by := s.parts[f.part].through[f.variable]
		for r, place := range f.rows {
			values[place] += moved[r] * by
		}
		values[f.water] += water * by
	}
}

var _ stiff.Restorer = (*system)(nil)

// perMoleAt is R T/V at time t.
func (n *sysNode) perMoleAt(t float64) float64 {
	if n.schedule == nil {
		return n.perMole
	}
	return units.GasConstant * float64(n.schedule(time.Duration(t*float64(time.Second)))) / n.volume
}
