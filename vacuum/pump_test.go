package vacuum_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// mineralOil saturates at 250 mg/kg at 20 °C (common practice: 200 to 300) and,
// invented, at 1000 mg/kg at 60 °C.
func mineralOil() *vacuum.PumpOil {
	law, err := moisture.FitSaturation(
		moisture.SaturationPoint{Temperature: units.Celsius(20), Content: 250e-6},
		moisture.SaturationPoint{Temperature: units.Celsius(60), Content: 1000e-6})
	if err != nil {
		panic(err)
	}
	return &vacuum.PumpOil{Mass: 0.5, Law: law, Approach: 0.002}
}

// aVessel is one volume with its pump.
func aVessel(p vacuum.Pump, fill vacuum.Fill) vacuum.Circuit {
	p.Name, p.Node = "pump", "vessel"
	return vacuum.Circuit{
		Nodes: []vacuum.Node{{Name: "vessel", Volume: 5 * units.Litre, Temperature: units.Celsius(20), Fill: fill}},
		Pumps: []vacuum.Pump{p},
	}
}

// run goes on for d and returns the last sample.
func run(t *testing.T, s *vacuum.Simulation, d time.Duration) vacuum.Sample {
	t.Helper()
	_, err := s.Run(context.Background(), d)
	require.NoError(t, err)
	r := s.Record()
	return *r.Last()
}

// ExamplePump_WetBlankOff: how far a pump gets with water in its oil.
func ExamplePump_WetBlankOff() {
	pump := vacuum.Pump{Displacement: 6 * units.CFM, BlankOff: 2, VapourTolerance: 1500, Oil: mineralOil()}
	for _, mgPerKg := range []units.MassFraction{0, 100, 1000, 5000} {
		p, _ := pump.WetBlankOff(mgPerKg*1e-6, false)
		verdict, _ := pump.JudgeOil(p, 1, 0)
		fmt.Printf("%4.0f mg/kg: %3.0f micron, %v\n", float64(mgPerKg), p.In(units.Micron), verdict)
	}
	clearing, _ := pump.ClearingTime(1000e-6, 100e-6, units.Celsius(20))
	fmt.Printf("under ballast from 1000 to 100 mg/kg in %.1f min\n", clearing.Minutes())
	// Output:
	//    0 mg/kg:  15 micron, the oil is good
	//  100 mg/kg:  45 micron, the oil is good
	// 1000 mg/kg: 314 micron, change the oil
	// 5000 mg/kg: 314 micron, change the oil
	// under ballast from 1000 to 100 mg/kg in 0.6 min
}

// TestVapourLeavesToTheLastTrace: at the blank-off the pump still sweeps its
// displacement of vapour, p(t) = p0·exp(-S·t/V), and air is what stays. A pump
// without return keeps both in the shares that it reached its blank-off with.
func TestVapourLeavesToTheLastTrace(t *testing.T) {
	fill := vacuum.Fill{Pressure: 1000, Vapour: 800}
	pump := vacuum.Pump{Displacement: 1e-3, BlankOff: 5}
	s, err := vacuum.NewSimulation(aVessel(pump, fill), nil)
	require.NoError(t, err)
	at := run(t, s, 50*time.Second) // ten time constants
	require.InEpsilon(t, 800*math.Exp(-10), float64(at.Vapour[0]), 1e-3)
	at = run(t, s, 10*time.Minute)
	require.InDelta(t, 5, float64(at.Pressure[0]), 1e-3)
	require.Less(t, float64(at.Vapour[0]), 1e-4)
	ledger := s.Ledger()
	require.NoError(t, ledger.Check())
	require.Less(t, ledger.Imbalance(), 1e-10)

	pump.Return = vacuum.NoReturn
	s, err = vacuum.NewSimulation(aVessel(pump, fill), nil)
	require.NoError(t, err)
	at = run(t, s, 10*time.Minute)
	require.InDelta(t, 5, float64(at.Pressure[0]), 0.02)
	require.InEpsilon(t, 0.8*5, float64(at.Vapour[0]), 0.01)
}

