package moisture

import (
	"math"
	"testing"
	"time"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// ofAir lifts a question about humid air, made from whichever of rh, W or point
// the row gives.
func ofAir(ask func(a HumidAir, in args) (float64, error)) func(args) (float64, error) {
	return func(in args) (float64, error) {
		var a HumidAir
		var err error
		switch {
		case has(in, "rh"):
			a, err = AirAtHumidity(in.t(), in.p(), units.RelativeHumidity(in["rh"]))
		case has(in, "W"):
			a, err = AirAtRatio(in.t(), in.p(), in["W"])
		default:
			a, err = AirAtPoint(in.t(), in.p(), units.Temperature(in["point"]))
		}
		if err != nil {
			return 0, err
		}
		return ask(a, in)
	}
}

func has(in args, key string) bool { _, ok := in[key]; return ok }

func humidAir() map[string][]quantity {
	ratio := ofAir(func(a HumidAir, _ args) (float64, error) { return a.HumidityRatio(), nil })
	return map[string][]quantity{
		"humidity ratio":               {{"AirAtHumidity HumidAir.HumidityRatio", ratio}},
		"humidity ratio at dew point":  {{"AirAtPoint", ratio}},
		"relative humidity":            {{"AirAtRatio HumidAir.RelativeHumidity", ofAir(func(a HumidAir, _ args) (float64, error) { return float64(a.RelativeHumidity()), nil })}},
		"specific volume of humid air": {{"HumidAir.SpecificVolume", ofAir(func(a HumidAir, _ args) (float64, error) { return a.SpecificVolume(), nil })}},
		"water density of humid air":   {{"HumidAir.WaterDensity", ofAir(func(a HumidAir, _ args) (float64, error) { return float64(a.WaterDensity()), nil })}},
		"dew or frost point": {{"AirAtRatio HumidAir.Point", ofAir(func(a HumidAir, _ args) (float64, error) {
			t, _, err := a.Point()
			return float64(t), err
		})}},
		"enhancement factor": {{"EnhancementFactor", func(a args) (float64, error) { return EnhancementFactor(a.t(), a.p()) }}},
		"dew point":          {{"HumidAir.DewPoint", ofAir(func(a HumidAir, _ args) (float64, error) { t, err := a.DewPoint(); return float64(t), err })}},
		"frost point":        {{"HumidAir.FrostPoint", ofAir(func(a HumidAir, _ args) (float64, error) { t, err := a.FrostPoint(); return float64(t), err })}},
		"water in a volume of air": {{"HumidAir.WaterIn", ofAir(func(a HumidAir, in args) (float64, error) {
			m, err := a.WaterIn(units.Volume(in["v"]))
			return float64(m), err
		})}},
		"intake through a port": {{"Port.Intake", ofAir(func(a HumidAir, in args) (float64, error) {
			m, err := Port{units.Length(in["bore"]), units.Length(in["length"])}.Intake(a, units.Volume(in["v"]), time.Duration(in["open"]*1e9))
			return float64(m), err
		})}},
		"intake rate through a port": {{"Port.IntakeRate", ofAir(func(a HumidAir, in args) (float64, error) {
			m, err := Port{units.Length(in["bore"]), units.Length(in["length"])}.IntakeRate(a, 0)
			return float64(m), err
		})}},
		"vapour fraction": {{"VapourFraction", func(a args) (float64, error) {
			x, err := VapourFraction(units.MassFraction(a["content"]), units.MolarMass(a["M"]))
			return float64(x), err
		}}},
		"residual point": {{"ResidualPoint", func(a args) (float64, error) {
			t, _, err := ResidualPoint(units.MoleFraction(a["x"]), a.p())
			return float64(t), err
		}}},
		"saturation of a gas": {{"FreeWaterInGas", func(a args) (float64, error) {
			f, err := FreeWaterInGas(units.MoleFraction(a["x"]), a.p(), a.t())
			return f.Saturation, err
		}}},
	}
}

// TestHumidAirRoundTrips makes air by one description and reads the others.
func TestHumidAirRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := units.Temperature(rapid.Float64Range(205, 320).Draw(t, "t"))
		p := units.Pressure(rapid.Float64Range(5e4, 1.1e5).Draw(t, "p"))
		rh := units.RelativeHumidity(rapid.Float64Range(0.05, 1).Draw(t, "rh"))
		a, err := AirAtHumidity(temp, p, rh)
		if err != nil {
			t.Fatal(err)
		}
		b, err := AirAtRatio(temp, p, a.HumidityRatio()*(1-1e-15))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(b.RelativeHumidity()/rh)-1) > 1e-12 {
			t.Fatalf("humidity %v came back as %v", rh, b.RelativeHumidity())
		}
		point, phase, err := a.Point()
		if err != nil {
			t.Fatal(err)
		}
		if point > temp*(1+1e-8) || (phase == Ice) != (point < TriplePoint) {
			t.Fatalf("point %v K over %v at %v K", point, phase, temp)
		}
		c, err := AirAtPoint(temp, p, min(point, temp))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(c.Vapour/a.Vapour)-1) > 1e-7 {
			t.Fatalf("vapour %v came back as %v", a.Vapour, c.Vapour)
		}
	})
}

