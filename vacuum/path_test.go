package vacuum_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// oneHose is a usual way: valve core in, 1/4 inch hose of 1.5 m, 6 CFM pump.
func oneHose() *vacuum.Path {
	return &vacuum.Path{
		Gas: vacuum.Air(), Temperature: units.Celsius(20),
		Elements: []vacuum.PathElement{
			{Name: "valve core", Passage: vacuum.ValveCore()},
			{Name: "hose", Passage: vacuum.Hose(6.35*units.Millimetre, 1.5)},
		},
		Pump: vacuum.Pump{Displacement: 6 * units.CFM, BlankOff: 2},
	}
}

func ExamplePath() {
	// What holds you back at 500 micron, and what a wider hose or no core gives.
	p := oneHose()
	s, _ := p.At(500 * units.Micron)
	fmt.Printf("%.2f of %.2f L/s left at the system\n", float64(s.Speed)*1e3, float64(p.Pump.Displacement)*1e3)
	for _, share := range s.Shares {
		fmt.Printf("%-10s %2.0f %%\n", share.Name, 100*share.Share)
	}
	core, _ := p.Swap(0, vacuum.CoreTool(false), 500*units.Micron)
	hose, _ := p.Swap(1, vacuum.Hose(12.7*units.Millimetre, 1.5), 500*units.Micron)
	fmt.Printf("core out: %.1f times as fast, wide hose: %.1f times\n", core.Gain, hose.Gain)
	// Output:
	// 0.04 of 2.83 L/s left at the system
	// valve core 17 %
	// hose       79 %
	// pump        4 %
	// core out: 1.3 times as fast, wide hose: 3.0 times
}

// TestPathLimits: one element between molecular and viscous limits adds up as
// 1/S = 1/S0 + 1/C, and shares add up to 1.
func TestPathLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &vacuum.Path{Gas: vacuum.Nitrogen(), Temperature: 293.15, Pump: vacuum.Pump{Displacement: units.VolumeFlow(logUniform(t, "S", 1e-5, 1e-1))}}
		n := rapid.IntRange(0, 4).Draw(t, "elements")
		for i := range n {
			way := vacuum.Tube(units.Length(logUniform(t, "bore", 1e-3, 2e-2)), units.Length(logUniform(t, "length", 1e-3, 10)))
			p.Elements = append(p.Elements, vacuum.PathElement{Name: fmt.Sprint(i), Passage: way})
		}
		system := units.Pressure(logUniform(t, "p", 1e-4, 1e5))
		s, err := p.At(system)
		require.NoError(t, err)
		require.InEpsilon(t, float64(system), float64(s.System), 1e-8)
		sum, resistance := 0.0, 0.0
		for _, share := range s.Shares {
			sum += share.Share
			resistance += 1 / float64(share.Conductance)
			require.GreaterOrEqual(t, share.Share, 0.0)
		}
		require.InDelta(t, 1, sum, 1e-9)
		require.InEpsilon(t, 1/float64(s.Speed), resistance, 1e-7)
		require.LessOrEqual(t, float64(s.Speed), float64(p.Pump.Displacement)*(1+1e-12))
		if system < 1e-3 { // molecular: conductances are constants
			parts := []units.Conductance{units.Conductance(p.Pump.Displacement)}
			for _, e := range p.Elements {
				c, err := e.Passage.Conductance(p.Gas, 0, 0, p.Temperature)
				require.NoError(t, err)
				parts = append(parts, c)
			}
			all, err := vacuum.SeriesConductance(parts...)
			require.NoError(t, err)
			require.InEpsilon(t, float64(all), float64(s.Speed), 2e-3)
		}
	})
}

