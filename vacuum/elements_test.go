package vacuum_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// ExamplePassage_Uncertainty: what is known about usual parts at 500 micron and
// at atmospheric pressure.
func ExamplePassage_Uncertainty() {
	for _, e := range []struct {
		name string
		way  vacuum.Passage
	}{
		{"hose", vacuum.Tube(6.35*units.Millimetre, 1.5)},
		{"valve core", vacuum.ValveCore()},
		{"core tool", vacuum.CoreTool(false)},
		{"orifice", vacuum.Orifice(2 * units.Millimetre)},
	} {
		deep, _ := e.way.Uncertainty(vacuum.Air(), 67, 40, 293.15)
		dense, _ := e.way.Uncertainty(vacuum.Air(), 101325, 90000, 293.15)
		fmt.Printf("%-10s %4.1f %% %4.1f %%\n", e.name, 100*deep, 100*dense)
	}
	// Output:
	// hose        0.6 %  5.0 %
	// valve core  3.7 %  5.0 %
	// core tool   2.2 %  5.0 %
	// orifice     5.0 % 32.2 %
}

// TestDrierMeetsKozenyAndCarman: slow dense gas through the bed alone against
// v = ε³·d²·Δp/(180·(1-ε)²·µ·L), P. C. Carman 1937 (from memory), and more
// resistance in series with the connections.
func TestDrierMeetsKozenyAndCarman(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := vacuum.LiquidLineDrier()
		d.Grain = units.Length(logUniform(t, "grain", 0.3e-3, 2e-3))
		d.Porosity = rapid.Float64Range(0.3, 0.5).Draw(t, "porosity")
		p, err := d.Passage()
		require.NoError(t, err)
		mean := 101325.0
		got, err := vacuum.Passage{p[1]}.Conductance(vacuum.Air(), units.Pressure(mean), units.Pressure(mean), 293.15)
		require.NoError(t, err)
		air := vacuum.Air()
		mu, err := air.Viscosity(293.15)
		require.NoError(t, err)
		e, g := d.Porosity, float64(d.Grain)
		want := e * e * e * g * g * mean * float64(d.Shell.Circle()) / (180 * (1 - e) * (1 - e) * float64(mu) * float64(d.BedLength))
		require.InEpsilon(t, want, float64(got), 0.04) // slip, pore ends and whole pores
		all, err := p.Conductance(vacuum.Air(), units.Pressure(mean), units.Pressure(mean), 293.15)
		require.NoError(t, err)
		require.Less(t, float64(all), float64(got))
	})
	for name, spoil := range map[string]func(*vacuum.FilterDrier){
		"Connection": func(d *vacuum.FilterDrier) { d.Connection = 0 },
		"Grain":      func(d *vacuum.FilterDrier) { d.Grain = d.Shell },
		"Porosity":   func(d *vacuum.FilterDrier) { d.Porosity = 1 },
		"BedLength":  func(d *vacuum.FilterDrier) { d.BedLength = -1 },
	} {
		d := vacuum.LiquidLineDrier()
		spoil(&d)
		_, err := d.Passage()
		require.ErrorIs(t, err, units.ErrOutOfRange)
		require.ErrorContains(t, err, name)
	}
}

// TestUncertaintyHasItsLimits: within bounds everywhere, smallest for long
// tubes, and small for anything in molecular flow.
func TestUncertaintyHasItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		way := vacuum.Series(vacuum.ValveCore(), vacuum.Hose(units.Length(logUniform(t, "bore", 2e-3, 2e-2)), units.Length(logUniform(t, "length", 0.1, 10))))
		up := units.Pressure(logUniform(t, "up", 1e-3, 1e6))
		down := up * units.Pressure(rapid.Float64Range(0, 1).Draw(t, "ratio"))
		u, err := way.Uncertainty(vacuum.Nitrogen(), up, down, 293.15)
		require.NoError(t, err)
		require.True(t, u >= 0.005 && u <= 0.4, "%v", u)
		back, err := way.Uncertainty(vacuum.Nitrogen(), down, up, 293.15)
		require.NoError(t, err)
		require.InEpsilon(t, u, back, 1e-9)
		if up < 2e-3 {
			require.Less(t, u, 0.015)
		}
	})
	_, err := vacuum.Passage{}.Uncertainty(vacuum.Nitrogen(), 1, 0, 293.15)
	require.Error(t, err)
}

func TestPartsFromSizes(t *testing.T) {
	open, err := vacuum.NearlyClosed(6*units.Millimetre, 0.01).MolarFlow(vacuum.Air(), 101325, 0, 293.15)
	require.NoError(t, err)
	full, err := vacuum.Orifice(6*units.Millimetre).MolarFlow(vacuum.Air(), 101325, 0, 293.15)
	require.NoError(t, err)
	require.InEpsilon(t, 0.01, float64(open/full), 0.01)
	require.Error(t, vacuum.NearlyClosed(6*units.Millimetre, 0).Check())
	require.Equal(t, vacuum.Hose(0.008, 1), vacuum.HoseWith(0.008, 1, vacuum.HoseFittingShare*0.008, vacuum.HoseFittingLength))
	one, err := vacuum.Coil(5*units.Millimetre, 5, 1).Conductance(vacuum.Air(), 100, 100, 293.15)
	require.NoError(t, err)
	six, err := vacuum.Coil(5*units.Millimetre, 5, 6).Conductance(vacuum.Air(), 100, 100, 293.15)
	require.NoError(t, err)
	require.InEpsilon(t, 6, float64(six/one), 1e-9)
	bend := vacuum.Bend(10*units.Millimetre, 0.1, 90)
	require.InEpsilon(t, 0.1+1.33*0.5*0.01, float64(bend.Length()), 1e-12)
}
