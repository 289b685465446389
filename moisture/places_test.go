package moisture

import (
	"math"
	"testing"
	"time"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func sampleOil(t *testing.T) Oil {
	t.Helper()
	law, err := FitSaturation(SaturationPoint{293.15, 1500e-6}, SaturationPoint{333.15, 3000e-6}) // invented, of the order of an ester oil
	require.NoError(t, err)
	return Oil{Mass: 0.5, WaterContent: 300e-6, Law: law, Exchange: time.Hour}
}

func sampleWalls() Walls {
	return Walls{Area: 1, Capacity: 1e-6, Coverage: 0.8, Isotherm: Temkin{80e3}, Sticking: 0.01}
}

func sampleDesiccant() Desiccant {
	return Desiccant{Mass: 0.05, Capacity: 0.2, Coverage: 0.3, Isotherm: Freundlich{3}, Exchange: 10 * time.Minute}
}

// rootedIsotherm is a caller's: coverage to the power 1.5, no number below zero.
type rootedIsotherm struct{}

func (rootedIsotherm) Check() error                         { return nil }
func (rootedIsotherm) Activity(coverage, _ float64) float64 { return coverage * math.Sqrt(coverage) }

func (rootedIsotherm) Coverage(activity, _ float64) float64 { return math.Cbrt(activity * activity) }

func TestOtherStoresKeepTheContract(t *testing.T) {
	freundlich := sampleWalls()
	freundlich.Isotherm = Freundlich{4}
	rooted := sampleWalls()
	rooted.Isotherm = rootedIsotherm{}
	temkin := sampleDesiccant()
	temkin.Isotherm = Temkin{30e3}
	for _, c := range []storeCase{
		{"oil", sampleOil(t), shares},
		{"walls", sampleWalls(), shares},
		{"walls by Freundlich", freundlich, shares},
		{"walls by a caller's isotherm", rooted, shares},
		{"desiccant", sampleDesiccant(), shares},
		{"desiccant by Temkin", temkin, shares},
	} {
		t.Run(c.name, func(t *testing.T) { checkStore(t, c) })
	}
}

// TestOilEquilibrium: at the vapour pressure of its content the oil neither gives nor
// takes.
func TestOilEquilibrium(t *testing.T) {
	oil := sampleOil(t)
	p, err := oil.Law.VapourPressure(oil.WaterContent, 293.15)
	require.NoError(t, err)
	require.InEpsilon(t, 0.2*2339.2, float64(p), 1e-3) // a fifth of saturation
	at := Surroundings{Wall: 293.15, Vapour: p, Dry: 1000 - p}
	state, rates := []float64{0}, []float64{0}
	oil.Start(state, at)
	full := Surroundings{Wall: 293.15}
	require.InDelta(t, 0, oil.Rates(rates, state, at), 1e-12*oil.Rates([]float64{0}, state, full))
	require.InEpsilon(t, 0.5*300e-6/3600, oil.Rates(rates, state, full), 1e-12)
	require.Equal(t, OilExchange, oil.Report(state, full).Governing)
	require.Equal(t, NoResistance, oneStep(at, 0, OilExchange).Governing)
}

// closed puts an oil into a gas volume without outlet: what leaves the oil raises the
// pressure.
type closed struct {
	Oil
	inGas, start float64 // kg/Pa; Pa
}

func (c closed) Rates(dst, state []float64, at Surroundings) float64 {
	first := float64(c.Mass) * float64(c.WaterContent)
	at.Vapour = units.Pressure(c.start + (first-state[0])/c.inGas)
	return c.Oil.Rates(dst, state, at)
}

// TestOilRise integrates the oil in a closed volume and compares with the closed
// form.
func TestOilRise(t *testing.T) {
	oil := sampleOil(t)
	const v, wall, start = 8e-3, 293.15, 40.0
	rise, err := oil.Rise(v, wall, start)
	require.NoError(t, err)
	require.Less(t, rise.TimeConstant, oil.Exchange/5) // small volume, much shorter
	box := closed{oil, v * float64(MolarMass) / (molarGas * wall), start}
	for _, until := range []time.Duration{time.Minute, 5 * time.Minute, time.Hour} {
		state, elapsed := run(t, box, Surroundings{Wall: wall}, func(elapsed float64, _ []float64) bool { return elapsed >= until.Seconds() })
		want, err := rise.At(time.Duration(elapsed * 1e9))
		require.NoError(t, err)
		got := start + (float64(oil.Mass)*float64(oil.WaterContent)-state[0])/box.inGas
		require.InEpsilon(t, float64(want), got, 1e-3, until)
	}
	_, err = oil.Rise(0, wall, start)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	wet := oil
	wet.WaterContent = 0.05
	_, err = wet.Rise(v, wall, start)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = rise.At(-1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

// TestTemkinWallsOutgasAsOneOverTime pumps adsorbed water off ideally: the rate falls
// as 1/t, the closed form for metals (vacuum-technology handbook, formula 1-32).
func TestTemkinWallsOutgasAsOneOverTime(t *testing.T) {
	walls := sampleWalls()
	walls.Fade = 1e-15
	at := Surroundings{Wall: 293.15}
	rates := []float64{0}
	rate := func(after float64) float64 {
		state, _ := run(t, walls, at, func(elapsed float64, _ []float64) bool { return elapsed >= after })
		return walls.Rates(rates, state, at)
	}
	for _, after := range []float64{100, 1000, 1e4} {
		require.InDelta(t, -1, math.Log10(rate(10*after)/rate(after)), 0.02, after)
	}
	require.Equal(t, WallDesorption, walls.Report([]float64{5e-7}, at).Governing)
}

// TestWallsTakeUpWhatTheyGave: under humid gas a bare surface fills to equilibrium.
func TestWallsTakeUpWhatTheyGave(t *testing.T) {
	for _, isotherm := range []Isotherm{Freundlich{3}, Temkin{20e3}} {
		walls := Walls{Area: 1, Capacity: 1e-6, Isotherm: isotherm, Sticking: 0.01}
		at := Surroundings{Wall: 293.15, Vapour: units.Pressure(0.5 * stablePressure(293.15)), Dry: 1e5}
		state, _ := run(t, walls, at, func(elapsed float64, _ []float64) bool { return elapsed > 1000 })
		want, err := EquilibriumCoverage(isotherm, 0.5, 293.15)
		require.NoError(t, err)
		require.InEpsilon(t, want, state[0]/1e-6, 1e-3)
	}
}

// TestIsothermsInvert takes coverage to activity and back.
func TestIsothermsInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0.01, 1).Draw(t, "coverage")
		temp := rapid.Float64Range(250, 350).Draw(t, "t")
		for _, i := range []Isotherm{Freundlich{rapid.Float64Range(1, 10).Draw(t, "n")}, Temkin{rapid.Float64Range(1e3, 6e4).Draw(t, "span")}} {
			if back := i.Coverage(i.Activity(share, temp), temp); math.Abs(back-share) > 1e-9 {
				t.Fatalf("%T: %v came back as %v", i, share, back)
			}
		}
	})
	require.Zero(t, Freundlich{2}.Activity(-0.1, 300))
	require.Zero(t, Temkin{2e4}.Coverage(0, 300))
	require.Zero(t, Temkin{2e4}.Coverage(1e-300, 300))
}

