package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// Resistance is what one segment of a passage holds back.
type Resistance struct {
	// Segment is the segment's name.
	Segment string
	// Share of the passage's resistance, 0 to 1; the shares add up to 1.
	Share float64
	// Reynolds is the Reynolds number in the segment.
	Reynolds float64
	// Regime at the mean of the passage's two pressures.
	Regime Regime
}

// Resistances tells what holds a pure gas back on its way from up to down at
// temperature t: one entry per segment, in order. The law takes every segment
// between the passage's own end pressures, so that a share is exact in purely
// viscous and purely molecular flow and an estimate between.
func (p Passage) Resistances(gas Gas, up, down units.Pressure, t units.Temperature) ([]Resistance, error) {
	const fn = "vacuum.Passage.Resistances"
	if _, err := p.molarFlows(fn, []Gas{gas}, Composition{up}, Composition{down}, t); err != nil {
		return nil, err
	}
	high := math.Max(float64(up), float64(down))
	low := math.Min(float64(up), float64(down))
	if high < leastPressure {
		high, low = leastPressure, 0
	}
	var l law
	l.prepare(p, newMixture([]Gas{gas}, float64(t)), float64(t))
	x := [MaxSpecies]float64{1}
	n := l.total(&x, high, low)
	b := l.mix.blend(&x)
	nozzle := b.nozzle(l.rt, high, low)
	out := make([]Resistance, len(p))
	sum := 0.0
	for i := range p {
		s := &l.segments[i]
		d1 := s.radius * high / (b.viscosity * b.speed)
		re := n * b.molarMass / b.viscosity * s.reynolds
		e, _ := excessFriction(re)
		share := l.resist[i]*(1+s.tube*e) + n*s.inertial*d1/(d1+inertialDelta)*nozzle
		sum += share
		path := b.viscosity * math.Sqrt(math.Pi) / (high + low) * b.speed // λ at the mean pressure
		regime, err := FlowRegime(units.Length(path), p[i].Bore)
		if err != nil {
			return nil, err
		}
		out[i] = Resistance{Segment: p[i].Name, Share: share, Reynolds: re, Regime: regime}
	}
	for i := range out {
		out[i].Share /= sum
	}
	return out, nil
}
