package vacuum

import (
	"fmt"

	"example.com/drydown/units"
)

// Step is one link on the way from a node to the pump, as a simulation stands.
type Step struct {
	// Link and the nodes at its ends, in the direction of the pump; for the last
	// step the pump and the node at its inlet, To empty.
	Link, From, To string
	// Up and Down are the pressures at the ends, Pa; Down is zero for the pump.
	Up, Down units.Pressure
	// Share of the pressure at the node asked about that drops here, the shares
	// adding up to 1. It is negative where the flow runs the other way.
	Share float64
}

// WayOut lists what lies between a node and the nearest running pump along the
// fewest open links, and the share of the node's pressure that drops at each:
// what is holding it back now. Where ways are side by side it follows one of
// them. It is an error when there is no such node or no way.
func (s *Simulation) WayOut(node string) ([]Step, error) {
	const fn = "vacuum.Simulation.WayOut"
	start, ok := s.names.node[node]
	if !ok || s.circuit.Nodes[start].Reservoir {
		return nil, fmt.Errorf("%s: there is no node %q", fn, node)
	}
	via, pump := s.towardsPump()
	if via[start] == unreached {
		return nil, fmt.Errorf("%s: no open way leads from %q to a running pump", fn, node)
	}
	top := s.pressureAt(start)
	var steps []Step
	add := func(st Step) {
		if top > 0 {
			st.Share = float64((st.Up - st.Down) / top)
		}
		steps = append(steps, st)
	}
	at := start
	for via[at] != atPump {
		from, to := s.ends(via[at])
		if from != at {
			from, to = to, from
		}
		add(Step{
			Link: s.circuit.Links[via[at]].Name, From: s.circuit.Nodes[from].Name, To: s.circuit.Nodes[to].Name,
			Up: s.pressureAt(from), Down: s.pressureAt(to),
		})
		at = to
	}
	add(Step{Link: s.circuit.Pumps[pump[at]].Name, From: s.circuit.Nodes[at].Name, Up: s.pressureAt(at)})
	return steps, nil
}

// What towardsPump says instead of a link.
const (
	unreached = -1
	atPump    = -2
)

// towardsPump finds for each node the link that leads one step nearer to a
// running pump, and for nodes with one the pump.
func (s *Simulation) towardsPump() (via []int, pump map[int]int) {
	via, pump = make([]int, len(s.circuit.Nodes)), map[int]int{}
	for i := range via {
		via[i] = unreached
	}
	var queue []int
	for i := range s.circuit.Pumps {
		if node := s.names.node[s.circuit.Pumps[i].Node]; s.running[i] && via[node] == unreached {
			via[node], pump[node] = atPump, i
			queue = append(queue, node)
		}
	}
	next := make([][]int, len(s.circuit.Nodes))
	for i := range s.circuit.Links {
		if a, b := s.ends(i); s.open[i] && !s.circuit.Nodes[a].Reservoir && !s.circuit.Nodes[b].Reservoir {
			next[a], next[b] = append(next[a], i), append(next[b], i)
		}
	}
	for at := 0; at < len(queue); at++ {
		for _, link := range next[queue[at]] {
			a, b := s.ends(link)
			other := a + b - queue[at]
			if via[other] == unreached {
				via[other] = link
				queue = append(queue, other)
			}
		}
	}
	return via, pump
}

// pressureAt is the pressure of a node now.
func (s *Simulation) pressureAt(i int) units.Pressure {
	if s.circuit.Nodes[i].Reservoir {
		return s.fills[i].Pressure
	}
	sum := 0.0
	for _, n := range s.moles[i] {
		sum += max(0, n)
	}
	return units.Pressure(sum * units.GasConstant * float64(s.temperature(i)) / float64(s.circuit.Nodes[i].Volume))
}
