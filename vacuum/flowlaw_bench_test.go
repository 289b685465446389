package vacuum

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
)

// expTime is the time of one math.Exp in this run, the yardstick.
func expTime() time.Duration {
	const calls = 2_000_000
	best := time.Hour
	for range 5 {
		start, sum := time.Now(), 0.0
		for i := range calls {
			sum += math.Exp(-float64(i&1023) * 0.01)
		}
		if d := time.Since(start); sum > 0 && d < best {
			best = d
		}
	}
	return best / calls
}

// BenchmarkFlowLaw prints the cost of one evaluation of the flow law in units
// of one math.Exp.
func BenchmarkFlowLaw(b *testing.B) {
	water, air, nitrogen := WaterVapour(), Air(), Nitrogen()
	tube, hose := Tube(6e-3, 1.5), Series(Hose(6e-3, 1.5), CoreTool(true))
	for _, c := range []struct {
		name     string
		p        Passage
		gases    []Gas
		up, down partials
	}{
		{"tube/1species/laminar", tube, []Gas{air}, partials{2000}, partials{1500}},
		{"tube/1species/turbulent", tube, []Gas{air}, partials{9e4}, partials{5e4}},
		{"tube/2species/molecular", tube, []Gas{water, air}, partials{0.02, 0.01}, partials{0.01, 0.01}},
		{"tube/2species/laminar", tube, []Gas{water, air}, partials{1500, 500}, partials{1000, 500}},
		{"tube/2species/turbulent", tube, []Gas{water, air}, partials{1500, 9e4}, partials{1000, 5e4}},
		{"tube/3species/laminar", tube, []Gas{water, air, nitrogen}, partials{1500, 250, 250}, partials{1000, 250, 250}},
		{"hose-and-core-tool/1species/laminar", hose, []Gas{air}, partials{200}, partials{150}},
		{"hose-and-core-tool/1species/turbulent", hose, []Gas{air}, partials{9e4}, partials{2e4}},
		{"hose-and-core-tool/2species/laminar", hose, []Gas{water, air}, partials{150, 50}, partials{100, 50}},
		{"hose-and-core-tool/2species/turbulent", hose, []Gas{water, air}, partials{1500, 9e4}, partials{1000, 2e4}},
	} {
		b.Run(c.name, func(b *testing.B) {
			var l law
			l.prepare(c.p, newMixture(c.gases, room), room)
			var out partials
			exp := expTime()
			b.ResetTimer()
			for b.Loop() {
				l.flow(&c.up, &c.down, &out)
			}
			b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(exp), "exp/op")
			b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(exp)/float64(len(c.p)), "exp/segment")
		})
	}
}

// tubes is a chain of n volumes joined by tubes, with a pump at its end and the
// given vapour in its air, as a system, and a state of it in mid-pull.
func tubes(tb testing.TB, n int, vapour units.Pressure) (*assembly, []float64) {
	c := Circuit{Pumps: []Pump{{Name: "pump", Node: "0", Displacement: 2e-3, BlankOff: 2, Return: NoReturn}}}
	for i := range n {
		c.Nodes = append(c.Nodes, Node{
			Name: fmt.Sprint(i), Volume: 5e-5, Temperature: room,
			Fill: Fill{Pressure: 5e4 * units.Pressure(n+i) / units.Pressure(n), Vapour: vapour},
		})
		if i > 0 {
			c.Links = append(c.Links, Link{Name: fmt.Sprint("to ", i), From: fmt.Sprint(i - 1), To: fmt.Sprint(i), Passage: Tube(10e-3, 1)})
		}
	}
	s, err := NewSimulation(c, nil)
	require.NoError(tb, err)
	a, err := s.assemble()
	require.NoError(tb, err)
	y := make([]float64, a.length)
	s.gather(a, y)
	return a, y
}

// BenchmarkRates prints the cost of rates and Jacobian of a chain of tubes, for
// each tube in units of one math.Exp.
func BenchmarkRates(b *testing.B) {
	const n = 50
	for _, c := range []struct {
		name   string
		vapour units.Pressure
	}{{"1species", 0}, {"2species", 1000}} {
		a, y := tubes(b, n, c.vapour)
		f, values := make([]float64, a.length), make([]float64, a.pattern.Len())
		run := func(name string, evaluate func()) {
			b.Run(c.name+"/"+name, func(b *testing.B) {
				exp := expTime()
				b.ReportAllocs()
				b.ResetTimer()
				for b.Loop() {
					evaluate()
				}
				b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(exp)/(n-1), "exp/tube")
			})
		}
		run("rates", func() { a.Rates(0, y, f) })
		run("rates+Jacobian", func() { a.Rates(0, y, f); a.Jacobian(0, y, f, values) })
	}
}

// Neither rates nor Jacobian allocate.
func TestRatesDoNotAllocate(t *testing.T) {
	for _, vapour := range []units.Pressure{0, 1000} {
		a, y := tubes(t, 5, vapour)
		f, values := make([]float64, a.length), make([]float64, a.pattern.Len())
		require.Zero(t, testing.AllocsPerRun(100, func() {
			a.Rates(0, y, f)
			a.Jacobian(0, y, f, values)
		}))
	}
}
