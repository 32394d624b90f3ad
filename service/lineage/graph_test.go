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

func ids(lots []lineage.Lot) []string {
	var out []string
	for _, l := range lots {
		out = append(out, l.ID)
	}
	return out
}

// family: z stands apart; d descends from a in two ways.
func family() map[string]lineage.Lot {
	return graph([]string{"a", "z", "c", "b", "d", "e"}, map[string][]string{"b": {"a"}, "c": {"a"}, "d": {"b", "c", "a"}, "e": {"d"}})
}

func TestCustodyRunsFromTheOldestLotToTheLotItself(t *testing.T) {
	t.Parallel()
	got, err := lineage.Ancestry("d", shelve(family()).byID)
	if want := []string{"a", "c", "b", "d"}; err != nil || !slices.Equal(ids(got), want) {
		t.Errorf("got %v, %v; want %v", ids(got), err, want)
	}
}

func TestDescendantsAreEverythingDownstreamWithoutTheLot(t *testing.T) {
	t.Parallel()
	got, err := lineage.Descendants("a", shelve(family()).children)
	if want := []string{"c", "b", "d", "e"}; err != nil || !slices.Equal(ids(got), want) {
		t.Errorf("got %v, %v; want %v", ids(got), err, want)
	}
	if got, err := lineage.Descendants("e", shelve(family()).children); err != nil || len(got) != 0 {
		t.Errorf("of the last: %v, %v", ids(got), err)
	}
}

func TestEveryGenerationIsAskedForInOneCallAndEveryLotOnce(t *testing.T) {
	t.Parallel()
	for name, trace := range map[string]func(*shelf) ([]lineage.Lot, error){
		"up":   func(s *shelf) ([]lineage.Lot, error) { return lineage.Ancestry("e", s.byID) },
		"down": func(s *shelf) ([]lineage.Lot, error) { return lineage.Descendants("a", s.children) },
	} {
		s := shelve(family())
		if _, err := trace(s); err != nil {
			t.Fatal(err)
		}
		if s.calls > 4 || len(s.asked) != 5 {
			t.Errorf("%s: %d calls for %v", name, s.calls, s.asked)
		}
		for id, n := range s.asked {
			if n != 1 {
				t.Errorf("%s: %s asked %d times", name, id, n)
			}
		}
	}
}

func TestALotThatIsItsOwnAncestorIsAnError(t *testing.T) {
	t.Parallel()
	lots := graph([]string{"a", "b", "c", "d"}, map[string][]string{"a": {"c"}, "b": {"a"}, "c": {"b"}, "d": {"c"}})
	_, up := lineage.Ancestry("d", shelve(lots).byID)
	_, down := lineage.Descendants("b", shelve(lots).children)
	for name, err := range map[string]error{"up": up, "down": down} {
		got, ok := errors.AsType[*lineage.CycleError](err)
		if want := []string{"a", "c", "b", "a"}; !ok || !slices.Equal(got.Path, want) {
			t.Errorf("%s: %v; want %v", name, err, want)
		}
	}
}

func TestAParentThatCannotBeFoundIsAnError(t *testing.T) {
	t.Parallel()
	lots := family()
	delete(lots, "a")
	for _, id := range []string{"d", "nowhere"} {
		_, err := lineage.Ancestry(id, shelve(lots).byID)
		want := map[string]string{"d": "a", "nowhere": "nowhere"}[id]
		if got, ok := errors.AsType[*lineage.MissingLotError](err); !ok || got.Lot != want {
			t.Errorf("of %s: %v; want %s", id, err, want)
		}
	}
}

func TestAFailureToReadLotsIsPassedOn(t *testing.T) {
	t.Parallel()
	broken := errors.New("no answer")
	read := func([]string) ([]lineage.Lot, error) { return nil, broken }
	if _, err := lineage.Ancestry("a", read); !errors.Is(err, broken) {
		t.Errorf("up: %v", err)
	}
	if _, err := lineage.Descendants("a", read); !errors.Is(err, broken) {
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
	if got, err := lineage.Ancestry(end.ID, up.byID); err != nil || len(got) != 3*levels+1 || up.calls != 2*levels+1 {
		t.Errorf("%d ancestors in %d calls, %v", len(got), up.calls, err)
	}
	down := shelve(lots)
	if got, err := lineage.Descendants(lotOf(first, "0"), down.children); err != nil || len(got) != 3*levels || down.calls != 2*levels+1 {
		t.Errorf("%d descendants in %d calls, %v", len(got), down.calls, err)
	}
}

// What is upstream of one lot has it downstream, in any graph.
func TestUpstreamAndDownstreamMirrorEachOther(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "lots")
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
			up, err := lineage.Ancestry(id, s.byID)
			if err != nil {
				t.Fatal(err)
			}
			for _, other := range order {
				down, err := lineage.Descendants(other, s.children)
				if err != nil {
					t.Fatal(err)
				}
				isUp := other != id && slices.Contains(ids(up), other)
				if isDown := slices.Contains(ids(down), id); isUp != isDown {
					t.Fatalf("%s upstream of %s: %v, downstream: %v", other, id, isUp, isDown)
				}
			}
		}
	})
}
