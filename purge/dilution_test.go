package purge

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
)

const psia = units.PSIA

// crowlVacuum is the vacuum-purge example: 1000 gallons of air at 75 °F,
// 20 mmHg to one atmosphere.
func crowlVacuum() Cycles { return VacuumCycles(20*units.MillimetreHg, units.Atmosphere) }

func gramsPerMinute(f units.MassFlow) float64 { return float64(f) * 60e3 }

func poundMoles(n units.Amount) float64 { return float64(n) / 453.59237 }

func TestPublishedRows(t *testing.T) {
	half := VacuumCycles(units.Atmosphere/2, units.Atmosphere)
	five := PressureCycles(units.Atmosphere, 5*units.Atmosphere)
	one := units.CubicMetre
	atRoom := units.Celsius(20)
	volumes := func(c Cycles, n int) float64 {
		whole := must(SweptAmount(units.Atmosphere, one, atRoom))
		return float64(must(c.Gas(one, atRoom, n)) / whole)
	}
	vacuum := must(half.CyclesTo(0.21, 0.01))
	// The state that eq. (27) takes the root of, as the package counts gas.
	air := must(SweptAmount(114.7*psia, units.CubicFoot, units.Fahrenheit(70)))
	density := float64(air.Mass(0.0289647) / units.Pound)
	checkRows(t, "published", map[string]float64{
		"branan-vacuum-cycles": vacuum.Exact,
		"branan-vacuum-whole":  float64(vacuum.Whole),
		"branan-vacuum-gas":    volumes(half, 5),
		"branan-pressure-left": 100 * float64(must(five.Left(0.21, 2))),
		"branan-pressure-gas":  volumes(five, 2),
		"branan-dilution":      float64(must(Sweep{Volume: one, Mixing: 1}.VolumeTo(0.21, 0.01))),
		"kutz-density-air":     density,
		"vapour-volume-5":      1 / float64(must(FillCarry(1, units.Celsius(5)))),
		"vapour-volume-10":     1 / float64(must(FillCarry(1, units.Celsius(10)))),
		"vapour-volume-20":     1 / float64(must(FillCarry(1, units.Celsius(20)))),
		"ice-enthalpy":         float64(must(ThawHeat(Wet{Ice: 1, Temperature: moisture.TriplePoint}))) / 1e3,
		"ice-heat-capacity":    iceHeatCapacity / 1e3,
	})
}

func TestRecomputedRows(t *testing.T) {
	gallons, room := 1000*units.USGallon, units.Fahrenheit(75)
	vacuum := must(crowlVacuum().CyclesTo(0.21, 1e-6))
	pressure := PressureCycles(14.7*psia, 94.7*psia)
	pressures := must(pressure.CyclesTo(0.21, 1e-6))
	sweep := func(volume units.Volume, purge units.MoleFraction) Sweep {
		return Sweep{Volume: volume, Mixing: 1, Purge: purge}
	}
	feet := func(v units.Volume) float64 { return float64(v / units.CubicFoot) }
	half, atRoom := VacuumCycles(units.Atmosphere/2, units.Atmosphere), units.Celsius(20)
	checkRows(t, "recomputed", map[string]float64{
		"crowl-vacuum-cycles":    vacuum.Exact,
		"crowl-vacuum-printed":   vacuum.Exact,
		"crowl-vacuum-gas":       poundMoles(must(crowlVacuum().Gas(gallons, room, vacuum.Whole))),
		"crowl-pressure-cycles":  pressures.Exact,
		"crowl-pressure-printed": pressures.Exact,
		"crowl-pressure-gas":     poundMoles(must(pressure.Gas(gallons, room, pressures.Whole))),
		"crowl-sweep":            feet(must(sweep(1000*units.CubicFoot, 0.0001).VolumeTo(0.21, 0.0125))),
		"crowl-sweep-printed":    feet(must(sweep(1000*units.CubicFoot, 0.0001).VolumeTo(0.21, 0.0125))),
		"crowl-sweep-pure":       feet(must(sweep(1000*units.CubicFoot, 0).VolumeTo(0.21, 0.0125))),
		"branan-dilution-exact":  float64(must(sweep(1, 0).VolumeTo(0.21, 0.01))),
		"branan-vacuum-exact":    must(half.CyclesTo(0.21, 0.01)).Exact,
		"branan-vacuum-left":     100 * float64(must(half.Left(0.21, 5))),
		"sweep-3.4":              float64(must(sweep(3.4, 0).VolumeTo(0.21, 0.01))),
		"tank-150-sweep":         feet(must(sweep(150*units.CubicFoot, 0).VolumeTo(0.21, 0.01))),
		"tank-150-pressure":      must(PressureCycles(units.Atmosphere, 140*psia).CyclesTo(0.21, 0.01)).Exact,
		"sweep-bound":            gramsPerMinute(must(SweepBound(10*units.LitrePerMinute, units.Atmosphere, atRoom))),
		"film-bound":             60 * gramsPerMinute(must(FilmBound(Film{0.01, 0.01, atRoom, 0}, units.Atmosphere))),
		"geankoplis-stefan":      float64(must(FilmBound(Film{1, 0.1524, 293, 0}, units.Atmosphere))) / float64(moisture.MolarMass),
		"thaw-heat":              float64(must(ThawHeat(Wet{Ice: 0.005, Temperature: units.Celsius(-10)}))),
	}, "washout")
}

