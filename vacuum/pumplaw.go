package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// pumpLaw is a pump prepared for the hot path.
type pumpLaw struct {
	speed     float64     // displacement, m³/s, where there is no curve
	curve     *SpeedCurve // nil without
	dryLow    float64     // blank-off with the ballast closed, Pa, that the curve was measured with
	low       float64     // blank-off in force, Pa
	back      int         // species that comes back, -1 for none
	carried   float64     // vapour per mole of dry gas
	tolerance float64     // vapour pressure carried by the ballast, Pa; 0 when it is closed
	wet       bool        // the first species is water
	oil       oilLaw      // in force where the pump has an oil node
}

// prepare sets the law; back, wet and oil depend on the circuit.
func (p *Pump) prepare(ballast bool) pumpLaw {
	l := pumpLaw{
		speed: float64(p.Displacement), curve: p.Curve, dryLow: float64(p.BlankOff),
		low: float64(p.blankOff(ballast)), back: -1, carried: p.vapourPerGas(),
	}
	if ballast {
		l.tolerance = float64(p.VapourTolerance)
	}
	return l
}

// flow writes what passes the inlet in mol/s: through the exhaust by species
// into out[:ns], water into the oil into out[ns], and what comes back into the
// node by species into out[ns+1:2*ns+1], none of them negative. Where d is not
// nil, the derivatives by the partial pressures go there, that of the vapour over
// the oil last. oil is nil for a pump without an oil node.
func (l *pumpLaw) flow(n, oil *sysNode, ns int, out []float64, d *partSlopes) {
	perRT := 1 / (units.GasConstant * n.temp)
	swept, slope := l.displacement(n.total)
	swept, slope = swept*perRT, slope*perRT
	f, df := swept, slope
	if l.back < 0 { // a check valve: nothing comes back
		share, bend := valved(l.low, n.total)
		f, df = swept*share, slope*share+swept*bend
	}
	for k, v := range n.partial[:ns] {
		if k == l.back {
			v -= l.low
		}
		out[k], out[ns+1+k] = math.Max(f*v, 0), math.Max(-f*v, 0)
		if d != nil {
			l.netSlopes(k, ns, v, f, df, d)
		}
	}
	out[ns] = 0
	if d != nil {
		d[ns] = [2 * MaxSpecies]float64{}
	}
	if !l.wet {
		return
	}
	l.keep(ns, swept, slope, out, d)
	if oil != nil {
		over := l.oil.approach * math.Min(oil.partial[0], l.oil.saturation)
		out[ns+1] += swept * over
		if d != nil {
			l.releaseSlopes(oil, ns, swept, slope, over, d)
		}
	}
}

// valved is the speed of a pump that shuts at its blank-off over its
// displacement, 1 - low/p above low and 0 below, and its derivative by p. The
// corner is rounded over 0.1 % of low, because a circuit that is pumped out
// dwells there, and a corner would cost an integrator most of its steps.
func valved(low, p float64) (v, slope float64) {
	w := 1e-3 * low
	switch {
	case p <= low-w || p <= 0:
		return 0, 0
	case p < low+w:
		over := p - low + w // (p-low) rounded is over²/4w
		v = over * over / (4 * w * p)
		return v, (over/(2*w) - v) / p
	}
	return (p - low) / p, low / (p * p)
}

// netSlopes writes the derivatives of the net flow f·v of species k to the way
// that it takes.
func (l *pumpLaw) netSlopes(k, ns int, v, f, df float64, d *partSlopes) {
	d[k], d[ns+1+k] = [2 * MaxSpecies]float64{}, [2 * MaxSpecies]float64{}
	way, sign := k, 1.0
	if v < 0 {
		way, sign = ns+1+k, -1
	}
	for j := range ns {
		d[way][j] = sign * df * v
	}
	d[way][k] += sign * f
}

