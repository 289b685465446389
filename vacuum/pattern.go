package vacuum

import (
	"slices"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/internal/stiff"
)

// link finds the Jacobian's pattern and gives every part and store the places
// of its derivatives in it, so that filling the Jacobian searches nothing.
func (a *assembly) link(s *Simulation) error {
	rows := make([][]int, a.length)
	a.visit(func(row, col int) int {
		rows[row] = append(rows[row], col)
		return 0
	})
	var err error
	if a.pattern, err = stiff.NewPattern(rows); err != nil {
		return err
	}
	a.visit(a.pattern.Index)
	a.gases = make([]Gas, a.ns)
	for k, sp := range a.species {
		a.gases[k] = s.names.gases[sp]
	}
	a.prepareLaws(s)
	a.balance()
	return nil
}

// visit calls place for every derivative there is and keeps its answer as the
// derivative's place.
func (a *assembly) visit(place func(row, col int) int) {
	for i := range a.parts {
		p := &a.parts[i]
		p.at = p.at[:0]
		p.through = make([]float64, len(p.vars))
		for _, v := range p.vars {
			col := a.nodes[v.node].state + v.species
			for j := range p.outs {
				for _, r := range p.rows[j] {
					p.at = append(p.at, place(r.row, col))
				}
			}
		}
	}
	for i := range a.stores {
		a.stores[i].visit(&a.nodes[a.stores[i].node], a.ns, place)
		a.stores[i].visitFlow(a, place)
	}
}

// visit does the same for a store.
func (st *sysStore) visit(n *sysNode, ns int, place func(row, col int) int) {
	k := len(st.weight)
	st.states, st.water, st.felt, st.feltOut = st.states[:0], st.water[:0], st.felt[:0], st.feltOut[:0]
	for v := range k {
		places := make([]int, k)
		for r := range k {
			places[r] = -1
			if slices.Contains(st.pat.States[r], v) {
				places[r] = place(st.state+r, st.state+v)
			}
		}
		st.states = append(st.states, places)
		st.water = append(st.water, place(n.state, st.state+v))
	}
	for sp := range ns {
		places := make([]int, k)
		for r := range k {
			places[r] = -1
			if st.pat.Feels[r] {
				places[r] = place(st.state+r, n.state+sp)
			}
		}
		st.felt = append(st.felt, places)
		st.feltOut = append(st.feltOut, place(n.state, n.state+sp))
	}
}

// visitFlow finds the places through which the gas passing its node acts on a
// store.
func (st *sysStore) visitFlow(a *assembly, place func(row, col int) int) {
	st.passing = st.passing[:0]
	if !st.pat.Flow {
		return
	}
	for i := range a.parts {
		p := &a.parts[i]
		if !slices.Contains(p.nodes, st.node) {
			continue
		}
		for v, pv := range p.vars {
			col := a.nodes[pv.node].state + pv.species
			f := flowPlace{part: i, variable: v, water: place(a.nodes[st.node].state, col)}
			for r := range st.weight {
				f.rows = append(f.rows, place(st.state+r, col))
			}
			st.passing = append(st.passing, f)
		}
	}
}

// prepareLaws works out what depends on the temperatures alone, and notes the
// passages whose temperature follows a schedule.
func (a *assembly) prepareLaws(s *Simulation) {
	mixes := map[float64]*mixture{}
	for i := range a.parts {
		p := &a.parts[i]
		if p.kind != innerLink && p.kind != boundaryLink {
			continue
		}
		t := a.passageTemperature(p)
		if mixes[t] == nil {
			mixes[t] = newMixture(a.gases, t)
		}
		p.law.prepare(p.passage, mixes[t], t)
		p.law.linear = s.opt.RelTol
		for _, node := range p.nodes {
			if a.nodes[node].schedule != nil {
				a.driven = append(a.driven, i)
				p.law.own()
				break
			}
		}
	}
}

// passageTemperature is that of the volume, or the mean of both.
func (s *system) passageTemperature(p *part) float64 {
	t := s.nodes[p.nodes[0]].temp
	if s.nodes[p.nodes[1]].state >= 0 {
		t = (t + s.nodes[p.nodes[1]].temp) / 2
	}
	return t
}

// gather writes the simulation's state into y; the running totals begin at
// zero.
func (s *Simulation) gather(a *assembly, y []float64) {
	clear(y)
	for i := range a.nodes {
		if n := &a.nodes[i]; n.state >= 0 {
			for k, sp := range a.species {
				y[n.state+k] = s.moles[i][sp]
			}
			at := n.state + a.ns
			for _, state := range s.stored[i] {
				at += copy(y[at:], state)
			}
		}
	}
}

// scatter takes the state back from y without the running totals.
func (s *Simulation) scatter(a *assembly, y []float64) {
	for i := range a.nodes {
		if n := &a.nodes[i]; n.state >= 0 {
			for k, sp := range a.species {
				s.moles[i][sp] = y[n.state+k]
			}
			at := n.state + a.ns
			for _, state := range s.stored[i] {
				at += copy(state, y[at:])
			}
		}
	}
}

// settle adds the running totals to the crossings.
func (s *Simulation) settle(a *assembly, y []float64) {
	for _, c := range a.crossings {
		to := s.crossings[c.crossing].Amounts
		for k := range c.count {
			sp := c.only
			if sp < 0 {
				sp = a.species[k]
			}
			to[sp] += units.Amount(y[c.first+k])
		}
	}
}
