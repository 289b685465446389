package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Gauge is a vacuum gauge at a node, be it the system, the pump or a branch
// behind a valve: it knows the pressure of its node and nothing else. Without
// Thermal it reads the total pressure whatever the gas, as a capacitance gauge
// does. For a dial that reads against the open air see CompoundGauge.
type Gauge struct {
	// Name is the gauge's handle.
	Name string
	// Node names the node it reads.
	Node string
	// Resolution is the step of its display, Pa, 0 or more; zero means none.
	Resolution units.Pressure
	// Ceiling is the highest pressure it shows, Pa; zero means no limit.
	Ceiling units.Pressure
	// Bottom is the lowest pressure it shows, Pa, at most Ceiling; zero means no
	// limit.
	Bottom units.Pressure
	// Thermal, when not nil, makes it a thermal conductivity gauge, whose reading
	// depends on the kinds of gas. A copy is not made: leave it unchanged.
	Thermal *ThermalResponse
}

// Check reports the first field out of range.
func (g *Gauge) Check() error {
	top := float64(g.Ceiling)
	if top == 0 {
		top = maxPressure
	}
	for _, f := range []struct {
		arg   string
		v, hi float64
	}{{"Resolution", float64(g.Resolution), 1e5}, {"Ceiling", float64(g.Ceiling), maxPressure}, {"Bottom", float64(g.Bottom), top}} {
		if err := units.CheckRange("", f.arg, f.v, 0, f.hi, "Pa"); err != nil {
			return fmt.Errorf("vacuum.Gauge: %q: %w", g.Name, err)
		}
	}
	if err := g.Thermal.Check(); err != nil {
		return fmt.Errorf("vacuum.Gauge: %q: %w", g.Name, err)
	}
	return nil
}

// Reading is what a gauge shows.
type Reading struct {
	// Pressure shown, Pa; zero when OverRange or UnderRange.
	Pressure units.Pressure
	// OverRange is true when the pressure is above the gauge's Ceiling and it
	// shows no number.
	OverRange bool
	// UnderRange is true when it is below the gauge's Bottom.
	UnderRange bool
}

// Read is what the gauge shows when its sensor feels the pressure p, Pa: with
// Thermal nil the true one, else what ReadMixture works out. It checks nothing: a p
// that is not a number is shown as it is.
func (g *Gauge) Read(p units.Pressure) Reading {
	if g.Ceiling > 0 && p > g.Ceiling {
		return Reading{OverRange: true}
	}
	if p < g.Bottom {
		return Reading{UnderRange: true}
	}
	if g.Resolution > 0 {
		p = units.Pressure(math.Round(float64(p/g.Resolution))) * g.Resolution
	}
	return Reading{Pressure: p}
}

// ReadMixture is what the gauge shows in a mixture of gases at the given
// partial pressures, Pa, 0 or more. len(partial) is len(gases).
func (g *Gauge) ReadMixture(gases []Gas, partial Composition) (Reading, error) {
	if len(gases) != len(partial) {
		return Reading{}, fmt.Errorf("vacuum.Gauge.ReadMixture: %d partial pressures for %d gases", len(partial), len(gases))
	}
	felt := units.Pressure(0)
	for i := range gases {
		if err := units.CheckRange("vacuum.Gauge.ReadMixture", "partial", float64(partial[i]), 0, maxPressure, "Pa"); err != nil {
			return Reading{}, err
		}
		s := g.Thermal.sensitivity(&gases[i])
		if err := units.CheckRange("vacuum.Gauge.ReadMixture", "sensitivity to "+gases[i].Name, s, math.SmallestNonzeroFloat64, math.MaxFloat64, ""); err != nil {
			return Reading{}, err
		}
		felt += partial[i] * units.Pressure(s)
	}
	return g.Read(felt), nil
}

// readNode is what a gauge shows in the present state of an assembled system.
func (s *Simulation) readNode(g *Gauge, a *assembly) Reading {
	n := &a.nodes[s.names.node[g.Node]]
	if g.Thermal == nil {
		return g.Read(units.Pressure(n.total))
	}
	felt := 0.0
	for k, sp := range a.species {
		felt += n.partial[k] * g.Thermal.sensitivity(&s.names.gases[sp])
	}
	return g.Read(units.Pressure(felt))
}

// GaugesApart lists the gauges from which no open way through volumes leads to
// the node: behind a closed valve they say nothing about it. It is an error
// when there is no such node.
func (s *Simulation) GaugesApart(node string) ([]string, error) {
	start, ok := s.names.node[node]
	if !ok {
		return nil, fmt.Errorf("vacuum.Simulation.GaugesApart: there is no node %q", node)
	}
	reached := make([]bool, len(s.circuit.Nodes))
	reached[start] = true
	s.spread(reached)
	var apart []string
	for i := range s.circuit.Gauges {
		if g := &s.circuit.Gauges[i]; !reached[s.names.node[g.Node]] {
			apart = append(apart, g.Name)
		}
	}
	return apart, nil
}

// spread marks every node that open links join to a marked one, reservoirs left
// out.
func (s *Simulation) spread(reached []bool) {
	for more := true; more; {
		more = false
		for i := range s.circuit.Links {
			a, b := s.ends(i)
			if !s.open[i] || s.circuit.Nodes[a].Reservoir || s.circuit.Nodes[b].Reservoir || reached[a] == reached[b] {
				continue
			}
			reached[a], reached[b], more = true, true, true
		}
	}
}
