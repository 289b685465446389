package rise

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// FarUncertainty is the factor by which PredictEqualisation leaves the final
// change smaller or larger than computed (common practice): how deep the far side
// was pulled depends on valves, oil and time more than a model knows.
const FarUncertainty = 3

// farSteps is how many alternatives cover FarUncertainty to either side.
const farSteps = 7

// PredictEqualisation computes how the reading at the node gauge changes after
// isolation because the parts of circuit c settle: its volumes and open passages
// alone, run from the pressures at the start for as long as a record of duration
// d, 1 to 1e7 s, needs at DefaultPace. Pumps, feeds, leaks and stores of water are left out,
// they are what the rise test looks for; links are open or closed as in c.
//
// at is the state at isolation, a sample of the simulated pull-down of c; its
// zero value means the fills that c starts with. By how much the other volumes
// differ from the gauge's is uncertain: alternatives for Options.Equalisation
// come back whose final changes reach from FarUncertainty times less to
// FarUncertainty times more than computed, each simulated with its own pressures
// (for volumes below the gauge's at most to FarUncertainty times less pressure).
// Their pace is DefaultPace, and the first reading is taken to follow isolation
// at once; set Pace and Since where more is known, or drop alternatives.
//
// It refuses a gauge that is joined to a reservoir, one that is joined to nothing,
// and parts that are already at one pressure within 0.1 %. An error of the
// simulation comes back wrapped.
func PredictEqualisation(ctx context.Context, c vacuum.Circuit, at vacuum.Sample, gauge string, d time.Duration) ([]Equalisation, error) {
	const fn = "rise.PredictEqualisation"
	if err := units.CheckRange(fn, "d", d.Seconds(), 1, 1e7, "s"); err != nil {
		return nil, err
	}
	parts, err := settlingParts(c, at, gauge)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", fn, err)
	}
	start, final := float64(parts.Nodes[0].Fill.Pressure), commonPressure(parts.Nodes)
	if math.Abs(final-start) <= 1e-3*final {
		return nil, fmt.Errorf("%s: node %q starts at %.4g Pa and ends at %.4g Pa, accepted a change of more than 0.1 %%: %w",
			fn, gauge, start, final, units.ErrOutOfRange)
	}
	var out []Equalisation
	half := math.Pow(FarUncertainty, 1.0/farSteps) // from the middle of an alternative to its bounds
	for i := range farSteps {
		factor := math.Pow(half, float64(2*i+1-farSteps))
		e, err := settle(ctx, scaled(parts, factor), half, time.Duration(DefaultPace*float64(d)))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", fn, err)
		}
		out = append(out, e)
	}
	return out, nil
}

// scaled is the circuit with the pressures differing from the first node's by
// factor as much.
func scaled(c vacuum.Circuit, factor float64) vacuum.Circuit {
	c.Nodes = slices.Clone(c.Nodes)
	first := float64(c.Nodes[0].Fill.Pressure)
	for i := range c.Nodes {
		f := &c.Nodes[i].Fill
		p := float64(f.Pressure)
		next := max(first+factor*(p-first), p/FarUncertainty)
		if p > 0 {
			f.Vapour *= units.Pressure(next / p)
		}
		f.Pressure = units.Pressure(next)
	}
	return c
}

// settle simulates the parts and makes the curve at the first node.
func settle(ctx context.Context, parts vacuum.Circuit, half float64, d time.Duration) (Equalisation, error) {
	start, final := float64(parts.Nodes[0].Fill.Pressure), commonPressure(parts.Nodes)
	sim, err := vacuum.NewSimulation(parts, &vacuum.Options{PressureScale: units.Pressure(math.Abs(final - start)), SampleChange: 0.01})
	if err != nil {
		return Equalisation{}, err
	}
	if _, err := sim.Run(ctx, d+time.Second); err != nil {
		return Equalisation{}, err
	}
	e := Equalisation{Pace: DefaultPace}
	for _, s := range sim.Record().Samples {
		t := s.Time.Seconds()
		if n := len(e.Times); n > 0 && t <= e.Times[n-1] {
			continue
		}
		e.Times = append(e.Times, t)
		e.Shares = append(e.Shares, (float64(s.Pressure[0])-start)/(final-start))
	}
	e.Shares[0] = 0
	near, far := units.Pressure((final-start)/half), units.Pressure((final-start)*half)
	e.Least, e.Most = min(near, far), max(near, far)
	return e, nil
}

// settlingParts is the part of c that gas can reach from the gauge, which comes
// first, without anything but gas and passages.
func settlingParts(c vacuum.Circuit, at vacuum.Sample, gauge string) (vacuum.Circuit, error) {
	index, column, volumes := map[string]int{}, map[string]int{}, 0
	for i, n := range c.Nodes {
		index[n.Name] = i
		if !n.Reservoir { // samples leave reservoirs out
			column[n.Name] = volumes
			volumes++
		}
	}
	if n := len(at.Pressure); n != 0 && (n != volumes || len(at.Vapour) != n) {
		return c, fmt.Errorf("the sample has %d pressures and %d of vapour, the circuit %d volumes, accepted equal numbers: %w",
			n, len(at.Vapour), volumes, units.ErrOutOfRange)
	}
	if _, ok := index[gauge]; !ok {
		return c, fmt.Errorf("gauge: the circuit has no node %q, accepted are %q", gauge, slices.Sorted(maps.Keys(column)))
	}
	out := vacuum.Circuit{Gases: c.Gases}
	reached := []string{gauge}
	for i := 0; i < len(reached); i++ {
		node := c.Nodes[index[reached[i]]]
		if node.Reservoir {
			return c, fmt.Errorf("the gauge's node %q is joined to reservoir %q: close the link, an isolated part is needed", gauge, node.Name)
		}
		out.Nodes = append(out.Nodes, bare(node, at, column[node.Name]))
		for _, l := range c.Links {
			if l.Closed || l.Leak.Rate > 0 || (l.From != node.Name && l.To != node.Name) {
				continue
			}
			for _, end := range []string{l.From, l.To} {
				if _, ok := index[end]; ok && !slices.Contains(reached, end) {
					reached = append(reached, end)
				}
			}
			if l.From == node.Name {
				out.Links = append(out.Links, l)
			}
		}
	}
	if len(reached) == 1 {
		return c, fmt.Errorf("gauge: no open passage leads from node %q, nothing settles", gauge)
	}
	return out, nil
}

// bare is a node with the gas of a sample and without stores.
func bare(n vacuum.Node, at vacuum.Sample, i int) vacuum.Node {
	n.Stores = nil
	if n.TemperatureAt != nil {
		n.Temperature, n.TemperatureAt = n.TemperatureAt(at.Time), nil
	}
	if len(at.Pressure) > 0 {
		n.Fill.Pressure, n.Fill.Vapour = at.Pressure[i], min(at.Vapour[i], at.Pressure[i])
	}
	return n
}

// commonPressure is where volumes at their temperatures end, Σ(p V/T)/Σ(V/T).
func commonPressure(nodes []vacuum.Node) float64 {
	var gas, room float64
	for _, n := range nodes {
		share := float64(n.Volume) / float64(n.Temperature)
		gas, room = gas+share*float64(n.Fill.Pressure), room+share
	}
	return gas / room
}
