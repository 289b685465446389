package vacuum_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

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

func BenchmarkNetwork(b *testing.B) {
	for _, n := range []int{50, 200, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			c, far := network(n)
			for b.Loop() {
				sim, err := vacuum.NewSimulation(c, nil)
				require.NoError(b, err)
				stop, err := sim.Run(context.Background(), 240*time.Hour, vacuum.PressureBelow(far, 500*units.Micron))
				require.NoError(b, err)
				require.Equal(b, 0, stop.Condition)
				st := sim.Record().Stats
				b.ReportMetric(float64(st.Accepted), "steps")
				b.ReportMetric(stop.Time.Seconds(), "sim-s")
				l := sim.Ledger()
				b.ReportMetric(l.Imbalance(), "imbalance")
			}
		})
	}
}
