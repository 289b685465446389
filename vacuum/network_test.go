package vacuum_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

// pullOf runs a network with its pump at the root until the node is at p.
func pullOf(t testing.TB, n vacuum.Network, node string, p units.Pressure) (time.Duration, vacuum.Circuit) {
	t.Helper()
	c, err := n.Circuit()
	require.NoError(t, err)
	c.Gases = []vacuum.Gas{vacuum.WaterVapour(), vacuum.Air()}
	c.Pumps = []vacuum.Pump{{Name: "pump", Node: n.Root, Displacement: 6 * units.CFM}}
	s, err := vacuum.NewSimulation(c, nil)
	require.NoError(t, err)
	stop, err := s.Run(context.Background(), 100*time.Hour, vacuum.PressureBelow(node, p))
	require.NoError(t, err)
	require.Equal(t, 0, stop.Condition)
	return stop.Time, c
}

// lineSet is a long line with a vessel at its far end, or none.
func lineSet(bore, length units.Length, far units.Volume, start units.Pressure) vacuum.Network {
	fill := vacuum.Fill{Pressure: start}
	room := units.Celsius(20)
	n := vacuum.Network{
		Vessels:     []vacuum.Node{{Name: "pump", Volume: 0.2 * units.Litre, Temperature: room, Fill: fill}},
		Pipes:       []vacuum.Pipe{{Name: "line", From: "pump", To: "end", Bore: bore, Length: length}},
		Root:        "pump",
		Temperature: room, Fill: fill,
	}
	if far > 0 {
		n.Vessels = append(n.Vessels, vacuum.Node{Name: "end", Volume: far, Temperature: room, Fill: fill})
	}
	return n
}

// TestCuttingMeetsItsAccuracy: the pull-down time with the cells that an
// accuracy asks for against ten times as many, in dense, in changing and in thin
// gas, with and without a vessel at the end.
func TestCuttingMeetsItsAccuracy(t *testing.T) {
	for _, c := range []struct {
		bore, length units.Length
		far          units.Volume
		start, end   units.Pressure
	}{
		{10 * units.Millimetre, 50, 0, 101325, 67},
		{10 * units.Millimetre, 50, 3 * units.Litre, 101325, 67},
		{16 * units.Millimetre, 30, 20 * units.Litre, 101325, 67},
		{6 * units.Millimetre, 30, 0, 101325, 2000},
		{20 * units.Millimetre, 80, 0, 0.1, 0.001},
	} {
		n := lineSet(c.bore, c.length, c.far, c.start)
		for _, accuracy := range []float64{0.05, 0.01} {
			n.Accuracy = accuracy / 100
			fine, _ := pullOf(t, n, "end", c.end)
			n.Accuracy = accuracy
			coarse, circuit := pullOf(t, n, "end", c.end)
			off := coarse.Seconds()/fine.Seconds() - 1
			t.Logf("%v by %v, %v behind, %v to %v: %d pieces, off %.3g of %g", c.bore, c.length, c.far, c.start, c.end, len(circuit.Links), off, accuracy)
			require.InDelta(t, 0, off, accuracy)
		}
	}
}

// TestCuttingConverges: the error falls with the square of the number of cells.
func TestCuttingConverges(t *testing.T) {
	n := lineSet(10*units.Millimetre, 50, 0, 101325)
	n.Accuracy = 1e-5
	fine, _ := pullOf(t, n, "end", 67)
	off := func(accuracy float64) float64 {
		n.Accuracy = accuracy
		d, _ := pullOf(t, n, "end", 67)
		return d.Seconds() - fine.Seconds()
	}
	ratio := off(0.21/16) / off(0.21/256) // 4 and 16 pieces
	require.InDelta(t, 16, ratio, 4)
}

// branches is a line with n evaporators along it, each behind a valve.
func branches(n int) vacuum.Network {
	fill := vacuum.Fill{Pressure: 101325}
	room := units.Celsius(20)
	net := vacuum.Network{
		Vessels: []vacuum.Node{{Name: "outdoor", Volume: 6 * units.Litre, Temperature: room, Fill: fill}},
		Root:    "outdoor", Temperature: room, Fill: fill,
	}
	last := "outdoor"
	for i := range n {
		tee := fmt.Sprintf("tee %d", i+1)
		net.Pipes = append(net.Pipes,
			vacuum.Pipe{Name: fmt.Sprintf("main %d", i+1), From: last, To: tee, Bore: 19 * units.Millimetre, Length: 8},
			vacuum.Pipe{
				Name: fmt.Sprintf("coil %d", i+1), From: tee, To: fmt.Sprintf("header %d", i+1), Bore: 7 * units.Millimetre, Length: 6, Count: 4,
				Entry: vacuum.ExpansionOrifice(2 * units.Millimetre),
			})
		last = tee
	}
	return net
}

func ExampleNetwork() {
	net := branches(3)
	cells, _ := net.Cells()
	c, err := net.Circuit()
	fmt.Println(cells, len(c.Nodes), "nodes", len(c.Links), "links", err)
	net.Accuracy = 0.001
	cells, _ = net.Cells()
	fmt.Println(cells)
	// Output:
	// [3 5 3 5 4 5] 26 nodes 25 links <nil>
	// [8 15 9 15 13 15]
}

func TestNetworkHoldsItsVolume(t *testing.T) {
	net := branches(5)
	want := 6e-3
	for _, p := range net.Pipes {
		count := max(1, p.Count)
		want += float64(count) * float64(p.Bore.Circle()) * float64(p.Length)
	}
	for _, accuracy := range []float64{0.5, 0.01, 1e-4} {
		net.Accuracy = accuracy
		c, err := net.Circuit()
		require.NoError(t, err)
		sum := 0.0
		for _, n := range c.Nodes {
			sum += float64(n.Volume)
		}
		require.InEpsilon(t, want, sum, 1e-12)
	}
}

// TestLoopsAreCutForThemselves: a pipe that is not the only way is cut by its own
// volume, however much lies behind it.
func TestLoopsAreCutForThemselves(t *testing.T) {
	n := lineSet(10*units.Millimetre, 50, 50*units.Litre, 101325)
	cells, err := n.Cells()
	require.NoError(t, err)
	alone := lineSet(10*units.Millimetre, 50, 0, 101325)
	most, err := alone.Cells()
	require.NoError(t, err)
	require.Less(t, cells[0], most[0])
	again := n.Pipes[0]
	again.Name = "second line"
	n.Pipes = append(n.Pipes, again)
	cells, err = n.Cells()
	require.NoError(t, err)
	require.Equal(t, []int{most[0], most[0]}, cells)
	_, c := pullOf(t, n, "end", 1000)
	require.Len(t, c.Links, 2*most[0])
}

func TestNetworkRefusals(t *testing.T) {
	for text, spoil := range map[string]func(*vacuum.Network){
		"no pipes":            func(n *vacuum.Network) { n.Pipes = nil },
		"Accuracy":            func(n *vacuum.Network) { n.Accuracy = 2 },
		"Root":                func(n *vacuum.Network) { n.Root = "attic" },
		`pipe "main 1": `:     func(n *vacuum.Network) { n.Pipes[0].Bore = 0 },
		"two different ends":  func(n *vacuum.Network) { n.Pipes[0].To = n.Pipes[0].From },
		"has a name":          func(n *vacuum.Network) { n.Pipes[0].Length = 0 },
		`two nodes are named`: func(n *vacuum.Network) { n.Pipes[0].Name = "coil 1" },
	} {
		n := branches(2)
		spoil(&n)
		_, err := n.Circuit()
		require.ErrorContains(t, err, text)
	}
}
