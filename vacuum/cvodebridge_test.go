//go:build cvode

package vacuum

import (
	"fmt"
	"strings"
)

// CVodeTwin is a circuit of one gas, passages and one pump, as the C program
// under testdata/cvode takes it, with the right-hand side that a simulation
// integrates.
type CVodeTwin struct {
	a    *assembly
	jac  []float64
	full []float64
	// Input is the program's input file. Volumes is how many states it has.
	Input   string
	Volumes int
	// PerMole is R·T/V of every volume, Pa/mol.
	PerMole []float64
}

// NewCVodeTwin writes a simulation down for a run to a pressure at a node.
func NewCVodeTwin(s *Simulation, far string, target float64) (*CVodeTwin, error) {
	a, err := s.assemble()
	if err != nil {
		return nil, err
	}
	if a.ns != 1 || len(a.stores) > 0 || a.wet {
		return nil, fmt.Errorf("the program knows one dry gas without stores, not %d species and %d stores", a.ns, len(a.stores))
	}
	c := &CVodeTwin{a: a, Volumes: a.totals, jac: make([]float64, a.pattern.Len()), full: make([]float64, a.length)}
	var nodes, links, pump strings.Builder
	y := make([]float64, a.length)
	s.gather(a, y)
	for i := range c.Volumes {
		n := &a.nodes[i]
		if n.state != i {
			return nil, fmt.Errorf("node %d has state %d", i, n.state)
		}
		c.PerMole = append(c.PerMole, n.perMole)
		fmt.Fprintf(&nodes, "%x %x %x\n", n.perMole, y[i], a.absTol[i]/s.opt.RelTol)
	}
	count := 0
	for i := range a.parts {
		switch p := &a.parts[i]; p.kind {
		case innerLink:
			count++
			writePassage(&links, p)
		case pumpPart:
			writePump(&pump, p, a)
		default:
			return nil, fmt.Errorf("the program knows no part of kind %d", p.kind)
		}
	}
	c.Input = fmt.Sprintf("%d %d\n%s%s%s%d %x\n", c.Volumes, count, &nodes, &links, &pump, s.names.node[far], target)
	return c, nil
}

func writePassage(w *strings.Builder, p *part) {
	l := &p.law
	b := &l.mix.pure
	fmt.Fprintf(w, "%d %d %d %x %x %x %x %x %x %x %x\n", p.nodes[0], p.nodes[1], len(l.segments),
		l.rt, b.viscosity, b.speed, b.molarMass, b.choke, b.ratio, l.linear, l.fastest)
	for _, s := range l.segments {
		fmt.Fprintf(w, "%x %x %x %x %x %x %x\n", s.radius, s.viscous, s.rarefied, s.long, s.inertial, s.tube, s.reynolds)
	}
}

func writePump(w *strings.Builder, p *part, a *assembly) {
	n := a.nodes[p.nodes[0]]
	swept, _ := p.pump.swept(&n)
	returns := 0
	if p.pump.back >= 0 {
		returns = 1
	}
	fmt.Fprintf(w, "%d %x %x %d\n", p.nodes[0], swept, p.pump.low, returns)
}

// Rates writes the rates at the moles y, and the Jacobian times y.
func (c *CVodeTwin) Rates(y, rates, product []float64) {
	state := make([]float64, c.a.length)
	copy(state, y)
	c.a.Rates(0, state, c.full)
	copy(rates, c.full[:c.Volumes])
	c.a.Jacobian(0, state, c.full, c.jac)
	for i := range product {
		columns, first := c.a.pattern.Row(i)
		product[i] = 0
		for at, j := range columns {
			product[i] += c.jac[first+at] * state[j]
		}
	}
}

// Seconds is the time since the simulation began, not rounded.
func (s *Simulation) Seconds() float64 { return s.now }
