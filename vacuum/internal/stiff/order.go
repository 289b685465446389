package stiff

import (
	"cmp"
	"slices"
)

// eliminationOrder chooses the order in which unknowns are eliminated so that
// little fill arises: minimum degree on the symmetrised pattern (Tinney and
// Walker, Proc. IEEE 55 (1967) 1801, their scheme 2). Unknowns that no other
// rate depends on, such as integrals of an outflow, go last: their columns
// hold only the diagonal, so they cost their own row and cause no fill.
//
// Work is the sum of squared degrees, linear in the size for trees and for
// graphs with few and short loops. The result depends on the pattern alone.
func eliminationOrder(p *Pattern) []int32 {
	adjacency, sinks := symmetrised(p)
	g := newEliminationGraph(adjacency)
	order := make([]int32, 0, p.Size())
	remaining := p.Size() - len(sinks)
	for i := range int32(p.Size()) {
		if _, isSink := slices.BinarySearch(sinks, i); !isSink {
			g.file(i)
		}
	}
	for ; remaining > 0; remaining-- {
		k := g.takeLeast()
		order = append(order, k)
		if int(g.degree[k]) == remaining-1 { // all that is left is one clique
			order = g.appendRest(order)
			break
		}
		g.eliminate(k)
	}
	return append(order, sinks...)
}

// symmetrised gives, per unknown, the ascending neighbours in the pattern of
// J + transpose(J) without the diagonal, and the ascending list of unknowns
// that no other row refers to; the latter take no part in the adjacency.
func symmetrised(p *Pattern) (adjacency [][]int32, sinks []int32) {
	n := p.Size()
	referred := make([]bool, n)
	for i := range n {
		columns, _ := p.Row(i)
		for _, j := range columns {
			referred[j] = referred[j] || int(j) != i
		}
	}
	adjacency = make([][]int32, n)
	for i := range n {
		if !referred[i] {
			sinks = append(sinks, int32(i))
			continue
		}
		columns, _ := p.Row(i)
		for _, j := range columns {
			if int(j) != i {
				adjacency[i] = append(adjacency[i], j)
				adjacency[j] = append(adjacency[j], int32(i))
			}
		}
	}
	for i := range n {
		slices.Sort(adjacency[i])
		adjacency[i] = slices.Compact(adjacency[i])
		if !referred[i] {
			adjacency[i] = nil
		}
	}
	return adjacency, sinks
}

// eliminationGraph is the graph of the unknowns still to be eliminated.
// Adjacency lists may hold unknowns already gone; they are dropped when a list
// is next walked. Unknowns wait in doubly linked lists, one per degree.
type eliminationGraph struct {
	adjacency  [][]int32
	degree     []int32 // live neighbours
	gone       []bool
	mark       []int32 // stamp of the last list that held the unknown
	stamp      int32
	first      []int32 // head of the list of each degree, -1 when empty
	next, prev []int32
	least      int32 // no filed unknown has a smaller degree
}

func newEliminationGraph(adjacency [][]int32) *eliminationGraph {
	n := len(adjacency)
	g := &eliminationGraph{
		adjacency: adjacency,
		degree:    make([]int32, n),
		gone:      make([]bool, n),
		mark:      make([]int32, n),
		first:     make([]int32, n+1),
		next:      make([]int32, n),
		prev:      make([]int32, n),
	}
	for i := range adjacency {
		g.degree[i] = int32(len(adjacency[i]))
	}
	for d := range g.first {
		g.first[d] = -1
	}
	return g
}

// file puts unknown i at the head of the list of its degree.
func (g *eliminationGraph) file(i int32) {
	d := g.degree[i]
	head := g.first[d]
	g.prev[i], g.next[i] = -1, head
	if head >= 0 {
		g.prev[head] = i
	}
	g.first[d] = i
	g.least = min(g.least, d)
}

// unfile takes unknown i out of the list of degree d.
func (g *eliminationGraph) unfile(i, d int32) {
	if g.prev[i] >= 0 {
		g.next[g.prev[i]] = g.next[i]
	} else {
		g.first[d] = g.next[i]
	}
	if g.next[i] >= 0 {
		g.prev[g.next[i]] = g.prev[i]
	}
}

// takeLeast removes an unknown of least degree and marks it gone.
func (g *eliminationGraph) takeLeast() int32 {
	for g.first[g.least] < 0 {
		g.least++
	}
	k := g.first[g.least]
	g.unfile(k, g.least)
	g.gone[k] = true
	return k
}

// eliminate joins the neighbours of k, already taken, to a clique. Neighbours
// come in order of degree and a missing edge is looked for in the list of the
// lower degree, so that one unknown tied to very many costs nothing extra.
func (g *eliminationGraph) eliminate(k int32) {
	neighbours := g.live(k)
	slices.SortFunc(neighbours, func(a, b int32) int {
		return cmp.Or(cmp.Compare(g.degree[a], g.degree[b]), cmp.Compare(a, b))
	})
	for _, u := range neighbours {
		g.unfile(u, g.degree[u])
		g.degree[u]-- // k leaves
	}
	for at, u := range neighbours {
		others := neighbours[at+1:]
		if len(others) == 0 {
			break
		}
		g.adjacency[u] = g.live(u)
		for _, v := range others {
			if g.mark[v] != g.stamp {
				g.adjacency[u] = append(g.adjacency[u], v)
				g.adjacency[v] = append(g.adjacency[v], u)
				g.degree[u]++
				g.degree[v]++
			}
		}
	}
	for _, u := range neighbours {
		g.file(u)
	}
	g.adjacency[k] = nil
}

// live shortens the list of unknown u in place to the neighbours still there
// and marks them with a new stamp.
func (g *eliminationGraph) live(u int32) []int32 {
	g.stamp++
	kept := g.adjacency[u][:0]
	for _, v := range g.adjacency[u] {
		if !g.gone[v] {
			g.mark[v] = g.stamp
			kept = append(kept, v)
		}
	}
	return kept
}

// appendRest adds the unknowns still filed, by index.
func (g *eliminationGraph) appendRest(order []int32) []int32 {
	from := len(order)
	for _, head := range g.first {
		for i := head; i >= 0; i = g.next[i] {
			order = append(order, i)
		}
	}
	slices.Sort(order[from:])
	return order
}
