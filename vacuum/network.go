package vacuum

import (
	"fmt"
	"math"

	"example.com/drydown/units"
)

// Pipe is a pipe run of a network between two junctions: a line set, the branch
// to an evaporator, a coil.
type Pipe struct {
	// Name is the pipe's handle; its cells and links are named after it.
	Name string
	// From and To name the junctions at its ends.
	From, To string
	// Bore is the inner diameter, m; Length in m.
	Bore, Length units.Length
	// Count is the number of equal pipes side by side, the circuits of a coil;
	// zero means 1.
	Count int
	// Entry, when not nil, is in series with the pipe at its end From: a service
	// valve, a distributor, a drier.
	Entry Passage
	// Stores hold water along the pipe. They sit in its middle.
	Stores []PlacedStore
}

// Network is a set of pipes and vessels from which a Circuit is made: pipes are
// cut into as many cells as the accuracy asks for.
//
// The gas of a pipe that stays in one piece is half at either end. That errs by
// about a fifth of the share s that the pipe has in the volume it shuts off
// from the pump (itself and all behind it), and a pipe of n pieces by
//
//	error of the pull-down time = 0.21·s/n²
//
// exact for the slowest decay in thin gas, where n = 1 and nothing behind the
// pipe give 19 %, and found by refinement to hold for dense gas too. Cells stay
// at least five bores long, beyond which pieces no longer add up to the pipe.
type Network struct {
	// Gases as in Circuit; nil means water vapour, air, nitrogen.
	Gases []Gas
	// Vessels are the junctions with a volume of their own, 0 to 1e6 m³. Zero
	// makes them a joint with stores or another temperature. Ends of
	// pipes and links that are not listed are joints without volume. Reservoirs
	// are allowed.
	Vessels []Node
	// Pipes of the network, at least one.
	Pipes []Pipe
	// Links between junctions that hold no gas: valves, expansion devices, leaks.
	Links []Link
	// Root is the junction where the pump is, or its hose begins.
	Root string
	// Temperature and Fill of all gas in pipes and joints at the start.
	Temperature units.Temperature
	Fill        Fill
	// Accuracy is the relative error of pull-down times that cutting may leave
	// in each pipe, 1e-5 to 0.5; zero means 0.01.
	Accuracy float64
}

// Circuit makes the circuit: no pumps, feeds and gauges are in it yet. Vessels
// keep their place; behind them come joints and the cells of each pipe, named
// "pipe 1" and so on from the end From; links are named the same way, and the
// one link of a pipe in one piece "pipe". Errors name the pipe.
func (n *Network) Circuit() (Circuit, error) {
	b := &networkBuilder{net: n, index: map[string]int{}}
	if err := b.check(); err != nil {
		return Circuit{}, err
	}
	behind := b.volumesBehind()
	for i := range n.Pipes {
		b.cut(&n.Pipes[i], n.cells(&n.Pipes[i], behind[i]))
	}
	c := Circuit{Gases: n.Gases, Nodes: b.nodes, Links: append(b.links, n.Links...)}
	return c, c.Check()
}

// Cells is the number of pieces that Circuit cuts each pipe into, in order.
func (n *Network) Cells() ([]int, error) {
	b := &networkBuilder{net: n, index: map[string]int{}}
	if err := b.check(); err != nil {
		return nil, err
	}
	behind := b.volumesBehind()
	cells := make([]int, len(n.Pipes))
	for i := range n.Pipes {
		cells[i] = n.cells(&n.Pipes[i], behind[i])
	}
	return cells, nil
}

// cells is the number of pieces for a pipe with a volume behind it.
func (n *Network) cells(p *Pipe, behind float64) int {
	accuracy := n.Accuracy
	if accuracy == 0 {
		accuracy = 0.01
	}
	own := float64(p.volume())
	pieces := math.Ceil(math.Sqrt(0.21 * own / (own + behind) / accuracy))
	longest := math.Floor(float64(p.Length) / (5 * float64(p.Bore)))
	return int(math.Max(1, math.Min(pieces, longest)))
}

// segment is a piece of the pipe.
func (p *Pipe) segment(length units.Length, joined int) Segment {
	return Segment{Name: p.Name, Bore: p.Bore, Length: length, Count: p.Count, Joined: joined}
}

func (p *Pipe) volume() units.Volume { return Passage{p.segment(p.Length, 0)}.Volume() }

// networkBuilder collects nodes and links.
type networkBuilder struct {
	net   *Network
	nodes []Node
	links []Link
	index map[string]int // of nodes
}

// check checks the network and lays out vessels and joints.
func (b *networkBuilder) check() error {
	n := b.net
	const fn = "vacuum.Network"
	if n.Accuracy != 0 {
		if err := units.CheckRange(fn, "Accuracy", n.Accuracy, 1e-5, 0.5, ""); err != nil {
			return err
		}
	}
	if len(n.Pipes) == 0 {
		return fmt.Errorf("%s: no pipes", fn)
	}
	for i := range n.Vessels {
		v := &n.Vessels[i]
		b.index[v.Name] = i
		if v.Reservoir {
			continue
		}
		// Before the pipes add theirs, which would hide a negative volume.
		if err := units.CheckRange("", "Volume", float64(v.Volume), 0, 1e6, "m³"); err != nil {
			return fmt.Errorf("%s: vessel %q: %w", fn, v.Name, err)
		}
	}
	b.nodes = append(b.nodes, n.Vessels...)
	for i := range n.Pipes {
		p := &n.Pipes[i]
		if err := (Passage{p.segment(p.Length, 0)}).Check(); err != nil {
			return fmt.Errorf("%s: pipe %q: %w", fn, p.Name, err)
		}
		if p.Length == 0 || p.Name == "" || p.From == p.To {
			return fmt.Errorf("%s: pipe %d %q from %q to %q: a pipe has a name, a length and two different ends", fn, i+1, p.Name, p.From, p.To)
		}
		b.joint(p.From)
		b.joint(p.To)
	}
	if _, ok := b.index[n.Root]; !ok {
		return fmt.Errorf("%s: Root %q is no vessel and no end of a pipe", fn, n.Root)
	}
	return nil
}

