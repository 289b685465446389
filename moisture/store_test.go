package moisture

import (
	"math"
	"testing"

	"example.com/drydown/units"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// twoFilms is a store with two states that proves the contract: a thick film
// of water that feeds a thin one, and the thin one feeds the gas.
type twoFilms struct {
	thick, thin   float64 // kg at the start
	feed, exhaust float64 // 1/s; kg/(s Pa)
}

func (s twoFilms) Check() error {
	c := checks{fn: "moisture.twoFilms"}
	c.atLeastZero("thick", s.thick, "kg")
	c.atLeastZero("thin", s.thin, "kg")
	c.positive("feed", s.feed, "1/s")
	c.positive("exhaust", s.exhaust, "kg/(s Pa)")
	return c.err
}
func (s twoFilms) Len() int                              { return 2 }
func (s twoFilms) Start(state []float64, _ Surroundings) { state[0], state[1] = s.thick, s.thin }
func (s twoFilms) FadeMass() units.Mass                  { return 1e-6 }
func (s twoFilms) Scale(dst []float64)                   { dst[0], dst[1] = 1e-6, 1e-6 }
func (s twoFilms) Content(state []float64) Content {
	return Content{Adsorbed: units.Mass(state[0] + state[1])}
}

func (s twoFilms) Pattern() Pattern {
	return Pattern{States: [][]int{{0, 1}, {0, 1}}, Feels: []bool{false, true}, Release: []int{1}}
}

func (s twoFilms) Rates(dst, state []float64, at Surroundings) float64 {
	flow := s.feed * (state[0] - state[1])
	thin := max(state[1], 0)
	release := s.exhaust * (1e3*thin/(thin+1e-6) - float64(at.Vapour))
	dst[0] = -flow
	dst[1] = flow - release
	return release
}

// storeCase is a store with states and surroundings to try it in.
type storeCase struct {
	name  string
	store Store
	draw  func(t *rapid.T, start []float64) []float64
}

func drawSurroundings(t *rapid.T) Surroundings {
	p := math.Pow(10, rapid.Float64Range(-2, 5.5).Draw(t, "lg p"))
	share := rapid.Float64Range(0, 1).Draw(t, "vapour share")
	return Surroundings{
		Wall:        units.Temperature(rapid.Float64Range(250, 340).Draw(t, "wall")),
		Vapour:      units.Pressure(p * share),
		Dry:         units.Pressure(p * (1 - share)),
		ThroughFlow: units.MolarFlow(rapid.SampledFrom([]float64{0, 1e-6, 1e-3, 0.1}).Draw(t, "flow")),
	}
}

// checkStore holds any store to the contract: it starts from a checked value,
// keeps its balance, allocates nothing, tolerates slightly negative states and
// declares every dependence in its pattern.
func checkStore(t *testing.T, c storeCase) {
	t.Helper()
	s := c.store
	require.NoError(t, s.Check())
	n := s.Len()
	require.GreaterOrEqual(t, n, 1)
	pattern := s.Pattern()
	require.Len(t, pattern.States, n)
	require.Len(t, pattern.Feels, n)
	require.Positive(t, float64(s.FadeMass()))
	scale := make([]float64, n)
	s.Scale(scale)
	for _, v := range scale {
		require.Positive(t, v)
	}

	rapid.Check(t, func(t *rapid.T) {
		at := drawSurroundings(t)
		start := make([]float64, n)
		s.Start(start, at)
		state := c.draw(t, start)
		rates := make([]float64, n)
		release := s.Rates(rates, state, at)
		if math.IsNaN(release) || math.IsInf(release, 0) {
			t.Fatalf("release %v in %v at %+v", release, state, at)
		}
		for i, v := range rates {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("rate %d is %v in %v at %+v", i, v, state, at)
			}
		}
		balance(t, s, rates, release)
		undeclared(t, s, pattern, scale, state, at)
	})

	at := Surroundings{Wall: 298.15, Vapour: 100, Dry: 900, ThroughFlow: 1e-4}
	state, rates := make([]float64, n), make([]float64, n)
	s.Start(state, at)
	require.Zero(t, testing.AllocsPerRun(20, func() { s.Rates(rates, state, at) }))
	require.Zero(t, testing.AllocsPerRun(20, func() { s.Content(state) }))
	for i := range state {
		state[i] = 0
	}
	s.Rates(rates, state, at)
	for _, v := range rates {
		require.False(t, math.IsNaN(v))
	}
}

// balance requires the release to be minus the rate of the total content, to
// round-off. The content is linear, so applying it to the rates gives its rate.
func balance(t *rapid.T, s Store, rates []float64, release float64) {
	magnitude := math.Abs(release)
	for _, v := range rates {
		magnitude = max(magnitude, math.Abs(v))
	}
	zero := make([]float64, len(rates))
	sum := float64(s.Content(rates).Total() - s.Content(zero).Total())
	if math.Abs(sum+release) > 4e-16*magnitude {
		t.Fatalf("content changes by %v kg/s, release %v kg/s", sum, release)
	}
}