// TestIceLifeAgainstPuddle sublimes a lump of ice under held vapour in the full model
// and compares the time with the closed form.
func TestIceLifeAgainstPuddle(t *testing.T) {
	const held, supply = 66.66118, 0.5
	frost, err := SaturationTemperatureIce(held)
	require.NoError(t, err)
	p := Puddle{Mass: 0.01, Temperature: frost, Area: 0.1, EvaporationCoefficient: 1, HeatSupply: supply, Film: 1e-3, Fade: 1e-7}
	at := Surroundings{Wall: 293.15, Vapour: held}
	_, elapsed := run(t, p, at, func(_ float64, s []float64) bool { return s[0] < 0.002 })
	life, err := IceLife(0.008, supply, 293.15, held)
	require.NoError(t, err)
	require.InEpsilon(t, life.Seconds(), elapsed, 0.005)
}

// TestFreezingSpeedSplitsThePlateaus: just below it water stays liquid near the triple
// point, just above it is ice.
func TestFreezingSpeedSplitsThePlateaus(t *testing.T) {
	s, err := FreezingSpeed(0.5, 298.15)
	require.NoError(t, err)
	below, err := DryingPlateau(0.5, s*0.999, 298.15)
	require.NoError(t, err)
	require.Equal(t, Liquid, below.Phase)
	require.InDelta(t, tripleT, float64(below.Temperature), 0.1)
	above, err := DryingPlateau(0.5, s*1.001, 298.15)
	require.NoError(t, err)
	require.Equal(t, Ice, above.Phase)
	require.Less(t, above.Temperature, TriplePoint)
	// Isothermal bound m R T/(M S ps): 10 g, 1 L/s, 20 °C last 578 s (recomputed with
	// 2339.2 Pa); the plateau with ample heat comes close from above.
	ample, err := DryingPlateau(1e6, 1e-3, 293.15)
	require.NoError(t, err)
	last, err := ample.Time(0.01)
	require.NoError(t, err)
	require.InDelta(t, 578, last.Seconds(), 0.5)
}

