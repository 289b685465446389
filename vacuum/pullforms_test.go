package vacuum_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// ExamplePullDown_SpeedFor: 1000 m³ from 1000 to 200 mbar in 10 minutes
// (t = (V/S)·ln, Umrath, text to Fig. 9.7; 160.94 m³/min).
func ExamplePullDown_SpeedFor() {
	p := vacuum.PullDown{Volume: 1000, Start: 1000 * units.Millibar, End: 200 * units.Millibar}
	s, err := p.SpeedFor(10 * time.Minute)
	fmt.Printf("%.2f m³/min %v\n", float64(s)*60, err)
	// Output: 160.94 m³/min <nil>
}

// TestPullDownFormsInvertEachOther: time, speed and pressure are one equation.
func TestPullDownFormsInvertEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := vacuum.PullDown{
			Volume: units.Volume(logUniform(t, "V", 1e-4, 10)), Speed: units.VolumeFlow(logUniform(t, "S", 1e-5, 1)),
			BlankOff: units.Pressure(rapid.Float64Range(0, 50).Draw(t, "blank-off")), Start: 101325,
		}
		p.Load = units.Throughput(rapid.Float64Range(0, 100).Draw(t, "leak's floor") * float64(p.Speed))
		p.End = (p.Floor() + 0.01) * units.Pressure(1+logUniform(t, "over", 0.01, 100))
		took, err := p.Time()
		require.NoError(t, err)
		at, err := p.PressureAt(took)
		require.NoError(t, err)
		perNanosecond := 1e-9 * float64(p.Speed) / float64(p.Volume) // what a Duration cannot tell
		require.InEpsilon(t, float64(p.End), float64(at), 1e-9+2*perNanosecond)
		if perNanosecond < 1e-7 {
			s, err := p.SpeedFor(took)
			require.NoError(t, err)
			require.InEpsilon(t, float64(p.Speed), float64(s), 1e-5)
		}
		left, err := p.VapourLeft(took)
		require.NoError(t, err)
		require.InEpsilon(t, math.Exp(-float64(p.Speed)*took.Seconds()/float64(p.Volume)), left, 1e-12)
	})
	p := vacuum.PullDown{Volume: 1, Start: 1e5, End: 1, BlankOff: 2}
	_, err := p.SpeedFor(time.Hour)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	p = vacuum.PullDown{Volume: 1e6, Start: 1e5, End: 1}
	_, err = p.SpeedFor(time.Microsecond)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = p.PressureAt(-1)
	require.Error(t, err)
	_, err = p.VapourLeft(time.Second)
	require.ErrorContains(t, err, "Speed")
}
