package moisture

import (
	"math"
	"testing"
	"time"

	"example.com/drydown/units"
)

// ratio times f against one math.Exp in the same run and reports the quotient as
// exp/op. Both loops run over the same table of arguments, so that neither is
// favoured by a constant.
func ratio(b *testing.B, xs [256]float64, f func(x float64) float64) {
	b.Helper()
	sum := 0.0
	b.ResetTimer()
	for i := range b.N {
		sum += f(xs[i&255])
	}
	b.StopTimer()
	mine := float64(b.Elapsed()) / float64(b.N)
	n := max(b.N, 1_000_000)
	start := time.Now()
	for i := range n {
		sum += math.Exp(-float64(i&255) * 0.02)
	}
	yardstick := float64(time.Since(start)) / float64(n)
	b.ReportMetric(mine/yardstick, "exp/op")
	if math.IsNaN(sum) {
		b.Fatal("NaN")
	}
}

func table(lo, hi float64) (xs [256]float64) {
	for i := range xs {
		xs[i] = lo + (hi-lo)*float64(i)/255
	}
	return xs
}

func BenchmarkSaturationPressureLiquid(b *testing.B) {
	ratio(b, table(274, 373), liquidPressure)
}

func BenchmarkSaturationTemperatureLiquid(b *testing.B) {
	ratio(b, table(700, 1e5), liquidTemperature)
}

func BenchmarkSaturationPressureIce(b *testing.B) {
	ratio(b, table(200, 273), icePressure)
}

func BenchmarkSaturationTemperatureIce(b *testing.B) {
	ratio(b, table(1, 611), iceTemperature)
}

func BenchmarkLatentHeatVaporisation(b *testing.B) {
	ratio(b, table(274, 373), vaporisationHeat)
}

func BenchmarkPuddleRates(b *testing.B) {
	p := Puddle{Mass: 5e-3, Area: 20e-4, HeatSupply: 0.5, Film: 5e-3, Bore: 7.9e-3}
	rates := make([]float64, 2)
	cases := []struct {
		name string
		heat float64 // J/kg
		p    units.Pressure
		flow units.MolarFlow
		gap  units.Length
	}{
		{"boiling", 0.5e5, 1000, 0, 0},
		{"underAir", 0.5e5, 101325, 0, 0},
		{"ice", -3.5e5, 1000, 0, 0},
		{"swept", 0.5e5, 101325, 1e-3, 0},
		{"gapHeat", 0.5e5, 1000, 0, 5e-3},
	}
	for _, c := range cases {
		b.Run(c.name, func(b *testing.B) {
			p := p
			p.Gap = c.gap
			state := []float64{5e-3, 5e-3 * c.heat}
			at := Surroundings{Wall: 298.15, ThroughFlow: c.flow}
			ratio(b, table(1, 600), func(x float64) float64 {
				at.Vapour, at.Dry = units.Pressure(x), c.p-units.Pressure(x)
				return p.Rates(rates, state, at)
			})
		})
	}
}
