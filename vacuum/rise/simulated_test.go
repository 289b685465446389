package rise_test

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
	"example.com/drydown/vacuum/rise"
)

// simulatedKind is a class of the study whose true pressure comes from the
// circuit simulator: none of these follows a fitted formula exactly.
type simulatedKind struct {
	name                       string
	accept                     []rise.Verdict
	leaks, puddle, walls, side bool
}

// A circuit of two sides with one gauge shows a rise that fades, which moisture
// and outgassing show too.
var simulatedKinds = []simulatedKind{
	{name: "sim tight", accept: acceptTight},
	{name: "sim leak", accept: acceptLeak, leaks: true},
	{name: "sim puddle", accept: acceptFade, puddle: true},
	{name: "sim puddle+leak", accept: acceptBoth, puddle: true, leaks: true},
	{name: "sim walls", accept: acceptFade, walls: true},
	{name: "sim two sides", accept: append([]rise.Verdict{rise.Equalising}, acceptFade...), side: true},
}

// makeSimulated simulates an isolated circuit and observes it like the others.
func makeSimulated(t *testing.T, r *rand.Rand, k simulatedKind, n noise) studyRecord {
	t.Helper()
	c := drawConditions(r)
	s := drawScatter(r, n, c.temp)
	leak := 0.0
	if k.leaks {
		leak = logUniform(r, 3, 50) * c.limit
	}
	times, pressures := simulate(t, r, k, c, leak)
	rec := studyRecord{class: k.name, leak: leak * c.volume, accept: k.accept, opts: c.options(n)}
	if s.phi > 0 {
		rec.tau = -float64(c.rows) * math.Log(s.phi)
	}
	if pressures[len(pressures)-1] < pressures[0] {
		rec.accept = acceptFall // walls that took vapour up
	}
	rec.log = observe(r, c, n, s, func(at float64) float64 { return interpolate(times, pressures, at) })
	return rec
}

func simulate(t *testing.T, r *rand.Rand, k simulatedKind, c conditions, leak float64) (times, pressures []float64) {
	t.Helper()
	temp, start := units.Temperature(c.temp), units.Pressure(c.start)
	node := vacuum.Node{Name: "system", Volume: units.Volume(c.volume), Temperature: temp, Fill: vacuum.Fill{Pressure: start, Vapour: start / 2}}
	circuit := vacuum.Circuit{}
	if k.puddle {
		// At most what fills the volume with vapour at 300 Pa: it dries up within
		// most records.
		full := 300 * c.volume * float64(moisture.MolarMass) / (units.GasConstant * c.temp)
		node.Stores = []vacuum.PlacedStore{{Name: "puddle", Store: moisture.Puddle{
			Mass: units.Mass(full * logUniform(r, 0.03, 1)), Area: units.Area(logUniform(r, 1e-5, 1e-3)),
			HeatSupply: units.HeatConductance(logUniform(r, 0.003, 0.3)), Film: 5 * units.Millimetre, Bore: 10 * units.Millimetre,
		}}}
	}
	if k.walls {
		node.Stores = []vacuum.PlacedStore{{Name: "walls", Store: moisture.Walls{
			Area: units.Area(c.volume * logUniform(r, 100, 1000)), Capacity: 1e-6, Coverage: 0.3 + 0.5*r.Float64(),
			Isotherm: moisture.Temkin{Span: logUniform(r, 3e4, 8e4)}, Sticking: logUniform(r, 1e-4, 1e-2),
		}}}
	}
	circuit.Nodes = []vacuum.Node{node, {
		Name: "ambient", Reservoir: true, Temperature: temp, Fill: vacuum.Fill{Pressure: units.Atmosphere},
	}}
	circuit.Links = []vacuum.Link{{
		Name: "shut valve", From: "system", To: "ambient", Passage: vacuum.Orifice(5 * units.Millimetre), Closed: true,
	}}
	if leak > 0 {
		circuit.Links = append(circuit.Links, vacuum.Link{
			Name: "leak", From: "ambient", To: "system", Leak: vacuum.Leak{Rate: units.Throughput(leak * c.volume)},
		})
	}
	if k.side {
		other := node
		other.Name, other.Stores = "far side", nil
		other.Fill = vacuum.Fill{Pressure: start * units.Pressure(1.5+3*r.Float64())}
		circuit.Nodes = append(circuit.Nodes, other)
		circuit.Links = append(circuit.Links, vacuum.Link{
			Name: "line", From: "system", To: "far side",
			Passage: vacuum.Tube(units.Length(logUniform(r, 4e-3, 8e-3)), units.Metre),
		})
	}
	sim, err := vacuum.NewSimulation(circuit, &vacuum.Options{RelTol: 1e-6, SampleChange: 0.01})
	require.NoError(t, err)
	_, err = sim.Run(context.Background(), time.Duration(c.dur*1e9))
	require.NoError(t, err)
	for _, sample := range sim.Record().Samples {
		times = append(times, sample.Time.Seconds())
		pressures = append(pressures, float64(sample.Pressure[0]))
	}
	return times, pressures
}

func interpolate(x, y []float64, at float64) float64 {
	i := sort.SearchFloat64s(x, at)
	switch {
	case i == 0:
		return y[0]
	case i == len(x):
		return y[len(y)-1]
	}
	return y[i-1] + (y[i]-y[i-1])*(at-x[i-1])/(x[i]-x[i-1])
}
