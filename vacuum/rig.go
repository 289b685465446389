package vacuum

import (
	"fmt"

	"example.com/drydown/units"
)

// TwoSided is a refrigeration circuit with the two sides that the expansion
// device parts, as a rig sees it.
type TwoSided struct {
	// Low and High are the gas volumes of the sides, m³, 1e-12 to 1e6.
	Low, High units.Volume
	// LowStores and HighStores hold the water outside the gas.
	LowStores, HighStores []PlacedStore
	// Expansion is the device between them. Nil means no way at all: a valve shut
	// tight, each side for itself. OneHose and VacuumHoseDirect then return an
	// error: no link is left at the high side.
	Expansion Passage
	// Temperature of everything at the start, K; zero means 293.15 K.
	Temperature units.Temperature
	// Fill of everything at the start; the zero value means dry air at 101325 Pa.
	Fill Fill
}

// Rig is the equipment between a circuit and its pump. Zero fields mean the
// usual parts (common practice); a field that a rig has no use for is left.
type Rig struct {
	// Access is the way through the service port: a valve core, a core tool. Nil
	// means ValveCore, for rigs with core tools CoreTool(false).
	Access Passage
	// Hose joins a port to the manifold or the pump. Nil means 1.5 m of 1/4 inch
	// hose, inner diameter 4.8 mm.
	Hose Passage
	// VacuumHose is the wide hose of a four-hose manifold, of core tools and of the
	// direct way. Nil means 1.5 m of 3/8 inch hose, inner diameter 9.5 mm.
	VacuumHose Passage
	// Manifold is the way through a manifold from one port to its chamber, valve
	// included. Nil means 60 mm of 5 mm bore.
	Manifold Passage
	// Pump at the end, named "pump" when it has no name; its Node is set.
	Pump Pump
}

// Volumes of the small parts, common practice.
const (
	manifoldVolume  = 20 * units.Millilitre
	pumpInletVolume = 30 * units.Millilitre
	noVolume        = 1 * units.Millilitre // what a tee or a port holds at least
)

// Names of nodes and links in the circuits made here.
const (
	LowSide         = "low side"
	HighSide        = "high side"
	PumpInlet       = "pump inlet"
	ManifoldNode    = "manifold"
	ExpansionDevice = "expansion device"
	LowHose         = "low hose"
	HighHose        = "high hose"
	CentreHose      = "centre hose"
)

func (r Rig) withDefaults(access Passage) Rig {
	for _, d := range []struct {
		field *Passage
		value Passage
	}{
		{&r.Access, access},
		{&r.Hose, Hose(4.8*units.Millimetre, 1.5)},
		{&r.VacuumHose, Hose(9.5*units.Millimetre, 1.5)},
		{&r.Manifold, Passage{{Name: "manifold", Bore: 5 * units.Millimetre, Length: 60 * units.Millimetre}}},
	} {
		if *d.field == nil {
			*d.field = d.value
		}
	}
	if r.Pump.Name == "" {
		r.Pump.Name = "pump"
	}
	r.Pump.Node = PumpInlet
	return r
}

// rigBuilder puts a circuit together; a way's own volume goes half to each end.
type rigBuilder struct {
	c    Circuit
	t    units.Temperature
	fill Fill
	at   map[string]int
	err  error // the first
}

func newRig(s TwoSided) *rigBuilder {
	b := &rigBuilder{t: s.Temperature, fill: s.Fill, at: map[string]int{}}
	// Before the ways add theirs, which would hide a missing volume.
	b.err = checkBounds("vacuum.TwoSided", bound{"Low", float64(s.Low), 1e-12, 1e6, "m³"}, bound{"High", float64(s.High), 1e-12, 1e6, "m³"})
	if b.t == 0 {
		b.t = units.Celsius(20)
	}
	if b.fill == (Fill{}) {
		b.fill.Pressure = units.Atmosphere
	}
	b.node(LowSide, s.Low, s.LowStores...)
	b.node(HighSide, s.High, s.HighStores...)
	if s.Expansion != nil {
		b.c.Links = append(b.c.Links, Link{Name: ExpansionDevice, From: HighSide, To: LowSide, Passage: s.Expansion})
	}
	return b
}