// TestWaterInRefrigerant names the phase that comes out and refuses what has no data.
func TestWaterInRefrigerant(t *testing.T) {
	f, err := FreeWaterInRefrigerant(R22, 200e-6, 240)
	require.NoError(t, err)
	require.Equal(t, Ice, f.Phase)
	f, err = FreeWaterInRefrigerant(R22, 2000e-6, 300)
	require.NoError(t, err)
	require.Equal(t, Liquid, f.Phase)
	f, err = FreeWaterInRefrigerant(R22, 20e-6, 240)
	require.NoError(t, err)
	require.Equal(t, Phase(0), f.Phase)
	for _, r := range []Refrigerant{"", "R-134a", "R-410A", "R22"} {
		_, err := WaterSolubility(r, 280)
		require.ErrorIs(t, err, ErrNoData)
		_, err = FreeWaterInRefrigerant(r, 1e-5, 280)
		require.ErrorIs(t, err, ErrNoData)
		_, err = WaterLimit(r)
		require.ErrorIs(t, err, ErrNoData)
	}
	previous := units.MassFraction(0)
	for x := 234.0; x < 344; x++ {
		w, err := WaterSolubility(R12, units.Temperature(x))
		require.NoError(t, err)
		require.Greater(t, w, previous)
		previous = w
	}
}

// TestDryness adds up stores and judges them.
func TestDryness(t *testing.T) {
	d, err := DrynessOf([]StoredWater{
		{"low spot", Content{Liquid: 2e-6, Ice: 3e-6}}, {"oil", Content{Dissolved: 4e-6}},
	}, 1e-6, 1)
	require.NoError(t, err)
	require.InDelta(t, 10e-6, float64(d.Water), 1e-15)
	require.InDelta(t, 3e-6, float64(d.Forms.Ice), 1e-15)
	j, err := d.Against(20 * units.MilligramPerKilogram)
	require.NoError(t, err)
	require.True(t, j.Within)
	require.InDelta(t, 0.5, j.Ratio, 1e-9)
	j, err = d.AgainstDrier(5 * units.Milligram)
	require.NoError(t, err)
	require.False(t, j.Within)
	_, err = d.Against(0)
	require.ErrorIs(t, err, ErrNoData)
	_, err = d.AgainstDrier(0)
	require.ErrorIs(t, err, ErrNoData)
	_, err = d.Against(-1)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	point, phase, err := d.Point(0.072585, 8*units.Bar)
	require.NoError(t, err)
	require.Equal(t, Ice, phase)
	require.InDelta(t, -31.6, point.Celsius(), 0.3) // 32.2 Pa: between 300 and 200 micron of the trade-unit table
}

