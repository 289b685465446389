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
