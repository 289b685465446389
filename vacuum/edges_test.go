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

// air101 is air at 101325 Pa.
var air101 = vacuum.Fill{Pressure: units.Atmosphere}

// TestEmptyListsAreRefused: what is there but empty is not the default.
func TestEmptyListsAreRefused(t *testing.T) {
	c := aVessel(vacuum.Pump{Displacement: 1e-3}, air101)
	c.Gases = []vacuum.Gas{}
	require.ErrorIs(t, c.Check(), units.ErrOutOfRange)

	c = aVessel(vacuum.Pump{Curve: &vacuum.SpeedCurve{}}, air101)
	require.ErrorContains(t, c.Check(), "Curve is empty")
	for _, p := range []units.Pressure{0, 100} {
		_, err := (&vacuum.SpeedCurve{}).Speed(p)
		require.Error(t, err)
	}

	_, err := vacuum.Tube(0.01, 1).MolarFlows(nil, nil, nil, 293.15)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

func TestReadingAtAReservoirIsRefused(t *testing.T) {
	c := twoSides(vacuum.Tube(0.005, 1))
	c.Gauges = []vacuum.Gauge{{Name: "dial", Node: "ambient"}, {Name: "gauge", Node: "near"}}
	s := simulate(t, c, nil)
	_, err := s.Run(context.Background(), time.Second, vacuum.ReadingBelow("dial", 100))
	require.ErrorContains(t, err, `no volume at gauge "dial"`)
	_, err = s.Run(context.Background(), time.Second, vacuum.ReadingBelow("gauges", 100))
	require.ErrorContains(t, err, `no gauge "gauges"`)
	_, err = s.Run(context.Background(), time.Second, vacuum.ReadingBelow("gauge", 100))
	require.NoError(t, err)
}

// TestWaysHideNoVolume: a way adds its volume to a node that has one.
func TestWaysHideNoVolume(t *testing.T) {
	for _, v := range []units.Volume{0, -5e-6, units.Volume(math.NaN())} {
		sides := split()
		sides.Low = v
		_, err := sides.TwoHoses(vacuum.Rig{Pump: servicePump})
		require.ErrorIs(t, err, units.ErrOutOfRange)
		require.ErrorContains(t, err, "Low")
		sides = split()
		sides.High = v
		_, err = sides.ManifoldThreeHoses(vacuum.Rig{Pump: servicePump})
		require.ErrorContains(t, err, "High")
	}
	_, err := split().OneHose(vacuum.Rig{Pump: servicePump, Hose: vacuum.Tube(0.005, -1)})
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "Length")

	n := lineSet(0.01, 10, 0, 1e5)
	n.Vessels[0].Volume = -1e-5
	_, err = n.Circuit()
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = n.Cells()
	require.ErrorContains(t, err, `vessel "pump"`)
	n.Vessels[0].Volume = 0
	_, err = n.Circuit()
	require.NoError(t, err)
}

func TestPartsOutOfRangeFailTheirCheck(t *testing.T) {
	for _, open := range []float64{0, -0.5, 1.01, 4, math.NaN()} {
		err := vacuum.NearlyClosed(0.005, open).Check()
		require.ErrorIs(t, err, units.ErrOutOfRange)
		require.ErrorContains(t, err, "open")
	}
	for _, angle := range []float64{-180, 361, 36000, math.NaN()} {
		err := vacuum.Bend(0.01, 0.1, angle).Check()
		require.ErrorIs(t, err, units.ErrOutOfRange)
		require.ErrorContains(t, err, "angle")
	}
	require.NoError(t, vacuum.NearlyClosed(0.005, 1).Check())
	require.NoError(t, vacuum.Bend(0.01, 0.1, 0).Check())
	require.NoError(t, vacuum.Bend(0.01, 0.1, 360).Check())
	require.InDelta(t, 1.55, float64(vacuum.Hose(0.0048, 1.5).Length()), 1e-12)
}

// TestFeedOfWaterIsWhole: nothing of a feed is lost whatever its gas.
func TestFeedOfWaterIsWhole(t *testing.T) {
	for _, gas := range []string{"water", "air"} {
		c := vacuum.Circuit{
			Nodes: []vacuum.Node{{Name: "vessel", Volume: 1, Temperature: 293.15}},
			Feeds: []vacuum.Feed{{Name: "feed", Node: "vessel", Gas: gas, Moisture: 0.1, Flow: 1e-3}},
		}
		last := run(t, simulate(t, c, nil), 100*time.Second)
		require.InEpsilon(t, 0.1*units.GasConstant*293.15, float64(last.Pressure[0]), 1e-6, gas)
	}
	c := vacuum.Circuit{
		Nodes: []vacuum.Node{{Name: "vessel", Volume: 1, Temperature: 293.15}},
		Feeds: []vacuum.Feed{{Name: "feed", Node: "vessel", Flow: 1.001e6}},
	}
	require.ErrorIs(t, c.Check(), units.ErrOutOfRange)
	c.Feeds[0].Flow = 1e6
	require.NoError(t, c.Check())
}

// TestFloorKnowsAnIdealPump: zero is a blank-off like any other.
func TestFloorKnowsAnIdealPump(t *testing.T) {
	for _, lows := range [][2]units.Pressure{{0, 5}, {5, 0}} {
		c := aVessel(vacuum.Pump{Displacement: 1e-3, BlankOff: lows[0]}, air101)
		c.Pumps = append(c.Pumps, vacuum.Pump{Name: "other", Node: "vessel", Displacement: 1e-3, BlankOff: lows[1]})
		f, err := simulate(t, c, nil).Floor("vessel")
		require.NoError(t, err)
		require.Zero(t, f.BlankOff)
		require.InEpsilon(t, 101325, float64(f.PumpPressure), 1e-9)
	}
}

