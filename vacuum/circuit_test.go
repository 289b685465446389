package vacuum_test

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// twoSides is a two-sided circuit: a near side with the pump's hose, a far side
// behind a restriction, and the open air.
func twoSides(restriction vacuum.Passage) vacuum.Circuit {
	fill := vacuum.Fill{Pressure: units.Atmosphere}
	room := units.Celsius(20)
	return vacuum.Circuit{
		Nodes: []vacuum.Node{
			{Name: "near", Volume: 4 * units.Litre, Temperature: room, Fill: fill},
			{Name: "far", Volume: 4 * units.Litre, Temperature: room, Fill: fill},
			{Name: "inlet", Volume: 0.2 * units.Litre, Temperature: room, Fill: fill},
			{Name: "ambient", Reservoir: true, Temperature: room, Fill: fill},
		},
		Links: []vacuum.Link{
			{Name: "restriction", From: "far", To: "near", Passage: restriction},
			{Name: "hose", From: "near", To: "inlet", Passage: vacuum.Hose(8*units.Millimetre, 1.5*units.Metre)},
			{Name: "vent", From: "near", To: "ambient", Passage: vacuum.Orifice(2 * units.Millimetre), Closed: true},
		},
		Pumps: []vacuum.Pump{{Name: "pump", Node: "inlet", Displacement: 6 * units.CFM, BlankOff: 2}},
	}
}

// Every defect gets one error that names the part; none panics.
func TestCircuitRefusals(t *testing.T) {
	capillary := vacuum.Capillary(1*units.Millimetre, units.Metre)
	for _, c := range []struct {
		name, text string
		outOfRange bool
		spoil      func(*vacuum.Circuit)
	}{
		{"no nodes", "no nodes", false, func(c *vacuum.Circuit) { c.Nodes = nil }},
		{"two of a name", `two nodes are named "near"`, false, func(c *vacuum.Circuit) { c.Nodes[1].Name = "near" }},
		{"nameless", "node 2 has no name", false, func(c *vacuum.Circuit) { c.Nodes[1].Name = "" }},
		{"lonely node", `node "attic" has no link, pump or feed`, false, func(c *vacuum.Circuit) {
			c.Nodes = append(c.Nodes, vacuum.Node{Name: "attic", Volume: 1, Temperature: 300})
		}},
		{"zero volume", `node "far": Volume = 0 m³`, true, func(c *vacuum.Circuit) { c.Nodes[1].Volume = 0 }},
		{"negative volume", `node "far": Volume = -1 m³`, true, func(c *vacuum.Circuit) { c.Nodes[1].Volume = -1 }},
		{"NaN volume", `node "far": Volume = NaN m³`, true, func(c *vacuum.Circuit) { c.Nodes[1].Volume = units.Volume(math.NaN()) }},
		{"infinite pressure", `Fill.Pressure = +Inf Pa`, true, func(c *vacuum.Circuit) { c.Nodes[1].Fill.Pressure = units.Pressure(math.Inf(1)) }},
		{"celsius for kelvin", `Temperature = 20 K, accepted 150 to 600 K`, true, func(c *vacuum.Circuit) { c.Nodes[1].Temperature = 20 }},
		{"more vapour than gas", `Fill.Vapour`, true, func(c *vacuum.Circuit) { c.Nodes[1].Fill.Vapour = 2 * units.Atmosphere }},
		{"unknown gas", `"krypton" is not one of`, false, func(c *vacuum.Circuit) { c.Nodes[1].Fill.Gas = "krypton" }},
		{"no such end", `link "hose": there is no node "pantry"`, false, func(c *vacuum.Circuit) { c.Links[1].To = "pantry" }},
		{"loop", `joins node "near" to itself`, false, func(c *vacuum.Circuit) { c.Links[1].To = "near" }},
		{"zero bore", `link "restriction"`, true, func(c *vacuum.Circuit) { c.Links[0].Passage = vacuum.Capillary(0, 1) }},
		{"negative bore", `link "restriction"`, true, func(c *vacuum.Circuit) { c.Links[0].Passage = vacuum.Capillary(-1e-3, 1) }},
		{"no passage", `link "restriction"`, false, func(c *vacuum.Circuit) { c.Links[0].Passage = nil }},
		{"pump on a reservoir", `node "ambient" is a reservoir`, false, func(c *vacuum.Circuit) { c.Pumps[0].Node = "ambient" }},
		{"no displacement", `"pump": Displacement = 0 m³/s`, true, func(c *vacuum.Circuit) { c.Pumps[0].Displacement = 0 }},
		{"leak from a volume", "comes from a reservoir", false, func(c *vacuum.Circuit) {
			c.Links[0].Passage, c.Links[0].Leak = nil, vacuum.Leak{Rate: 1e-6}
		}},
		{"negative leak", `Leak.Rate = -1 Pa·m³/s`, true, func(c *vacuum.Circuit) {
			c.Links[2] = vacuum.Link{Name: "leak", From: "ambient", To: "near", Leak: vacuum.Leak{Rate: -1}}
		}},
		{"reservoir with a volume", "a reservoir has no Volume", false, func(c *vacuum.Circuit) { c.Nodes[3].Volume = 1 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			circuit := twoSides(capillary)
			require.NoError(t, circuit.Check())
			c.spoil(&circuit)
			err := circuit.Check()
			require.ErrorContains(t, err, c.text)
			require.Equal(t, c.outOfRange, isOutOfRange(err), "%v", err)
			_, err = vacuum.NewSimulation(circuit, nil)
			require.Error(t, err)
		})
	}
}

