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
	// it follows the ellipse of ISO 6358 with critical ratio 0.5, and within 0.1 %
	// of the ambient pressure it is linear.
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
	// Pa·m³/s, 1e-15 to 1e3.
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
		return fmt.Errorf("Leak.Law %d is not one of laminar, molecular, choked: %w", int(l.Law), units.ErrOutOfRange)
	}
	return nil
}

// share is the leak's rate between pressure a outside and p inside as a share
// of its rate from reference pressure ref into vacuum, negative when gas
// leaves, and its derivative by p.
func (l *Leak) share(a, p, ref float64) (share, slope float64) {
	switch l.Law {
	case LeakMolecular:
		return (a - p) / ref, -1 / ref
	case LeakChoked:
		if p > a {
			v, byHigh, _ := chokedShare(p, a)
			return -v / ref, -byHigh / ref
		}
		v, _, byLow := chokedShare(a, p)
		return v / ref, byLow / ref
	}
	return (a - p) * (a + p) / (ref * ref), -2 * p / (ref * ref)
}

// chokedShare is high·√(1 - ((r - b)/(1 - b))²) with r = low/high and b = 0.5,
// high below b, and linear in the pressure difference above r = 0.999, where
// an orifice is no longer turbulent and the root would be infinitely steep.
// Its derivatives by both pressures follow.
func chokedShare(high, low float64) (share, byHigh, byLow float64) {
	const linear = 0.999
	switch {
	case low <= 0.5*high:
		return high, 1, 0
	case low <= linear*high:
		root := math.Sqrt((high - low) * low)
		return 2 * root, low / root, (high - 2*low) / root
	}
	steep := 2 * math.Sqrt(linear/(1-linear))
	return (high - low) * steep, steep, -steep
}