// TestPullDownErrorsNameTheirCause: and nothing is clamped in silence.
func TestPullDownErrorsNameTheirCause(t *testing.T) {
	tiny := vacuum.PullDown{Volume: 1e-12, Start: 1e5, End: 1e4}
	_, err := tiny.SpeedFor(time.Hour) // at 1e-15 m³/s it takes 2303 s
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "took")
	s, err := tiny.SpeedFor(2302 * time.Second)
	require.NoError(t, err)
	require.InEpsilon(t, 1e-12/2302*math.Log(10), float64(s), 1e-9)

	p := vacuum.PullDown{Volume: 1, Speed: 1e-3, Start: 1, End: 0.5, BlankOff: 2}
	_, err = p.PressureAt(time.Second)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "Start = 1 Pa")

	p = vacuum.PullDown{Volume: 1, Speed: 1e-3, Start: 1e5, End: 10}
	_, err = p.TimeThrough(0)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "vacuum.PullDown.TimeThrough: c = 0")
	p.End = 1e6
	_, err = p.TimeThrough(1e-3)
	require.ErrorContains(t, err, "vacuum.PullDown.TimeThrough: End")
	for _, q := range []vacuum.PullDown{
		{Volume: 1, Speed: 1e-3, Start: 1e5, End: 10, BlankOff: 1},
		{Volume: 1, Speed: 1e-3, Start: 1e5, End: 10, Load: 1e-6},
	} {
		_, err = q.TimeThroughTube(0.005, 1, 1.8e-5)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	require.Equal(t, units.Pressure(3), (&vacuum.PullDown{BlankOff: 3}).Floor())
}

// TestFitBoreTakesWhatTimeGives: the narrow end of the search may take longer
// than a Duration can tell.
func TestFitBoreTakesWhatTimeGives(t *testing.T) {
	p := &vacuum.Path{
		Gas: vacuum.Air(), Temperature: 293.15, Pump: vacuum.Pump{Displacement: 6 * units.CFM},
		Elements: []vacuum.PathElement{{Name: "tube", Passage: vacuum.Tube(4.8*units.Millimetre, 1.5)}},
	}
	took, err := p.Time(0.2, units.Atmosphere, 50)
	require.NoError(t, err)
	bore, err := p.FitBore(0, 1.5, 0.2, units.Atmosphere, 50, took)
	require.NoError(t, err)
	require.InEpsilon(t, 4.8e-3, float64(bore), 1e-9)
	_, err = p.FitBore(0, 1.5, 0.2, units.Atmosphere, 50, time.Millisecond)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// TestLawsBadAwayFromRoomTemperature: a gas is checked where it is used.
func TestLawsBadAwayFromRoomTemperature(t *testing.T) {
	gas := vacuum.Air()
	gas.ViscosityLaw = func(t units.Temperature) units.Viscosity {
		if t > 400 {
			return units.Viscosity(math.NaN())
		}
		return 1.8e-5
	}
	_, err := vacuum.Tube(0.005, 1).MolarFlow(gas, 1e5, 0, 300)
	require.NoError(t, err)
	_, err = vacuum.Tube(0.005, 1).MolarFlow(gas, 1e5, 0, 500)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	require.ErrorContains(t, err, "ViscosityLaw")

	thermal := vacuum.Gauge{Thermal: &vacuum.ThermalResponse{Sensitivity: map[string]float64{"mine": 2}}}
	_, err = thermal.ReadMixture([]vacuum.Gas{{}}, vacuum.Composition{1})
	require.ErrorIs(t, err, units.ErrOutOfRange)
	r, err := thermal.ReadMixture([]vacuum.Gas{{Name: "mine"}}, vacuum.Composition{1})
	require.NoError(t, err)
	require.Equal(t, units.Pressure(2), r.Pressure)
}

// TestNoNumberStaysNone: where there is no error to return.
func TestNoNumberStaysNone(t *testing.T) {
	nan := units.Pressure(math.NaN())
	curve, err := vacuum.FreeAirCurve(1e-3, 0.9e-3)
	require.NoError(t, err)
	for _, p := range []vacuum.Pump{{Displacement: 1e-3}, {Curve: curve, BlankOff: 2}} {
		require.True(t, math.IsNaN(float64(p.Speed(nan, false))))
	}
	require.True(t, math.IsNaN(float64((&vacuum.Gauge{Resolution: 1, Ceiling: 100, Bottom: 1}).Read(nan).Pressure)))
}

func TestRangeErrorsAreFound(t *testing.T) {
	_, err := vacuum.NewSpeedCurve(vacuum.SpeedPoint{Pressure: 10, Speed: 1}, vacuum.SpeedPoint{Pressure: 11, Speed: 0.1})
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = vacuum.NewSpeedCurve()
	require.ErrorIs(t, err, units.ErrOutOfRange)
	p := vacuum.Pump{Displacement: 1e-3, ExhaustTemperature: 372, ExhaustPressure: 5e4}
	require.ErrorIs(t, p.Check(), units.ErrOutOfRange)
	l := vacuum.Leak{Rate: 1e-6, Law: 7}
	require.ErrorIs(t, l.Check(), units.ErrOutOfRange)
}
