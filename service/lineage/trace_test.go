package lineage_test

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"testing"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

// shelf answers for stored lots, and counts what it is asked.
type shelf struct {
	lots  map[string]lineage.Lot
	calls int
	asked map[string]int
}

func shelve(lots map[string]lineage.Lot) *shelf {
	return &shelf{lots: lots, asked: map[string]int{}}
}

func (s *shelf) note(ids []string) {
	s.calls++
	for _, id := range ids {
		s.asked[id]++
	}
}

func (s *shelf) byID(ids []string) ([]lineage.Lot, error) {
	s.note(ids)
	var out []lineage.Lot
	for _, id := range ids {
		if l, ok := s.lots[id]; ok {
			out = append(out, l)
		}
	}
	return out, nil
}

func (s *shelf) children(ids []string) ([]lineage.Lot, error) {
	s.note(ids)
	var out []lineage.Lot
	for _, l := range s.lots {
		if slices.ContainsFunc(l.Parents, func(p lineage.Parent) bool { return slices.Contains(ids, p.Lot) }) {
			out = append(out, l)
		}
	}
	return out, nil
}

// graph makes lots from child → parents; a lot opens on the day of its place in
// order, and has an origin beside its parents.
func graph(order []string, parents map[string][]string) map[string]lineage.Lot {
	out := map[string]lineage.Lot{}
	for i, id := range order {
		l := lineage.Lot{ID: id, OpenedAt: day(i), Parents: []lineage.Parent{{Origin: "A", Mass: 1}}}
		for _, p := range parents[id] {
			l.Parents = append(l.Parents, lineage.Parent{Lot: p, Mass: 1})
		}
		out[id] = l
	}
	return out
}

func ids(steps []lineage.Step) []string {
	var out []string
	for _, s := range steps {
		out = append(out, s.Lot.ID)
	}
	return out
}

// up returns all that a lot descends from, down all that descends from it, read
// in pages.
func (s *shelf) up(id string, limit int) ([]lineage.Step, error) {
	return s.all(id, limit, lineage.Upstream, s.byID)
}

func (s *shelf) down(id string, limit int) ([]lineage.Step, error) {
	return s.all(id, limit, lineage.Downstream, s.children)
}

type (
	reader func(ids []string) ([]lineage.Lot, error)
	tracer func(lineage.Lot, lineage.Page, func([]string) ([]lineage.Lot, error)) ([]lineage.Step, error)
)

func (s *shelf) all(id string, limit int, trace tracer, read reader) (out []lineage.Step, err error) {
	for p := (lineage.Page{Limit: limit}); ; p.After = out[len(out)-1].Lot {
		got, err := trace(s.lots[id], p, read)
		out = append(out, got...)
		if err != nil || len(got) < limit {
			return out, err
		}
	}
}

// family: z stands apart; d descends from a in two ways.
func family() map[string]lineage.Lot {
	return graph([]string{"a", "z", "c", "b", "d", "e"}, map[string][]string{"b": {"a"}, "c": {"a"}, "d": {"b", "c", "a"}, "e": {"d"}})
}

func TestATraceUpstreamRunsFromTheNewestLotToTheOldest(t *testing.T) {
	t.Parallel()
	got, err := shelve(family()).up("d", 2)
	if want := []string{"b", "c", "a"}; err != nil || !slices.Equal(ids(got), want) {
		t.Errorf("got %v, %v; want %v", ids(got), err, want)
	}
}

func TestATraceDownstreamIsEverythingThatDescendsFromALot(t *testing.T) {
	t.Parallel()
	got, err := shelve(family()).down("a", 3)
	if want := []string{"c", "b", "d", "e"}; err != nil || !slices.Equal(ids(got), want) {
		t.Errorf("got %v, %v; want %v", ids(got), err, want)
	}
	if got, err := shelve(family()).down("e", 3); err != nil || len(got) != 0 {
		t.Errorf("of the last: %v, %v", ids(got), err)
	}
}

func TestAPageAsksForEveryLotOnce(t *testing.T) {
	t.Parallel()
	for name, trace := range map[string]func(*shelf) ([]lineage.Step, error){
		"up":   func(s *shelf) ([]lineage.Step, error) { return s.up("e", 100) },
		"down": func(s *shelf) ([]lineage.Step, error) { return s.down("a", 100) },
	} {
		s := shelve(family())
		if _, err := trace(s); err != nil {
			t.Fatal(err)
		}
		if s.calls > 4 {
			t.Errorf("%s: %d calls", name, s.calls)
		}
		for id, n := range s.asked {
			if n != 1 {
				t.Errorf("%s: %s asked %d times", name, id, n)
			}
		}
	}
}

// A chain of a thousand lots: ten steps are read of it, whatever comes after.
func TestTheFirstPageReadsNoMoreThanItShows(t *testing.T) {
	t.Parallel()
	var order []string
	parents := map[string][]string{}
	for i := range 1000 {
		id := fmt.Sprintf("%03d", i)
		if i > 0 {
			parents[id] = order[i-1:]
		}
		order = append(order, id)
	}
	up, down := shelve(graph(order, parents)), shelve(graph(order, parents))
	if _, err := lineage.Upstream(up.lots["999"], lineage.Page{Limit: 10}, up.byID); err != nil || len(up.asked) > 10 {
		t.Errorf("up: %d read, %v", len(up.asked), err)
	}
	if _, err := lineage.Downstream(down.lots["000"], lineage.Page{Limit: 10}, down.children); err != nil || len(down.asked) > 10 {
		t.Errorf("down: %d read, %v", len(down.asked), err)
	}
}

