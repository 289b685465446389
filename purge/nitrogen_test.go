package purge

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
)

// One pound-mole of an ideal gas fills 379.5 ft³ at 60 °F and 359 ft³ at
// 32 °F, one mole 22.414 litres at 0 °C: the molar volumes of every handbook,
// here from the exact gas constant.
func ExampleCountNitrogen() {
	used, err := CountNitrogen(453.59237, units.Standard(units.Fahrenheit(60)), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f kg, %.0f normal litres, %.1f scf at 60 °F\n",
		float64(used.Mass), used.NormalLitres, used.StandardCubicFeet)
	// Output: 12.71 kg, 10167 normal litres, 379.5 scf at 60 °F
}

// CODATA 2018 prints the molar volume at 273.15 K and 101.325 kPa, which is exact,
// cut off and not rounded as 22.41396954...e-3 m³/mol.
func TestNormalLitresAreMolarVolumes(t *testing.T) {
	used := must(CountNitrogen(1, units.Normal(), nil))
	assert.InDelta(t, 22.41396954, used.NormalLitres, 1e-8)
	assert.InEpsilon(t, used.NormalLitres, used.StandardCubicFeet*28.316846592, 1e-12, "same reference, same volume")
}

func TestMassAndAmountRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := units.Amount(rapid.Float64Range(1e-6, 1e6).Draw(t, "n"))
		assert.InEpsilon(t, float64(n), float64(NitrogenAmount(NitrogenMass(n))), 1e-12)
	})
}

func TestCylinder(t *testing.T) {
	// 10 L at 200 bar, ideal, down to 10 bar: 190 bar × 10 L = 190 kPa m³.
	c := Cylinder{Water: 10 * units.Litre, Full: 200 * units.Bar, Least: 10 * units.Bar, Temperature: 288.15, Compressibility: 1}
	want := 190e3 / (units.GasConstant * 288.15)
	assert.InEpsilon(t, want, float64(must(c.Usable())), 1e-12)
	used, err := CountNitrogen(units.Amount(want/4), units.Standard(units.Fahrenheit(70)), &c)
	require.NoError(t, err)
	assert.True(t, used.HasCylinder)
	assert.InEpsilon(t, 0.25, used.CylinderShare, 1e-12)
	c.Compressibility = 1.05
	assert.Less(t, float64(must(c.Usable())), want, "a real full cylinder holds less")
}

// Kutz, Mechanical Engineers' Handbook, vol. 2, eq. (27): mass flow goes with
// the root of the density. A scale for a gas of 1.38 times the density of air
// at 25 psig and 70 °F, used with air at 100 psig and 70 °F.
func TestFloatMeterAgainstEquation27(t *testing.T) {
	air := units.MolarMass(0.0289647)
	m := FloatMeter{Pressure: (25 + 14.7) * psia, Temperature: units.Fahrenheit(70), Gas: 1.38 * air}
	factor := must(m.Factor(air, (100+14.7)*psia, units.Fahrenheit(70)))
	massRatio := factor * float64(air) / float64(m.Gas)
	// The example's densities: 114.7·144/(53.3·530) and 1.38·39.7·144/(53.3·530).
	use, calib := 114.7*144/(53.3*530), 1.38*39.7*144/(53.3*530)
	assert.InDelta(t, 0.585, use, 0.0005, "the printed density")
	assert.InEpsilon(t, math.Sqrt(use/calib), massRatio, 1e-12)
}

func TestFloatMeterProperties(t *testing.T) {
	m := FloatMeter{Pressure: units.Atmosphere, Temperature: 293.15, Gas: NitrogenMolarMass}
	assert.Equal(t, 1.0, must(m.Factor(NitrogenMolarMass, units.Atmosphere, 293.15)))
	// At four times the absolute pressure twice the nitrogen passes.
	assert.InEpsilon(t, 0.02, float64(must(m.Nitrogen(0.01, 4*units.Atmosphere, 293.15))), 1e-12)
	assert.InEpsilon(t, 0.5, must(m.Factor(4*NitrogenMolarMass, units.Atmosphere, 293.15)), 1e-12)
}

func TestNitrogenTimes(t *testing.T) {
	assert.Equal(t, 100*time.Second, must(TimeForAmount(2, 0.02)))
}

func TestNitrogenRefuses(t *testing.T) {
	nan := math.NaN()
	good := Cylinder{Water: 0.01, Full: 2e7, Temperature: 288, Compressibility: 1}
	change := func(f func(*Cylinder)) func() error {
		return func() error { c := good; f(&c); _, err := c.Usable(); return err }
	}
	m := FloatMeter{Pressure: 1e5, Temperature: 293, Gas: 0.028}
	cases := map[string]func() error{
		"amount":            func() error { _, err := CountNitrogen(-1, units.Normal(), nil); return err },
		"amount NaN":        func() error { _, err := CountNitrogen(units.Amount(nan), units.Normal(), nil); return err },
		"no compressib.":    change(func(c *Cylinder) { c.Compressibility = 0 }),
		"least above full":  change(func(c *Cylinder) { c.Least = 3e7 }),
		"no water volume":   change(func(c *Cylinder) { c.Water = 0 }),
		"no pressure":       change(func(c *Cylinder) { c.Full = 0 }),
		"less than nothing": change(func(c *Cylinder) { c.Compressibility, c.Least = 1.5, 1.9e7 }),
		"no flow":           func() error { _, err := TimeForAmount(1, 0); return err },
		"meter pressure":    func() error { _, err := m.Factor(0.028, 0, 293); return err },
		"meter gas":         func() error { _, err := m.Factor(28, 1e5, 293); return err },
		"meter NaN":         func() error { _, err := m.Factor(0.028, 1e5, units.Temperature(nan)); return err },
		"meter unset":       func() error { _, err := FloatMeter{}.Factor(0.028, 1e5, 293); return err },
		"reading":           func() error { _, err := m.Nitrogen(-1, 1e5, 293); return err },
	}
	for name, call := range cases {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
	_, err := CountNitrogen(1, units.ReferenceState{}, nil)
	require.Error(t, err, "a standard cubic foot without a reference state")
}
