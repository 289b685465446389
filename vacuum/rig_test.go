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

// split is a small split unit: 3 L and 2 L, 1 m of 1 mm capillary between.
func split() vacuum.TwoSided {
	return vacuum.TwoSided{Low: 3 * units.Litre, High: 2 * units.Litre, Expansion: vacuum.Capillary(1.0*units.Millimetre, 1)}
}

var servicePump = vacuum.Pump{Displacement: 6 * units.CFM, BlankOff: 2}

// rigs are the usual rigs by name.
var rigs = []struct {
	name  string
	build func(vacuum.TwoSided, vacuum.Rig) (vacuum.Circuit, error)
}{
	{"one hose", vacuum.TwoSided.OneHose},
	{"two hoses", vacuum.TwoSided.TwoHoses},
	{"manifold, three hoses", vacuum.TwoSided.ManifoldThreeHoses},
	{"manifold, four hoses", vacuum.TwoSided.ManifoldFourHoses},
	{"core tools both sides", vacuum.TwoSided.CoreToolsBothSides},
	{"vacuum hose direct", vacuum.TwoSided.VacuumHoseDirect},
}

// ExampleTwoSided_OneHose: the near side is deep while the far side lags behind
// the capillary, and the model says so.
func ExampleTwoSided_OneHose() {
	c, _ := split().OneHose(vacuum.Rig{Pump: servicePump})
	s, _ := vacuum.NewSimulation(c, nil)
	near, _ := s.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow(vacuum.LowSide, 500*units.Micron))
	lags, _ := s.Lagging("gauge at low side", 3)
	for _, l := range lags {
		fmt.Printf("%s still at %.0f times the pressure of the near side\n", l.Node, float64(l.Pressure/l.Shown))
	}
	far, _ := s.Run(context.Background(), 24*time.Hour, vacuum.PressureBelow(vacuum.HighSide, 500*units.Micron))
	fmt.Printf("near side at 500 micron after %.0f min, far side after %.1f h\n", near.Time.Minutes(), far.Time.Hours())
	// Output:
	// high side still at 18 times the pressure of the near side
	// near side at 500 micron after 39 min, far side after 6.9 h
}

// TestRigsInTheirOrder pulls the same circuit with every rig, dry, to 500 micron
// on both sides.
func TestRigsInTheirOrder(t *testing.T) {
	took := map[string]time.Duration{}
	for _, r := range rigs {
		c, err := r.build(split(), vacuum.Rig{Pump: servicePump})
		require.NoError(t, err, r.name)
		s, err := vacuum.NewSimulation(c, nil)
		require.NoError(t, err, r.name)
		require.Empty(t, s.CutOff())
		for _, side := range []string{vacuum.LowSide, vacuum.HighSide} {
			stop, err := s.Run(context.Background(), 48*time.Hour, vacuum.PressureBelow(side, 500*units.Micron))
			require.NoError(t, err, r.name)
			require.Equal(t, 0, stop.Condition, r.name)
		}
		took[r.name] = s.Time()
		t.Logf("%-24s %v", r.name, s.Time().Round(time.Second))
		l := s.Ledger()
		require.NoError(t, l.Check())
	}
	require.Less(t, took["core tools both sides"], took["manifold, four hoses"])
	require.Less(t, took["manifold, four hoses"], took["manifold, three hoses"])
	require.Less(t, took["two hoses"], took["manifold, three hoses"])
	require.Less(t, took["manifold, three hoses"], took["one hose"])
	require.Less(t, took["vacuum hose direct"], took["one hose"])
	require.Less(t, took["core tools both sides"], took["vacuum hose direct"])
}

func TestRigWithoutExpansionIsCutOff(t *testing.T) {
	sides := split()
	sides.Expansion = nil
	_, err := sides.OneHose(vacuum.Rig{Pump: servicePump})
	require.ErrorContains(t, err, `node "high side"`) // nothing is attached to it
	_, err = sides.TwoHoses(vacuum.Rig{Pump: servicePump})
	require.NoError(t, err)
	_, err = split().OneHose(vacuum.Rig{})
	require.ErrorIs(t, err, units.ErrOutOfRange) // no pump
	c, err := split().TwoHoses(vacuum.Rig{Pump: servicePump})
	require.NoError(t, err)
	s, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	require.NoError(t, s.SetLink(vacuum.HighHose, false))
	require.NoError(t, s.SetLink(vacuum.ExpansionDevice, false))
	run(t, s, 10*time.Minute)
	lags, err := s.Lagging("gauge at pump inlet", 10)
	require.NoError(t, err)
	require.NotEmpty(t, lags)
	require.Equal(t, vacuum.HighSide, lags[len(lags)-1].Node)
	require.True(t, lags[len(lags)-1].CutOff)
	require.Contains(t, lags[len(lags)-1].String(), "cut off from the pump")
	_, err = s.Lagging("nothing", 2)
	require.Error(t, err)
	_, err = s.Lagging("gauge at low side", 0)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// ExampleSimulation_WayOut: what holds the far side back with one hose on.
func ExampleSimulation_WayOut() {
	c, _ := split().OneHose(vacuum.Rig{Pump: servicePump})
	s, _ := vacuum.NewSimulation(c, nil)
	_, _ = s.Run(context.Background(), 2*time.Hour)
	steps, _ := s.WayOut(vacuum.HighSide)
	for _, st := range steps {
		fmt.Printf("%-16s %4.1f %%\n", st.Link, 100*st.Share)
	}
	// Output:
	// expansion device 95.6 %
	// low hose          3.8 %
	// pump              0.6 %
}

func TestWayOutNeedsAWay(t *testing.T) {
	c, err := split().TwoHoses(vacuum.Rig{Pump: servicePump})
	require.NoError(t, err)
	s, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	run(t, s, 5*time.Minute)
	for _, node := range []string{vacuum.LowSide, vacuum.HighSide, vacuum.PumpInlet} {
		steps, err := s.WayOut(node)
		require.NoError(t, err)
		sum := 0.0
		for _, st := range steps {
			sum += st.Share
		}
		require.InDelta(t, 1, sum, 1e-12)
	}
	require.NoError(t, s.SetPump("pump", false, false))
	_, err = s.WayOut(vacuum.LowSide)
	require.ErrorContains(t, err, "no open way")
	_, err = s.WayOut("attic")
	require.ErrorContains(t, err, "no node")
}
