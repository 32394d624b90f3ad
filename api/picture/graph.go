package picture

import (
	"cmp"
	"slices"

	"lumbricary.example/api/picture/layers"
)

// Graph is nodes that lead to each other, in layers, from the top down.
type Graph struct {
	Words
	Nodes []Node // so that every edge leads from a lower to a higher one
	Edges []Edge
}

// Node is a box of a few lines.
type Node struct {
	Kind  NodeKind
	Name  string   // its first line, in bold
	Lines []string // below it
	Tip   string   // all of it, for who points at it or can't see it
}

// NodeKind says how a node looks.
type NodeKind string

// The kinds of nodes.
const (
	Ordinary NodeKind = "node"
	Root     NodeKind = "root" // where things come from
	Goal     NodeKind = "goal" // what the picture is about
	Rest     NodeKind = "rest" // stands for what isn't drawn
)

// Edge leads from one node to another, by their numbers.
type Edge struct {
	From, To int
	Label    string
	Stays    bool // what it stands for was there before
}

const (
	nodeWidth = 176
	nodeGap   = 20
	nodeLine  = 16
	nodePad   = 8
	layerGap  = 44
	nameSize  = 13
	mostLines = 2 // of a name
	shortSize = 12
	arrow     = 4
)

// cell is a node as it is drawn.
type cell struct {
	Node
	names   []string
	height  float64
	at      spot  // the middle of its upper edge
	in, out []int // the edges that lead to it and from it, from left to right
}

// web is a graph being drawn.
type web struct {
	*drawing
	Graph
	layers.Layout
	cells []cell
	tops  []float64 // the upper edges of the layers, then where another would begin
	left  float64   // where X is 0
	drawn map[string]bool
}

// Draw draws the graph, at least as wide as that, and wider where its layers
// are. Errors: layers.OrderError.
func (g Graph) Draw(width float64) ([]byte, error) {
	edges := make([]layers.Edge, len(g.Edges))
	for i, e := range g.Edges {
		edges[i] = layers.Edge{From: e.From, To: e.To}
	}
	lay, err := layers.Lay(len(g.Nodes), edges)
	if err != nil {
		return nil, err
	}
	needed := lay.Width*(nodeWidth+nodeGap) + nodeWidth + 2*margin
	w := &web{drawing: &drawing{width: max(width, needed)}, Graph: g, Layout: lay, drawn: map[string]bool{}}
	down := w.heading(g.Words) + margin
	w.left = (w.width-needed)/2 + margin + nodeWidth/2
	w.furnish(down)
	for i, e := range g.Edges {
		w.edge(i, e)
	}
	for i, e := range g.Edges {
		w.label(i, e)
	}
	for _, c := range w.cells {
		c.draw(w.drawing)
	}
	w.height = w.notes(g.Words, w.tops[lay.Layers]-layerGap+8)
	return w.finish(g.Words), nil
}

// furnish puts the nodes where they are drawn.
func (w *web) furnish(top float64) {
	heights := make([]float64, w.Layers)
	for i, n := range w.Graph.Nodes {
		names := wrapped(n.Name, nodeWidth-2*nodePad, nameSize, true, mostLines)
		c := cell{Node: n, names: names, height: float64(len(names)+len(n.Lines))*nodeLine + 2*nodePad}
		layer := w.Layout.Nodes[i].Layer
		heights[layer] = max(heights[layer], c.height)
		w.cells = append(w.cells, c)
	}
	w.tops = []float64{top}
	for l, h := range heights {
		w.tops = append(w.tops, w.tops[l]+h+layerGap)
	}
	for i, p := range w.Layout.Nodes {
		w.cells[i].at = w.spot(p)
	}
	w.ports()
}

// ports orders the edges at each node by where they come from and lead to.
func (w *web) ports() {
	for i, e := range w.Edges {
		w.cells[e.From].out, w.cells[e.To].in = append(w.cells[e.From].out, i), append(w.cells[e.To].in, i)
	}
	after := func(i int) float64 { return w.Paths[i][1].X }
	before := func(i int) float64 { return w.Paths[i][len(w.Paths[i])-2].X }
	for _, c := range w.cells {
		slices.SortStableFunc(c.out, func(a, b int) int { return cmp.Compare(after(a), after(b)) })
		slices.SortStableFunc(c.in, func(a, b int) int { return cmp.Compare(before(a), before(b)) })
	}
}