// joint makes a node for an end that is no vessel.
func (b *networkBuilder) joint(name string) {
	if _, ok := b.index[name]; !ok {
		b.index[name] = len(b.nodes)
		b.nodes = append(b.nodes, Node{Name: name, Temperature: b.net.Temperature, Fill: b.net.Fill})
	}
}

// networkEdge leads by one way to a node. Ways are numbered: the pipes and then
// the links.
type networkEdge struct{ way, to int }

// neighbours are the ways from each node.
func (b *networkBuilder) neighbours() [][]networkEdge {
	next := make([][]networkEdge, len(b.nodes))
	join := func(way int, from, to string) {
		i, ok := b.index[from]
		k, there := b.index[to]
		if ok && there {
			next[i], next[k] = append(next[i], networkEdge{way, k}), append(next[k], networkEdge{way, i})
		}
	}
	for i := range b.net.Pipes {
		join(i, b.net.Pipes[i].From, b.net.Pipes[i].To)
	}
	for i := range b.net.Links {
		join(len(b.net.Pipes)+i, b.net.Links[i].From, b.net.Links[i].To)
	}
	return next
}

// networkTree is the tree of shortest ways from the root.
type networkTree struct {
	order            []int  // nodes, the root first
	by, parent, rank []int  // by node: the way to its parent, the parent, its distance
	looped           []bool // by node: its way to the parent is part of a loop
}

// tree spans the network breadth first and finds its loops: a way outside the
// tree closes one through both its ends.
func (b *networkBuilder) tree() networkTree {
	next, n := b.neighbours(), len(b.nodes)
	t := networkTree{by: make([]int, n), parent: make([]int, n), rank: make([]int, n), looped: make([]bool, n)}
	seen := make([]bool, n)
	t.order = append(t.order, b.index[b.net.Root])
	seen[t.order[0]] = true
	t.by[t.order[0]] = -1
	for at := 0; at < len(t.order); at++ {
		from := t.order[at]
		for _, e := range next[from] {
			switch {
			case !seen[e.to]:
				seen[e.to], t.by[e.to], t.parent[e.to], t.rank[e.to] = true, e.way, from, t.rank[from]+1
				t.order = append(t.order, e.to)
			case e.way != t.by[from] && e.way != t.by[e.to]:
				t.loop(from, e.to)
			}
		}
	}
	return t
}

// loop marks the ways from two nodes up to where they meet.
func (t *networkTree) loop(i, k int) {
	for i != k {
		if t.rank[i] < t.rank[k] {
			i, k = k, i
		}
		t.looped[i] = true
		i = t.parent[i]
	}
}

// volumesBehind is for each pipe the volume that it alone joins to the root,
// added up from the leaves of the tree. A pipe in a loop shuts nothing off: its
// own volume has to be enough.
func (b *networkBuilder) volumesBehind() []float64 {
	t := b.tree()
	behind := make([]float64, len(b.net.Pipes))
	volume := make([]float64, len(b.nodes))
	for at := len(t.order) - 1; at > 0; at-- {
		i := t.order[at]
		volume[i] += float64(b.nodes[i].Volume)
		if pipe := t.by[i]; pipe < len(behind) {
			if !t.looped[i] {
				behind[pipe] = volume[i]
			}
			volume[i] += float64(b.net.Pipes[pipe].volume())
		}
		volume[t.parent[i]] += volume[i]
	}
	return behind
}

// cut lays a pipe in n pieces: half a piece's gas at either end, a whole one's
// at every cut.
func (b *networkBuilder) cut(p *Pipe, n int) {
	piece := p.volume() / units.Volume(n)
	ends := [2]int{b.index[p.From], b.index[p.To]}
	for _, end := range ends {
		if !b.nodes[end].Reservoir {
			b.nodes[end].Volume += piece / 2
		}
	}
	from := p.From
	for i := range n {
		to := p.To
		if i < n-1 {
			to = fmt.Sprintf("%s %d", p.Name, i+1)
			b.index[to] = len(b.nodes)
			b.nodes = append(b.nodes, Node{Name: to, Volume: piece, Temperature: b.net.Temperature, Fill: b.net.Fill})
		}
		joined := 2
		if i == 0 {
			joined--
		}
		if i == n-1 {
			joined--
		}
		way := Passage{p.segment(p.Length/units.Length(n), joined)}
		name := p.Name
		if n > 1 {
			name = fmt.Sprintf("%s %d", p.Name, i+1)
		}
		if i == 0 {
			way = Series(p.Entry, way)
		}
		b.links = append(b.links, Link{Name: name, From: from, To: to, Passage: way})
		from = to
	}
	middle := b.index[p.To]
	if n > 1 {
		middle = b.index[fmt.Sprintf("%s %d", p.Name, n/2)]
	}
	b.nodes[middle].Stores = append(append([]PlacedStore(nil), b.nodes[middle].Stores...), p.Stores...)
}
