// Package layers lays a graph without circles out in layers, so that every edge
// leads down: each node as near to the end as its edges allow (longest path),
// nodes of a layer in an order in which few edges cross (barycentres), and each
// as straight below its neighbours as the others leave room for (least squares).
// Long edges of one node run together until they part. The same graph is always
// laid out alike.
//
// The method is that of K. Sugiyama, S. Tagawa and M. Toda, "Methods for visual
// understanding of hierarchical system structures", IEEE Transactions on
// Systems, Man, and Cybernetics 11 (1981) 109–125.
package layers

import (
	"cmp"
	"fmt"
	"slices"
)

// Edge leads from one node to another, by their numbers.
type Edge struct{ From, To int }

// OrderError reports an edge that doesn't lead from a lower node to a higher
// one.
type OrderError struct{ Edge }

// Error names the edge.
func (e *OrderError) Error() string {
	return fmt.Sprintf("edge %d to %d doesn't lead from a lower node to a higher one", e.From, e.To)
}

// Point is a place: a layer, counted from the top, and how far right, where
// nodes are 1 apart at least.
type Point struct {
	Layer int
	X     float64
}

// Layout is where everything is. All X are 0 or more.
type Layout struct {
	Nodes  []Point   // as numbered
	Paths  [][]Point // of the edges: from node to node, with one point in every layer between
	Layers int
	Width  float64 // the largest X
}

// trunk is where the edges of a node pass a layer, all by the same knot.
type trunk struct{ from, layer int }

// sweeps is how often the order is improved from the top and from the bottom.
const sweeps = 12

// Lay lays out n nodes, numbered from 0 so that every edge leads from a lower
// node to a higher one. Errors: OrderError.
func Lay(n int, edges []Edge) (Layout, error) {
	for _, e := range edges {
		if e.From < 0 || e.From >= e.To || e.To >= n {
			return Layout{}, &OrderError{e}
		}
	}
	s := stack(n, edges)
	s.order()
	s.place()
	return s.layout(n), nil
}

// stacked is a graph in layers, in which every edge leads to the next layer:
// long edges are divided by knots.
type stacked struct {
	layer  []int   // of nodes, then of knots
	up     [][]int // neighbours in the layer above …
	down   [][]int // … and below
	rows   [][]int // what stands in each layer, from left to right
	at     []int   // place in its row
	x      []float64
	chains [][]int // what each edge passes, both ends included
	trunks map[trunk]int
	nodes  int
}

// stack puts the nodes into layers, counted from the top.
func stack(n int, edges []Edge) *stacked {
	height := make([]int, n) // above the lowest layer
	sorted := slices.Clone(edges)
	slices.SortStableFunc(sorted, func(a, b Edge) int { return cmp.Compare(b.From, a.From) })
	top := 0
	for _, e := range sorted { // the heights of higher nodes are settled
		height[e.From] = max(height[e.From], height[e.To]+1)
		top = max(top, height[e.From])
	}
	s := &stacked{layer: make([]int, n), up: make([][]int, n), down: make([][]int, n), trunks: map[trunk]int{}, nodes: n}
	for v := range height {
		s.layer[v] = top - height[v]
	}
	for _, e := range edges {
		s.chains = append(s.chains, s.thread(e))
	}
	s.rows = make([][]int, top+1)
	s.at, s.x = make([]int, len(s.layer)), make([]float64, len(s.layer))
	for v, l := range s.layer {
		s.at[v] = len(s.rows[l])
		s.rows[l] = append(s.rows[l], v)
	}
	return s
}

// thread divides an edge by a knot in every layer that it passes.
func (s *stacked) thread(e Edge) []int {
	chain := []int{e.From}
	for l := s.layer[e.From] + 1; l < s.layer[e.To]; l++ {
		knot, shared := s.trunks[trunk{e.From, l}]
		if !shared {
			knot = len(s.layer)
			s.trunks[trunk{e.From, l}] = knot
			s.layer, s.up, s.down = append(s.layer, l), append(s.up, nil), append(s.down, nil)
			s.link(chain[len(chain)-1], knot)
		}
		chain = append(chain, knot)
	}
	s.link(chain[len(chain)-1], e.To)
	return append(chain, e.To)
}

func (s *stacked) link(a, b int) {
	s.down[a], s.up[b] = append(s.down[a], b), append(s.up[b], a)
}

// order sorts the rows by the barycentres of what is above, then of what is
// below, again and again, and keeps the order with the fewest crossings.
func (s *stacked) order() {
	best, fewest := s.copied(), s.crossings()
	for range sweeps {
		for l := 1; l < len(s.rows); l++ {
			s.sort(l, s.up)
		}
		for l := len(s.rows) - 2; l >= 0; l-- {
			s.sort(l, s.down)
		}
		if c := s.crossings(); c < fewest {
			best, fewest = s.copied(), c
		}
	}
	s.rows = best
	for _, row := range s.rows {
		s.number(row)
	}
}

func (s *stacked) copied() [][]int {
	rows := make([][]int, len(s.rows))
	for l := range s.rows {
		rows[l] = slices.Clone(s.rows[l])
	}
	return rows
}

func (s *stacked) number(row []int) {
	for i, v := range row {
		s.at[v] = i
	}
}

// sort orders a row by the mean places of neighbours; what has none keeps its
// place.
func (s *stacked) sort(l int, of [][]int) {
	row := s.rows[l]
	mean := make(map[int]float64, len(row))
	for i, v := range row {
		mean[v] = float64(i)
		if len(of[v]) > 0 {
			sum := 0
			for _, u := range of[v] {
				sum += s.at[u]
			}
			mean[v] = float64(sum) / float64(len(of[v]))
		}
	}
	slices.SortStableFunc(row, func(a, b int) int { return cmp.Compare(mean[a], mean[b]) })
	s.number(row)
}

// crossings counts how often edges cross.
func (s *stacked) crossings() int {
	crossed := 0
	for _, row := range s.rows {
		var ends []int // of the edges so far, sorted
		for _, v := range row {
			var to []int
			for _, u := range s.down[v] {
				to = append(to, s.at[u])
				at, _ := slices.BinarySearch(ends, s.at[u]+1)
				crossed += len(ends) - at
			}
			for _, end := range to {
				at, _ := slices.BinarySearch(ends, end)
				ends = slices.Insert(ends, at, end)
			}
		}
	}
	return crossed
}

// layout shifts everything to the right of 0 and hands it out.
func (s *stacked) layout(n int) Layout {
	var out Layout
	if n == 0 {
		return out
	}
	left, right := slices.Min(s.x), slices.Max(s.x)
	point := func(v int) Point { return Point{s.layer[v], s.x[v] - left} }
	out.Layers, out.Width = len(s.rows), right-left
	for v := range n {
		out.Nodes = append(out.Nodes, point(v))
	}
	for _, chain := range s.chains {
		var path []Point
		for _, v := range chain {
			path = append(path, point(v))
		}
		out.Paths = append(out.Paths, path)
	}
	return out
}