// The numbers of cycles and the nitrogen in the vacuum-purge example of Crowl
// and Louvar, Chemical Process Safety, ch. 7: a 1000 gallon vessel of air at
// 75 °F, pulled to 20 mmHg and filled with nitrogen until oxygen is at 1 ppm.
func ExampleVacuumCycles_crowlLouvar() {
	cycles := VacuumCycles(20*units.MillimetreHg, units.Atmosphere)
	needed, err := cycles.CyclesTo(0.21, 1e-6)
	if err != nil {
		fmt.Println(err)
		return
	}
	gas, err := cycles.Gas(1000*units.USGallon, units.Fahrenheit(75), needed.Whole)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f, so %d cycles; %.1f lb of nitrogen\n",
		needed.Exact, needed.Whole, float64(NitrogenMass(gas)/units.Pound))
	// Output: 3.37, so 4 cycles; 37.4 lb of nitrogen
}

// The next example of Crowl and Louvar, ch. 7: the same vessel under pressure
// cycles with nitrogen at 80 psig.
func ExamplePressureCycles_crowlLouvar() {
	cycles := PressureCycles(14.7*units.PSIA, 94.7*units.PSIA)
	needed, err := cycles.CyclesTo(0.21, 1e-6)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f, so %d cycles\n", needed.Exact, needed.Whole)
	// Output: 6.6, so 7 cycles
}

// Branan, Rules of Thumb for Chemical Engineers, pressure-cycle purging: two
// cycles to 5 atm leave 0.84 % of oxygen.
func ExampleCycles_Left_branan() {
	left, err := PressureCycles(units.Atmosphere, 5*units.Atmosphere).Left(0.21, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f %%\n", 100*float64(left))
	// Output: 0.84 %
}

// Combined cycles, worked by hand in fractions: 0.21 × (1/2) × (1/10)² with the
// first fill, 0.21 × (1/10)² without.
func TestCombinedByHand(t *testing.T) {
	first := PressureFirst(1e5, 2e4, 2e5)
	assert.InEpsilon(t, 0.00105, float64(must(first.Left(0.21, 2))), 1e-12)
	assert.InEpsilon(t, 0.105, float64(must(first.Left(0.21, 0))), 1e-12)
	second := VacuumFirst(2e4, 2e5)
	assert.InEpsilon(t, 0.0021, float64(must(second.Left(0.21, 2))), 1e-12)
	// Gas in units of V/(R T): 2·1.8e5, plus 1e5 for the first fill.
	unit := must(SweptAmount(1e5, 1, 300))
	assert.InEpsilon(t, 4.6, float64(must(first.Gas(1, 300, 2))/unit), 1e-12)
	assert.InEpsilon(t, 3.6, float64(must(second.Gas(1, 300, 2))/unit), 1e-12)
	// A first fill counts: one cycle less reaches the same target.
	assert.Equal(t, 2, must(first.CyclesTo(0.21, 0.00105)).Whole)
	assert.Equal(t, 3, must(second.CyclesTo(0.21, 0.00105)).Whole)
}

// H. Silla, Chemical Process Engineering, eq. (3.1.16), prints the tank purge
// as t = (V/Q) ln(y/0.21), which is negative for every purge. The sign here is
// not the printed one.
func TestNotSillasSign(t *testing.T) {
	got := must(Sweep{Volume: 1, Mixing: 1}.TimeTo(0.21, 0.01, 1)).Seconds()
	printed := math.Log(0.01 / 0.21)
	assert.Negative(t, printed)
	assert.InDelta(t, -printed, got, 1e-8)
}

// The combined number of cycles agrees with a gas that is mixed and drained in
// steps, mole by mole.
func TestCyclesAgainstBookkeeping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCycles(t)
		start := units.MoleFraction(rapid.Float64Range(0, 1).Draw(t, "start"))
		n := rapid.IntRange(0, 6).Draw(t, "n")
		species, total := float64(start)*float64(c.Low), float64(c.Low)
		used := 0.0
		fill := func(to float64) {
			used += to - total
			species += float64(c.Purge) * (to - total)
			total = to
		}
		drain := func(to float64) { species, total = species*to/total, to }
		if c.FirstFill > 0 {
			species, total = float64(start)*float64(c.FirstFill), float64(c.FirstFill)
			fill(float64(c.High))
			drain(float64(c.Low))
		}
		for range n {
			fill(float64(c.High))
			drain(float64(c.Low))
		}
		got := must(c.Left(start, n))
		assert.InDelta(t, species/total, float64(got), 1e-12)
		unit := float64(must(SweptAmount(1, 1, 300)))
		assert.InDelta(t, used, float64(must(c.Gas(1, 300, n)))/unit, 1e-9*float64(c.High)*float64(n+1))
	})
}

