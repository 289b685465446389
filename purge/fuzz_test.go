package purge

import (
	"math"
	"testing"
	"time"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// Whatever the numbers, a closed form answers or refuses: it does not panic, and
// no NaN comes back without an error.
func FuzzClosedForms(f *testing.F) {
	f.Add(1e3, 1e5, 0.21, 0.001, 0.01, 293.15, 3)
	f.Add(math.NaN(), math.Inf(1), math.Copysign(0, -1), 5e-324, 1e308, 0.0, -1)
	f.Add(1e-300, 1e300, 1.0, 1e-12, 1e-300, 273.16, 1000000)
	f.Fuzz(func(t *testing.T, a, b, c, d, e, temperature float64, n int) {
		p, q, at := units.Pressure(a), units.Pressure(b), units.Temperature(temperature)
		y, z := units.MoleFraction(c), units.MoleFraction(d)
		got := func(name string, v float64, err error) {
			if err == nil && math.IsNaN(v) {
				t.Errorf("%s: NaN without an error", name)
			}
		}
		train := Cycles{Low: p, High: q, Purge: units.MoleFraction(e)}
		left, err := train.Left(y, n)
		got("Left", float64(left), err)
		needed, err := train.CyclesTo(y, z)
		got("CyclesTo", needed.Exact, err)
		low, err := train.LowFor(y, z, n)
		got("LowFor", float64(low), err)
		gas, err := train.Gas(units.Volume(e), at, n)
		got("Gas", float64(gas), err)

		sweep := Sweep{Volume: units.Volume(a), Mixing: c, Purge: units.MoleFraction(e)}
		left, err = sweep.Left(z, units.Volume(b))
		got("Sweep.Left", float64(left), err)
		swept, err := sweep.VolumeTo(y, z)
		got("VolumeTo", float64(swept), err)
		k, err := sweep.MixingFrom(y, z, units.Volume(b))
		got("MixingFrom", k, err)
		out, err := Washout(n, a)
		got("Washout", out, err)
		out, err = WashoutInside(n, a)
		got("WashoutInside", out, err)
		out, err = WashoutTo(min(n, 1000), d)
		got("WashoutTo", out, err)

		flow, err := SweepBound(units.VolumeFlow(a), q, at)
		got("SweepBound", float64(flow), err)
		flow, err = FilmBound(Film{units.Area(a), units.Length(e), at, units.Pressure(d)}, q)
		got("FilmBound", float64(flow), err)
		br := Break{p, y, at, units.Length(d), units.PressureRate(e)}
		for _, mixing := range []BreakMixing{WellMixed, Piston, DeadLeg} {
			v, err := VapourAfterBreak(br, mixing, q)
			got("VapourAfterBreak", float64(v), err)
			limit, err := HighestDryBreakPressure(br, mixing)
			got("HighestDryBreakPressure", float64(limit.Pressure), err)
		}

		wet := Wet{units.Mass(c), units.Mass(d), at}
		held, err := AfterHold(wet, units.Temperature(b), units.HeatConductance(e), time.Duration(n))
		got("AfterHold", float64(held.Temperature+units.Temperature(held.Heat)), err)
		ua, err := HeatPath{units.HeatConductance(e), c, units.Length(d), a}.At(q, at+10, at)
		got("HeatPath.At", float64(ua), err)

		o := Opened{
			Volume: units.Volume(e), AirTemperature: at, Humidity: units.RelativeHumidity(c), Ambient: q,
			Other: moisture.Content{Liquid: units.Mass(d - d)},
		}
		answer, err := WaterLeft(o, CycleTrain{train, n}, SweepThrough{sweep, p, units.Volume(d)})
		got("WaterLeft", float64(answer.Left), err)
	})
}
