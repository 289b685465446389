package vacuum

import (
	"math"

	"example.com/drydown/units"
)

// Uncertainty is how far the flow of a pure gas through the passage may be off
// with the sizes as given, as a share of the flow: a judgement put together from
// what the law was held against, segment by segment in proportion to what each
// holds back, and not a statistic.
//
//   - 0.5 % for a long tube in any slow flow, 1 % for any passage in molecular
//     flow;
//   - between molecular and dense gas 4 % for an orifice (kinetic calculations,
//     from memory) and up to 10 % for a tube of a few diameters, for which there is
//     no reference;
//   - 5 % for friction in turbulent flow and 11 % for a tube near choking;
//   - 5 % for a choked sharp-edged orifice, up to 40 % where the pressure drop is
//     small: there its coefficient is 0.6 (from memory) and the law keeps 0.84,
//     unless DischargeCoefficient says better;
//   - 12 % more where the pressure drops over several segments alike, because they
//     are lumped.
//
// Errors of bore and length come on top and are usually larger: the bore enters
// to the third or fourth power. Arguments and errors as MolarFlow; up and down
// may come in either order.
func (p Passage) Uncertainty(gas Gas, up, down units.Pressure, t units.Temperature) (float64, error) {
	parts, err := p.Resistances(gas, up, down, t)
	if err != nil {
		return 0, err
	}
	high, low := math.Max(float64(up), float64(down)), math.Min(float64(up), float64(down))
	mix := newMixture([]Gas{gas}, float64(t))
	sum, largest := 0.0, 0.0
	for i, part := range parts {
		sum += part.Share * p[i].uncertainty(mix, high, low, part.Reynolds)
		largest = math.Max(largest, part.Share)
	}
	lumped := 0.0
	if high > 0 {
		lumped = 0.12 * (1 - low/high) * (1 - low/high) * math.Min(1, 2*(1-largest)) * denseShare(mix, float64(p[0].Bore), high, low)
	}
	return math.Hypot(sum, lumped), nil
}

// uncertainty of one segment.
func (s *Segment) uncertainty(mix *mixture, high, low, reynolds float64) float64 {
	r := float64(s.Bore) / 2
	delta := r * (high + low) / 2 / (mix.viscosity[0] * mix.speed[0])
	w := transmission(float64(s.Length) / r)
	short := s.ends() * (1 - w*3*float64(s.Length)/(8*r)) // 1 for an orifice, 0 for a long tube
	between := 4 * delta / (1 + delta) / (1 + delta/25)   // full from 1 to 25, fading to a tenth at 0.03 and 1000
	worst := 0.10
	if s.Length == 0 {
		worst = 0.04
	}
	u := 0.005 + 0.005*short + worst*short*math.Min(1, between)
	if reynolds > reynoldsLaminar {
		fast := 0.05
		if s.Length == 0 && s.DischargeCoefficient == 0 && low > high/2 {
			fast += 0.35 * (2*low/high - 1)
		}
		u = math.Hypot(u, fast)
	}
	if s.Length > 0 && low < 0.5*high && reynolds > reynoldsLaminar/10 {
		u = math.Hypot(u, 0.11)
	}
	return u
}

// denseShare fades what matters in dense gas alone: 0 in molecular flow.
func denseShare(mix *mixture, bore, high, low float64) float64 {
	delta := bore / 2 * (high + low) / 2 / (mix.viscosity[0] * mix.speed[0])
	return delta / (1 + delta)
}
