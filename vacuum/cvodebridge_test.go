//go:build cvode

package vacuum

import (
	"fmt"
	"math"
	"strings"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum/internal/stiff"
)

// CVodeTwin is a circuit of one gas or two, passages, one pump and puddles, as
// the C program under testdata/cvode takes it, with the right-hand side that a
// simulation integrates. Its states are those of the C program: the moles of
// every species node by node, then mass and enthalpy of every puddle.
type CVodeTwin struct {
	a     *assembly
	place []int // of a state among those of the assembly
	full  []float64
	jac   []float64
	// Input is the program's input file.
	Input string
	// Volumes, Species and States count. PerMole is R·T/V of every volume, Pa/mol.
	Volumes, Species, States int
	PerMole                  []float64
	// Puddles and the volumes that they lie in.
	Puddles  []moisture.Puddle
	PuddleIn []int
}

// NewCVodeTwin writes a simulation down for a run to a pressure at a node.
func NewCVodeTwin(s *Simulation, far string, target float64) (*CVodeTwin, error) {
	a, err := s.assemble()
	if err != nil {
		return nil, err
	}
	c := &CVodeTwin{
		a: a, full: make([]float64, a.length), jac: make([]float64, a.pattern.Len()),
		Volumes: len(s.circuit.Nodes), Species: a.ns, States: a.totals,
	}
	if err := c.placeStates(); err != nil {
		return nil, err
	}
	var states, links, pump, puddles strings.Builder
	y := make([]float64, a.length)
	s.gather(a, y)
	for _, at := range c.place {
		fmt.Fprintf(&states, "%x %x\n", y[at], a.absTol[at]/s.opt.RelTol)
	}
	count := 0
	for i := range a.parts {
		switch p := &a.parts[i]; p.kind {
		case innerLink:
			count++
			writePassage(&links, p)
		case pumpPart:
			if err := writePump(&pump, p, a); err != nil {
				return nil, err
			}
		default:
			return nil, fmt.Errorf("the program knows no part of kind %d", p.kind)
		}
	}
	for i, p := range c.Puddles {
		writePuddle(&puddles, &p, c.PuddleIn[i], a.nodes[c.PuddleIn[i]].temp)
	}
	c.Input = fmt.Sprintf("%d %d %d %d\n%s\n%s%s%s%s%d %x\n", c.Volumes, a.ns, count, len(c.Puddles),
		strings.Trim(fmt.Sprintf("%x", c.PerMole), "[]"), &states, &links, &puddles, &pump, s.names.node[far], target)
	return c, nil
}

// placeStates finds the states of the program among those of the assembly.
func (c *CVodeTwin) placeStates() error {
	for i := range c.Volumes {
		n := &c.a.nodes[i]
		if n.state < 0 || n.schedule != nil {
			return fmt.Errorf("the program knows no reservoir and no schedule: node %d", i)
		}
		c.PerMole = append(c.PerMole, n.perMole)
		for k := range c.a.ns {
			c.place = append(c.place, n.state+k)
		}
	}
	for i := range c.a.stores {
		st := &c.a.stores[i]
		p, ok := st.store.(moisture.Puddle)
		if !ok || p.Gap > 0 || p.Bore > 0 || p.Film == 0 {
			return fmt.Errorf("the program knows puddles with a film and without gap and bore only, not %#v", st.store)
		}
		c.Puddles, c.PuddleIn = append(c.Puddles, p), append(c.PuddleIn, st.node)
		c.place = append(c.place, st.state, st.state+1)
	}
	if len(c.place) != c.States {
		return fmt.Errorf("%d of %d states have a place", len(c.place), c.States)
	}
	return nil
}

func writePassage(w *strings.Builder, p *part) {
	l, m := &p.law, p.law.mix
	fmt.Fprintf(w, "%d %d %d %x %x %x %x %x\n", p.nodes[0], p.nodes[1], len(l.segments),
		l.rt, l.linear, reynoldsLaminar/l.critical, l.diffusive, m.perDp[0][len(m.gases)-1])
	for i := range m.gases {
		fmt.Fprintf(w, "%x %x %x %x %x %x", m.viscosity[i], m.speed[i], m.molarMass[i], m.choke[i], m.ratio[i], l.molecular*m.perSpeed[i])
		for j := range m.gases {
			fmt.Fprintf(w, " %x", m.wilke[i][j])
		}
		fmt.Fprintln(w)
	}
	for _, s := range l.segments {
		fmt.Fprintf(w, "%x %x %x %x %x %x %x\n", s.radius, s.viscous, s.rarefied, s.long, s.inertial, s.tube, s.reynolds)
	}
}