func (b *rigBuilder) node(name string, v units.Volume, stores ...PlacedStore) {
	b.at[name] = len(b.c.Nodes)
	b.c.Nodes = append(b.c.Nodes, Node{Name: name, Volume: v, Temperature: b.t, Fill: b.fill, Stores: stores})
}

func (b *rigBuilder) link(name, from, to string, parts ...Passage) {
	way := Series(parts...)
	if err := way.Check(); err != nil && b.err == nil {
		b.err = fmt.Errorf("vacuum.TwoSided: link %q: %w", name, err)
	}
	b.c.Links = append(b.c.Links, Link{Name: name, From: from, To: to, Passage: way})
	for _, end := range []string{from, to} {
		b.c.Nodes[b.at[end]].Volume += way.Volume() / 2
	}
}

// finish adds the pump and a gauge at both sides and at the pump.
func (b *rigBuilder) finish(p Pump) (Circuit, error) {
	b.c.Pumps = []Pump{p}
	for _, node := range []string{LowSide, HighSide, PumpInlet} {
		b.c.Gauges = append(b.c.Gauges, Gauge{Name: fmt.Sprintf("gauge at %s", node), Node: node})
	}
	if b.err != nil {
		return b.c, b.err
	}
	return b.c, b.c.Check()
}

// OneHose is the rig with one hose from the low side to the pump. The high side
// is reached through the expansion device alone.
func (s TwoSided) OneHose(r Rig) (Circuit, error) {
	r = r.withDefaults(ValveCore())
	return s.straight(r, r.Hose, false)
}

// TwoHoses is the rig with a hose from each side to a tee at the pump.
func (s TwoSided) TwoHoses(r Rig) (Circuit, error) {
	r = r.withDefaults(ValveCore())
	return s.straight(r, r.Hose, true)
}

// straight joins the low side, or both, by hoses of one kind to the pump.
func (s TwoSided) straight(r Rig, hose Passage, both bool) (Circuit, error) {
	b := newRig(s)
	b.node(PumpInlet, pumpInletVolume)
	b.link(LowHose, LowSide, PumpInlet, r.Access, hose)
	if both {
		b.link(HighHose, HighSide, PumpInlet, r.Access, hose)
	}
	return b.finish(r.Pump)
}

// ManifoldThreeHoses is a manifold with a hose to each side and its centre hose
// of the same kind to the pump.
func (s TwoSided) ManifoldThreeHoses(r Rig) (Circuit, error) {
	r = r.withDefaults(ValveCore())
	return s.manifold(r, r.Hose)
}

// ManifoldFourHoses is a manifold with a port of its own for a wide vacuum hose
// to the pump; the charging hose hangs plugged, a dead leg.
func (s TwoSided) ManifoldFourHoses(r Rig) (Circuit, error) {
	r = r.withDefaults(ValveCore())
	return s.manifold(r, r.VacuumHose, r.Hose)
}

// manifold joins both sides and the pump's hose; further hoses hang plugged.
func (s TwoSided) manifold(r Rig, centre Passage, plugged ...Passage) (Circuit, error) {
	b := newRig(s)
	b.node(ManifoldNode, manifoldVolume)
	b.node(PumpInlet, pumpInletVolume)
	b.link(LowHose, LowSide, ManifoldNode, r.Access, r.Hose, r.Manifold)
	b.link(HighHose, HighSide, ManifoldNode, r.Access, r.Hose, r.Manifold)
	for _, hose := range plugged {
		b.node("charging hose end", noVolume)
		b.link("charging hose", "charging hose end", ManifoldNode, hose, r.Manifold)
	}
	b.link(CentreHose, ManifoldNode, PumpInlet, r.Manifold, centre)
	return b.finish(r.Pump)
}

// CoreToolsBothSides is a core tool at each side, cores pulled back, with a wide
// hose from each to a tee at the pump.
func (s TwoSided) CoreToolsBothSides(r Rig) (Circuit, error) {
	r = r.withDefaults(CoreTool(false))
	return s.straight(r, r.VacuumHose, true)
}

// VacuumHoseDirect is a wide hose from a core tool at the low side straight to
// the pump; the high side is reached through the expansion device alone.
func (s TwoSided) VacuumHoseDirect(r Rig) (Circuit, error) {
	r = r.withDefaults(CoreTool(false))
	return s.straight(r, r.VacuumHose, false)
}
