package vacuum_test

import (
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// allocated is what f allocates, in bytes.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// A run allocates what it needs at the start: twenty times the steps take no
// byte more beyond the samples, which are switched off here. Temperatures on a
// schedule change nothing in that.
func TestAllocationIndependentOfSteps(t *testing.T) {
	for _, scheduled := range []bool{false, true} {
		c := wetTwoHoses(t)
		if scheduled {
			c.Nodes[1].TemperatureAt = func(at time.Duration) units.Temperature {
				return units.Celsius(24) + units.Temperature(at.Hours())
			}
		}
		run := func(tol float64) (steps int, bytes uint64) {
			sim := simulate(t, c, &vacuum.Options{RelTol: tol, SampleEvery: 1e6 * time.Hour / 100, SampleChange: 1e5})
			bytes = allocated(func() { until(t, sim, 24*time.Hour, vacuum.PressureBelow("low side", 500*units.Micron)) })
			return sim.Record().Stats.Accepted, bytes
		}
		run(1e-4)
		few, little := run(1e-4)
		many, much := run(1e-9)
		t.Logf("scheduled %v: %d steps %d bytes, %d steps %d bytes", scheduled, few, little, many, much)
		require.Greater(t, many, 8*few)
		require.InDelta(t, float64(little), float64(much), 4096)
	}
}