// TestOutgassingIntegrates compares the released amount with a sum over the rate.
func TestOutgassingIntegrates(t *testing.T) {
	for _, law := range []OutgassingLaw{Metal, Elastomer} {
		o := Outgassing{law, 3e-6, 2}
		sum := 0.0
		const n = 20000
		for i := range n {
			at := time.Duration((3600 + (7200-3600)*(float64(i)+0.5)/n) * 1e9)
			q, err := o.Throughput(at)
			require.NoError(t, err)
			sum += float64(q) * 3600 / n
		}
		got, err := o.Released(time.Hour, 2*time.Hour, 300)
		require.NoError(t, err)
		require.InEpsilon(t, sum/(molarGas*300), float64(got), 1e-6, law.String())
	}
}

// TestPlacesRefuse covers bad arguments of the closed forms and stores.
func TestPlacesRefuse(t *testing.T) {
	oil := func(spoil func(*Oil)) func() error {
		return func() error { o := sampleOil(t); spoil(&o); return o.Check() }
	}
	walls := func(spoil func(*Walls)) func() error {
		return func() error { w := sampleWalls(); spoil(&w); return w.Check() }
	}
	desiccant := func(spoil func(*Desiccant)) func() error {
		return func() error { d := sampleDesiccant(); spoil(&d); return d.Check() }
	}
	nan := math.NaN()
	for name, call := range map[string]func() error{
		"plateau supply":   func() error { _, err := DryingPlateau(0, 1, 290); return err },
		"plateau speed":    func() error { _, err := DryingPlateau(1, units.VolumeFlow(nan), 290); return err },
		"plateau wall":     func() error { _, err := DryingPlateau(1, 1, 270); return err },
		"plateau too fast": func() error { _, err := DryingPlateau(1e-6, 1e6, 290); return err },
		"plateau time":     func() error { _, err := Plateau{Rate: 1}.Time(-1); return err },
		"plateau forever":  func() error { _, err := Plateau{Rate: 1e-300}.Time(1); return err },
		"freezing":         func() error { _, err := FreezingSpeed(1, 400); return err },
		"adiabatic":        func() error { _, err := AdiabaticFreezingFraction(270); return err },
		"life wall":        func() error { _, err := IceLife(1, 1, 200, 100); return err },
		"life held":        func() error { _, err := IceLife(1, 1, 290, 1000); return err },
		"life mass":        func() error { _, err := IceLife(units.Mass(nan), 1, 290, 100); return err },
		"melting":          func() error { _, err := MeltingTime(1, 1, 273); return err },
		"fit same": func() error {
			_, err := FitSaturation(SaturationPoint{300, 1e-3}, SaturationPoint{300, 2e-3})
			return err
		},
		"fit content":        func() error { _, err := FitSaturation(SaturationPoint{300, 0}, SaturationPoint{310, 2e-3}); return err },
		"law t":              func() error { _, err := SaturationLaw{}.Content(100); return err },
		"law content":        func() error { _, err := SaturationLaw{B: 10}.Content(300); return err },
		"law over":           func() error { _, err := sampleOil(t).Law.VapourPressure(0.01, 300); return err },
		"oil mass":           oil(func(o *Oil) { o.Mass = 0 }),
		"oil content":        oil(func(o *Oil) { o.WaterContent = -1 }),
		"oil law":            oil(func(o *Oil) { o.Law = SaturationLaw{} }),
		"oil exchange":       oil(func(o *Oil) { o.Exchange = 0 }),
		"oil fade":           oil(func(o *Oil) { o.Fade = units.Mass(nan) }),
		"walls area":         walls(func(w *Walls) { w.Area = 0 }),
		"walls capacity":     walls(func(w *Walls) { w.Capacity = nan }),
		"walls coverage":     walls(func(w *Walls) { w.Coverage = 2 }),
		"walls sticking":     walls(func(w *Walls) { w.Sticking = 0 }),
		"walls Freundlich":   walls(func(w *Walls) { w.Isotherm = Freundlich{} }),
		"walls Temkin":       walls(func(w *Walls) { w.Isotherm = Temkin{} }),
		"desiccant mass":     desiccant(func(d *Desiccant) { d.Mass = 0 }),
		"desiccant capacity": desiccant(func(d *Desiccant) { d.Capacity = 0 }),
		"desiccant coverage": desiccant(func(d *Desiccant) { d.Coverage = -1 }),
		"desiccant exchange": desiccant(func(d *Desiccant) { d.Exchange = 0 }),
		"coverage rh":        func() error { _, err := EquilibriumCoverage(Freundlich{2}, 2, 300); return err },
		"solubility t":       func() error { _, err := WaterSolubility(R22, 200); return err },
		"free water content": func() error { _, err := FreeWaterInRefrigerant(R22, 2, 280); return err },
		"dryness charge":     func() error { _, err := DrynessOf(nil, 0, 0); return err },
		"dryness vapour":     func() error { _, err := DrynessOf(nil, units.Mass(nan), 1); return err },
		"dryness store": func() error {
			_, err := DrynessOf([]StoredWater{{"a", Content{Ice: units.Mass(nan)}}}, 0, 1)
			return err
		},
		"outgassing law":  func() error { return Outgassing{0, 1, 1}.Check() },
		"outgassing q":    func() error { return Outgassing{Metal, 0, 1}.Check() },
		"outgassing time": func() error { _, err := Outgassing{Metal, 1, 1}.Throughput(0); return err },
		"outgassing span": func() error { _, err := Outgassing{Metal, 1, 1}.Released(2*time.Hour, time.Hour, 300); return err },
		"outgassing t":    func() error { _, err := Outgassing{Metal, 1, 1}.Released(time.Hour, 2*time.Hour, 3); return err },
	} {
		require.ErrorIs(t, call(), units.ErrOutOfRange, name)
	}
	require.ErrorIs(t, walls(func(w *Walls) { w.Isotherm = nil })(), ErrNoData)
	require.ErrorIs(t, desiccant(func(d *Desiccant) { d.Isotherm = nil })(), ErrNoData)
	_, err := EquilibriumCoverage(nil, 0.5, 300)
	require.ErrorIs(t, err, ErrNoData)
}