func writePump(w *strings.Builder, p *part, a *assembly) error {
	if p.pump.curve != nil || p.oil >= 0 {
		return fmt.Errorf("the program knows pumps without curve and oil only")
	}
	swept, _ := p.pump.swept(&a.nodes[p.nodes[0]])
	fmt.Fprintf(w, "%d %x %x %d\n", p.nodes[0], swept, p.pump.low, p.pump.back)
	return nil
}

// writePuddle works out what depends on the place alone: M·D·p/(R·T·film), with
// D·p as a puddle takes it, its series about 293.15 K.
func writePuddle(w *strings.Builder, p *moisture.Puddle, node int, wall float64) {
	evaporation := p.EvaporationCoefficient
	if evaporation == 0 {
		evaporation = 0.1
	}
	x := (wall - 293.15) / 293.15
	series := 1 + x*(0.072+x*(-0.033408+x*(0.021470208+x*(-0.0157161923+x*(0.01234663+x*(-0.01014069+x*0.0085877))))))
	diffusion := float64(units.Atmosphere) * 1.87e-10 * wall * wall * 1.5053256875633823 * series
	film := float64(moisture.MolarMass) * diffusion / (float64(p.Film) * units.GasConstant * wall)
	fmt.Fprintf(w, "%d %x %x %x %x %x %x\n", node, float64(p.Area), float64(p.HeatSupply), float64(p.FadeMass()), evaporation, film, wall)
}

// Rates writes the rates in state y, and the largest term of each: the flow of
// a species through a passage or the pump, the water that a puddle would give off
// into its dry gas without vapour, and for the enthalpy the heat of that water or
// through the wall.
func (c *CVodeTwin) Rates(y, rates, largest []float64) {
	a, state, terms := c.a, make([]float64, c.a.length), make([]float64, c.a.length)
	for i, at := range c.place {
		state[at] = y[i]
	}
	a.Rates(0, state, c.full)
	see := func(row int, term float64) { terms[row] = math.Max(terms[row], math.Abs(term)) }
	for i := range a.parts {
		p := &a.parts[i]
		p.flow(&a.system, a.out)
		for j, f := range a.out[:p.outs] {
			see(p.rows[j][0].row, f)
			see(p.rows[j][1].row, f)
		}
	}
	for i := range a.stores {
		st := &a.stores[i]
		n, own := &a.nodes[st.node], state[st.state:st.state+2]
		at := n.surroundings()
		at.Vapour = 0
		gross := math.Max(math.Abs(st.store.Rates(a.up, own, at)), math.Abs(c.full[st.state]))
		see(st.state, gross)
		see(n.state, gross/float64(moisture.MolarMass))
		see(st.state+1, math.Max(math.Abs(c.full[st.state+1]), 2.5e6*gross))
	}
	for i, at := range c.place {
		rates[i], largest[i] = c.full[at], terms[at]
	}
}

// Product writes the Jacobian in state y times y.
func (c *CVodeTwin) Product(y, product []float64) {
	state := make([]float64, c.a.length)
	for i, at := range c.place {
		state[at] = y[i]
	}
	c.a.Jacobian(0, state, c.full, c.jac)
	for i, row := range c.place {
		columns, first := c.a.pattern.Row(row)
		product[i] = 0
		for at, j := range columns {
			product[i] += c.jac[first+at] * state[j]
		}
	}
}

// Seconds is the time since the simulation began, not rounded.
func (s *Simulation) Seconds() float64 { return s.now }

// CVodeSamples are the pressures of all volumes, one after the other, at times
// in order: on the continuous solution inside the steps that Run takes or, where
// exact, at the ends of steps that stop there.
func (s *Simulation) CVodeSamples(times []float64, exact bool) ([]float64, error) {
	a, err := s.assemble()
	if err != nil {
		return nil, err
	}
	solver, err := stiff.New(a, a.pattern, stiff.Options{RelTol: s.opt.RelTol, AbsTol: a.absTol})
	if err != nil {
		return nil, err
	}
	y := make([]float64, a.length)
	s.gather(a, y)
	if err := solver.Reset(0, y); err != nil {
		return nil, err
	}
	var out []float64
	for _, t := range times {
		if exact {
			if err := solver.Limit(t); err != nil {
				return nil, err
			}
		}
		for solver.Time() < t {
			if err := solver.Step(); err != nil {
				return nil, err
			}
		}
		for i := range y {
			y[i] = solver.At(i, t)
		}
		for i := range s.circuit.Nodes {
			out = append(out, a.nodes[i].pressure(a.ns, t, y))
		}
	}
	return out, nil
}