func TestAParentThatCannotBeFoundIsAnError(t *testing.T) {
	t.Parallel()
	lots := family()
	delete(lots, "a")
	_, err := shelve(lots).up("d", 9)
	if got, ok := errors.AsType[*lineage.MissingLotError](err); !ok || got.Lot != "a" {
		t.Errorf("%v; want a", err)
	}
}

func TestAFailureToReadLotsIsPassedOn(t *testing.T) {
	t.Parallel()
	broken := errors.New("no answer")
	read := func([]string) ([]lineage.Lot, error) { return nil, broken }
	if _, err := lineage.Upstream(family()["b"], lineage.Page{Limit: 1}, read); !errors.Is(err, broken) {
		t.Errorf("up: %v", err)
	}
	if _, err := lineage.Downstream(family()["a"], lineage.Page{Limit: 1}, read); !errors.Is(err, broken) {
		t.Errorf("down: %v", err)
	}
}

// Sixty times over, stock is split in two bins and both are put together
// again: 2⁶⁰ ways lead from the last lot to the first, over 180 lots.
func TestTheCostGrowsWithTheLotsAndNotWithTheWaysBetweenThem(t *testing.T) {
	t.Parallel()
	const levels = 60
	var c club
	first := c.stock("0", "A", unit.Kilogram)
	var last string
	for i := range levels {
		top, left, right, bottom := strconv.Itoa(i), fmt.Sprint(i, "left"), fmt.Sprint(i, "right"), strconv.Itoa(i+1)
		c.add(journal.Split, slices.Concat(
			journal.Move(journal.Bin(top), journal.Bin(left), worms, unit.Kilogram/2),
			journal.Move(journal.Bin(top), journal.Bin(right), worms, unit.Kilogram/2),
		)...)
		last = c.add(journal.Combine, slices.Concat(
			journal.Move(journal.Bin(left), journal.Bin(bottom), worms, unit.Kilogram/2),
			journal.Move(journal.Bin(right), journal.Bin(bottom), worms, unit.Kilogram/2),
		)...)
	}
	lots, _ := c.derive(t)
	end := lots[lotOf(last, strconv.Itoa(levels))]
	if end.Depth != 2*levels+1 || !slices.Equal(end.Shares, lineage.Pure("A")) {
		t.Errorf("the last lot: %+v", end)
	}
	up := shelve(lots)
	if got, err := up.up(end.ID, 1000); err != nil || len(got) != 3*levels || up.calls > 2*levels+1 {
		t.Errorf("%d ancestors in %d calls, %v", len(got), up.calls, err)
	}
	down := shelve(lots)
	got, err := down.down(lotOf(first, "0"), 1000)
	if err != nil || len(got) != 3*levels || down.calls > 2*levels+1 {
		t.Errorf("%d descendants in %d calls, %v", len(got), down.calls, err)
	}
	if last := got[len(got)-1]; last.Depth != 2*levels || last.Parts != lineage.One {
		t.Errorf("the last descends by %d arrivals and in %d parts", last.Depth, last.Parts)
	}
}

// What is upstream of one lot has it downstream, in any graph; the fewest
// arrivals between them are as many as a search by breadth finds; and pages of any
// size are the same trace.
func TestUpstreamAndDownstreamMirrorEachOther(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n, limit := rapid.IntRange(2, 12).Draw(t, "lots"), rapid.IntRange(1, 13).Draw(t, "limit")
		var order []string
		parents := map[string][]string{}
		for i := range n {
			id := fmt.Sprintf("%02d", i)
			for _, p := range order {
				if rapid.IntRange(0, 3).Draw(t, "edge") == 0 {
					parents[id] = append(parents[id], p)
				}
			}
			order = append(order, id)
		}
		s := shelve(graph(order, parents))
		for _, id := range order {
			up, err := s.up(id, limit)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.IsSortedFunc(up, func(a, b lineage.Step) int { return b.Lot.OpenedAt.Compare(a.Lot.OpenedAt) }) {
				t.Fatalf("upstream of %s in the order %v", id, ids(up))
			}
			depths := breadth(parents, id)
			if len(up) != len(depths) {
				t.Fatalf("upstream of %s: %v; want %v", id, ids(up), depths)
			}
			for _, step := range up {
				down, err := s.down(step.Lot.ID, limit)
				i := slices.Index(ids(down), id)
				if err != nil || i < 0 || down[i].Depth != step.Depth || step.Depth != depths[step.Lot.ID] {
					t.Fatalf("%s is %d above %s, which stands at %d of %+v; want %v", step.Lot.ID, step.Depth, id, i, down, depths)
				}
			}
		}
	})
}

// breadth searches upstream of a lot by breadth: how far each is.
func breadth(parents map[string][]string, id string) map[string]int {
	depths, level := map[string]int{}, []string{id}
	for depth := 1; len(level) > 0; depth++ {
		var next []string
		for _, l := range level {
			for _, p := range parents[l] {
				if _, ok := depths[p]; !ok {
					depths[p], next = depth, append(next, p)
				}
			}
		}
		level = next
	}
	return depths
}

// If each lot is given a colour of its own for an origin, what of a descendant has
// it is what descends from that lot.
func TestHowMuchDescendsFromALotIsAsIfItWereAnOrigin(t *testing.T) {
	t.Parallel()
	s := shelve(graph([]string{"a", "b", "c", "d"}, map[string][]string{"b": {"a"}, "c": {"a", "b"}, "d": {"c"}}))
	got, err := s.down("a", 2)
	if err != nil {
		t.Fatal(err)
	}
	// b is half a and half its origin; c a third each of a, b, its origin; d half c.
	for i, want := range []int64{lineage.One / 2, lineage.One / 2, lineage.One / 4} {
		if got[i].Parts != want {
			t.Errorf("%s: %d parts; want %d", got[i].Lot.ID, got[i].Parts, want)
		}
	}
}