func drawCycles(t *rapid.T) Cycles {
	c := Cycles{High: units.Pressure(rapid.Float64Range(1e4, 1e6).Draw(t, "high"))}
	c.Low = c.High * units.Pressure(rapid.Float64Range(1e-3, 0.95).Draw(t, "low/high"))
	c.Purge = units.MoleFraction(rapid.Float64Range(0, 0.3).Draw(t, "purge"))
	if rapid.Bool().Draw(t, "fills first") {
		c.FirstFill = c.High * units.Pressure(rapid.Float64Range(0.1, 1).Draw(t, "first/high"))
	}
	return c
}

// CyclesTo inverts Left: the whole number reaches the target, one less does not.
func TestCyclesToIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCycles(t)
		start := c.Purge + units.MoleFraction(rapid.Float64Range(0.01, 0.7).Draw(t, "above purge"))
		target := c.Purge + (start-c.Purge)*units.MoleFraction(rapid.Float64Range(1e-6, 1.2).Draw(t, "share"))
		target = min(target, 1)
		n := must(c.CyclesTo(start, target))
		slack := units.MoleFraction(1e-8) * (target - c.Purge)
		assert.LessOrEqual(t, must(c.Left(start, n.Whole)), target+slack)
		if n.Whole > 0 {
			assert.Greater(t, must(c.Left(start, n.Whole-1)), target-slack)
		}
	})
}

func TestLowForInvertsLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCycles(t)
		// As many cycles as leave a ten-millionth or more: less is round-off to invert.
		most := int(math.Log(1e-7) / math.Log(float64(c.Low/c.High)))
		n := rapid.IntRange(1, min(most, 5)).Draw(t, "n")
		start := c.Purge + 0.5
		target := must(c.Left(start, n))
		low := must(c.LowFor(start, target, n))
		assert.InEpsilon(t, float64(c.Low), float64(low), 1e-6)
	})
}

func TestLimitsOfCycles(t *testing.T) {
	c := crowlVacuum()
	c.Purge = 0.001
	assert.InEpsilon(t, 0.001, float64(must(c.Left(0.21, 50))), 1e-12, "never below the purge gas")
	assert.Equal(t, Needed{}, must(c.CyclesTo(0.21, 0.5)), "a target already met needs nothing")
	assert.Equal(t, units.Atmosphere, Cycles{Low: 1, High: units.Atmosphere}.EndPressure())
	assert.Equal(t, units.Pressure(14.7*psia), PressureCycles(14.7*psia, 94.7*psia).EndPressure())
	whole := must(VacuumCycles(1e4, 1e5).CyclesTo(0.1, 0.0001))
	assert.Equal(t, 3, whole.Whole, "round-off does not add a cycle")
}

func TestCyclesRefuse(t *testing.T) {
	nan := math.NaN()
	good := VacuumCycles(1e3, 1e5)
	cases := []struct {
		name string
		call func() error
		says string
	}{
		{"low above high", func() error { return VacuumCycles(2e5, 1e5).Check() }, "Low = 200000 Pa"},
		{"low equal high", func() error { return VacuumCycles(1e5, 1e5).Check() }, "Low = 100000 Pa"},
		{"low zero", func() error { return VacuumCycles(0, 1e5).Check() }, "Low = 0 Pa"},
		{"high missing", func() error { return Cycles{}.Check() }, "High = 0 Pa"},
		{"high infinite", func() error { return VacuumCycles(1, units.Pressure(math.Inf(1))).Check() }, "High"},
		{"low NaN", func() error { return VacuumCycles(units.Pressure(nan), 1e5).Check() }, "Low"},
		{"first fill", func() error { return PressureFirst(3e5, 1e3, 2e5).Check() }, "FirstFill"},
		{"end", func() error { return Cycles{Low: 10, High: 1e5, End: 5}.Check() }, "End = 5 Pa"},
		{"purge", func() error { return Cycles{Low: 10, High: 1e5, Purge: -0.1}.Check() }, "Purge"},
		{"start", func() error { _, err := good.Left(1.1, 1); return err }, "start = 1.1"},
		{"count", func() error { _, err := good.Left(0.2, -1); return err }, "n = -1 cycles"},
		{"target under purge", func() error {
			_, err := Cycles{Low: 10, High: 1e5, Purge: 0.01}.CyclesTo(0.2, 0.01)
			return err
		}, "target = 0.01"},
		{"target zero", func() error { _, err := good.CyclesTo(0.2, 0); return err }, "target = 0"},
		{"low for nothing", func() error { _, err := good.LowFor(0.2, 0.3, 1); return err }, "target = 0.3"},
		{"volume", func() error { _, err := good.Gas(0, 300, 1); return err }, "volume = 0 m³"},
		{"temperature", func() error { _, err := good.Gas(1, 0, 1); return err }, "t = 0 K"},
		{"temperature NaN", func() error { _, err := good.Gas(1, units.Temperature(nan), 1); return err }, "t = NaN"},
	}
	for _, c := range cases {
		err := c.call()
		require.ErrorIs(t, err, units.ErrOutOfRange, c.name)
		assert.True(t, strings.Contains(err.Error(), c.says), "%s: %v", c.name, err)
	}
}
