package vacuum

import (
	"math"

	"example.com/drydown/moisture"
)

// balances are the sums that no flow inside a circuit changes: of each species
// in each region joined by open ways, with what has entered and left. The rates
// and their Jacobian keep them exactly, but solving the linear equations of a
// step does so only to the round-off of the gross exchange between volumes, and
// across a wide opening that is 10⁹ times the net one. Restore puts back what
// the solution lost, so that round-off does not add up in the ledger; an error
// of the rates would stay in it.
type balances struct {
	group  []int32   // by state: the balance it belongs to
	weight []float64 // by state: moles per unit, negative for what has entered
	share  []float64 // by state: the part of a loss that it makes up for
	held   []float64 // by balance: moles in the gas
	lost   []float64 // by balance
}

// balance groups the states.
func (a *assembly) balance() {
	b := &a.balances
	b.group, b.weight, b.share = make([]int32, a.length), make([]float64, a.length), make([]float64, a.length)
	region := a.regions()
	for i := range a.nodes {
		n := &a.nodes[i]
		if !n.holdsGas() {
			continue
		}
		for k := range a.ns {
			b.group[n.state+k], b.weight[n.state+k] = int32(region[i]*a.ns+k), 1
		}
	}
	for i := range a.stores {
		st := &a.stores[i]
		for k, w := range st.weight {
			b.group[st.state+k], b.weight[st.state+k] = int32(region[st.node]*a.ns), w/float64(moisture.MolarMass)
		}
	}
	for i := range a.parts {
		p := &a.parts[i]
		for _, rows := range p.rows {
			if inside, other := rows[0], rows[1]; other.row >= a.totals {
				b.group[other.row], b.weight[other.row] = b.group[inside.row], -inside.sign
			}
		}
	}
	count := len(a.nodes) * a.ns
	b.held, b.lost = make([]float64, count), make([]float64, count)
}

// regions numbers the nodes so that those joined by links between volumes get
// the same number.
func (a *assembly) regions() []int {
	region := make([]int, len(a.nodes))
	for i := range region {
		region[i] = i
	}
	root := func(i int) int {
		for region[i] != i {
			region[i] = region[region[i]]
			i = region[i]
		}
		return i
	}
	for i := range a.parts {
		if p := &a.parts[i]; p.kind == innerLink {
			region[root(p.nodes[0])] = root(p.nodes[1])
		}
	}
	for i := range region {
		region[i] = root(i)
	}
	return region
}

// weigh shares out what restore will find among the gas of state y.
func (s *system) weigh(y []float64) {
	b := &s.balances
	clear(b.held)
	for i := range s.nodes {
		if n := &s.nodes[i]; n.holdsGas() {
			for k := n.state; k < n.state+s.ns; k++ {
				b.share[k] = math.Max(0, y[k])
				b.held[b.group[k]] += b.share[k]
			}
		}
	}
	for i := range s.nodes {
		if n := &s.nodes[i]; n.holdsGas() {
			for k := n.state; k < n.state+s.ns; k++ {
				if b.share[k] > 0 {
					b.share[k] /= b.held[b.group[k]]
				}
			}
		}
	}
}

// Restore corrects the state after a step from before.
func (s *system) Restore(before, after []float64) {
	b := &s.balances
	clear(b.lost)
	for i, v := range after {
		b.lost[b.group[i]] += b.weight[i] * (before[i] - v)
	}
	for i := range after {
		after[i] += b.share[i] * b.lost[b.group[i]]
	}
}
