package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Gauge reads the total pressure of the node it sits at. How a thermal gauge's
// reading depends on the kind of gas is left out.
type Gauge struct {
	// Name is the gauge's handle.
	Name string
	// Node names the node it reads.
	Node string
	// Resolution is the step of its display, Pa, 0 or more; zero means none.
	Resolution units.Pressure
	// Ceiling is the highest pressure it shows, Pa; zero means no limit.
	Ceiling units.Pressure
}

// Check reports the first field out of range.
func (g *Gauge) Check() error {
	if err := units.CheckRange("", "Resolution", float64(g.Resolution), 0, 1e5, "Pa"); err != nil {
		return fmt.Errorf("vacuum.Gauge: %q: %w", g.Name, err)
	}
	if err := units.CheckRange("", "Ceiling", float64(g.Ceiling), 0, maxPressure, "Pa"); err != nil {
		return fmt.Errorf("vacuum.Gauge: %q: %w", g.Name, err)
	}
	return nil
}

// Reading is what a gauge shows.
type Reading struct {
	// Pressure shown, Pa; zero when OverRange.
	Pressure units.Pressure
	// OverRange is true when the pressure is above the gauge's Ceiling and it
	// shows no number.
	OverRange bool
}

// Read is what the gauge shows at pressure p, Pa.
func (g *Gauge) Read(p units.Pressure) Reading {
	if g.Ceiling > 0 && p > g.Ceiling {
		return Reading{OverRange: true}
	}
	if g.Resolution > 0 {
		p = units.Pressure(math.Round(float64(p/g.Resolution))) * g.Resolution
	}
	return Reading{Pressure: p}
}
