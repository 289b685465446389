package purge

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

// A circuit of 8 litres stood open at 28 °C and 75 % humidity at 300 m, with no
// liquid water. Two pulls to 2000 micron, each broken with nitrogen, leave
// micrograms of what came in.
func ExampleWaterLeft() {
	ambient, err := units.StandardAtmosphere(300)
	if err != nil {
		fmt.Println(err)
		return
	}
	open := Opened{
		Volume: 8 * units.Litre, AirTemperature: units.Celsius(28), Humidity: 75 * units.Percent,
		Ambient: ambient, Charge: 2 * units.Kilogram,
	}
	left, err := WaterLeft(open, CycleTrain{VacuumCycles(2000*units.Micron, ambient), 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mg came in, %.2g mg left, %.2g mg/kg of the charge, %v at %.0f °C\n",
		float64(left.Entered/units.Milligram), float64(left.Left/units.Milligram),
		left.PerCharge.In(units.MilligramPerKilogram), left.DewPhase, left.DewPoint.Celsius())
	// Output: 163 mg came in, 0.0012 mg left, 0.00061 mg/kg of the charge, ice at -86 °C
}

func opened() Opened {
	return Opened{
		Volume: 8 * units.Litre, AirTemperature: units.Celsius(25), Humidity: 60 * units.Percent,
		Ambient: units.Atmosphere, Charge: 1.5,
	}
}

// ASHRAE Fundamentals 2017, ch. 1, Table 2 prints a saturated humidity ratio of
// 0.020173 kg/kg at 25 °C and 101325 Pa. It includes the enhancement factor,
// 1.0041, which the partial pressures here leave out, so 0.6 % is allowed.
func TestAirThatEnteredAgainstHumidityRatio(t *testing.T) {
	o := opened()
	o.Humidity = 1
	a := must(WaterLeft(o))
	dry := float64(o.Ambient-a.Vapour) * 0.0289647 * float64(o.Volume) / (units.GasConstant * float64(o.AirTemperature))
	assert.InEpsilon(t, 0.020173, float64(a.Entered)/dry, 0.006)
	assert.Equal(t, a.Entered, a.Left, "no treatment, nothing lost")
	assert.InDelta(t, 25, a.DewPoint.Celsius(), 1e-6)
}

// The answer is the closed form times the vapour that came in.
func TestWaterLeftFollowsTheForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := opened()
		low := units.Pressure(rapid.Float64Range(20, 5e4).Draw(t, "low"))
		n := rapid.IntRange(1, 3).Draw(t, "n")
		a := must(WaterLeft(o, CycleTrain{VacuumCycles(low, o.Ambient), n}))
		assert.InEpsilon(t, float64(a.Entered)*math.Pow(float64(low/o.Ambient), float64(n)), float64(a.Left), 1e-9)
		assert.InEpsilon(t, float64(a.Left)/1.5, float64(a.PerCharge), 1e-12)
		per := must(SweptAmount(o.Ambient-low, o.Volume, o.AirTemperature))
		assert.InEpsilon(t, float64(n)*float64(per), float64(a.Nitrogen), 1e-9)

		k := rapid.Float64Range(0.2, 1).Draw(t, "K")
		swept := units.Volume(rapid.Float64Range(0, 0.05).Draw(t, "swept"))
		s := must(WaterLeft(o, SweepThrough{Sweep: Sweep{Mixing: k}, Pressure: o.Ambient, Swept: swept}))
		assert.InEpsilon(t, float64(s.Entered)*math.Exp(-k*float64(swept/o.Volume)), float64(s.Left), 1e-9)
	})
}

// Treatments join: what one leaves the next begins with, and a fill in between
// counts as dilution and as nitrogen.
func TestTreatmentsJoin(t *testing.T) {
	o := opened()
	train := VacuumCycles(1e3, o.Ambient)
	two := must(WaterLeft(o, CycleTrain{train, 1}, CycleTrain{train, 1}))
	one := must(WaterLeft(o, CycleTrain{train, 2}))
	assert.InEpsilon(t, float64(one.Left), float64(two.Left), 1e-12)
	assert.InEpsilon(t, float64(one.Nitrogen), float64(two.Nitrogen), 1e-12)

	// VacuumFirst leaves the circuit at low; the sweep at ambient fills it first.
	deep := CycleTrain{VacuumFirst(1e3, 1e5), 1}
	sweep := SweepThrough{Sweep: Sweep{Mixing: 1}, Pressure: 1e5}
	a, b := must(WaterLeft(o, deep)), must(WaterLeft(o, deep, sweep))
	assert.Equal(t, units.Pressure(1e3), a.Pressure)
	assert.InEpsilon(t, float64(a.Left), float64(b.Left), 1e-12, "a fill dilutes, it removes nothing")
	assert.InEpsilon(t, float64(a.Fraction)/100, float64(b.Fraction), 1e-12)
	assert.InEpsilon(t, float64(must(SweptAmount(99e3, o.Volume, o.AirTemperature))), float64(b.Nitrogen-a.Nitrogen), 1e-9)

	none := must(WaterLeft(o, CycleTrain{train, 0}))
	assert.Equal(t, none.Entered, none.Left)
	assert.Equal(t, o.Ambient, none.Pressure)
	filled := must(WaterLeft(o, CycleTrain{PressureFirst(o.Ambient, 1e3, 2*o.Ambient), 0}))
	assert.Equal(t, 2*o.Ambient, filled.Pressure)
	assert.InEpsilon(t, float64(filled.Entered), float64(filled.Left), 1e-12)
}