// TestDewAndFrostPoint checks who answers on which side of 0 °C.
func TestDewAndFrostPoint(t *testing.T) {
	warm, err := AirAtHumidity(298.15, 101325, 0.5)
	require.NoError(t, err)
	dew, err := warm.DewPoint()
	require.NoError(t, err)
	require.InDelta(t, 13.86, dew.Celsius(), 0.02) // psychrolib 1.1.1 gives 13.87 without enhancement
	_, err = warm.FrostPoint()
	require.ErrorIs(t, err, units.ErrOutOfRange)

	cold, err := AirAtHumidity(263.15, 101325, 0.5)
	require.NoError(t, err)
	_, err = cold.DewPoint()
	require.ErrorIs(t, err, units.ErrOutOfRange)
	frost, err := cold.FrostPoint()
	require.NoError(t, err)
	require.Less(t, frost.Celsius(), -10.0)

	dry, err := AirAtHumidity(298.15, 101325, 0)
	require.NoError(t, err)
	_, _, err = dry.Point()
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = dry.FrostPoint()
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// TestHumidAirRefuses covers the arguments of all constructors.
func TestHumidAirRefuses(t *testing.T) {
	nan := math.NaN()
	for name, call := range map[string]func() error{
		"hot":             func() error { _, err := AirAtHumidity(400, 1e5, 0.5); return err },
		"cold":            func() error { _, err := AirAtHumidity(170, 1e5, 0.5); return err },
		"vacuum":          func() error { _, err := AirAtHumidity(300, 1000, 0.5); return err },
		"high pressure":   func() error { _, err := AirAtHumidity(300, 3e6, 0.5); return err },
		"rh 50":           func() error { _, err := AirAtHumidity(300, 1e5, 50); return err },
		"rh NaN":          func() error { _, err := AirAtHumidity(300, 1e5, units.RelativeHumidity(nan)); return err },
		"no dry gas":      func() error { _, err := AirAtHumidity(373.15, units.Pressure(stablePressure(373.15)), 1); return err },
		"point above t":   func() error { _, err := AirAtPoint(280, 1e5, 281); return err },
		"ratio":           func() error { _, err := AirAtRatio(280, 1e5, 0.1); return err },
		"ratio NaN":       func() error { _, err := AirAtRatio(280, 1e5, nan); return err },
		"t NaN":           func() error { _, err := AirAtRatio(units.Temperature(nan), 1e5, 0); return err },
		"factor":          func() error { _, err := EnhancementFactor(280, units.Pressure(nan)); return err },
		"content":         func() error { _, err := VapourFraction(2, 0.1); return err },
		"carrier":         func() error { _, err := VapourFraction(0.1, 0); return err },
		"x":               func() error { _, _, err := ResidualPoint(-1, 1e5); return err },
		"x of zero":       func() error { _, _, err := ResidualPoint(0, 1e5); return err },
		"residual p":      func() error { _, _, err := ResidualPoint(0.1, 0); return err },
		"free water t":    func() error { _, err := FreeWaterInGas(0.1, 1e5, 20); return err },
		"free water x":    func() error { _, err := FreeWaterInGas(2, 1e5, 300); return err },
		"volume":          func() error { _, err := air(t).WaterIn(-1); return err },
		"port bore":       func() error { _, err := Port{}.IntakeRate(air(t), 0); return err },
		"port inside":     func() error { _, err := Port{Bore: 0.01}.IntakeRate(air(t), -1); return err },
		"intake volume":   func() error { _, err := Port{Bore: 0.01}.Intake(air(t), 0, time.Hour); return err },
		"intake time":     func() error { _, err := Port{Bore: 0.01}.Intake(air(t), 1, -time.Hour); return err },
		"intake bore NaN": func() error { _, err := Port{Bore: units.Length(nan)}.Intake(air(t), 1, time.Hour); return err },
	} {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
}

func air(t *testing.T) HumidAir {
	t.Helper()
	a, err := AirAtHumidity(298.15, 101325, 0.6)
	require.NoError(t, err)
	return a
}

// TestIntakeEndsAtOneExchange: a port left open long enough fills the circuit with
// what one exchange of air carries; at first it follows the rate.
func TestIntakeEndsAtOneExchange(t *testing.T) {
	a := air(t)
	port := Port{Bore: 0.0079, Length: 0.3}
	full, err := a.WaterIn(8e-3)
	require.NoError(t, err)
	late, err := port.Intake(a, 8e-3, 20000*time.Hour)
	require.NoError(t, err)
	require.InEpsilon(t, float64(full), float64(late), 1e-9)
	rate, err := port.IntakeRate(a, 0)
	require.NoError(t, err)
	early, err := port.Intake(a, 8e-3, time.Second)
	require.NoError(t, err)
	require.InEpsilon(t, float64(rate), float64(early), 1e-3)
	none, err := port.IntakeRate(a, a.Vapour)
	require.NoError(t, err)
	require.Zero(t, none)
}

// TestFreeWaterInGas names the phase that comes out.
func TestFreeWaterInGas(t *testing.T) {
	f, err := FreeWaterInGas(1e-3, 1e6, 253.15)
	require.NoError(t, err)
	require.Equal(t, Ice, f.Phase)
	f, err = FreeWaterInGas(1e-3, 1e6, 278.15)
	require.NoError(t, err)
	require.Equal(t, Liquid, f.Phase)
	f, err = FreeWaterInGas(1e-3, 1e5, 278.15)
	require.NoError(t, err)
	require.Equal(t, Phase(0), f.Phase)
}

func TestHumidAirDoesNotAllocate(t *testing.T) {
	require.Zero(t, testing.AllocsPerRun(20, func() {
		a, _ := AirAtHumidity(298.15, 101325, 0.6)
		_, _, _ = a.Point()
		_ = a.HumidityRatio() + a.SpecificVolume() + float64(a.WaterDensity())
	}))
}

func BenchmarkHumidAirState(b *testing.B) {
	ratio(b, table(250, 310), func(x float64) float64 {
		a, _ := AirAtHumidity(units.Temperature(x), 101325, 0.6)
		return a.HumidityRatio() + a.SpecificVolume() + float64(a.WaterDensity())
	})
}

func BenchmarkHumidAirPoint(b *testing.B) {
	ratio(b, table(250, 310), func(x float64) float64 {
		a, _ := AirAtHumidity(units.Temperature(x), 101325, 0.6)
		t, _, _ := a.Point()
		return float64(t)
	})
}
