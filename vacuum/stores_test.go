package vacuum_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

func pow(x, y float64) float64 { return math.Pow(x, y) }

// randomStores draws the stores of a node: none, or one or two puddles.
func randomStores(t *rapid.T, node int) []vacuum.PlacedStore {
	var all []vacuum.PlacedStore
	for i := range max(0, rapid.IntRange(-2, 2).Draw(t, "puddles")) {
		all = append(all, vacuum.PlacedStore{Name: fmt.Sprintf("puddle %d in %d", i, node), Store: moisture.Puddle{
			Mass:       units.Mass(logUniform(t, "water", 1e-6, 0.05)),
			Area:       units.Area(logUniform(t, "area", 1e-4, 0.1)),
			HeatSupply: units.HeatConductance(logUniform(t, "metal", 1e-2, 10)),
			Gap:        units.Length(rapid.SampledFrom([]float64{0, 2e-3}).Draw(t, "gap")),
			Film:       units.Length(logUniform(t, "film", 1e-4, 0.05)),
			Bore:       units.Length(rapid.SampledFrom([]float64{0, 1e-2}).Draw(t, "sweep bore")),
		}})
	}
	return all
}

// wetTwoHoses is a two-sided circuit on two hoses with 5 g of water.
func wetTwoHoses(t testing.TB) vacuum.Circuit {
	room := units.Celsius(24)
	air, err := vacuum.HumidAir(units.Atmosphere, room, 0.7)
	require.NoError(t, err)
	node := func(name string, v units.Volume) vacuum.Node {
		return vacuum.Node{Name: name, Volume: v, Temperature: room, Fill: air}
	}
	c := vacuum.Circuit{
		Nodes: []vacuum.Node{node("high side", 4*units.Litre), node("low side", 5*units.Litre), node("manifold", 0.15*units.Litre)},
		Links: []vacuum.Link{
			{Name: "expansion device", From: "high side", To: "low side", Passage: vacuum.Capillary(1.2*units.Millimetre, units.Metre)},
			{Name: "high hose", From: "high side", To: "manifold", Passage: vacuum.Series(vacuum.CoreTool(false), vacuum.Hose(6*units.Millimetre, 1.5*units.Metre))},
			{Name: "low hose", From: "low side", To: "manifold", Passage: vacuum.Series(vacuum.CoreTool(false), vacuum.Hose(6*units.Millimetre, 1.5*units.Metre))},
		},
		Pumps: []vacuum.Pump{{Name: "pump", Node: "manifold", Displacement: 6 * units.CFM, BlankOff: 2, BallastBlankOff: 20, VapourTolerance: 1500}},
	}
	c.Nodes[1].Stores = []vacuum.PlacedStore{{Name: "low spot", Store: moisture.Puddle{
		Mass: 5 * units.Gram, Area: 40 * units.SquareCentimetre, HeatSupply: 0.8, Film: 5 * units.Millimetre,
	}}}
	return c
}

// A wet run keeps its water ledger to 1e-9 at every tolerance, and its end time
// converges as the tolerance is tightened.
func TestWetRunConverges(t *testing.T) {
	var times []float64
	for _, tol := range []float64{1e-4, 1e-6, 1e-8} {
		sim, err := vacuum.NewSimulation(wetTwoHoses(t), &vacuum.Options{RelTol: tol})
		require.NoError(t, err)
		stop, err := sim.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow("low side", 500*units.Micron))
		require.NoError(t, err)
		require.Equal(t, 0, stop.Condition)
		l := sim.Ledger()
		require.NoError(t, l.Check())
		require.Less(t, l.Imbalance(), 1e-10)
		times = append(times, stop.Time.Seconds())
		t.Logf("tolerance %g: %v s, %+v, left %v", tol, stop.Time.Seconds(), sim.Record().Stats, l.Inside())
	}
	require.InEpsilon(t, times[2], times[1], 1e-4)
	require.InEpsilon(t, times[2], times[0], 1e-2)
}

// Vapour from a boiling volume condenses in the next and sweeps next to all air out of
// it. The trace that stays hinders the condensation; once its round-off did so too, and
// the second stage took more than 400,000 steps. It takes about 170, the first 700.
func TestCondensationNextToATraceOfAir(t *testing.T) {
	puddle := func(mass units.Mass, area units.Area, supply units.HeatConductance, gap, film units.Length) moisture.Puddle {
		return moisture.Puddle{Mass: mass, Area: area, HeatSupply: supply, Gap: gap, Film: film}
	}
	c := vacuum.Circuit{
		Links: []vacuum.Link{
			{Name: "tube", From: "boiler", To: "condenser", Passage: vacuum.Tube(1.0367e-3, 1.0157e-3)},
			{Name: "core", From: "condenser", To: "damp", Passage: vacuum.ValveCore()},
			{Name: "end", From: "damp", To: "airy", Passage: vacuum.Series(vacuum.ValveCore(), vacuum.Tube(0.5e-3, 1e-3))},
		},
		Pumps: []vacuum.Pump{{Name: "pump", Node: "boiler", Displacement: 1e-5, BlankOff: 0.1, Ballast: true, VapourTolerance: 1500}},
	}
	for _, n := range []struct {
		name  string
		water moisture.Puddle
	}{
		{"boiler", puddle(0.05, 55e-4, 0.01, 2e-3, 1e-4)},
		{"condenser", puddle(1e-6, 1e-4, 8.129, 0, 26.1e-3)},
		{"damp", puddle(1e-6, 1e-4, 0.01, 0, 1.3e-4)},
		{"airy", puddle(1e-6, 0.1, 0.01, 0, 1e-4)},
	} {
		c.Nodes = append(c.Nodes, vacuum.Node{
			Name: n.name, Volume: 10 * units.Millilitre, Temperature: 273.22, Fill: vacuum.Fill{Pressure: 103.6 * units.Kilopascal},
			Stores: []vacuum.PlacedStore{{Name: "water of the " + n.name, Store: n.water}},
		})
	}
	sim := simulate(t, c, &vacuum.Options{MaxSteps: 2000})
	require.NoError(t, sim.SetTemperature("boiler", units.Celsius(60)))
	pass(t, sim, 30*time.Minute)
	require.NoError(t, sim.SetPump("pump", false, false))
	pass(t, sim, 15*time.Minute)
	balanced(t, sim)
}
