package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Way is a way by which gas enters or leaves a circuit.
type Way int

// The ways. Each is integrated on its own; none is the difference of others.
const (
	ByPumpExhaust Way = iota // out through a pump
	ByPumpOil                // water kept back by a pump's oil
	OutByLink                // out through a link or leak to a reservoir
	InByLink                 // in through a link or leak from a reservoir
	InByFeed                 // in by a metered feed
	InByPump                 // back through a pump, at its blank-off and from its oil
)

// String names the way in words.
func (w Way) String() string {
	switch w {
	case ByPumpExhaust:
		return "pump exhaust"
	case ByPumpOil:
		return "pump oil"
	case OutByLink:
		return "out through"
	case InByLink:
		return "in through"
	case InByFeed:
		return "fed by"
	case InByPump:
		return "back through"
	}
	return "unknown"
}

// Enters is true for the ways by which gas comes in.
func (w Way) Enters() bool { return w == InByLink || w == InByFeed || w == InByPump }

// Crossing is what has passed by one way since the simulation began.
type Crossing struct {
	Way  Way
	Name string // of the pump, link or feed
	// Amounts by species in the order of Ledger.Gases, mol, 0 or more.
	Amounts []units.Amount
}

// Water is the water among the amounts, kg.
func (c Crossing) Water() units.Mass { return waterMass(float64(c.Amounts[0])) }

// StoreWater is the water in one store.
type StoreWater struct {
	Store, Node string
	Content     moisture.Content
}

// NodeGas is the gas in one node.
type NodeGas struct {
	Node string
	// Amounts by species in the order of Ledger.Gases, mol.
	Amounts []units.Amount
}

// Water is the vapour in the node, kg.
func (n NodeGas) Water() units.Mass { return waterMass(float64(n.Amounts[0])) }

// Ledger says where every gram of water and every mole of gas is: inside by
// node and store, and what has entered and left by which way.
type Ledger struct {
	// Gases names the species; the first is water.
	Gases []string
	// Initial is what the circuit held when the simulation began, by species,
	// mol; for water with what was in the stores.
	Initial []units.Amount
	// Nodes and Stores say what is inside now.
	Nodes  []NodeGas
	Stores []StoreWater
	// Crossings lists every way that was ever open.
	Crossings []Crossing
}

// waterMass turns moles of water into kg.
func waterMass(mol float64) units.Mass { return units.Mass(mol * float64(moisture.MolarMass)) }

// InitialWater is the water that the circuit held at the beginning, kg.
func (l *Ledger) InitialWater() units.Mass { return waterMass(float64(l.Initial[0])) }

// Vapour is the water in the gas of all nodes, kg.
func (l *Ledger) Vapour() units.Mass {
	var m units.Mass
	for _, n := range l.Nodes {
		m += n.Water()
	}
	return m
}

// Stored is the water in all stores, by form, kg.
func (l *Ledger) Stored() moisture.Content {
	var c moisture.Content
	for _, s := range l.Stores {
		c = c.Add(s.Content)
	}
	return c
}

// Inside is all the water in the circuit, kg.
func (l *Ledger) Inside() units.Mass { return l.Vapour() + l.Stored().Total() }

// Entered is the water that came in by all ways, kg.
func (l *Ledger) Entered() units.Mass { return l.crossed(true) }

// Left is the water that went out by all ways, kg.
func (l *Ledger) Left() units.Mass { return l.crossed(false) }

func (l *Ledger) crossed(enters bool) units.Mass {
	var m units.Mass
	for _, c := range l.Crossings {
		if c.Way.Enters() == enters {
			m += c.Water()
		}
	}
	return m
}

// Circulated is the water that went into the oil of pumps and came back out of
// it to their inlets, kg: a part of Entered and of Left that is neither new nor
// gone. A pump whose oil gives off vapour draws much of it again at once.
func (l *Ledger) Circulated() units.Mass {
	back := map[string]units.Mass{}
	for _, c := range l.Crossings {
		if c.Way == InByPump {
			back[c.Name] = c.Water()
		}
	}
	var m units.Mass
	for _, c := range l.Crossings {
		if c.Way == ByPumpOil {
			m += min(c.Water(), back[c.Name])
		}
	}
	return m
}

// Residual is what the water ledger fails to close by, kg: initial plus
// entered, minus inside, minus left.
func (l *Ledger) Residual() units.Mass {
	return l.InitialWater() + l.Entered() - l.Inside() - l.Left()
}

// Check returns an error when the water ledger does not close to 1e-9 of the
// initial water plus the water entered less what Circulated, plus 1e-15 kg.
func (l *Ledger) Check() error {
	limit := 1e-9*float64(l.InitialWater()+l.Entered()-l.Circulated()) + 1e-15
	if r := float64(l.Residual()); !(math.Abs(r) <= limit) {
		return fmt.Errorf("vacuum.Ledger: water does not balance: residual %g kg, accepted within %g kg", r, limit)
	}
	return nil
}

// Imbalance is the largest relative imbalance over all species but water:
// |initial + entered - inside - left| over initial plus entered. Species that
// were never present do not count.
func (l *Ledger) Imbalance() float64 {
	worst := 0.0
	for k := 1; k < len(l.Gases); k++ {
		base := float64(l.Initial[k])
		rest := base
		for _, c := range l.Crossings {
			a := float64(c.Amounts[k])
			if c.Way.Enters() {
				base += a
				rest += a
			} else {
				rest -= a
			}
		}
		for _, n := range l.Nodes {
			rest -= float64(n.Amounts[k])
		}
		if base > 0 {
			worst = math.Max(worst, math.Abs(rest)/base)
		}
	}
	return worst
}

// Admitted is the amount of one species that came in by all ways, mol; zero
// for a name that is not among Gases.
func (l *Ledger) Admitted(gas string) units.Amount {
	var sum units.Amount
	for k, name := range l.Gases {
		if name != gas {
			continue
		}
		for _, c := range l.Crossings {
			if c.Way.Enters() {
				sum += c.Amounts[k]
			}
		}
	}
	return sum
}
