package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Condition ends a Run when a quantity crosses a value. Make one with the
// functions below; the zero Condition names nothing. They check nothing: a name
// that the circuit does not have, and a value that is negative, infinite or not a
// number, are errors of Run, the latter a RangeError.
type Condition struct {
	kind  conditionKind
	of    string
	value float64
}

type conditionKind int

const (
	pressureBelow conditionKind = iota
	pressureAbove
	vapourBelow
	vapourShareBelow
	readingBelow
	waterBelow
	iceBelow
	admittedAbove
)

// PressureBelow holds when the total pressure of a node is at or below p,
// Pa, 0 or more. A reservoir is no such node: its pressure does not change.
func PressureBelow(node string, p units.Pressure) Condition {
	return Condition{pressureBelow, node, float64(p)}
}

// PressureAbove holds when the total pressure of a node is at or above p,
// Pa, 0 or more. A reservoir is no such node.
func PressureAbove(node string, p units.Pressure) Condition {
	return Condition{pressureAbove, node, float64(p)}
}

// VapourBelow holds when the partial pressure of water in a node is at or below
// p, Pa, 0 or more: the dew point of the gas there. A reservoir is no such node.
func VapourBelow(node string, p units.Pressure) Condition {
	return Condition{vapourBelow, node, float64(p)}
}

// VapourShareBelow holds when the mole fraction of water vapour in the gas of a node
// is at or below x, 0 to 1: at x times another pressure this gas has its dew point
// there. An empty node has none. A reservoir is no such node.
func VapourShareBelow(node string, x units.MoleFraction) Condition {
	return Condition{vapourShareBelow, node, float64(x)}
}

// ReadingBelow holds when what a gauge feels is at or below p, Pa, 0 or more: the
// pressure at its node or, of a thermal gauge, the sum of the partial pressures
// times its sensitivities. Resolution, Ceiling and Bottom of its display play no
// part: it may hold at a p that the display does not show. A gauge at a reservoir
// is no such gauge.
func ReadingBelow(gauge string, p units.Pressure) Condition {
	return Condition{readingBelow, gauge, float64(p)}
}

// WaterBelow holds when a store contains at most m of water in any form, kg,
// 0 or more.
func WaterBelow(store string, m units.Mass) Condition {
	return Condition{waterBelow, store, float64(m)}
}

// IceBelow holds when a store contains at most m of ice, kg, 0 or more.
func IceBelow(store string, m units.Mass) Condition {
	return Condition{iceBelow, store, float64(m)}
}

// AdmittedAbove holds when a Run has admitted at least n of gas, mol, 0 or more,
// all species together, through the named link or feed.
func AdmittedAbove(way string, n units.Amount) Condition {
	return Condition{admittedAbove, way, float64(n)}
}

// String says the condition in words.
func (c Condition) String() string {
	switch c.kind {
	case pressureBelow:
		return fmt.Sprintf("pressure of %s at most %.4g Pa", c.of, c.value)
	case pressureAbove:
		return fmt.Sprintf("pressure of %s at least %.4g Pa", c.of, c.value)
	case vapourBelow:
		return fmt.Sprintf("water vapour in %s at most %.4g Pa", c.of, c.value)
	case vapourShareBelow:
		return fmt.Sprintf("water vapour in %s at most %.4g of the gas", c.of, c.value)
	case readingBelow:
		return fmt.Sprintf("reading of %s at most %.4g Pa", c.of, c.value)
	case waterBelow:
		return fmt.Sprintf("water in %s at most %.4g kg", c.of, c.value)
	case iceBelow:
		return fmt.Sprintf("ice in %s at most %.4g kg", c.of, c.value)
	case admittedAbove:
		return fmt.Sprintf("at least %.4g mol admitted through %s", c.value, c.of)
	}
	return "no condition"
}

// check finds what the condition refers to.
func (c Condition) check(s *Simulation) error {
	var ok bool
	what, unit, most := "node", "Pa", math.MaxFloat64
	switch c.kind {
	case pressureBelow, pressureAbove, vapourBelow, vapourShareBelow:
		if c.kind == vapourShareBelow {
			unit, most = "", 1
		}
		i, found := s.names.node[c.of]
		ok = found && !s.circuit.Nodes[i].Reservoir
	case readingBelow:
		what = "gauge"
		if g := s.gauge(c.of); g != nil {
			what = "volume at gauge"
			ok = !s.circuit.Nodes[s.names.node[g.Node]].Reservoir
		}
	case waterBelow, iceBelow:
		what, unit = "store", "kg"
		_, ok = s.names.store[c.of]
	case admittedAbove:
		what, unit = "link or feed", "mol"
		_, link := s.names.link[c.of]
		_, feed := s.names.feed[c.of]
		ok = link || feed
	}
	if !ok {
		return fmt.Errorf("vacuum.Condition: there is no %s %q", what, c.of)
	}
	return units.CheckRange("vacuum.Condition", "value", c.value, 0, most, unit)
}

