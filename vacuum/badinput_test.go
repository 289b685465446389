package vacuum_test

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// numbers calls visit for every floating-point number in v, with its path.
func numbers(v reflect.Value, path string, visit func(path string, number reflect.Value)) {
	switch v.Kind() {
	case reflect.Float64:
		visit(path, v)
	case reflect.Struct:
		for i := range v.NumField() {
			numbers(v.Field(i), path+"."+v.Type().Field(i).Name, visit)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(v.Index(i), fmt.Sprintf("%s[%d]", path, i), visit)
		}
	}
}

// Every number of a circuit, one after the other, is replaced by what is no
// number, infinite or far below zero: each is refused with an error that names
// the range, and none gets into a simulation.
func TestEveryNumberIsChecked(t *testing.T) {
	circuit := func() vacuum.Circuit {
		c := twoSides(vacuum.Capillary(1*units.Millimetre, units.Metre))
		c.Gases = []vacuum.Gas{vacuum.WaterVapour(), vacuum.Air(), vacuum.Nitrogen()}
		c.Links = append(c.Links, vacuum.Link{Name: "leak", From: "ambient", To: "near", Leak: vacuum.Leak{Rate: 1e-6}})
		c.Links[1].Passage[0].DischargeCoefficient = 0.8
		c.Feeds = []vacuum.Feed{{Name: "feed", Node: "far", Flow: 1e-3, Moisture: 1e-6}}
		c.Gauges = []vacuum.Gauge{{Name: "gauge", Node: "near", Resolution: 0.1, Ceiling: 3000}}
		return c
	}
	c := circuit()
	require.NoError(t, c.Check())
	checked := 0
	numbers(reflect.ValueOf(&c).Elem(), "Circuit", func(path string, number reflect.Value) {
		good := number.Float()
		for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1e30} {
			number.SetFloat(bad)
			_, err := vacuum.NewSimulation(c, nil)
			require.Error(t, err, "%s = %g", path, bad)
			if good != 0 { // what should be zero may be refused for being there
				require.ErrorIs(t, err, units.ErrOutOfRange, "%s = %g", path, bad)
			}
		}
		number.SetFloat(good)
		checked++
	})
	require.Greater(t, checked, 50)
	t.Logf("%d numbers", checked)

	opt := vacuum.Options{}
	numbers(reflect.ValueOf(&opt).Elem(), "Options", func(path string, number reflect.Value) {
		for _, bad := range []float64{math.NaN(), math.Inf(1), -1} {
			number.SetFloat(bad)
			_, err := vacuum.NewSimulation(circuit(), &opt)
			require.ErrorIs(t, err, units.ErrOutOfRange, "%s = %g", path, bad)
		}
		number.SetFloat(0)
	})
}

// The settings that can change under way refuse the same, and leave the
// simulation as it was.
func TestSettingsRefuseBadNumbers(t *testing.T) {
	c := twoSides(vacuum.Capillary(1*units.Millimetre, units.Metre))
	c.Feeds = []vacuum.Feed{{Name: "feed", Node: "far"}}
	sim := simulate(t, c, nil)
	for _, bad := range []float64{math.NaN(), math.Inf(1), -1} {
		require.ErrorIs(t, sim.SetFeed("feed", units.MolarFlow(bad)), units.ErrOutOfRange)
		require.ErrorIs(t, sim.SetTemperature("near", units.Temperature(bad)), units.ErrOutOfRange)
		require.ErrorIs(t, sim.SetReservoir("ambient", vacuum.Fill{Pressure: units.Pressure(bad)}), units.ErrOutOfRange)
		require.ErrorIs(t, sim.SetReservoir("ambient", vacuum.Fill{Pressure: 1000, Vapour: units.Pressure(bad)}), units.ErrOutOfRange)
	}
	pass(t, sim, 1e9)
	balanced(t, sim)
}
