package vacuum_test

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// dryVolume is one volume with a pump on it, filled with dry air.
func dryVolume(speed units.VolumeFlow, blankOff units.Pressure) vacuum.Circuit {
	return vacuum.Circuit{
		Nodes: []vacuum.Node{{
			Name: "vessel", Volume: 10 * units.Litre, Temperature: units.Celsius(20),
			Fill: vacuum.Fill{Pressure: units.Atmosphere},
		}},
		Pumps: []vacuum.Pump{{Name: "pump", Node: "vessel", Displacement: speed, BlankOff: blankOff}},
	}
}

// Constant speed: t = (V/S) ln((p0 - pu)/(p - pu)), Umrath, Fundamentals of
// Vacuum Technology, text to Fig. 9.7. The factors V/S are recomputed from it.
func TestConstantSpeedPullDown(t *testing.T) {
	for _, c := range []struct {
		name     string
		blankOff units.Pressure
		target   units.Pressure
		factor   float64
	}{
		{"one decade", 0, 10132.5, 2.302585093},
		{"500 micron", 0, 500 * units.Micron, 7.326466}, // ln 1520
		{"200 micron", 0, 200 * units.Micron, 8.242756}, // ln 3800
		{"270 Pa", 0, 270, 5.927667},
		{"blank-off 5 Pa", 5, 66.66, math.Log((101325.0 - 5) / (66.66 - 5))},
	} {
		t.Run(c.name, func(t *testing.T) {
			speed := 50 * units.LitrePerMinute
			sim, err := vacuum.NewSimulation(dryVolume(speed, c.blankOff), nil)
			require.NoError(t, err)
			stop, err := sim.Run(context.Background(), time.Hour, vacuum.PressureBelow("vessel", c.target))
			require.NoError(t, err)
			require.Equal(t, 0, stop.Condition)
			want := c.factor * float64(10*units.Litre) / float64(speed)
			require.InEpsilon(t, want, stop.Time.Seconds(), 1e-5)
			l := sim.Ledger()
			require.NoError(t, l.Check())
			require.Less(t, l.Imbalance(), 1e-12)
			t.Logf("%+v", sim.Record().Stats)
		})
	}
}