// TestPlateauHoldsThePuddle sets the full model of free water to the plateau's closed
// form, in liquid and in ice: with what the pump takes away its temperature stands still,
// within the 0.05 % of its latent heats.
func TestPlateauHoldsThePuddle(t *testing.T) {
	for _, c := range []struct {
		supply units.HeatConductance
		speed  units.VolumeFlow
	}{{1.5, 1e-3}, {0.5, 5e-3}} {
		const wall, area = 298.15, 1e-2
		plateau, err := DryingPlateau(c.supply, c.speed, wall)
		require.NoError(t, err)
		p := Puddle{Mass: 0.01, Temperature: plateau.Temperature, Area: area, HeatSupply: c.supply, Film: 1e-3, Fade: 1e-9}
		// Pure vapour as far below saturation as kinetics need for this rate.
		lack := float64(plateau.Rate) / area / kineticCoefficient(0.1, float64(plateau.Temperature))
		vapour := plateau.Pressure - units.Pressure(lack)
		at := Surroundings{Wall: wall, Vapour: vapour}
		state, rates := make([]float64, 2), make([]float64, 2)
		p.Start(state, at)
		release := p.Rates(rates, state, at)
		require.InEpsilon(t, float64(plateau.Rate), release, 1e-4)
		heating := rates[1] + release*state[1]/state[0] // W that would change the temperature
		latent := float64(c.supply) * float64(wall-plateau.Temperature)
		require.InDelta(t, 0, heating/latent, 6e-4, plateau.Phase)
	}
}

// TestSolubilityBetweenRows predicts each published row from its two neighbours, 20 °F
// apart: the law between rows 10 °F apart is four times better.
func TestSolubilityBetweenRows(t *testing.T) {
	for _, r := range []Refrigerant{R12, R22} {
		column, _ := solubilityColumn(r)
		for row := 1; row < solubilityRows-2; row++ {
			t0, t1, t2 := solubilityTemperature(row-1), solubilityTemperature(row), solubilityTemperature(row+1)
			share := (1/t1 - 1/t0) / (1/t2 - 1/t0)
			predicted := column[row-1] * math.Pow(column[row+1]/column[row-1], share)
			require.InEpsilonf(t, column[row], predicted, 0.027, "%s row %d", r, row)
		}
	}
}