// undeclared changes each state and the pressures in turn: whatever the pattern
// does not list must not move at all.
func undeclared(t *rapid.T, s Store, pattern Pattern, scale, state []float64, at Surroundings) {
	n := s.Len()
	base, moved := make([]float64, n), make([]float64, n)
	release := s.Rates(base, state, at)
	contains := func(list []int, j int) bool {
		for _, v := range list {
			if v == j {
				return true
			}
		}
		return false
	}
	for j := range n {
		changed := append([]float64(nil), state...)
		changed[j] += scale[j] * 1e-3
		movedRelease := s.Rates(moved, changed, at)
		for i := range n {
			if moved[i] != base[i] && !contains(pattern.States[i], j) {
				t.Fatalf("rate %d depends on state %d, which the pattern does not list", i, j)
			}
		}
		if movedRelease != release && !contains(pattern.Release, j) {
			t.Fatalf("release depends on state %d, which the pattern does not list", j)
		}
	}
	other := at
	other.Vapour *= 1.005
	other.Dry *= 1.01
	s.Rates(moved, state, other)
	for i := range n {
		if moved[i] != base[i] && !pattern.Feels[i] {
			t.Fatalf("rate %d depends on the gas, which the pattern does not say", i)
		}
	}
	flowing := at
	flowing.ThroughFlow = at.ThroughFlow*2 + 1e-3
	movedRelease := s.Rates(moved, state, flowing)
	for i := range n {
		if (moved[i] != base[i] || movedRelease != release) && !pattern.Flow {
			t.Fatalf("rate %d depends on the flow, which the pattern does not say", i)
		}
	}
}

// shares draws states between slightly negative and the starting values.
func shares(t *rapid.T, start []float64) []float64 {
	state := make([]float64, len(start))
	for i, v := range start {
		state[i] = v * rapid.Float64Range(-0.001, 1.5).Draw(t, "share")
	}
	return state
}

func storeCases() []storeCase {
	return []storeCase{
		{"two films", twoFilms{thick: 1e-3, thin: 1e-5, feed: 1e-3, exhaust: 1e-9}, shares},
		{"puddle", samplePuddle(), drawPuddle},
		{"small puddle through gas", Puddle{Mass: 1e-5, Area: 1e-4, Gap: 5e-3, Film: 3e-3}, drawPuddle},
		{"empty puddle", Puddle{Area: 1e-3, HeatSupply: 0.1, Film: 5e-3, Temperature: 280}, drawPuddle},
	}
}

func samplePuddle() Puddle {
	return Puddle{Mass: 5e-3, Area: 20e-4, HeatSupply: 0.5, Gap: 4e-3, Bore: 7.9e-3}
}

// drawPuddle draws a mass and an enthalpy per mass from cold ice to warm water,
// independent of the start.
func drawPuddle(t *rapid.T, _ []float64) []float64 {
	m := rapid.SampledFrom([]float64{-1e-9, 0, 1e-12, 1e-8, 1e-6, 1e-3, 5e-3}).Draw(t, "m")
	return []float64{m, m*rapid.Float64Range(-6e5, 2e5).Draw(t, "h") + rapid.Float64Range(-1e-6, 1e-6).Draw(t, "H")}
}

func TestStoresKeepTheContract(t *testing.T) {
	for _, c := range storeCases() {
		t.Run(c.name, func(t *testing.T) { checkStore(t, c) })
	}
}

// FuzzRates throws any finite states at every store: rates stay numbers and the
// balance holds.
func FuzzRates(f *testing.F) {
	f.Add(5e-3, 0.0, 293.15, 1000.0, 0.1, 0.0)
	f.Add(-1e-9, -1e3, 260.0, 0.0, 1.0, 1e-3)
	f.Add(1e-300, 1e300, 400.0, 1e5, 0.0, 1.0)
	law := SaturationLaw{A: -700, B: -0.5}
	stores := []Store{
		samplePuddle(),
		Puddle{Area: 1e-3, HeatSupply: 0.1, Film: 5e-3},
		Oil{Mass: 0.5, Law: law, Exchange: 1e9},
		sampleWalls(), sampleDesiccant(),
	}
	f.Fuzz(func(t *testing.T, a, b, wall, p, share, flow float64) {
		for _, v := range []float64{a, b, wall, p, share, flow} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return // states and surroundings are finite by contract
			}
		}
		if wall < 150 || wall > 500 || p < 0 || p > 1e8 || share < 0 || share > 1 || flow < 0 || flow > 1e3 {
			return // outside what a circuit can be
		}
		if math.Abs(a) > 1e3 {
			return // more water than a circuit holds
		}
		at := Surroundings{units.Temperature(wall), units.Pressure(p * share), units.Pressure(p * (1 - share)), units.MolarFlow(flow)}
		for _, s := range stores {
			state, rates := []float64{a, b}[:s.Len()], make([]float64, s.Len())
			release := s.Rates(rates, state, at)
			for i, v := range append(rates, release) {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Errorf("%T: value %d is %v in %v at %+v", s, i, v, state, at)
				}
			}
			if rates[0] != -release {
				t.Errorf("%T: water changes by %v, release %v", s, rates[0], release)
			}
		}
	})
}
