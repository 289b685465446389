package rise_test

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/rise"
)

// A circuit of 8 L that leaks 0.02 Pa/s beside 60 Pa of vapour.
func ExampleInterpret() {
	log := made(300, 5, 0.1, func(t float64) float64 { return 40 + 0.02*t - 60*math.Expm1(-t/90) })
	f, err := rise.Interpret(log, rise.Options{
		Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20),
		LeakLimit: rise.LimitFromRise(units.PressureRate(units.Micron)/60, 8*units.Litre),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, %.1e Pa·m³/s, %.1f mg of vapour\n", f.Verdict, float64(f.Leak.Best), float64(f.Water)*1e6)
	// Output: leak and moisture, 1.6e-04 Pa·m³/s, 3.5 mg of vapour
}

// The high side of a circuit was left behind by the pump and settles with the
// low side, where the gauge is, through a nearly closed expansion valve: moisture,
// if it were not for the circuit.
func ExamplePredictEqualisation() {
	dry := func(p units.Pressure) vacuum.Fill { return vacuum.Fill{Gas: "nitrogen", Pressure: p} }
	circuit := vacuum.Circuit{
		Nodes: []vacuum.Node{
			{Name: "low side", Volume: 3 * units.Litre, Temperature: units.Celsius(20), Fill: dry(40)},
			{Name: "high side", Volume: 5 * units.Litre, Temperature: units.Celsius(20), Fill: dry(70)},
		},
		Links: []vacuum.Link{{
			Name: "expansion valve", From: "high side", To: "low side", Passage: vacuum.ExpansionOrifice(0.3 * units.Millimetre),
		}},
	}
	foreseen, err := rise.PredictEqualisation(context.Background(), circuit, vacuum.Sample{}, "low side", 25*time.Minute)
	if err != nil {
		fmt.Println(err)
		return
	}
	log := made(300, 5, 0.1, func(t float64) float64 { return 40 - 22*math.Expm1(-t/180) })
	for _, e := range [][]rise.Equalisation{nil, foreseen} {
		f, err := rise.Interpret(log, rise.Options{
			Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20), Equalisation: e,
			LeakLimit: rise.LimitFromRise(units.PressureRate(units.Micron)/60, 8*units.Litre),
		})
		fmt.Printf("%v, %.0f Pa of it settled %v\n", f.Verdict, float64(f.Settled), err)
	}
	// Output:
	// moisture, 0 Pa of it settled <nil>
	// equalising, 22 Pa of it settled <nil>
}

// The laws behind a verdict and what they predict together after half an hour.
func ExampleFinding_Average() {
	log := made(200, 5, 0.1, func(t float64) float64 { return 40 + 0.05*t })
	f, err := rise.Interpret(log, rise.Options{
		Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20), Drift: -1,
		LeakLimit: rise.LimitFromRise(units.PressureRate(units.Micron)/60, 8*units.Litre),
	})
	best := f.Fits[0]
	mean, law, _ := f.Average(30*time.Minute - best.From)
	fmt.Printf("%v with %.1f: %.0f Pa ± %.1f Pa %v\n", best.Model, best.Weight, float64(mean), float64(law.High-law.Low)/2, err)
	// Output: steady with 0.9: 130 Pa ± 0.1 Pa <nil>
}

// How long must one watch to see a leak of 5e-7 Pa·m³/s?
func ExamplePlan_DurationFor() {
	p := rise.Plan{
		Volume: 8 * units.Litre, Start: 40, SiteTemperature: units.Celsius(20),
		Gauge:    rise.Gauge{Resolution: units.Micron, Noise: 0.1},
		Interval: 5 * time.Second, Drift: 1,
	}
	d, err := p.DurationFor(5e-7)
	fmt.Printf("%.1f h %v\n", d.Hours(), err)
	p.Drift = 0 // with a thermometer on the pipe
	d, err = p.DurationFor(5e-7)
	fmt.Printf("%.0f min %v\n", d.Minutes(), err)
	// Output:
	// 2.0 h <nil>
	// 21 min <nil>
}

// A leak of air into the vacuum, as R-134a lost in service at 10 bar.
func ExampleService_Loss() {
	s := rise.Service{
		MolarMass: 0.102032, Viscosity: 11.66e-6, Pressure: 10 * units.Bar, Ambient: units.Atmosphere, Temperature: units.Celsius(20),
	}
	loss, err := s.Loss(1e-7)
	least, most := loss.Range()
	fmt.Printf("%v: %.2g to %.2g g/year %v\n", loss.Regime, rise.GramsPerYear(least), rise.GramsPerYear(most), err)
	// Output: laminar or molecular: 0.62 to 20 g/year <nil>
}

// A pull-down with a constant speed of 0.08 L/s towards 40 Pa.
func ExampleInterpretPullDown() {
	log := falling(100, 2, 0.001, func(t float64) float64 { return 1000 * math.Exp(-t/100) })
	f, err := rise.InterpretPullDown(log, rise.PullOptions{Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20), Target: 40})
	fmt.Printf("%.3f L/s, %.0f min left %v\n", float64(f.Speeds[0].Speed)*1e3, f.TimeLeft.Best.Minutes(), err)
	// Output: 0.080 L/s, 2 min left <nil>
}
