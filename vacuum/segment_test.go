package vacuum_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// TestPiecesOfATubeMakeTheTube: pieces that run on into each other resist like
// the whole at small differences, where the lumped law of a passage is exact.
// With pieces of forty bores and more the bend of the transmission probability
// beside the sum of a long tube and two ends stays below 0.5 %.
func TestPiecesOfATubeMakeTheTube(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bore := units.Length(logUniform(t, "bore", 1e-3, 3e-2))
		n := rapid.IntRange(2, 12).Draw(t, "pieces")
		length := bore * units.Length(float64(n)*logUniform(t, "bores per piece", 40, 1000))
		pieces := vacuum.Passage{}
		for i := range n {
			joined := 2
			if i == 0 || i == n-1 {
				joined = 1
			}
			pieces = append(pieces, vacuum.Segment{Bore: bore, Length: length / units.Length(n), Joined: joined})
		}
		p := units.Pressure(logUniform(t, "p", 1e-3, 1e5))
		whole, err := vacuum.Tube(bore, length).Conductance(vacuum.Air(), p, p, 293.15)
		require.NoError(t, err)
		cut, err := pieces.Conductance(vacuum.Air(), p, p, 293.15)
		require.NoError(t, err)
		require.InEpsilon(t, float64(whole), float64(cut), 5e-3)
		require.InEpsilon(t, float64(vacuum.Tube(bore, length).Volume()), float64(pieces.Volume()), 1e-12)
	})
}

// TestBoresSideBySide: n bores carry n times the gas of one at any pressure.
func TestBoresSideBySide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := vacuum.Segment{Bore: units.Length(logUniform(t, "bore", 1e-4, 1e-2)), Length: units.Length(logUniform(t, "length", 1e-4, 1))}
		n := rapid.IntRange(1, 1000).Draw(t, "n")
		many := one
		many.Count = n
		up := units.Pressure(logUniform(t, "up", 1e-2, 1e6))
		down := up * units.Pressure(rapid.Float64Range(0, 0.99).Draw(t, "down"))
		gases := []vacuum.Gas{vacuum.WaterVapour(), vacuum.Nitrogen()}
		a, err := vacuum.Passage{one}.MolarFlows(gases, vacuum.Composition{up / 4, 3 * up / 4}, vacuum.Composition{down / 2, down / 2}, 300)
		require.NoError(t, err)
		b, err := vacuum.Passage{many}.MolarFlows(gases, vacuum.Composition{up / 4, 3 * up / 4}, vacuum.Composition{down / 2, down / 2}, 300)
		require.NoError(t, err)
		for k := range a {
			require.InDelta(t, float64(n)*float64(a[k]), float64(b[k]), 1e-10*float64(n)*(math.Abs(float64(a[0]))+math.Abs(float64(a[1]))))
		}
	})
}

func TestSegmentFieldsAreChecked(t *testing.T) {
	for _, s := range []vacuum.Segment{
		{Bore: 0.01, Length: 1, Joined: 3}, {Bore: 0.01, Joined: 1}, {Bore: 0.01, Length: 1, Count: -1}, {Bore: 0.01, Length: 1, Joined: -1},
	} {
		require.ErrorIs(t, vacuum.Passage{s}.Check(), units.ErrOutOfRange)
	}
}