// TestReturnKeepsTheClosedForm: the whole gas still follows V/S·ln.
func TestReturnKeepsTheClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := units.Pressure(logUniform(t, "blank-off", 1, 50))
		end := low * units.Pressure(logUniform(t, "over", 1.1, 100))
		fill := vacuum.Fill{Pressure: 101325, Vapour: units.Pressure(rapid.Float64Range(0, 2000).Draw(t, "vapour"))}
		s, err := vacuum.NewSimulation(aVessel(vacuum.Pump{Displacement: 1e-3, BlankOff: low}, fill), nil)
		require.NoError(t, err)
		stop, err := s.Run(context.Background(), time.Hour, vacuum.PressureBelow("vessel", end))
		require.NoError(t, err)
		closed := vacuum.PullDown{Volume: 5 * units.Litre, Speed: 1e-3, BlankOff: low, Start: 101325, End: end}
		want, err := closed.Time()
		require.NoError(t, err)
		require.InEpsilon(t, want.Seconds(), stop.Time.Seconds(), 1e-4)
	})
}

// TestOilBalance: water that the pump keeps is in its oil, less what came back
// and what the exhaust took; the blank-off follows the content.
func TestOilBalance(t *testing.T) {
	pump := vacuum.Pump{Displacement: 1e-3, BlankOff: 2, VapourTolerance: 1000, Oil: mineralOil()}
	s, err := vacuum.NewSimulation(aVessel(pump, vacuum.Fill{Pressure: 2200, Vapour: 2000}), nil)
	require.NoError(t, err)
	at := run(t, s, time.Hour)
	oil, err := s.PumpOil("pump")
	require.NoError(t, err)
	require.Greater(t, float64(oil.Water), 1e-5)
	require.InEpsilon(t, float64(oil.BlankOff), float64(at.Pressure[0]), 1e-4)
	wet, err := pump.WetBlankOff(oil.Content, false)
	require.NoError(t, err)
	require.InEpsilon(t, float64(wet), float64(oil.BlankOff), 1e-9)
	back, saturated, err := pump.ContentOf(at.Pressure[0])
	require.NoError(t, err)
	require.False(t, saturated)
	require.InEpsilon(t, float64(oil.Content), float64(back), 1e-4)
	l := s.Ledger()
	require.NoError(t, l.Check())
	kept, returned := 0.0, 0.0
	for _, c := range l.Crossings {
		switch c.Way {
		case vacuum.ByPumpOil:
			kept += float64(c.Water())
		case vacuum.InByPump:
			returned += float64(c.Water())
		}
	}
	require.LessOrEqual(t, float64(oil.Water), kept-returned+1e-12) // the rest left by the exhaust
	require.Greater(t, float64(oil.Water), 0.5*(kept-returned))

	// Under ballast the oil clears, as fast as the closed form says.
	want, err := pump.ClearingTime(oil.Content, oil.Content/10, units.Celsius(20))
	require.NoError(t, err)
	require.NoError(t, s.SetPump("pump", true, true))
	run(t, s, want)
	cleared, err := s.PumpOil("pump")
	require.NoError(t, err)
	require.InEpsilon(t, float64(oil.Content)/10, float64(cleared.Content), 0.02) // the vessel is emptied too
	require.NoError(t, s.ChangeOil("pump", 0))
	fresh, err := s.PumpOil("pump")
	require.NoError(t, err)
	require.Zero(t, fresh.Water)
	require.InDelta(t, 2, float64(fresh.BlankOff), 1e-12)
}

func TestCapturedStartsAtTheTolerance(t *testing.T) {
	pump := vacuum.Pump{Displacement: 1e-3, VapourTolerance: 1000}
	below, err := pump.Captured(999, 0, 293.15, true)
	require.NoError(t, err)
	require.Zero(t, below)
	above, err := pump.Captured(1500, 0, 293.15, true)
	require.NoError(t, err)
	want, err := vacuum.VapourCapacity(1e-3, 500, 293.15)
	require.NoError(t, err)
	require.InEpsilon(t, float64(want), float64(above), 1e-9)
	closed, err := pump.Captured(500, 0, 293.15, false)
	require.NoError(t, err)
	require.InEpsilon(t, float64(want), float64(closed), 1e-9)
}

