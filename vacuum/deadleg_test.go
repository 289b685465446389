package vacuum_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/moisture"
	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// deadLeg is a closed tube of n cells on a reservoir of slightly humid
// nitrogen, the nodes in the middle of their cells.
func deadLeg(n int, bore, length units.Length) vacuum.Circuit {
	room := units.Celsius(25)
	dry := vacuum.Fill{Gas: "nitrogen", Pressure: units.Atmosphere}
	humid := dry
	humid.Vapour = 20
	c := vacuum.Circuit{Nodes: []vacuum.Node{{Name: "open", Reservoir: true, Temperature: room, Fill: humid}}}
	cell := length / units.Length(n)
	from, step := "open", cell/2
	for i := range n {
		name := fmt.Sprint(i)
		c.Nodes = append(c.Nodes, vacuum.Node{Name: name, Volume: units.Volume(float64(bore.Circle()) * float64(cell)), Temperature: room, Fill: dry})
		c.Links = append(c.Links, vacuum.Link{Name: name, From: from, To: name, Passage: vacuum.Passage{{Bore: bore, Length: step, Joined: 2}}})
		from, step = name, cell
	}
	return c
}

// Vapour diffuses into a dead leg: against the series of the diffusion equation
// in a slab with one closed end, c/c0 = 1 - 2·Σ (-1)^k/m·exp(-m²·Dt/L²)·cos(m·(1-x/L)),
// m = (2k+1)π/2 (J. Crank, The Mathematics of Diffusion, from memory; recomputed
// against the erfc form of early times). The error of the
// cells falls with the square of their length: 5 cells are off by 0.6 % of the
// final content, 10 by 0.16 %, 20 by 0.04 %.
func TestDeadLegFollowsDiffusion(t *testing.T) {
	const bore, length = 4e-3, 0.2
	d, err := moisture.Diffusivity(units.Celsius(25), units.Atmosphere)
	require.NoError(t, err)
	diffusing := float64(d) / (length * length) // Dt/L² per second
	early := func(tau float64) float64 {
		return 2 * (math.Erfc(1/(2*math.Sqrt(tau))) - math.Erfc(3/(2*math.Sqrt(tau))))
	}
	require.InDelta(t, early(0.1), diffused(1, 0.1), 1e-9)
	worst := map[int]float64{}
	for _, n := range []int{5, 10, 20} {
		sim := simulate(t, deadLeg(n, bore, length), nil)
		for _, tau := range []float64{0.05, 0.1, 0.2, 0.4, 0.8} {
			pass(t, sim, time.Duration(tau/diffusing*float64(time.Second))-sim.Time())
			now, err := sim.Sample()
			require.NoError(t, err)
			// The last node lies half a cell before the end.
			x := 1 - 1/(2*float64(n))
			off := math.Abs(float64(now.Vapour[n-1])/20 - diffused(x, tau))
			worst[n] = math.Max(worst[n], off)
		}
		balanced(t, sim)
	}
	t.Logf("worst error of the concentration at the end: %.2g with 5 cells, %.2g with 10, %.2g with 20", worst[5], worst[10], worst[20])
	require.Less(t, worst[5], 0.006)
	require.Less(t, worst[10], 0.0016)
	require.Less(t, worst[20], 0.0004)
}

// diffused is the concentration over that at the open end, at the share x of the
// depth and time tau in L²/D.
func diffused(x, tau float64) float64 {
	sum, sign := 0.0, 1.0
	for k := range 200 {
		m := float64(2*k+1) * math.Pi / 2
		sum += sign / m * math.Exp(-m*m*tau) * math.Cos(m*(1-x))
		sign = -sign
	}
	return 1 - 2*sum
}