// leaves is how far right of its node's middle an edge leaves it: at the same
// place as those that it runs together with.
func (w *web) leaves(i int, from cell) float64 {
	var ways []layers.Point
	for _, o := range from.out {
		ways = append(ways, w.Paths[o][1])
	}
	ways = slices.Compact(ways)
	return port(len(ways), slices.Index(ways, w.Paths[i][1]))
}

// port is how far right of a node's middle the n-th of so many edges meets it.
func port(of, n int) float64 {
	apart := min(48, (nodeWidth-2*nodePad)/float64(of))
	return apart * (float64(n) - float64(of-1)/2)
}

func (w *web) spot(p layers.Point) spot {
	return spot{w.left + p.X*(nodeWidth+nodeGap), w.tops[p.Layer]}
}

// bends are where an edge leaves its node, what it passes, and where it arrives:
// each at the upper edge of its layer.
func (w *web) bends(i int, e Edge) []spot {
	var out []spot
	for _, p := range w.Paths[i] {
		out = append(out, w.spot(p))
	}
	out[0].x += w.leaves(i, w.cells[e.From])
	to := w.cells[e.To].in
	out[len(out)-1].x += port(len(to), slices.Index(to, i))
	return out
}

// edge draws a line that runs straight through layers and bends between them,
// without what is drawn already of the edges that it runs together with.
func (w *web) edge(i int, e Edge) {
	bends := w.bends(i, e)
	from := w.cells[e.From]
	path, start := "", from.at.y+from.height
	for j, to := range bends[1:] {
		low := to.y - layerGap // the lower edge of the layer above
		piece := "M" + num(bends[j].x) + " " + num(start) + "V" + num(low)
		middle := num(low + layerGap/2)
		piece += "C" + num(bends[j].x) + " " + middle + " " + num(to.x) + " " + middle + " " + num(to.x) + " " + num(to.y)
		if !w.drawn[piece] {
			path += piece
		}
		w.drawn[piece], start = true, to.y
	}
	class := "way"
	if e.Stays {
		class = "way stay"
	}
	w.empty("path", "class", class, "d", path)
	end := bends[len(bends)-1]
	tip := num(end.x) + "," + num(end.y) + " " + num(end.x-arrow) + "," + num(end.y-2*arrow) + " " + num(end.x+arrow) + "," + num(end.y-2*arrow)
	w.empty("polygon", "class", "tip", "points", tip)
	w.body.WriteByte('\n')
}

// label writes what an edge is called, beside the end at which fewer meet.
func (w *web) label(i int, e Edge) {
	if e.Label == "" {
		return
	}
	bends := w.bends(i, e)
	from, to := bends[len(bends)-2], bends[len(bends)-1]
	at := spot{to.x + (from.x-to.x)*0.16, to.y - 13}
	if len(w.cells[e.From].out) < len(w.cells[e.To].in) {
		from, to = bends[0], bends[1]
		at = spot{from.x + (to.x-from.x)*0.16, to.y - layerGap + 15}
	}
	w.say(at, "label middle over", e.Label)
}

// draw draws the box of a node.
func (c cell) draw(d *drawing) {
	d.open("g")
	d.element("title", c.Tip)
	left := c.at.x - nodeWidth/2
	d.empty("rect", "class", string(c.Kind), "x", num(left), "y", num(c.at.y), "width", num(nodeWidth), "height", num(c.height), "rx", "6")
	y := c.at.y + nodePad
	for _, name := range c.names {
		y += nodeLine
		d.say(spot{left + nodePad, y - 4}, "strong", name)
	}
	for _, line := range c.Lines {
		y += nodeLine
		d.say(spot{left + nodePad, y - 4}, "label", cut(line, nodeWidth-2*nodePad, shortSize, false))
	}
	d.shut("g")
}