// keep moves the vapour that exhaust gas and ballast cannot carry from the
// exhaust into the oil.
func (l *pumpLaw) keep(ns int, swept, slope float64, out []float64, d *partSlopes) {
	kept := out[0] - l.capacity(ns, swept, out)
	if !(kept > 0) {
		return
	}
	out[0], out[ns] = out[0]-kept, kept
	if d == nil {
		return
	}
	for j := range ns {
		d[ns][j] = d[0][j] - l.capacitySlope(ns, j, slope, d)
		d[0][j] -= d[ns][j]
	}
}

// capacity is the vapour that exhaust gas and ballast carry, mol/s.
func (l *pumpLaw) capacity(ns int, swept float64, out []float64) float64 {
	dry := 0.0
	for _, v := range out[1:ns] {
		dry += v
	}
	return swept*l.tolerance + l.carried*dry
}

// capacitySlope is its derivative by partial pressure j.
func (l *pumpLaw) capacitySlope(ns, j int, slope float64, d *partSlopes) float64 {
	sum := slope * l.tolerance
	for k := 1; k < ns; k++ {
		sum += l.carried * d[k][j]
	}
	return sum
}

// releaseSlopes adds the derivatives of the vapour from the oil.
func (l *pumpLaw) releaseSlopes(oil *sysNode, ns int, swept, slope, over float64, d *partSlopes) {
	for j := range ns {
		d[ns+1][j] += slope * over
	}
	if oil.partial[0] < l.oil.saturation {
		d[ns+1][ns] += swept * l.oil.approach
	}
}

// oilGain writes the water that the oil gains in mol/s into out[0]: what the
// pump keeps back, less what comes off to the inlet and what the exhaust still
// has room for, the oil's activity times the unused capacity.
func (l *pumpLaw) oilGain(n, oil *sysNode, ns int, out []float64, d *partSlopes) {
	var flows [2*MaxSpecies + 1]float64
	var slopes partSlopes
	if d == nil {
		l.flow(n, oil, ns, flows[:], nil)
	} else {
		l.flow(n, oil, ns, flows[:], &slopes)
	}
	swept, slope := l.displacement(n.total)
	perRT := 1 / (units.GasConstant * n.temp)
	swept, slope = swept*perRT, slope*perRT
	activity := math.Min(oil.partial[0]/l.oil.saturation, 1)
	released := swept * l.oil.approach * l.oil.saturation * activity
	room := math.Max(0, l.capacity(ns, swept, flows[:])-flows[0])
	out[0] = flows[ns] - released - room*activity
	if d == nil {
		return
	}
	d[0] = [2 * MaxSpecies]float64{}
	for j := range ns {
		d[0][j] = slopes[ns][j] - slope*l.oil.approach*l.oil.saturation*activity
		if room > 0 {
			d[0][j] -= activity * (l.capacitySlope(ns, j, slope, &slopes) - slopes[0][j])
		}
	}
	if activity < 1 {
		d[0][ns] = -swept*l.oil.approach - room/l.oil.saturation
	}
}

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
	p := part{kind: pumpPart, nodes: []int{node}, outs: 2*a.ns + 1, vars: speciesVars(nil, node, a.ns), oil: -1}
	p.pump = pump.prepare(s.ballast[i])
	p.pump.wet = a.wet
	p.pump.back = a.speciesIndex(s.returnGas(pump))
	exhaust := s.crossing(a, ByPumpExhaust, pump.Name, a.ns)
	kept := s.crossing(a, ByPumpOil, pump.Name, 1)
	came := s.crossing(a, InByPump, pump.Name, a.ns)
	for k := range a.ns {
		p.rows = append(p.rows, [2]rowRef{{n.state + k, -1}, {exhaust + k, 1}})
	}
	p.rows = append(p.rows, [2]rowRef{{n.state, -1}, {kept, 1}})
	for k := range a.ns {
		p.rows = append(p.rows, [2]rowRef{{n.state + k, 1}, {came + k, 1}})
	}
	if o := &a.nodes[oil]; o.state >= 0 {
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
