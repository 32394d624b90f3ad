package layers_test

import (
	"errors"
	"math"
	"reflect"
	"testing"

	"lumbricary.example/api/picture/layers"

	"pgregory.net/rapid"
)

func lay(t *testing.T, n int, edges ...layers.Edge) layers.Layout {
	t.Helper()
	l, err := layers.Lay(n, edges)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestAChainStandsStraight(t *testing.T) {
	t.Parallel()
	l := lay(t, 3, layers.Edge{0, 1}, layers.Edge{1, 2})
	want := []layers.Point{{0, 0}, {1, 0}, {2, 0}}
	if !reflect.DeepEqual(l.Nodes, want) || l.Layers != 3 || l.Width != 0 {
		t.Errorf("laid out as %+v", l)
	}
}

func TestAParentStandsJustAboveTheHighestOfItsChildren(t *testing.T) {
	t.Parallel()
	// 0 → 1 → 2 → 4, 3 → 4: 3 is near the end, however early it is known.
	l := lay(t, 5, layers.Edge{0, 1}, layers.Edge{1, 2}, layers.Edge{2, 4}, layers.Edge{3, 4})
	if l.Nodes[3].Layer != 2 || l.Nodes[4].Layer != 3 {
		t.Errorf("laid out as %+v", l.Nodes)
	}
}

func TestEdgesThatNeedNotCrossDoNot(t *testing.T) {
	t.Parallel()
	l := lay(t, 6, layers.Edge{0, 3}, layers.Edge{1, 2}, layers.Edge{2, 5}, layers.Edge{3, 5}, layers.Edge{4, 5})
	if (l.Nodes[0].X < l.Nodes[1].X) != (l.Nodes[3].X < l.Nodes[2].X) {
		t.Errorf("the edges cross: %+v", l.Nodes)
	}
}

func TestALongEdgeHasAPointInEveryLayer(t *testing.T) {
	t.Parallel()
	l := lay(t, 4, layers.Edge{0, 1}, layers.Edge{1, 2}, layers.Edge{2, 3}, layers.Edge{0, 3})
	path := l.Paths[3]
	if len(path) != 4 || path[0] != l.Nodes[0] || path[3] != l.Nodes[3] || path[1].Layer != 1 || path[2].Layer != 2 {
		t.Errorf("the path is %+v", path)
	}
	if math.Abs(path[1].X-l.Nodes[1].X) < 0.6 {
		t.Errorf("the path runs through a node: %+v, %+v", path, l.Nodes)
	}
}

func TestLongEdgesOfOneNodeRunTogetherUntilTheyPart(t *testing.T) {
	t.Parallel()
	var edges []layers.Edge
	for v := 1; v < 20; v++ {
		edges = append(edges, layers.Edge{0, v}, layers.Edge{v, v + 1})
	}
	l := lay(t, 21, edges...)
	if l.Width > 1.01 {
		t.Errorf("19 edges of one node are %v wide", l.Width)
	}
	if a, b := l.Paths[36], l.Paths[34]; a[5] != b[5] {
		t.Errorf("%+v and %+v part early", a, b)
	}
}

func TestNothingIsLaidOutAsNothing(t *testing.T) {
	t.Parallel()
	if l := lay(t, 0); l.Layers != 0 || len(l.Nodes) != 0 {
		t.Errorf("%+v", l)
	}
	if l := lay(t, 2); l.Layers != 1 || l.Width != 1 {
		t.Errorf("%+v", l)
	}
}

func TestAnEdgeThatLeadsBackIsRefused(t *testing.T) {
	t.Parallel()
	for _, e := range []layers.Edge{{1, 0}, {1, 1}, {-1, 1}, {0, 2}} {
		_, err := layers.Lay(2, []layers.Edge{e})
		if order, ok := errors.AsType[*layers.OrderError](err); !ok || order.Edge != e || order.Error() == "" {
			t.Errorf("%v: %v", e, err)
		}
	}
}

func TestEveryEdgeLeadsDownAndNodesKeepApart(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "nodes")
		var edges []layers.Edge
		for range rapid.IntRange(0, 80).Draw(t, "edges") {
			if n > 1 {
				to := rapid.IntRange(1, n-1).Draw(t, "to")
				edges = append(edges, layers.Edge{rapid.IntRange(0, to-1).Draw(t, "from"), to})
			}
		}
		l, err := layers.Lay(n, edges)
		if err != nil {
			t.Fatal(err)
		}
		again, _ := layers.Lay(n, edges)
		if !reflect.DeepEqual(l, again) {
			t.Fatal("laid out otherwise the second time")
		}
		for i, e := range edges {
			path := l.Paths[i]
			for j, p := range path {
				if p.Layer != path[0].Layer+j {
					t.Fatalf("edge %v passes %+v", e, path)
				}
			}
			if path[0] != l.Nodes[e.From] || path[len(path)-1] != l.Nodes[e.To] {
				t.Fatalf("edge %v ends elsewhere: %+v", e, path)
			}
		}
		for i, a := range l.Nodes {
			if a.X < 0 || a.X > l.Width {
				t.Fatalf("node %d is outside: %+v", i, a)
			}
			for _, b := range l.Nodes[i+1:] {
				if a.Layer == b.Layer && math.Abs(a.X-b.X) < 1-1e-6 {
					t.Fatalf("%+v and %+v are too close", a, b)
				}
			}
		}
	})
}
