package purge

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
)

func TestRigsAreComparisonsOfChangedJobs(t *testing.T) {
	j := inventedJob(t, "sweep")
	rigs, err := CompareRigs(context.Background(), j, nil)
	require.NoError(t, err)
	variants := j.Variants()
	require.Len(t, rigs, len(variants)+1)
	require.Equal(t, "as stated", rigs[0].Name)
	for i, rig := range rigs {
		require.Empty(t, rig.Refused)
		require.Len(t, rig.Comparison.Records, len(j.Procedures))
		job := deepCopy(j)
		if i > 0 {
			require.Equal(t, variants[i-1].Name, rig.Name)
			variants[i-1].Change(job)
		}
		want, err := Run(context.Background(), job, &job.Procedures[0], nil)
		require.NoError(t, err)
		require.Equal(t, want.Took(), rig.Comparison.Records[0].Took())
	}
	buys, ok := rigs[0].Buys(0, &rigs[0])
	require.True(t, ok)
	require.Zero(t, buys)
	last := &rigs[len(rigs)-1]
	buys, ok = last.Buys(1, &rigs[0])
	require.True(t, ok)
	require.Equal(t, rigs[0].Comparison.Records[1].Took()-last.Comparison.Records[1].Took(), buys.Time)
	require.Equal(t, rigs[0].Comparison.Records[1].WaterLeft()-last.Comparison.Records[1].WaterLeft(), buys.Water)
	_, ok = last.Buys(9, &rigs[0])
	require.False(t, ok)
}

func TestVariantsChangeWhatTheySay(t *testing.T) {
	j := inventedJob(t, "two-hoses")
	changed := map[string]*Job{}
	for _, v := range j.Variants() {
		c := deepCopy(j)
		v.Change(c)
		require.NoError(t, c.Check(), v.Name)
		require.Equal(t, "common practice", v.Basis)
		changed[v.Name] = c
	}
	require.InDelta(t, 1.5*float64(hosesOf(j)[0].Bore), float64(hosesOf(changed["hoses of 1.5 times the bore"])[0].Bore), 1e-15)
	require.Equal(t, 2*j.Pump.Displacement, changed["pump of twice the displacement"].Pump.Displacement)
	require.Greater(t, len(changed["a second hose beside each"].Links), len(j.Links))
	warm := changed["wet walls kept at 45 °C"]
	for i := range warm.Nodes {
		if len(warm.Nodes[i].Puddles) > 0 {
			require.Equal(t, units.Temperature(318.15), *warm.Nodes[i].Temperature)
		} else {
			require.Equal(t, j.Nodes[i].Temperature, warm.Nodes[i].Temperature)
		}
	}
	require.NotContains(t, changed, "valve cores taken out", "they are out already")
	cores := inventedJob(t, "sweep")
	require.True(t, coresIn(cores))
	takeCoresOut(cores)
	require.False(t, coresIn(cores))
}

// A rig that cannot be run is there with its reason.
func TestRefusedRig(t *testing.T) {
	j := inventedJob(t, "split")
	rigs, err := CompareRigs(context.Background(), j, &RigOptions{Variants: []Variant{{Name: "tired pump", Change: func(j *Job) { j.Pump.BlankOff = 100 }}}})
	require.NoError(t, err)
	require.Nil(t, rigs[1].Comparison)
	require.Contains(t, rigs[1].Refused, "not above the pump's blank-off")
	_, ok := rigs[1].Buys(0, &rigs[0])
	require.False(t, ok)
}
