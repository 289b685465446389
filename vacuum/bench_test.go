package vacuum_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// network is a chain of n nodes with a side branch at every third, 0.05 L and
// 1 m of 10 mm tube per node, pumped at its first node.
func network(n int) (vacuum.Circuit, string) {
	c := vacuum.Circuit{Pumps: []vacuum.Pump{{Name: "pump", Node: "n0", Displacement: 6 * units.CFM, BlankOff: 2}}}
	trunk := 0
	for i := range n {
		name := fmt.Sprintf("n%d", i)
		c.Nodes = append(c.Nodes, vacuum.Node{
			Name: name, Volume: 0.05 * units.Litre, Temperature: units.Celsius(20),
			Fill: vacuum.Fill{Pressure: units.Atmosphere},
		})
		if i == 0 {
			continue
		}
		c.Links = append(c.Links, vacuum.Link{
			Name: "to " + name, From: fmt.Sprintf("n%d", trunk), To: name,
			Passage: vacuum.Tube(10*units.Millimetre, units.Metre),
		})
		if i%3 != 0 {
			trunk = i
		}
	}
	return c, fmt.Sprintf("n%d", trunk)
}

// expTime is the time of one math.Exp in this run, the yardstick, in seconds.
func expTime() float64 {
	const calls = 1_000_000
	best := math.Inf(1)
	for range 5 {
		start, sum := time.Now(), 0.0
		for i := range calls {
			sum += math.Exp(-float64(i&1023) * 0.01)
		}
		if d := time.Since(start).Seconds(); sum > 0 {
			best = math.Min(best, d)
		}
	}
	return best / calls
}

// pull runs a circuit from its start to 500 micron at a node, over and over.
func pull(b *testing.B, c vacuum.Circuit, far string, opt *vacuum.Options) {
	b.ReportAllocs()
	exp := expTime()
	var sim *vacuum.Simulation
	for b.Loop() {
		sim = simulate(b, c, opt)
		until(b, sim, 2400*time.Hour, vacuum.PressureBelow(far, 500*units.Micron))
	}
	st := sim.Record().Stats
	perStep := b.Elapsed().Seconds() / float64(b.N) / float64(st.Accepted)
	b.ReportMetric(float64(st.Accepted), "steps")
	b.ReportMetric(perStep/exp, "exp/step")
	b.ReportMetric(perStep/exp/float64(len(c.Nodes)), "exp/step/node")
}

// The two-hose circuit from the atmosphere to 500 micron, with 5 g of water and
// without, at three tolerances.
func BenchmarkTwoHoses(b *testing.B) {
	for _, tol := range []float64{1e-4, 1e-6, 1e-8} {
		for _, wet := range []bool{true, false} {
			c, name := wetTwoHoses(b), "wet"
			if !wet {
				name, c.Nodes[1].Stores = "dry", nil
			}
			b.Run(fmt.Sprintf("%s/%g", name, tol), func(b *testing.B) {
				pull(b, c, "low side", &vacuum.Options{RelTol: tol})
			})
		}
	}
}

// Networks to 500 micron at the far end. Cost per step and node should not
// depend on the size: that is a cost exponent of one.
func BenchmarkNetwork(b *testing.B) {
	for _, n := range []int{50, 200, 1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			c, far := network(n)
			pull(b, c, far, &vacuum.Options{MaxSamples: 100, SampleChange: 1})
		})
	}
}
