package purge

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// Oil that gives back in one stage what it took in another has gained the
// difference, and oil that dries has gained nothing.
func TestOilWater(t *testing.T) {
	stage := func(way vacuum.Way, m units.Mass) Stage { return Stage{Moved: []Moved{{way, "pump", m}}} }
	r := Record{Stages: []Stage{stage(vacuum.ByPumpOil, 3e-3), stage(vacuum.ByPumpExhaust, 5e-3), stage(vacuum.InByPump, 1e-3)}}
	require.InDelta(t, 2e-3, float64(oilWater(&r)), 1e-12)
	r.Stages = append(r.Stages, stage(vacuum.InByPump, 4e-3))
	require.Zero(t, oilWater(&r))
	require.Equal(t,
		[]Moved{{vacuum.ByPumpExhaust, "pump", 1}, {vacuum.InByPump, "pump", 2}},
		net([]Moved{{vacuum.ByPumpExhaust, "pump", 1}, {vacuum.ByPumpOil, "pump", 3}, {vacuum.InByPump, "pump", 5}}))
}
