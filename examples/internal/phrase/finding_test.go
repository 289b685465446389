package phrase

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise"
)

func TestSource(t *testing.T) {
	const volume = 8e-3
	require.Empty(t, Source(&rise.Finding{}, time.Second, volume))
	f := &rise.Finding{VapourRise: 100 * units.Micron, Water: 1e-6, TimeConstant: 4 * time.Minute, Fits: make([]rise.Fit, 1)}
	require.Equal(t, "A source that fades added 100 micron (13.3 Pa), 1.00 mg if all of it is water vapour, with a time constant of 4 min.", Source(f, 10*time.Second, volume))
	f.TimeConstant = 2 * time.Second
	require.Contains(t, Source(f, 10*time.Second, volume), "shorter than the 10 s between readings.")
	f.Fits = make([]rise.Fit, 2)
	f.Fit = rise.Fit{Model: rise.PowerLaw, Slope: units.PressureRate(2 * units.Micron / 60)}
	require.Contains(t, Source(f, 10*time.Second, volume), "(power law), beside its own leak of 2.0 micron/min, where")
	f.Reason = rise.MeltingStep
	require.Equal(t, "Up to the end of the pause the reading rose by 100 micron (13.3 Pa), 1.00 mg if all of it is water vapour.", Source(f, 10*time.Second, volume))
	require.NotContains(t, Noise(f), "independent")
	require.Contains(t, Noise(&rise.Finding{}), "independent")
	require.Equal(t, 10*time.Second, Between([]float64{0, 9, 20}))
	require.Zero(t, Between([]float64{0}))
}
