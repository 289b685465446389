package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// LeakLaw says how a leak's rate depends on the pressures at its two ends.
type LeakLaw int

// The laws of a leak from ambient pressure a into pressure p.
const (
	// LeakLaminar follows a² - p², the default: most leaks worth finding.
	LeakLaminar LeakLaw = iota
	// LeakMolecular follows a - p: very fine leaks.
	LeakMolecular
	// LeakChoked is constant below half the ambient pressure: an orifice. Above,
	// it follows the ellipse of ISO 6358 with critical ratio 0.5.
	LeakChoked
)

// String names the law.
func (l LeakLaw) String() string {
	switch l {
	case LeakLaminar:
		return "laminar"
	case LeakMolecular:
		return "molecular"
	case LeakChoked:
		return "choked"
	}
	return "unknown"
}

// Leak is a leak given by what it lets into a vacuum.
type Leak struct {
	// Rate is the throughput into vacuum at the temperature of the node it
	// enters and at the reservoir's pressure when the simulation began,
	// Pa·m³/s, above 0.
	Rate units.Throughput
	// Law is the dependence on the pressures; zero is LeakLaminar.
	Law LeakLaw
}

// Check reports the first field out of range.
func (l *Leak) Check() error {
	if err := units.CheckRange("", "Leak.Rate", float64(l.Rate), 1e-15, 1e3, "Pa·m³/s"); err != nil {
		return err
	}
	if l.Law < LeakLaminar || l.Law > LeakChoked {
		return fmt.Errorf("Leak.Law %d is not one of laminar, molecular, choked", int(l.Law))
	}
	return nil
}

// share is the leak's rate between pressure a outside and p inside as a share
// of its rate from reference pressure ref into vacuum; negative when gas
// leaves.
func (l *Leak) share(a, p, ref float64) float64 {
	switch l.Law {
	case LeakMolecular:
		return (a - p) / ref
	case LeakChoked:
		if p > a {
			return -chokedShare(p, a) / ref
		}
		return chokedShare(a, p) / ref
	}
	return (a - p) * (a + p) / (ref * ref)
}

// chokedShare is high·√(1 - ((r - b)/(1 - b))²) with r = low/high and b = 0.5,
// and high below b, written without cancellation at r = 1.
func chokedShare(high, low float64) float64 {
	if low <= 0.5*high {
		return high
	}
	return 2 * math.Sqrt((high-low)*low)
}