func isOutOfRange(err error) bool { return errors.Is(err, units.ErrOutOfRange) }

// A region behind a shut valve is legal, listed and keeps its gas.
func TestCutOffRegion(t *testing.T) {
	c := twoSides(vacuum.Capillary(1*units.Millimetre, units.Metre))
	c.Links[0].Closed = true
	sim, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	require.Equal(t, []string{"far"}, sim.CutOff())
	_, err = sim.Run(context.Background(), 10*time.Minute)
	require.NoError(t, err)
	now, err := sim.Sample()
	require.NoError(t, err)
	require.InDelta(t, 101325, float64(now.Pressure[1]), 1e-6)
	require.Less(t, float64(now.Pressure[0]), 10.0)
	f, err := sim.Floor("far")
	require.NoError(t, err)
	require.True(t, f.CutOff)
	require.Contains(t, f.String(), "cut off from the pump")
}

// With one hose the near-side gauge reads deep vacuum while the far side, behind
// a capillary, is still far from it.
func TestFarSideOfOneHoseLags(t *testing.T) {
	sim, err := vacuum.NewSimulation(twoSides(vacuum.Capillary(1.4*units.Millimetre, units.Metre)), nil)
	require.NoError(t, err)
	stop, err := sim.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow("near", 500*units.Micron))
	require.NoError(t, err)
	near := stop.Time
	now, err := sim.Sample()
	require.NoError(t, err)
	require.Greater(t, float64(now.Pressure[1]), 10*float64(now.Pressure[0]))
	stop, err = sim.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow("far", 500*units.Micron))
	require.NoError(t, err)
	require.Equal(t, 0, stop.Condition)
	require.Greater(t, stop.Time.Hours(), 1.0)
	t.Logf("near side at 500 micron after %v, far side after %v", near.Round(time.Second), stop.Time.Round(time.Second))
}

// A leak sets the floor: p = blank-off + Q/S to first order in a wide circuit.
func TestLeakFloor(t *testing.T) {
	c := dryVolume(6*units.CFM, 2)
	c.Nodes = append(c.Nodes, vacuum.Node{Name: "ambient", Reservoir: true, Temperature: units.Celsius(20), Fill: vacuum.Fill{Pressure: units.Atmosphere}})
	c.Links = []vacuum.Link{{Name: "leak", From: "ambient", To: "vessel", Leak: vacuum.Leak{Rate: 1e-2}}}
	sim, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	stop, err := sim.Run(context.Background(), time.Hour, vacuum.PressureBelow("vessel", 5))
	require.NoError(t, err)
	require.Equal(t, -1, stop.Condition)
	f, err := sim.Floor("vessel")
	require.NoError(t, err)
	require.InEpsilon(t, 2+1e-2/float64(6*units.CFM), float64(f.Pressure), 1e-6)
	require.InEpsilon(t, 1e-2, float64(f.Leaking), 1e-6)
	l := sim.Ledger()
	require.Less(t, l.Imbalance(), 1e-10)
}

// A cancelled run keeps its record and says why; a second Run goes on from
// there.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	sim, err := vacuum.NewSimulation(twoSides(vacuum.Capillary(1*units.Millimetre, units.Metre)), &vacuum.Options{
		Progress: func(at time.Duration) {
			if at > 30*time.Second {
				cancel()
			}
		},
	})
	require.NoError(t, err)
	stop, err := sim.Run(ctx, 24*time.Hour)
	require.ErrorIs(t, err, context.Canceled)
	require.Greater(t, stop.Time, 30*time.Second)
	rec := sim.Record()
	require.NotEmpty(t, rec.Samples)
	require.Equal(t, stop.Time, rec.Last().Time)
	l := sim.Ledger()
	require.Less(t, l.Imbalance(), 1e-10)
	_, err = sim.Run(context.Background(), time.Minute)
	require.NoError(t, err)
}

// Names and durations that make no sense are refused by name.
func TestRunRefusals(t *testing.T) {
	sim, err := vacuum.NewSimulation(dryVolume(6*units.CFM, 2), nil)
	require.NoError(t, err)
	ctx := context.Background()
	for _, c := range []vacuum.Condition{
		vacuum.PressureBelow("cellar", 1), vacuum.VapourBelow("cellar", 1), vacuum.VapourShareBelow("cellar", 0.5), vacuum.ReadingBelow("cellar", 1),
		vacuum.WaterBelow("cellar", 1), vacuum.IceBelow("cellar", 1), vacuum.AdmittedAbove("cellar", 1),
	} {
		_, err = sim.Run(ctx, time.Second, c)
		require.ErrorContains(t, err, `"cellar"`)
	}
	_, err = sim.Run(ctx, -time.Second)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = sim.Run(ctx, time.Second, vacuum.Condition{})
	require.Error(t, err)
	for _, bad := range []float64{math.NaN(), math.Inf(1), -1} {
		_, err = sim.Run(ctx, time.Second, vacuum.PressureBelow("vessel", units.Pressure(bad)))
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	require.Zero(t, sim.Time(), "nothing has moved")
	require.Error(t, sim.SetLink("x", true))
	require.Error(t, sim.SetPump("x", true, false))
	require.Error(t, sim.SetFeed("x", 1))
	require.Error(t, sim.SetReservoir("vessel", vacuum.Fill{}))
	require.ErrorIs(t, sim.SetTemperature("vessel", 20), units.ErrOutOfRange)
}