// TestPathTimeMeetsTheClosedForms: pump alone with blank-off, and a laminar
// tube with a pump behind it (V = 10 L, d = 4 mm, L = 1.5 m, S = 50 L/min,
// 101325 to 1000 Pa: 121.1167 s by closed form; slip makes the real law a
// little faster, inertia a little slower).
func TestPathTimeMeetsTheClosedForms(t *testing.T) {
	alone := vacuum.PullDown{Volume: 0.01, Speed: 1e-3, BlankOff: 2, Start: 101325, End: 2.5}
	want, err := alone.Time()
	require.NoError(t, err)
	p := vacuum.Path{Gas: vacuum.Air(), Temperature: 293.15, Pump: vacuum.Pump{Displacement: 1e-3, BlankOff: 2}}
	got, err := p.Time(0.01, 101325, 2.5)
	require.NoError(t, err)
	require.InEpsilon(t, want.Seconds(), got.Seconds(), 1e-9)

	p = vacuum.Path{
		Gas: vacuum.Air(), Temperature: 293.15, Pump: vacuum.Pump{Displacement: 50 * units.LitrePerMinute},
		Elements: []vacuum.PathElement{{Name: "tube", Passage: vacuum.Tube(4*units.Millimetre, 1.5)}},
	}
	got, err = p.Time(0.01, 101325, 1000)
	require.NoError(t, err)
	require.InEpsilon(t, 121.1167, got.Seconds(), 0.06)
}

// TestPathTimeMeetsTheSimulation: the same rig with small volumes between.
func TestPathTimeMeetsTheSimulation(t *testing.T) {
	p := oneHose()
	want, err := p.Time(5*units.Litre, 101325, 100)
	require.NoError(t, err)
	fill := vacuum.Fill{Pressure: 101325}
	c := vacuum.Circuit{
		Gases: []vacuum.Gas{vacuum.WaterVapour(), vacuum.Air()},
		Nodes: []vacuum.Node{
			{Name: "system", Volume: 5 * units.Litre, Temperature: p.Temperature, Fill: fill},
			{Name: "between", Volume: 1e-6, Temperature: p.Temperature, Fill: fill},
			{Name: "inlet", Volume: 1e-6, Temperature: p.Temperature, Fill: fill},
		},
		Links: []vacuum.Link{
			{Name: "core", From: "system", To: "between", Passage: p.Elements[0].Passage},
			{Name: "hose", From: "between", To: "inlet", Passage: p.Elements[1].Passage},
		},
		Pumps: []vacuum.Pump{p.Pump},
	}
	c.Pumps[0].Name, c.Pumps[0].Node = "pump", "inlet"
	s, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	stop, err := s.Run(context.Background(), time.Hour, vacuum.PressureBelow("system", 100))
	require.NoError(t, err)
	require.Equal(t, 0, stop.Condition)
	require.InEpsilon(t, want.Seconds(), stop.Time.Seconds(), 1e-3)
}

func TestFitBoreFindsTheBoreAgain(t *testing.T) {
	p := oneHose()
	hose := vacuum.Tube(5.1*units.Millimetre, 1.5)
	q := *p
	q.Elements = []vacuum.PathElement{p.Elements[0], {Name: "hose", Passage: hose}}
	took, err := q.Time(5*units.Litre, 101325, 200)
	require.NoError(t, err)
	bore, err := p.FitBore(1, 1.5, 5*units.Litre, 101325, 200, took)
	require.NoError(t, err)
	require.InEpsilon(t, 5.1e-3, float64(bore), 1e-6)
	_, err = p.FitBore(1, 1.5, 5*units.Litre, 101325, 200, time.Second)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = p.FitBore(2, 1.5, 5*units.Litre, 101325, 200, took)
	require.ErrorContains(t, err, "no element 2")
	_, err = p.FitBore(1, 1.5, 5*units.Litre, 101325, 1, took)
	require.ErrorIs(t, err, units.ErrOutOfRange)
}

func TestGainsNameTheCulprit(t *testing.T) {
	gains, err := oneHose().Gains(200)
	require.NoError(t, err)
	require.Len(t, gains, 2)
	for _, g := range gains {
		require.Greater(t, g.Gain, 1.0)
	}
	_, err = oneHose().At(2)
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = oneHose().At(units.Pressure(math.NaN()))
	require.ErrorIs(t, err, units.ErrOutOfRange)
	_, err = oneHose().Swap(5, nil, 100)
	require.Error(t, err)
}