// Nitrogen that is itself a little wet sets the floor.
func TestWetNitrogenSetsTheFloor(t *testing.T) {
	o := opened()
	train := VacuumCycles(100, o.Ambient)
	train.Purge = 10e-6
	a := must(WaterLeft(o, CycleTrain{train, 30}))
	assert.InEpsilon(t, 10e-6, float64(a.Fraction), 1e-9)
	// 10 µmol/mol at one atmosphere is 1.01 Pa, a frost point near -60 °C: IAPWS
	// R14-08 gives 1.0813475 Pa at -60 °C.
	assert.Equal(t, moisture.Ice, a.AmbientDewPhase)
	assert.InDelta(t, -60.5, a.AmbientDewPoint.Celsius(), 0.1)
}

func TestWaterLeftRefusesWhatIsNotVapour(t *testing.T) {
	forms := map[string]moisture.Content{
		"2 g liquid":         {Liquid: 2 * units.Gram},
		"1.5 g ice":          {Ice: 1.5 * units.Gram},
		"0.3 g dissolved in": {Dissolved: 0.3 * units.Gram},
		"0.1 g adsorbed":     {Adsorbed: 0.1 * units.Gram},
	}
	for says, content := range forms {
		o := opened()
		o.Other = content
		_, err := WaterLeft(o)
		require.ErrorIs(t, err, ErrNotVapour)
		assert.Contains(t, err.Error(), says)
		assert.Contains(t, err.Error(), "simulate", "it says where the truth is")
	}
	// Warm wet air in a cold circuit has already left liquid behind.
	o := opened()
	o.Site = units.Celsius(5)
	_, err := WaterLeft(o)
	require.ErrorIs(t, err, ErrNotVapour)
	assert.Contains(t, err.Error(), "5.00 °C")
}

func TestWaterLeftRefuses(t *testing.T) {
	change := func(f func(*Opened), treatments ...Treatment) error {
		o := opened()
		f(&o)
		_, err := WaterLeft(o, treatments...)
		return err
	}
	nothing := func(*Opened) {}
	cases := map[string]error{
		"volume":       change(func(o *Opened) { o.Volume = 0 }),
		"humidity":     change(func(o *Opened) { o.Humidity = 60 }),
		"ambient":      change(func(o *Opened) { o.Ambient = 0 }),
		"air":          change(func(o *Opened) { o.AirTemperature = 25 }),
		"site":         change(func(o *Opened) { o.Site = 25 }),
		"charge":       change(func(o *Opened) { o.Charge = -1 }),
		"other":        change(func(o *Opened) { o.Other.Ice = units.Mass(math.NaN()) }),
		"count":        change(nothing, CycleTrain{VacuumCycles(1, 2), -1}),
		"cycles":       change(nothing, CycleTrain{Cycles{}, 1}),
		"mixing":       change(nothing, SweepThrough{Pressure: 1e5, Swept: 1}),
		"sweep p":      change(nothing, SweepThrough{Sweep: Sweep{Mixing: 1}, Pressure: -1, Swept: 1}),
		"swept":        change(nothing, SweepThrough{Sweep: Sweep{Mixing: 1}, Pressure: 1e5, Swept: -1}),
		"out of sight": change(nothing, CycleTrain{VacuumCycles(1e-3, 1e5), 8}),
	}
	for name, err := range cases {
		require.ErrorIs(t, err, units.ErrOutOfRange, name)
	}
	require.ErrorIs(t, change(nothing, nil), units.ErrMissing)
	// Too dry for a dew point: the rest of the answer is there.
	a, err := WaterLeft(opened(), CycleTrain{VacuumCycles(1e-3, 1e5), 8})
	require.Error(t, err)
	assert.Positive(t, a.Left)
	assert.Positive(t, a.Nitrogen)
}
