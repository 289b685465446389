package vacuum_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// odd are numbers that no function may take for good ones.
var odd = []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1}

// TestNothingOddPasses puts every odd number into every argument.
func TestNothingOddPasses(t *testing.T) {
	air, room := vacuum.Air(), units.Celsius(20)
	pump := vacuum.Pump{Displacement: 1e-3, BlankOff: 2, VapourTolerance: 500, Oil: mineralOil()}
	path := oneHose()
	pull := vacuum.PullDown{Volume: 1, Speed: 1e-3, Start: 1e5, End: 10}
	thermal := &vacuum.ThermalResponse{}
	dial := vacuum.CompoundGauge{Barometer: 1e5, Division: 100}
	for name, f := range map[string]func(x float64) error{
		"FreeAirCurve":       func(x float64) error { _, err := vacuum.FreeAirCurve(units.VolumeFlow(x), 1e-3); return err },
		"FreeAirCurve rated": func(x float64) error { _, err := vacuum.FreeAirCurve(1e-3, units.VolumeFlow(x)); return err },
		"SpeedPoint": func(x float64) error {
			_, err := vacuum.NewSpeedCurve(vacuum.SpeedPoint{Pressure: units.Pressure(x), Speed: 1e-3}, vacuum.SpeedPoint{Pressure: 1e5, Speed: 1e-3})
			return err
		},
		"WetBlankOff":   func(x float64) error { _, err := pump.WetBlankOff(units.MassFraction(x), false); return err },
		"Captured":      func(x float64) error { _, err := pump.Captured(units.Pressure(x), 1, room, false); return err },
		"Captured dry":  func(x float64) error { _, err := pump.Captured(1, units.Pressure(x), room, false); return err },
		"Captured warm": func(x float64) error { _, err := pump.Captured(1, 1, units.Temperature(x), false); return err },
		"ClearingTime":  func(x float64) error { _, err := pump.ClearingTime(units.MassFraction(x), 1e-5, room); return err },
		"ClearingTime to": func(x float64) error {
			_, err := pump.ClearingTime(1e-3, units.MassFraction(x), room)
			return err
		},
		"JudgeOil":        func(x float64) error { _, err := pump.JudgeOil(units.Pressure(x), 1, 10); return err },
		"JudgeOil error":  func(x float64) error { _, err := pump.JudgeOil(1, units.Pressure(x), 10); return err },
		"JudgeOil limit":  func(x float64) error { _, err := pump.JudgeOil(1, 1, units.Pressure(x)); return err },
		"ContentOf":       func(x float64) error { _, _, err := pump.ContentOf(units.Pressure(x)); return err },
		"Path.At":         func(x float64) error { _, err := path.At(units.Pressure(x)); return err },
		"Path.Time":       func(x float64) error { _, err := path.Time(units.Volume(x), 1e5, 100); return err },
		"Path.Time start": func(x float64) error { _, err := path.Time(1, units.Pressure(x), 100); return err },
		"Path.Time end":   func(x float64) error { _, err := path.Time(1, 1e5, units.Pressure(x)); return err },
		"FitBore": func(x float64) error {
			_, err := path.FitBore(0, units.Length(x), 1, 1e5, 100, time.Hour)
			return err
		},
		"Swap": func(x float64) error {
			_, err := path.Swap(0, vacuum.Tube(units.Length(x), 1), 100)
			return err
		},
		"SpeedFor": func(x float64) error {
			q := pull
			q.End = units.Pressure(x)
			_, err := q.SpeedFor(time.Hour)
			return err
		},
		"TrueTotal": func(x float64) error {
			_, err := thermal.TrueTotal(units.Pressure(x), []vacuum.Gas{air}, []units.MoleFraction{1})
			return err
		},
		"TrueTotal x": func(x float64) error {
			_, err := thermal.TrueTotal(1, []vacuum.Gas{air}, []units.MoleFraction{units.MoleFraction(x)})
			return err
		},
		"Dial.Read": func(x float64) error { _, err := dial.Read(units.Pressure(x)); return err },
		"Dial.Between": func(x float64) error {
			_, _, err := dial.Between(units.GaugePressure(math.Abs(x)*-1e9 + min(x, 0)))
			return err
		},
		"ControlValve": func(x float64) error { _, err := vacuum.ControlValve(x, 0.7); return err },
		"Linear": func(x float64) error {
			_, err := vacuum.LinearViscosity([]vacuum.Gas{air}, []units.MoleFraction{1}, units.Temperature(x))
			return err
		},
		"Uncertainty": func(x float64) error {
			_, err := vacuum.ValveCore().Uncertainty(air, units.Pressure(x), 1, room)
			return err
		},
		"PumpOil": func(x float64) error {
			o := mineralOil()
			o.Approach = x
			return o.Check()
		},
		"Network": func(x float64) error {
			n := lineSet(units.Length(x), 10, 0, 1e5)
			_, err := n.Circuit()
			return err
		},
	} {
		for _, x := range odd {
			require.Error(t, f(x), "%s(%v)", name, x)
		}
	}
}

// TestAnyCurveIsRefusedOrSound: whatever the points, a curve that is accepted
// goes through them and pumps more at more pressure.
func TestAnyCurveIsRefusedOrSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var points []vacuum.SpeedPoint
		for range rapid.IntRange(0, 6).Draw(t, "points") {
			points = append(points, vacuum.SpeedPoint{
				Pressure: units.Pressure(logUniform(t, "p", 1e-4, 2e6)), Speed: units.VolumeFlow(logUniform(t, "S", 1e-4, 1e-2)),
			})
		}
		if rapid.Bool().Draw(t, "sorted") {
			for i := range points {
				points[i].Pressure = units.Pressure(math.Pow(10, float64(i)))
			}
		}
		c, err := vacuum.NewSpeedCurve(points...)
		if err != nil {
			return
		}
		least, most := c.Range()
		last := 0.0
		for k := range 200 {
			p := least * units.Pressure(math.Pow(float64(most/least), float64(k)/199))
			p = min(max(p, least), most)
			s, err := c.Speed(p)
			require.NoError(t, err)
			load := float64(s) * float64(p)
			require.Greater(t, load, last*(1-1e-9))
			last = load
		}
	})
}
