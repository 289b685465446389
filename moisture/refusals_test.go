package moisture

import (
	"math"
	"testing"
	"time"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
)

// TestRefusalsNameWhatIsAccepted: a RangeError names the function that was called and
// its own argument, and the ends of the range that it states are accepted.
func TestRefusalsNameWhatIsAccepted(t *testing.T) {
	cold, err := AirAtHumidity(225, 101325, 0.5) // colder than its diffusivity is known
	require.NoError(t, err)
	port := Port{Bore: 0.01}
	life := func(held float64) error {
		_, err := IceLife(1e-3, 1, 300, units.Pressure(held))
		return err
	}
	frost := func(vapour float64) error {
		a := air(t)
		a.Vapour = units.Pressure(vapour)
		_, err := a.FrostPoint()
		return err
	}
	plateau := func(speed float64) error {
		_, err := DryingPlateau(1e-6, units.VolumeFlow(speed), 290)
		return err
	}
	intake := func(v float64) error {
		a := cold
		a.Temperature = units.Temperature(v)
		_, err := port.Intake(a, 1e-3, time.Hour)
		return err
	}
	rate := func(v float64) error {
		a := cold
		a.Temperature = units.Temperature(v)
		_, err := port.IntakeRate(a, 0)
		return err
	}
	for _, c := range []struct {
		fn, arg string
		call    func(v float64) error
		bad     float64
	}{
		{"moisture.IceLife", "held", life, 1000},
		{"moisture.IceLife", "held", life, 1e-9}, // frost below 130 K
		{"moisture.IceLife", "held", life, math.NaN()},
		{"moisture.HumidAir.FrostPoint", "vapour pressure", frost, 0},
		{"moisture.HumidAir.FrostPoint", "vapour pressure", frost, 2114},
		{"moisture.DryingPlateau", "speed", plateau, 0},
		{"moisture.DryingPlateau", "speed", plateau, 1e6},
		{"moisture.Port.Intake", "a.Temperature", intake, 225},
		{"moisture.Port.IntakeRate", "a.Temperature", rate, 225},
	} {
		err := c.call(c.bad)
		var refused *units.RangeError
		require.ErrorAs(t, err, &refused)
		require.Equal(t, c.fn, refused.Func)
		require.Equal(t, c.arg, refused.Arg)
		require.InDelta(t, c.bad, refused.Value, 0)
		least := refused.Min
		if least == math.SmallestNonzeroFloat64 { // "above 0": the least of all is too small for a rate
			least = 1e-12
		}
		require.NoError(t, c.call(least), "%v", err)
		if refused.Max < math.MaxFloat64 {
			require.NoError(t, c.call(refused.Max*(1-1e-12)), "%v", err)
		}
	}
	_, err = FitSaturation(SaturationPoint{300, 1e-3}, SaturationPoint{310, 2})
	require.ErrorContains(t, err, "second.Content = 2")
	_, err = FitSaturation(SaturationPoint{30, 1e-3}, SaturationPoint{310, 2e-3})
	require.ErrorContains(t, err, "first.Temperature = 30")
	_, err = DrynessOf([]StoredWater{{"low spot", Content{Liquid: 2e-3, Ice: -1e-3}}}, 0, 1)
	require.ErrorContains(t, err, "ice water in low spot = -0.001 kg")
}

// TestDrySpotHasNoGoverningStep: what the rounded corner lets a dry spot take up, near
// saturation or far from it, is held back by nothing; real condensation is.
func TestDrySpotHasNoGoverningStep(t *testing.T) {
	p := Puddle{Area: 1e-3, HeatSupply: 5, Film: 5e-3}
	for _, vapour := range []units.Pressure{0, 100, 1500, 2000, 2300, 2338} {
		at := Surroundings{Wall: 293.15, Vapour: vapour, Dry: 101325 - vapour}
		require.Equal(t, NoResistance, p.Report([]float64{0, 0}, at).Governing, "%v", vapour)
		if vapour < 2338 { // this near, round-off of the temperature matters
			wet := []float64{1e-3, 1e-3 * heatOf(293.15)}
			require.Equal(t, GasFilm, p.Report(wet, at).Governing, "%v", vapour)
		}
	}
	at := Surroundings{Wall: 293.15, Vapour: 2400, Dry: 98925}
	require.Equal(t, GasFilm, p.Report([]float64{0, 0}, at).Governing)
}
