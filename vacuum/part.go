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
)

// part is one component of a system: what flows in it depends on the partial
// pressures at its nodes alone.
type part struct {
	kind  partKind
	nodes []int
	vars  []partVar  // what the flows depend on
	outs  int        // number of flows
	rows  [][]rowRef // by flow: where it goes
	at    [][][]int  // by variable, flow and row: place in the Jacobian's values
	// through is the derivative, by variable, of what the part adds to the gas
	// passing its nodes.
	through []float64

	passage Passage // links
	law     law
	leak    Leak
	leakRef float64 // reservoir pressure that Leak.Rate refers to, Pa
	pump    pumpLaw
	feed    [MaxSpecies]float64 // mol/s
}

// partVar is one partial pressure.
type partVar struct{ node, species int }

// rowRef adds a flow to a row of the rates with a sign.
type rowRef struct {
	row  int
	sign float64
}

// flow writes the part's flows in mol/s into out[:p.outs].
func (p *part) flow(s *system, out []float64) {
	switch p.kind {
	case innerLink:
		p.law.flow(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
	case boundaryLink:
		p.law.flow(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
		splitDirections(out, s.ns)
	case leakLink:
		p.leakFlow(s, out)
		splitDirections(out, s.ns)
	case pumpPart:
		p.pump.flow(&s.nodes[p.nodes[0]].partial, s.ns, out)
	case feedPart:
		copy(out, p.feed[:s.ns])
	}
}

// flowTangent is flow, with what flowNear needs besides.
func (p *part) flowTangent(s *system, out []float64) {
	switch p.kind {
	case innerLink:
		p.law.tangent(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
	case boundaryLink:
		p.law.tangent(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
		splitDirections(out, s.ns)
	default:
		p.flow(s, out)
	}
}

// flowNear is flow at pressures a little beside those of the last flowTangent,
// whose flows are base, for taking derivatives: along the tangent, so that a
// flow smaller than the difference may come out with the other sign.
func (p *part) flowNear(s *system, base, out []float64) {
	switch p.kind {
	case innerLink:
		p.law.near(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
	case boundaryLink:
		p.law.near(&s.nodes[p.nodes[0]].partial, &s.nodes[p.nodes[1]].partial, (*[MaxSpecies]float64)(out))
		for k := range s.ns {
			f := out[k]
			out[k], out[s.ns+k] = f, 0
			if base[s.ns+k] > 0 || base[k] == 0 && f < 0 {
				out[k], out[s.ns+k] = 0, -f
			}
		}
	default:
		p.flow(s, out)
	}
}

// splitDirections turns the flows from the volume to the reservoir into what
// leaves, out[:ns], and what enters, out[ns:2*ns], none of them negative.
func splitDirections(out []float64, ns int) {
	for k := range ns {
		f := out[k]
		out[k], out[ns+k] = math.Max(f, 0), math.Max(-f, 0)
	}
}

// leakFlow writes what leaves the volume nodes[0] for the reservoir nodes[1];
// it is negative as long as the leak lets gas in.
func (p *part) leakFlow(s *system, out []float64) {
	in, amb := &s.nodes[p.nodes[0]], &s.nodes[p.nodes[1]]
	q := float64(p.leak.Rate) / (units.GasConstant * in.temp) * p.leak.share(amb.total, in.total, p.leakRef)
	from := amb
	if q < 0 {
		from = in
	}
	for k := range s.ns {
		out[k] = 0
		if from.total > 0 {
			out[k] = -q * from.partial[k] / from.total
		}
	}
}