func TestJudgeOilAllowsForTheGauge(t *testing.T) {
	pump := vacuum.Pump{Displacement: 1e-3, BlankOff: 2}
	for _, c := range []struct {
		measured, slack, limit units.Pressure
		want                   vacuum.OilVerdict
	}{{3, 1, 10, vacuum.OilGood}, {10.5, 1, 10, vacuum.OilUndetermined}, {9.5, 1, 10, vacuum.OilUndetermined}, {11.5, 1, 10, vacuum.OilChange}, {20, 1, 0, vacuum.OilChange}, {12, 1, 0, vacuum.OilGood}} {
		got, err := pump.JudgeOil(c.measured, c.slack, c.limit)
		require.NoError(t, err)
		require.Equal(t, c.want, got, "%v", c)
		require.NotEqual(t, "unknown", got.String())
	}
	_, err := pump.JudgeOil(3, 0, 1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, _, err = pump.ContentOf(3)
	require.ErrorContains(t, err, "no Oil")
	pump.Oil = mineralOil()
	_, saturated, err := pump.ContentOf(1000)
	require.NoError(t, err)
	require.True(t, saturated)
	_, err = pump.ClearingTime(1e-3, 1e-4, 293.15)
	require.ErrorContains(t, err, "VapourTolerance")
	pump.Oil.Approach = 2
	require.ErrorIs(t, pump.Check(), units.ErrOutOfRange)
}

func TestSpeedCurve(t *testing.T) {
	points := []vacuum.SpeedPoint{{5, 0.5e-3}, {20, 0.9e-3}, {200, 1e-3}, {10e3, 1e-3}, {101325, 0.85e-3}}
	c, err := vacuum.NewSpeedCurve(points...)
	require.NoError(t, err)
	for _, p := range points {
		s, err := c.Speed(p.Pressure)
		require.NoError(t, err)
		require.InEpsilon(t, float64(p.Speed), float64(s), 1e-12)
	}
	least, most := c.Range()
	for _, p := range []units.Pressure{least * (1 - 1e-15), most * (1 + 1e-15), units.Pressure(math.NaN()), 0} {
		_, err := c.Speed(p)
		require.ErrorIs(t, err, units.ErrOutOfRange)
	}
	last := units.VolumeFlow(0)
	for p := units.Pressure(5); p <= 10e3; p *= 1.01 { // no wiggle where the points rise
		s, err := c.Speed(p)
		require.NoError(t, err)
		require.GreaterOrEqual(t, float64(s), float64(last)-1e-15)
		last = s
	}
	pump := vacuum.Pump{Curve: c, BlankOff: 2}
	require.NoError(t, pump.Check())
	require.InEpsilon(t, 0.9e-3, float64(pump.Speed(20, false)), 1e-9)
	require.Zero(t, pump.Speed(2, false))
	require.InEpsilon(t, 0.5e-3/(1-2.0/5)*(1-2.0/3), float64(pump.Speed(3, false)), 1e-9)
	pump.BlankOff = 5
	require.ErrorIs(t, pump.Check(), units.ErrOutOfRange)

	for name, bad := range map[string][]vacuum.SpeedPoint{
		"point 2: vacuum.NewSpeedCurve: Pressure = 5 Pa, accepted above 5 Pa, that of the point before": {{5, 1e-3}, {5, 1e-3}},
		"point 3":            {{5, 1e-3}, {50, 1e-3}, {100, 0.4e-3}},
		"point 1":            {{5, 0}, {50, 1e-3}},
		"accepted 2 or more": {{5, 1e-3}},
	} {
		_, err := vacuum.NewSpeedCurve(bad...)
		require.ErrorContains(t, err, name)
	}
	free, err := vacuum.FreeAirCurve(2.8e-3, 2.4e-3)
	require.NoError(t, err)
	s, err := free.Speed(101325)
	require.NoError(t, err)
	require.InEpsilon(t, 2.4e-3, float64(s), 1e-12)
	_, err = vacuum.FreeAirCurve(2.8e-3, 2.9e-3)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// TestCurvePulledDown: the simulation with a curve takes the time that the
// path's quadrature over the same curve gives.
func TestCurvePulledDown(t *testing.T) {
	c, err := vacuum.NewSpeedCurve(vacuum.SpeedPoint{10, 0.6e-3}, vacuum.SpeedPoint{100, 1e-3}, vacuum.SpeedPoint{5000, 1.1e-3}, vacuum.SpeedPoint{101325, 0.9e-3})
	require.NoError(t, err)
	pump := vacuum.Pump{Curve: c, BlankOff: 1}
	s, err := vacuum.NewSimulation(aVessel(pump, vacuum.Fill{Pressure: 101325}), nil)
	require.NoError(t, err)
	stop, err := s.Run(context.Background(), time.Hour, vacuum.PressureBelow("vessel", 3))
	require.NoError(t, err)
	path := vacuum.Path{Gas: vacuum.Air(), Temperature: 293.15, Pump: pump}
	want, err := path.Time(5*units.Litre, 101325, 3)
	require.NoError(t, err)
	require.InEpsilon(t, want.Seconds(), stop.Time.Seconds(), 1e-3)
}

func TestReturnGasIsChecked(t *testing.T) {
	c := aVessel(vacuum.Pump{Displacement: 1e-3, Return: "argon"}, vacuum.Fill{Pressure: 1000})
	_, err := vacuum.NewSimulation(c, nil)
	require.ErrorContains(t, err, `no gas "argon"`)
	c.Pumps[0].Return = "nitrogen"
	c.Pumps[0].BlankOff = 3
	s, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	run(t, s, 10*time.Minute)
	l := s.Ledger()
	require.InEpsilon(t, 3*0.005/(units.GasConstant*293.15), float64(l.Nodes[0].Amounts[2]), 1e-3)
	require.Less(t, l.Imbalance(), 1e-10)
}

// TestRandomCircuitsWithRealPumps: curve, oil and return gas in random wet
// circuits; the run goes through, every species balances and oil stays within
// what it was given.
func TestRandomCircuitsWithRealPumps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomCircuit(t)
		p := &c.Pumps[0]
		p.Return = rapid.SampledFrom([]string{"", vacuum.NoReturn, "nitrogen"}).Draw(t, "return")
		if rapid.Bool().Draw(t, "curve") {
			low := 2 * p.BlankOff
			curve, err := vacuum.NewSpeedCurve(vacuum.SpeedPoint{Pressure: low, Speed: p.Displacement / 2},
				vacuum.SpeedPoint{Pressure: 20 * low, Speed: p.Displacement}, vacuum.SpeedPoint{Pressure: 101325, Speed: 0.9 * p.Displacement})
			require.NoError(t, err)
			p.Curve = curve
		}
		if rapid.Bool().Draw(t, "oil") {
			p.Oil = mineralOil()
			p.Oil.Approach = logUniform(t, "approach", 1e-4, 1)
			p.Oil.WaterContent = units.MassFraction(rapid.Float64Range(0, 3e-3).Draw(t, "water"))
		}
		s, err := vacuum.NewSimulation(c, &vacuum.Options{MaxSteps: 200_000})
		require.NoError(t, err)
		for _, ballast := range []bool{false, true, false} {
			require.NoError(t, s.SetPump("pump", true, ballast))
			_, err = s.Run(context.Background(), time.Hour)
			require.NoError(t, err)
			l := s.Ledger()
			require.NoError(t, l.Check())
			require.Less(t, l.Imbalance(), 1e-10)
			if p.Oil == nil {
				continue
			}
			oil, err := s.PumpOil("pump")
			require.NoError(t, err)
			kept, back := p.Oil.Mass*units.Mass(p.Oil.WaterContent), units.Mass(0)
			for _, x := range l.Crossings {
				switch x.Way {
				case vacuum.ByPumpOil:
					kept += x.Water()
				case vacuum.InByPump:
					back += x.Water()
				}
			}
			require.LessOrEqual(t, float64(oil.Water), float64(kept-back)+1e-7*float64(kept)+1e-12)
			require.GreaterOrEqual(t, float64(oil.Water), -1e-9)
		}
	})
}
