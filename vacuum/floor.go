package vacuum

import (
	"fmt"
	"strings"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Floor says what holds the pressure of a node up with valves and pumps as they
// stand.
type Floor struct {
	// Node is the node asked about.
	Node string
	// Pressure there now, and the part of it that is water vapour, Pa.
	Pressure, Vapour units.Pressure
	// BlankOff is the lowest blank-off in force among the pumps that run, with
	// what their oil gives off, and DryBlankOff that of the same pump with dry oil,
	// Pa; zero when none runs.
	BlankOff, DryBlankOff units.Pressure
	// PumpPressure is the pressure at that pump's inlet, Pa.
	PumpPressure units.Pressure
	// Leaking is the gas that leaks in through all leaks, at the node's
	// temperature.
	Leaking units.Throughput
	// Release is the water that all stores give to the gas, negative when they
	// take it up.
	Release units.MassFlow
	// CutOff is true when no open way leads from the node to a running pump.
	CutOff bool
}

// Floor describes what holds the pressure of a node up now. It is an error when
// there is no such node.
func (s *Simulation) Floor(node string) (Floor, error) {
	i, ok := s.names.node[node]
	if !ok || s.circuit.Nodes[i].Reservoir {
		return Floor{}, fmt.Errorf("vacuum.Simulation.Floor: there is no node %q", node)
	}
	a, err := s.assemble()
	if err != nil {
		return Floor{}, err
	}
	y := make([]float64, a.length)
	s.gather(a, y)
	a.Rates(s.now, y, a.more)
	f := Floor{Node: node, Pressure: units.Pressure(a.nodes[i].total), Vapour: a.vapour(&a.nodes[i])}
	found := false
	for k := range s.circuit.Pumps {
		low := s.circuit.Pumps[k].blankOff(s.ballast[k])
		dry := low
		if oil, err := s.PumpOil(s.circuit.Pumps[k].Name); err == nil {
			low = oil.BlankOff
		}
		if s.running[k] && (!found || low < f.BlankOff) {
			found = true
			f.BlankOff, f.DryBlankOff = low, dry
			f.PumpPressure = units.Pressure(a.nodes[s.names.node[s.circuit.Pumps[k].Node]].total)
		}
	}
	for k := range a.parts {
		if p := &a.parts[k]; p.kind == leakLink {
			p.flow(&a.system, a.out)
			for sp := range a.ns {
				f.Leaking += units.MolarFlow(a.out[a.ns+sp]).Throughput(units.Temperature(a.nodes[i].temp))
			}
		}
	}
	for k := range a.stores {
		st := &a.stores[k]
		n := &a.nodes[st.node]
		f.Release += units.MassFlow(st.store.Rates(a.up[:len(st.weight)], y[st.state:st.state+len(st.weight)], n.surroundings()))
	}
	for _, name := range s.CutOff() {
		f.CutOff = f.CutOff || name == node
	}
	return f, nil
}

// String explains the floor in one sentence.
func (f Floor) String() string {
	text := fmt.Sprintf("%s stands at %s, of which %s is water vapour", f.Node, f.Pressure.WithMicron(), f.Vapour.WithMicron())
	if f.CutOff {
		return text + "; it is cut off from the pump"
	}
	var causes []string
	// Beside a leak's gas a release of less than a hundredth explains nothing, and
	// a milligram an hour holds no pump of a litre a second up by a tenth of a Pa.
	const little = 1e-6 / 3600
	released := f.Release.Throughput(moisture.MolarMass, units.Celsius(20))
	if f.Release > little && released > f.Leaking/100 && f.Vapour > f.Pressure/100 {
		causes = append(causes, fmt.Sprintf("water still leaving its stores at %.3g g/h", float64(f.Release)*3.6e6))
	}
	if f.Leaking > 0 {
		causes = append(causes, fmt.Sprintf("a leak of %v", f.Leaking))
	}
	if f.BlankOff > 0 {
		lifted := ""
		if f.BlankOff > 1.01*f.DryBlankOff {
			lifted = fmt.Sprintf(", lifted from %s by water in its oil,", f.DryBlankOff.WithMicron())
		}
		causes = append(causes, fmt.Sprintf("the pump's blank-off of %s%s with %s at its inlet", f.BlankOff.WithMicron(), lifted, f.PumpPressure.WithMicron()))
	}
	if f.PumpPressure > 0 && f.Pressure > 2*f.PumpPressure {
		causes = append(causes, "the passages between it and the pump")
	}
	if len(causes) == 0 {
		return text
	}
	return text + "; it is held up by " + strings.Join(causes, ", ")
}
