package vacuum

import (
	"fmt"

	"example.com/drydown/units"
)

// Lag is a part of the circuit whose pressure a gauge elsewhere does not tell.
type Lag struct {
	// Node that lags, and its pressure, Pa.
	Node     string
	Pressure units.Pressure
	// Gauge and Shown are the gauge that misleads and the pressure at its node, Pa.
	Gauge string
	Shown units.Pressure
	// CutOff is true when no open way leads from the node to a running pump.
	CutOff bool
}

// Lagging lists the nodes whose pressure now exceeds that at the node of the
// named gauge by more than the factor, 1 to 1e6, in the circuit's order: the far
// side of a pull through one hose, where the near gauge reads deep vacuum. It
// is an error when there is no such gauge.
func (s *Simulation) Lagging(gauge string, factor float64) ([]Lag, error) {
	const fn = "vacuum.Simulation.Lagging"
	g, ok := s.names.gauge[gauge]
	if !ok {
		return nil, fmt.Errorf("%s: there is no gauge %q", fn, gauge)
	}
	if err := units.CheckRange(fn, "factor", factor, 1, 1e6, ""); err != nil {
		return nil, err
	}
	cut := map[string]bool{}
	for _, name := range s.CutOff() {
		cut[name] = true
	}
	shown := s.pressureAt(s.names.node[s.circuit.Gauges[g].Node])
	var lags []Lag
	for i := range s.circuit.Nodes {
		n := &s.circuit.Nodes[i]
		if p := s.pressureAt(i); !n.Reservoir && float64(p) > factor*float64(shown) {
			lags = append(lags, Lag{Node: n.Name, Pressure: p, Gauge: gauge, Shown: shown, CutOff: cut[n.Name]})
		}
	}
	return lags, nil
}

// String is the warning in one sentence.
func (l Lag) String() string {
	text := fmt.Sprintf("%s is still at %s while %s stands at %s", l.Node, l.Pressure.WithMicron(), l.Gauge, l.Shown.WithMicron())
	if l.CutOff {
		return text + "; it is cut off from the pump"
	}
	return text
}
