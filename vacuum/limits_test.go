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

// When a temperature is lost while an event is located, state and time still belong
// together: what is left is p V/(R T) exp(-S t/V) at the time that Run states.
func TestStateAndTimeAgreeWhereAnEventIsLost(t *testing.T) {
	speed := 6 * units.CFM
	inside := 101325 * 0.01 / (units.GasConstant * 293.15)
	lost := 0
	for calls := range 3000 {
		c, n := dryVolume(speed, 0), 0
		c.Nodes[0].TemperatureAt = func(time.Duration) units.Temperature {
			if n++; n > calls {
				return 1000 // out of range
			}
			return units.Celsius(20)
		}
		n = -1_000_000
		sim, err := vacuum.NewSimulation(c, nil)
		require.NoError(t, err)
		n = 0
		stop, err := sim.Run(context.Background(), time.Minute, vacuum.PressureBelow("vessel", 500))
		if err == nil {
			require.Positive(t, lost)
			return
		}
		lost++
		left := 0.0
		ledger := sim.Ledger()
		for _, a := range ledger.Nodes[0].Amounts {
			left += float64(a)
		}
		require.InEpsilon(t, inside*math.Exp(-float64(speed)/0.01*stop.Time.Seconds()), left, 1e-4, "%d calls, %v", calls, stop.Time)
	}
	t.Fatal("the run never ended")
}

// The clock of a simulation ends before it would overflow.
func TestRunEndsBeforeTheClockDoes(t *testing.T) {
	sim, err := vacuum.NewSimulation(dryVolume(6*units.CFM, 2), nil)
	require.NoError(t, err)
	for range 9 {
		_, err = sim.Run(context.Background(), 1e9*time.Second)
		require.NoError(t, err)
	}
	stop, err := sim.Run(context.Background(), 1e9*time.Second)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.Equal(t, 9*1e9*time.Second, stop.Time)
}
