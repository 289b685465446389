package vacuum_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// randomCircuit draws a tree of volumes with an extra link now and then, any of
// the passages, a pump, and perhaps a leak, a vent and a feed.
func randomCircuit(t *rapid.T) vacuum.Circuit {
	room := units.Celsius(rapid.Float64Range(-10, 40).Draw(t, "room"))
	air, err := vacuum.HumidAir(units.Pressure(rapid.Float64Range(7e4, 1.05e5).Draw(t, "ambient")), room, units.RelativeHumidity(rapid.Float64Range(0, 1).Draw(t, "humidity")))
	if err != nil {
		t.Fatal(err)
	}
	c := vacuum.Circuit{Nodes: []vacuum.Node{{Name: "ambient", Reservoir: true, Temperature: room, Fill: air}}}
	n := rapid.IntRange(1, 7).Draw(t, "volumes")
	link := func(name, from, to string) {
		c.Links = append(c.Links, vacuum.Link{Name: name, From: from, To: to, Passage: randomPassage(t), Closed: rapid.IntRange(0, 5).Draw(t, "shut") == 0})
	}
	for i := range n {
		c.Nodes = append(c.Nodes, vacuum.Node{
			Name: fmt.Sprint(i), Volume: units.Volume(logUniform(t, "volume", 1e-5, 0.1)), Temperature: room, Fill: air,
			Stores: randomStores(t, i),
		})
		if i > 0 {
			link(fmt.Sprint("to ", i), fmt.Sprint(rapid.IntRange(0, i-1).Draw(t, "parent")), fmt.Sprint(i))
		}
	}
	if n > 2 && rapid.Bool().Draw(t, "loop") {
		link("loop", "0", fmt.Sprint(n-1))
	}
	c.Pumps = []vacuum.Pump{{
		Name: "pump", Node: "0", Displacement: units.VolumeFlow(logUniform(t, "speed", 1e-5, 1e-2)),
		BlankOff: units.Pressure(logUniform(t, "blank-off", 0.1, 50)), Ballast: rapid.Bool().Draw(t, "ballast"), VapourTolerance: 1500,
	}}
	last := fmt.Sprint(n - 1)
	if rapid.Bool().Draw(t, "leaks") {
		c.Links = append(c.Links, vacuum.Link{Name: "leak", From: "ambient", To: last, Leak: vacuum.Leak{
			Rate: units.Throughput(logUniform(t, "leak", 1e-8, 1e-2)), Law: vacuum.LeakLaw(rapid.IntRange(0, 2).Draw(t, "law")),
		}})
	}
	c.Links = append(c.Links, vacuum.Link{Name: "vent", From: last, To: "ambient", Passage: randomPassage(t), Closed: true})
	c.Feeds = []vacuum.Feed{{Name: "nitrogen", Node: last, Moisture: 5e-6}}
	return c
}

func logUniform(t *rapid.T, name string, lo, hi float64) float64 {
	return lo * pow(hi/lo, rapid.Float64Range(0, 1).Draw(t, name))
}

// randomPassage draws one to three parts.
func randomPassage(t *rapid.T) vacuum.Passage {
	var all []vacuum.Passage
	for range rapid.IntRange(1, 3).Draw(t, "parts") {
		bore := units.Length(logUniform(t, "bore", 5e-4, 0.03))
		length := units.Length(logUniform(t, "length", 1e-3, 10))
		switch rapid.IntRange(0, 3).Draw(t, "part") {
		case 0:
			all = append(all, vacuum.Tube(bore, length))
		case 1:
			all = append(all, vacuum.Orifice(bore))
		case 2:
			all = append(all, vacuum.Hose(bore, length))
		case 3:
			all = append(all, vacuum.ValveCore())
		}
	}
	return vacuum.Series(all...)
}

// A run never dies on a trial state, and every balance closes, whatever the
// circuit and whatever is opened, pumped, fed and vented in turn. One stage in
// two takes less than 100 steps, one in a hundred more than 600; of 100,000
// stages none took more than 3000.
func TestRandomCircuitsBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sim, err := vacuum.NewSimulation(randomCircuit(t), &vacuum.Options{MaxSteps: 5000})
		if err != nil {
			t.Fatal(err)
		}
		run := func(what string, d time.Duration) {
			if _, err := sim.Run(context.Background(), d); err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			l := sim.Ledger()
			if err := l.Check(); err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			if im := l.Imbalance(); im > 1e-10 {
				t.Fatalf("%s: imbalance %g", what, im)
			}
		}
		run("pull", 20*time.Minute)
		require.NoError(t, sim.SetPump("pump", false, false))
		require.NoError(t, sim.SetFeed("nitrogen", units.MolarFlow(logUniform(t, "flow", 1e-5, 1e-2))))
		run("fill", 30*time.Second)
		require.NoError(t, sim.SetLink("vent", true))
		run("sweep", 2*time.Minute)
		require.NoError(t, sim.SetLink("vent", false))
		require.NoError(t, sim.SetFeed("nitrogen", 0))
		require.NoError(t, sim.SetTemperature("0", units.Celsius(60)))
		require.NoError(t, sim.SetPump("pump", true, true))
		run("second pull", 3*time.Hour)
		require.NoError(t, sim.SetPump("pump", false, false))
		run("watch", 15*time.Minute)
		for _, s := range sim.Record().Samples {
			for i, p := range s.Pressure {
				if !(p >= 0 && p < 1e9 && s.Vapour[i] >= 0 && s.Vapour[i] <= p*(1+1e-12)) {
					t.Fatalf("at %v node %d: pressure %v, vapour %v", s.Time, i, p, s.Vapour[i])
				}
			}
		}
	})
}

// In a dry circuit that is only pumped, no pressure rises above where it began
// by more than the tolerance, nor does the amount of gas from sample to sample at the
// ends of steps, and none is negative. Within a step a sample is off by up to some ten
// times the tolerance.
func TestPullDownIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomCircuit(t)
		for i := range c.Nodes {
			c.Nodes[i].Stores = nil
		}
		c.Pumps[0].Return = vacuum.NoReturn
		c.Links = slices.DeleteFunc(c.Links, func(l vacuum.Link) bool { return l.Leak.Rate > 0 })
		sim, err := vacuum.NewSimulation(c, &vacuum.Options{MaxSteps: 5000, SampleEvery: 2 * time.Hour})
		require.NoError(t, err)
		_, err = sim.Run(context.Background(), 2*time.Hour)
		require.NoError(t, err)
		start := float64(c.Nodes[1].Fill.Pressure)
		gas := math.Inf(1)
		for _, s := range sim.Record().Samples {
			sum, tolerated := 0.0, 1e-6*gas
			for i, p := range s.Pressure {
				if !(float64(p) >= 0 && float64(p) <= start*(1+1e-5)) {
					t.Fatalf("at %v node %d: %v Pa, began at %v", s.Time, i, float64(p), start)
				}
				sum += float64(p) * float64(c.Nodes[i+1].Volume)
				tolerated += 1e-6 * 50 * float64(c.Nodes[i+1].Volume) // PressureScale
			}
			if sum > gas+tolerated {
				t.Fatalf("at %v: the gas grows from %g to %g Pa·m³", s.Time, gas, sum)
			}
			gas = sum
		}
	})
}