// gauge finds a gauge by name, nil when there is none.
func (s *Simulation) gauge(name string) *Gauge {
	for i := range s.circuit.Gauges {
		if s.circuit.Gauges[i].Name == name {
			return &s.circuit.Gauges[i]
		}
	}
	return nil
}

// trigger is a condition bound to a system: it holds when eval is 0 or less.
type trigger struct {
	cond   Condition
	first  int // index of the first state it reads
	count  int
	node   int                 // whose temperature turns moles into pressure
	weight [MaxSpecies]float64 // of the moles of each species
	store  *sysStore
	scale  float64 // magnitude of the quantity, for the tolerance
	totals []int
}

// bind finds the states that the condition reads.
func (c Condition) bind(s *Simulation, a *assembly) trigger {
	tr := trigger{cond: c, scale: math.Max(c.value, 1e-300)}
	switch c.kind {
	case pressureBelow, pressureAbove, vapourBelow, vapourShareBelow, readingBelow:
		c.bindPressure(s, a, &tr)
	case waterBelow, iceBelow:
		place := s.names.store[c.of]
		seen := 0
		for i := range a.stores {
			if a.stores[i].node == place.node {
				if seen == place.index {
					tr.store = &a.stores[i]
				}
				seen++
			}
		}
		tr.first, tr.count = tr.store.state, len(tr.store.weight)
	case admittedAbove:
		for _, x := range a.crossings {
			if cr := s.crossings[x.crossing]; cr.Name == c.of && cr.Way.Enters() && cr.Way != InByPump {
				for k := range x.count {
					tr.totals = append(tr.totals, x.first+k)
				}
			}
		}
	}
	return tr
}

// bindPressure finds the moles at a node and what each species counts.
func (c Condition) bindPressure(s *Simulation, a *assembly, tr *trigger) {
	node := c.of
	var thermal *ThermalResponse
	if c.kind == readingBelow {
		g := s.gauge(c.of)
		node, thermal = g.Node, g.Thermal
	}
	if c.kind == vapourShareBelow {
		tr.scale *= float64(units.Atmosphere) // the vapour that this share is near ambient pressure
	}
	tr.node = s.names.node[node]
	tr.first, tr.count = a.nodes[tr.node].state, a.ns
	for k, sp := range a.species {
		tr.weight[k] = thermal.sensitivity(&s.names.gases[sp])
		if c.kind == vapourShareBelow { // vapour less x times all gas
			tr.weight[k] = -c.value
			if k == 0 && a.wet {
				tr.weight[k]++
			}
		}
	}
	if c.kind == vapourBelow {
		tr.count = 0
		if a.wet {
			tr.count = 1
		}
	}
}

// eval is the signed distance to the condition, 0 or less when it holds;
// state reads one component.
func (tr *trigger) eval(a *assembly, t float64, state func(i int) float64) float64 {
	switch tr.cond.kind {
	case pressureBelow, pressureAbove, vapourBelow, vapourShareBelow, readingBelow:
		n := &a.nodes[tr.node]
		sum := 0.0
		for k := range tr.count {
			sum += tr.weight[k] * math.Max(0, state(tr.first+k))
		}
		p := sum * n.perMoleAt(t)
		switch tr.cond.kind {
		case pressureAbove:
			return tr.cond.value - p
		case vapourShareBelow:
			return p
		}
		return p - tr.cond.value
	case waterBelow, iceBelow:
		var buf [8]float64
		y := buf[:0]
		for k := range tr.count {
			y = append(y, state(tr.first+k))
		}
		content := tr.store.store.Content(y)
		if tr.cond.kind == iceBelow {
			return float64(content.Ice) - tr.cond.value
		}
		return float64(content.Total()) - tr.cond.value
	}
	sum := 0.0
	for _, i := range tr.totals {
		sum += state(i)
	}
	return tr.cond.value - sum
}
