package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// partKind tells the parts of a system apart.
type partKind int

const (
	innerLink    partKind = iota // passage between two volumes
	boundaryLink                 // passage between a volume and a reservoir
	leakLink                     // leak from a reservoir into a volume
	pumpPart
	feedPart
	oilPart // the water in a pump's oil
)

// part is one component of a system: what flows in it depends on the partial
// pressures at its nodes alone.
type part struct {
	kind  partKind
	nodes []int
	vars  []partVar   // what the flows depend on
	outs  int         // number of flows
	rows  [][2]rowRef // by flow: where it goes
	at    []int       // by variable, flow and row: place in the Jacobian's values
	// through is the derivative, by variable, of what the part adds to the gas
	// passing its nodes.
	through []float64

	passage Passage // links
	law     law
	leak    Leak
	leakRef float64 // reservoir pressure that Leak.Rate refers to, Pa
	pump    pumpLaw
	oil     int                 // node of the pump's oil, -1 for none
	feed    [MaxSpecies]float64 // mol/s
}

// partVar is one partial pressure.
type partVar struct{ node, species int }

// rowRef adds a flow to a row of the rates with a sign.
type rowRef struct {
	row  int
	sign float64
}

// partSlopes are the derivatives of a part's flows by its variables, mol/(s·Pa).
type partSlopes [2*MaxSpecies + 1][2 * MaxSpecies]float64

// flow writes the part's flows in mol/s into out[:p.outs].
func (p *part) flow(s *system, out []float64) {
	in := &s.nodes[p.nodes[0]]
	switch p.kind {
	case innerLink:
		p.law.flow(&in.partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
	case boundaryLink:
		p.law.flow(&in.partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
		splitDirections(out, s.ns)
	case leakLink:
		p.leakFlow(s, out, nil)
		splitDirections(out, s.ns)
	case pumpPart:
		p.pump.flow(in, s.oilNode(p), s.ns, out, nil)
	case oilPart:
		p.pump.oilGain(&s.nodes[p.vars[0].node], in, s.ns, out, nil)
	case feedPart:
		copy(out, p.feed[:s.ns])
	}
}

// slopes is flow with the derivatives of the flows. Feeds have none.
func (p *part) slopes(s *system, out []float64, d *partSlopes) {
	in := &s.nodes[p.nodes[0]]
	switch p.kind {
	case innerLink, boundaryLink:
		p.law.flowSlopes(&in.partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out), &s.slope)
		for i := range s.ns {
			for j := range s.ns {
				d[i][j], d[i][s.ns+j] = s.slope.by1[i][j], s.slope.by2[i][j]
			}
		}
	case leakLink:
		p.leakFlow(s, out, d)
	case pumpPart:
		p.pump.flow(in, s.oilNode(p), s.ns, out, d)
	case oilPart:
		p.pump.oilGain(&s.nodes[p.vars[0].node], in, s.ns, out, d)
	case feedPart:
		copy(out, p.feed[:s.ns])
	}
	if p.kind == boundaryLink || p.kind == leakLink {
		splitSlopes(out, s.ns, d)
	}
}

// pureFlow adds the flow of the only gas through a passage between two volumes
// to the rates.
func (p *part) pureFlow(s *system, rates []float64) {
	f := p.law.single(s.nodes[p.nodes[0]].partial[0], s.nodes[p.nodes[1]].partial[0])
	rates[p.rows[0][0].row] -= f
	rates[p.rows[0][1].row] += f
	s.pass(p, f)
}

// pureSlopes adds its derivatives to the Jacobian's values.
func (p *part) pureSlopes(s *system, values []float64) {
	a, b := &s.nodes[p.nodes[0]], &s.nodes[p.nodes[1]]
	f, by1, by2 := p.law.singleSlopes(a.partial[0], b.partial[0])
	by1, by2 = by1*a.perMole, by2*b.perMole
	at := p.at[:4]
	values[at[0]] -= by1
	values[at[1]] += by1
	values[at[2]] -= by2
	values[at[3]] += by2
	s.pass(p, f)
	passing := math.Copysign(0.5, f)
	p.through[0], p.through[1] = passing*by1, passing*by2
}

// splitDirections turns the flows from the volume to the reservoir into what
// leaves, out[:ns], and what enters, out[ns:2*ns], none of them negative.
func splitDirections(out []float64, ns int) {
	for k := range ns {
		f := out[k]
		out[k], out[ns+k] = math.Max(f, 0), math.Max(-f, 0)
	}
}

// splitSlopes does the same and moves the derivatives along.
func splitSlopes(out []float64, ns int, d *partSlopes) {
	for k := range ns {
		d[ns+k] = [2 * MaxSpecies]float64{}
		if !(out[k] < 0) {
			continue
		}
		for j := range ns {
			d[k][j], d[ns+k][j] = 0, -d[k][j]
		}
	}
	splitDirections(out, ns)
}

// leakFlow writes what leaves the volume nodes[0] for the reservoir nodes[1];
// it is negative as long as the leak lets gas in. Where d is not nil, the
// derivatives by the partial pressures in the volume go there.
func (p *part) leakFlow(s *system, out []float64, d *partSlopes) {
	in, amb := &s.nodes[p.nodes[0]], &s.nodes[p.nodes[1]]
	perShare := float64(p.leak.Rate) / (units.GasConstant * in.temp)
	share, slope := p.leak.share(amb.total, in.total, p.leakRef)
	from := amb
	if share < 0 {
		from = in
	}
	if from.total == 0 { // a void on both sides
		clear(out[:s.ns])
		if d != nil {
			*d = partSlopes{}
		}
		return
	}
	for k := range s.ns {
		fraction := from.partial[k] / from.total
		out[k] = -perShare * share * fraction
		if d == nil {
			continue
		}
		for j := range s.ns {
			d[k][j] = -perShare * slope * fraction
			if from == in {
				d[k][j] += perShare * share * fraction / in.total
			}
		}
		if from == in {
			d[k][k] -= perShare * share / in.total
		}
	}
}
