package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Segment is a straight circular bore: a tube, or an orifice when its length
// is zero. Sizes are inner diameters.
type Segment struct {
	// Name says in a report what the segment is; it may be empty.
	Name string
	// Bore is the inner diameter, m, 1e-7 to 10.
	Bore units.Length
	// Length in m, 0 to 1e5. Zero is an orifice in a thin plate.
	Length units.Length
	// DischargeCoefficient is the share of the isentropic flow that enters the
	// bore when friction is absent, 0.05 to 1. Zero means 0.84 for an orifice
	// with sharp edges at choked flow (from memory) and √(2/3) for a tube, an
	// entrance loss of half a velocity head (common practice). It has no effect
	// on laminar and molecular flow.
	DischargeCoefficient float64
	// Count is the number of such bores side by side, 0 to 1e6: the pores of a
	// drier, the circuits of a coil. Zero means 1.
	Count int
	// Joined says at how many of its two ends the bore runs on into one like
	// itself, 0 to 2, so that nothing is lost there: a tube cut into pieces.
	Joined int
}

// count is Count or its default.
func (s *Segment) count() float64 { return math.Max(1, float64(s.Count)) }

// ends is the share of the two end effects that the segment keeps.
func (s *Segment) ends() float64 { return 1 - float64(s.Joined)/2 }

// Passage is a way for gas: segments in series without volume between them. A
// hose with its fittings and a valve core is one Passage. Ways side by side are
// separate passages.
//
// Its flow law is one formula from 1e-2 Pa to 1 MPa, continuous and monotone in
// both pressures. What it meets, as measured by the tests of this package:
//
//   - long tubes at small pressure differences: the S-model of the linearised
//     kinetic equation within 0.05 %, Poiseuille's law where the gas is dense;
//   - molecular flow at any length, orifices included: the exact transmission
//     probability within 0.07 %;
//   - a nozzle: isentropic flow within 0.1 % (nitrogen, air) to 0.8 % (others);
//   - turbulence: the friction factor of Blasius for smooth walls, from a
//     Reynolds number of 4000, bent into the laminar one at 2300;
//   - adiabatic tubes choked at the end (Fanno): up to 11 % too high, worst at
//     4fL/D = 2.3; 3 % at 67, right at both ends. The temperature of the gas
//     stays that of the wall otherwise.
//
// Several segments are lumped: each resists between the passage's own end
// pressures. That is exact in molecular and in laminar flow; against the same
// segments with the pressure between them solved for, a hose with a valve core
// comes out up to 4 % low and two equal choked orifices 12 % low. Segments also
// keep their own end effects where two of like bore meet.
//
// Short tubes and orifices between the limits have no reference here. The law
// adds the limits; kinetic calculations of orifices (from memory) lie within
// about 4 % of it, short tubes may be off by 10 %.
//
// In mixtures each species goes by itself in molecular flow and with the rest
// in dense gas, and diffuses between the ends (Bosanquet's rule) except as far
// as the flow sweeps it back; labels of one gas add up to that gas.
type Passage []Segment

// Default discharge coefficients.
const (
	orificeDischarge = 0.84
	tubeDischarge    = 0.8164965809277260 // √(2/3)
)

// discharge is the coefficient in force.
func (s *Segment) discharge() float64 {
	switch {
	case s.DischargeCoefficient != 0:
		return s.DischargeCoefficient
	case s.Length == 0:
		return orificeDischarge
	}
	return tubeDischarge
}

// Check reports the first field out of range.
func (s *Segment) Check() error {
	if err := units.CheckRange("", "Bore", float64(s.Bore), 1e-7, 10, "m"); err != nil {
		return err
	}
	if err := units.CheckRange("", "Length", float64(s.Length), 0, 1e5, "m"); err != nil {
		return err
	}
	if err := units.CheckRange("", "Count", float64(s.Count), 0, 1e6, ""); err != nil {
		return err
	}
	joints := 2.0
	if s.Length == 0 {
		joints = 0 // an orifice has nothing to run on
	}
	if err := units.CheckRange("", "Joined", float64(s.Joined), 0, joints, ""); err != nil {
		return err
	}
	if s.DischargeCoefficient == 0 {
		return nil
	}
	return units.CheckRange("", "DischargeCoefficient", s.DischargeCoefficient, 0.05, 1, "")
}

// Check reports the first segment with a field out of range, or that there is
// none.
func (p Passage) Check() error {
	if len(p) == 0 {
		return fmt.Errorf("vacuum.Passage: no segments, accepted 1 or more")
	}
	for i := range p {
		if err := p[i].Check(); err != nil {
			return fmt.Errorf("vacuum.Passage: segment %d %q: %w", i+1, p[i].Name, err)
		}
	}
	return nil
}

