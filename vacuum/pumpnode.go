package vacuum

import (
	"fmt"

	"example.com/drydown/units"
)

// PumpOilState is the water in the oil of a pump in a simulation.
type PumpOilState struct {
	// Water in the oil, kg, and per oil, kg/kg.
	Water   units.Mass
	Content units.MassFraction
	// VapourPressure over the oil and BlankOff, the lowest pressure that the pump
	// reaches with it as its ballast stands, Pa.
	VapourPressure, BlankOff units.Pressure
}

// oilNodes appends a node for every pump: the water in its oil as a gas whose
// pressure is the vapour pressure over the oil. Only a running pump with oil, in
// a circuit with water, takes part.
func (s *Simulation) oilNodes(a *assembly) error {
	for i := range s.circuit.Pumps {
		pump := &s.circuit.Pumps[i]
		n := sysNode{state: -1, oil: true}
		if pump.Oil != nil && s.running[i] && a.wet {
			law, err := pump.Oil.saturated()
			if err != nil {
				return err
			}
			n.state, n.temp, n.perMole = a.length, float64(pump.Oil.temperature()), law.perMole
			n.volume = units.GasConstant * n.temp / n.perMole
			a.length += a.ns
			for range a.ns {
				a.absTol = append(a.absTol, s.opt.RelTol*float64(s.opt.PressureScale)/n.perMole)
			}
		}
		a.nodes = append(a.nodes, n)
	}
	return nil
}

// oilNode is the node of a pump's oil, nil where there is none.
func (s *system) oilNode(p *part) *sysNode {
	if p.oil < 0 {
		return nil
	}
	return &s.nodes[p.oil]
}

// holdsGas is true for a volume of the circuit: neither a reservoir nor the oil
// of a pump.
func (n *sysNode) holdsGas() bool { return n.state >= 0 && !n.oil }

// assemblePump adds a running pump and its oil.
func (s *Simulation) assemblePump(a *assembly, i int) {
	pump := &s.circuit.Pumps[i]
	node, oil := s.names.node[pump.Node], len(s.circuit.Nodes)+i
	n := &a.nodes[node]
	p := part{kind: pumpPart, nodes: []int{node}, vars: speciesVars(nil, node, a.ns), oil: -1}
	p.pump = pump.prepare(s.ballast[i])
	p.pump.wet = a.wet
	p.pump.back = a.speciesIndex(s.returnGas(pump))
	exhaust := s.crossing(a, ByPumpExhaust, pump.Name, a.ns)
	kept := s.crossingOf(a, ByPumpOil, pump.Name, 0)
	for k := range a.ns {
		p.rows = append(p.rows, [2]rowRef{{n.state + k, -1}, {exhaust + k, 1}})
	}
	p.rows = append(p.rows, [2]rowRef{{n.state, -1}, {kept, 1}})
	if back := p.pump.back; back >= 0 {
		came := s.crossingOf(a, InByPump, pump.Name, a.species[back])
		p.rows = append(p.rows, [2]rowRef{{n.state + back, 1}, {came, 1}})
	}
	o := &a.nodes[oil]
	if o.state >= 0 {
		came := s.crossingOf(a, InByPump, pump.Name, 0)
		p.rows = append(p.rows, [2]rowRef{{n.state, 1}, {came, 1}})
	}
	p.outs = len(p.rows)
	if o.state >= 0 {
		p.pump.oil, _ = pump.Oil.saturated() // checked when its node was made
		p.oil = oil
		p.vars = append(p.vars, partVar{oil, 0})
		gain := part{kind: oilPart, nodes: []int{oil}, outs: 1, vars: p.vars, pump: p.pump}
		gain.rows = [][2]rowRef{{{o.state, 1}, {o.state, 0}}}
		a.parts = append(a.parts, p, gain)
		return
	}
	a.parts = append(a.parts, p)
}

// speciesIndex is the place of a circuit's gas among the species that take
// part, -1 when it does not.
func (a *assembly) speciesIndex(gas int) int {
	for k, sp := range a.species {
		if sp == gas {
			return k
		}
	}
	return -1
}

// returnGas is the index of the gas that comes back through a pump, -1 for
// none.
func (s *Simulation) returnGas(p *Pump) int {
	name := p.Return
	if name == NoReturn {
		return -1
	}
	if i, ok := s.names.gas[fillGas(name, airName)]; ok {
		return i
	}
	if len(s.names.gases) > 1 {
		return 1
	}
	return -1
}

// startOil puts the water into the oil of all pumps.
func (s *Simulation) startOil() {
	for i := range s.circuit.Pumps {
		water := make([]float64, len(s.names.gases))
		if o := s.circuit.Pumps[i].Oil; o != nil {
			water[0] = o.moles(o.WaterContent)
		}
		s.moles, s.stored = append(s.moles, water), append(s.stored, nil)
	}
}

// PumpOil is the water in the oil of a pump now. It is an error when there is no
// such pump or no Oil in it.
func (s *Simulation) PumpOil(name string) (PumpOilState, error) {
	const fn = "vacuum.Simulation.PumpOil"
	i, ok := s.names.pump[name]
	if !ok {
		return PumpOilState{}, fmt.Errorf("%s: there is no pump %q", fn, name)
	}
	pump := &s.circuit.Pumps[i]
	l, err := pump.oilLaw(fn)
	if err != nil {
		return PumpOilState{}, err
	}
	moles := s.moles[len(s.circuit.Nodes)+i][0]
	st := PumpOilState{Water: waterMass(moles), VapourPressure: units.Pressure(l.pressure(moles))}
	st.Content = units.MassFraction(st.Water / pump.Oil.Mass)
	st.BlankOff = pump.blankOff(s.ballast[i]) + units.Pressure(l.approach)*st.VapourPressure
	return st, nil
}

// ChangeOil gives a pump fresh oil of the given water content, 0 to 0.1 kg/kg.
func (s *Simulation) ChangeOil(name string, content units.MassFraction) error {
	if _, err := s.PumpOil(name); err != nil {
		return err
	}
	if err := units.CheckRange("vacuum.Simulation.ChangeOil", "content", float64(content), 0, 0.1, "kg/kg"); err != nil {
		return err
	}
	i := s.names.pump[name]
	s.moles[len(s.circuit.Nodes)+i][0] = s.circuit.Pumps[i].Oil.moles(content)
	return nil
}