// Volume is the space inside the segments, m³. The flow law itself holds no
// gas: add the volume to the nodes at the ends where it matters.
func (p Passage) Volume() units.Volume {
	v := 0.0
	for i := range p {
		v += p[i].count() * float64(p[i].Bore.Circle()) * float64(p[i].Length)
	}
	return units.Volume(v)
}

// Length is the sum of the segments' lengths, m.
func (p Passage) Length() units.Length {
	sum := units.Length(0)
	for i := range p {
		sum += p[i].Length
	}
	return sum
}

// Series joins passages end to end into one.
func Series(passages ...Passage) Passage {
	var all Passage
	for _, p := range passages {
		all = append(all, p...)
	}
	return all
}

// Composition is a gas mixture as partial pressures, Pa, in the order of its
// gases.
type Composition []units.Pressure

// MolarFlow is the flow of a pure gas from up to down in mol/s at temperature
// t, 150 to 600 K; negative when down is the higher. Pressures are 0 to 20 MPa.
func (p Passage) MolarFlow(gas Gas, up, down units.Pressure, t units.Temperature) (units.MolarFlow, error) {
	flows, err := p.molarFlows("vacuum.Passage.MolarFlow", []Gas{gas}, Composition{up}, Composition{down}, t)
	if err != nil {
		return 0, err
	}
	return flows[0], nil
}

// MolarFlows is the flow of each species of a mixture from up to down, mol/s,
// in the order of gases. len(up) and len(down) are len(gases), 1 to MaxSpecies.
func (p Passage) MolarFlows(gases []Gas, up, down Composition, t units.Temperature) ([]units.MolarFlow, error) {
	return p.molarFlows("vacuum.Passage.MolarFlows", gases, up, down, t)
}

func (p Passage) molarFlows(fn string, gases []Gas, up, down Composition, t units.Temperature) ([]units.MolarFlow, error) {
	if err := checkMixture(fn, gases, t); err != nil {
		return nil, err
	}
	if err := p.Check(); err != nil {
		return nil, fmt.Errorf("%s: %w", fn, err)
	}
	var n1, n2, out [MaxSpecies]float64
	for _, side := range []struct {
		arg string
		c   Composition
		dst *[MaxSpecies]float64
	}{{"up", up, &n1}, {"down", down, &n2}} {
		if len(side.c) != len(gases) {
			return nil, fmt.Errorf("%s: %s has %d partial pressures for %d gases", fn, side.arg, len(side.c), len(gases))
		}
		for i, v := range side.c {
			if err := units.CheckRange(fn, side.arg, float64(v), 0, maxPressure, "Pa"); err != nil {
				return nil, err
			}
			side.dst[i] = float64(v)
		}
	}
	var l law
	l.prepare(p, newMixture(gases, float64(t)), float64(t))
	l.flow(&n1, &n2, &out)
	flows := make([]units.MolarFlow, len(gases))
	for i := range flows {
		flows[i] = units.MolarFlow(out[i])
	}
	return flows, nil
}

// checkMixture checks a list of gases and the temperature.
func checkMixture(fn string, gases []Gas, t units.Temperature) error {
	if err := units.CheckRange(fn, "number of gases", float64(len(gases)), 1, MaxSpecies, ""); err != nil {
		return err
	}
	for i := range gases {
		if err := gases[i].checkAt(fn, t); err != nil {
			return err
		}
	}
	return nil
}

// Conductance is the throughput of a pure gas over the pressure difference,
// m³/s, at temperature t. At equal pressures it is the limit for a vanishing
// difference; at zero pressure that is the molecular conductance.
func (p Passage) Conductance(gas Gas, up, down units.Pressure, t units.Temperature) (units.Conductance, error) {
	const fn = "vacuum.Passage.Conductance"
	if _, err := p.molarFlows(fn, []Gas{gas}, Composition{up}, Composition{down}, t); err != nil {
		return 0, err
	}
	high, low := math.Max(float64(up), float64(down)), math.Min(float64(up), float64(down))
	if high < leastPressure {
		high, low = leastPressure, 0
	}
	var l law
	l.prepare(p, newMixture([]Gas{gas}, float64(t)), float64(t))
	b := l.mix.blend(&[MaxSpecies]float64{1})
	r, h, perMole := l.coefficients(&b, high, low)
	if high == low {
		return units.Conductance(l.rt / r), nil
	}
	return units.Conductance(l.rt * l.solve(r, h, perMole, high, low) / (high - low)), nil
}
