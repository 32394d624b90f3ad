package lineage_test

import (
	"errors"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

func TestALotIdIsAUUIDOfVersion8ThatDependsOnItsOpeningAlone(t *testing.T) {
	t.Parallel()
	form := regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)
	seen := map[string]bool{}
	for _, entry := range []string{"e1", "e2"} {
		for _, p := range []lineage.Place{in("a"), in("b"), underWay("a"), {Bin: "a", Species: "x"}} {
			id := lineage.LotID(entry, p)
			if !form.MatchString(id) || seen[id] || id != lineage.LotID(entry, p) {
				t.Errorf("%s in %s: %s", entry, p, id)
			}
			seen[id] = true
		}
	}
}

func TestStockingOpensALotOfItsOrigin(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "harbour", 500)
	lots, states := c.derive(t)
	want := lineage.Lot{
		ID: lotOf(e, "a"), Place: in("a"), OpenedBy: e, OpenedAt: day(1), OpenedSeq: 1, Mass: 500,
		Parents: []lineage.Parent{{Origin: "harbour", Mass: 500}}, Shares: lineage.Pure("harbour"), Depth: 1,
	}
	if got := lots[want.ID]; len(lots) != 1 || !reflect.DeepEqual(got, want) || !got.Current() {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if s := states[in("a")]; s.Book != 500 || s.Lot.ID != want.ID {
		t.Errorf("stands there: %+v", s)
	}
}

func TestAnArrivalMixesWithWhatStandsThereAndEndsItsLot(t *testing.T) {
	t.Parallel()
	var c club
	e1, e2 := c.stock("a", "harbour", 300), c.stock("b", "", 200)
	e3 := c.move("b", "a", 100)
	lots, states := c.derive(t)
	first, other, mixed := lots[lotOf(e1, "a")], lots[lotOf(e2, "b")], lots[lotOf(e3, "a")]
	if first.EndedBy != e3 || !first.EndedAt.Equal(day(3)) || first.Mass != 300 {
		t.Errorf("the first lot: %+v", first)
	}
	if !other.Current() || states[in("b")].Book != 100 {
		t.Errorf("the giver: %+v", other)
	}
	want := []lineage.Parent{{Lot: first.ID, Mass: 300}, {Lot: other.ID, Mass: 100}}
	slices.SortFunc(want, func(a, b lineage.Parent) int { return strings.Compare(a.Lot, b.Lot) })
	if !slices.Equal(mixed.Parents, want) || mixed.Mass != 400 || mixed.Depth != 2 {
		t.Errorf("the new lot: %+v", mixed)
	}
	if !slices.Equal(mixed.Shares, shares("harbour", 3*lineage.One/4, "unknown", lineage.One/4)) {
		t.Errorf("its shares: %v", mixed.Shares)
	}
}

func TestOneEntryWithSeveralSourcesOpensOneLot(t *testing.T) {
	t.Parallel()
	var c club
	a, b := c.stock("a", "A", 100), c.stock("b", "B", 100)
	e := c.add(journal.Combine, slices.Concat(
		journal.Move(journal.Bin("a"), journal.Bin("c"), worms, 30),
		journal.Move(journal.Bin("b"), journal.Bin("c"), worms, 10),
	)...)
	lots, _ := c.derive(t)
	got := lots[lotOf(e, "c")]
	if len(lots) != 3 || len(got.Parents) != 2 || got.Mass != 40 {
		t.Fatalf("got %+v", lots)
	}
	for _, p := range got.Parents {
		if want := map[string]unit.Mass{lotOf(a, "a"): 30, lotOf(b, "b"): 10}[p.Lot]; p.Mass != want {
			t.Errorf("parent %+v, want %d", p, want)
		}
	}
}

func TestSeveralDestinationsShareTheSourcesInProportion(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 100)
	c.stock("b", "B", 100)
	e := c.add(journal.Combine,
		journal.Posting{Account: journal.Bin("a"), Commodity: worms, Amount: -60},
		journal.Posting{Account: journal.Bin("b"), Commodity: worms, Amount: -30},
		journal.Posting{Account: journal.Bin("c"), Commodity: worms, Amount: 30},
		journal.Posting{Account: journal.Bin("d"), Commodity: worms, Amount: 60},
	)
	lots, _ := c.derive(t)
	for bin, masses := range map[string][]unit.Mass{"c": {10, 20}, "d": {20, 40}} {
		l := lots[lotOf(e, bin)]
		got := []unit.Mass{l.Parents[0].Mass, l.Parents[1].Mass}
		slices.Sort(got)
		if !slices.Equal(got, masses) || !slices.Equal(l.Shares, shares("A", lineage.One*2/3+1, "B", lineage.One/3)) {
			t.Errorf("%s: %+v", bin, l)
		}
	}
}

func TestTwoBinsThatSwapInOneEntryAreReadBeforeEitherChanges(t *testing.T) {
	t.Parallel()
	var c club
	a, b := c.stock("a", "A", 100), c.stock("b", "B", 100)
	e := c.add(journal.Combine, slices.Concat(
		journal.Move(journal.Bin("a"), journal.Bin("b"), worms, 100),
		journal.Move(journal.Bin("b"), journal.Bin("a"), worms, 100),
	)...)
	lots, _ := c.derive(t)
	for bin, from := range map[string]string{"a": lotOf(b, "b"), "b": lotOf(a, "a")} {
		got := lots[lotOf(e, bin)]
		if !slices.Equal(got.Parents, []lineage.Parent{{Lot: from, Mass: 100}}) || got.Depth != 2 {
			t.Errorf("%s: %+v", bin, got)
		}
	}
}

func TestMovingStockWithinABinOpensNothing(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 100)
	c.move("a", "a", 40)
	lots, states := c.derive(t)
	if l := lots[lotOf(e, "a")]; len(lots) != 1 || !l.Current() || states[in("a")].Book != 100 {
		t.Errorf("got %+v", lots)
	}
}

func TestSpeciesHaveLotsOfTheirOwn(t *testing.T) {
	t.Parallel()
	var c club
	other := journal.Worms("eisenia-andrei")
	e := c.add(journal.Stocking, slices.Concat(
		journal.Receive("A", journal.Bin("a"), worms, 100),
		journal.Receive("B", journal.Bin("a"), other, 50),
	)...)
	lots, _ := c.derive(t)
	if got := lots[lotOf(e, "a")]; len(lots) != 2 || !slices.Equal(got.Shares, lineage.Pure("A")) {
		t.Errorf("got %+v", lots)
	}
}

func TestGrowthLossAndOutflowAlterTheBookAndNotTheLot(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 100)
	c.grow("a", 50)
	c.lose("a", 20)
	c.add(journal.Use, journal.Move(journal.Bin("a"), journal.Account{Kind: journal.Outside}, worms, 30)...)
	c.move("a", "b", 10)
	lots, states := c.derive(t)
	l := lots[lotOf(e, "a")]
	if !l.Current() || l.Mass != 100 || !slices.Equal(l.Shares, lineage.Pure("A")) || states[in("a")].Book != 90 {
		t.Errorf("got %+v and %+v", l, states[in("a")])
	}
}

func TestALotEndsAtBookZeroAndWormsFoundLaterReviveIt(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 100)
	dead := c.lose("a", 100)
	lots, states := c.derive(t)
	if l := lots[lotOf(e, "a")]; l.Current() || l.EndedBy != dead || !l.EndedAt.Equal(day(2)) || states[in("a")].Lot == nil {
		t.Errorf("at book 0: %+v", l)
	}
	c.grow("a", 5)
	lots, states = c.derive(t)
	if l := lots[lotOf(e, "a")]; len(lots) != 1 || !l.Current() || l.EndedBy != "" || states[in("a")].Book != 5 {
		t.Errorf("revived: %+v", l)
	}
}

func TestAnArrivalInAnEmptiedBinHasNothingOfWhatWasThere(t *testing.T) {
	t.Parallel()
	var c club
	e1 := c.stock("a", "A", 100)
	dead := c.lose("a", 100)
	e3 := c.stock("a", "B", 70)
	lots, _ := c.derive(t)
	if got := lots[lotOf(e3, "a")]; !slices.Equal(got.Parents, []lineage.Parent{{Origin: "B", Mass: 70}}) {
		t.Errorf("got %+v", got)
	}
	if l := lots[lotOf(e1, "a")]; l.EndedBy != dead {
		t.Errorf("the emptied lot ended by %s", l.EndedBy)
	}
}

func TestGrowthWhereNothingEverStoodIsOfUnknownOrigin(t *testing.T) {
	t.Parallel()
	var c club
	e := c.grow("a", 40)
	lots, _ := c.derive(t)
	got := lots[lotOf(e, "a")]
	if !slices.Equal(got.Parents, []lineage.Parent{{Origin: lineage.Unknown, Mass: 40}}) || got.Depth != 1 || lineage.UnknownShare(got.Shares) != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestAReceiptDescendsFromWhatWasSentAndNotFromWhatStandsThereNow(t *testing.T) {
	t.Parallel()
	var c club
	e1 := c.stock("a", "A", 100)
	sent := c.send("a", "t", 60)
	c.stock("a", "B", 500)
	e4 := c.arrive("t", journal.Arrival{To: journal.Bin("b"), Received: 50, Dead: 4, WeightLost: 5, Missing: 1})
	lots, states := c.derive(t)
	got := lots[lotOf(e4, "b")]
	if !slices.Equal(got.Parents, []lineage.Parent{{Lot: lotOf(e1, "a"), Mass: 50}}) || got.Depth != 2 || !slices.Equal(got.Shares, lineage.Pure("A")) {
		t.Errorf("received: %+v", got)
	}
	way := lots[lineage.LotID(sent, underWay("t"))]
	if way.Mass != 60 || way.EndedBy != e4 || !slices.Equal(way.Parents, []lineage.Parent{{Lot: lotOf(e1, "a"), Mass: 60}}) {
		t.Errorf("under way: %+v", way)
	}
	if states[underWay("t")].Book != 0 {
		t.Errorf("left in transit: %d", states[underWay("t")].Book)
	}
}

func TestStockOfSeveralBinsUnderWayIsLookedThrough(t *testing.T) {
	t.Parallel()
	var c club
	a, b := c.stock("a", "A", 100), c.stock("b", "B", 100)
	c.send("a", "t", 60)
	c.send("b", "t", 30)
	e := c.arrive("t", journal.Arrival{To: journal.Bin("c"), Received: 33, Missing: 57})
	back := c.add(journal.HandOver, journal.Move(journal.InTransit("t"), journal.Bin("a"), worms, 3)...)
	lots, _ := c.derive(t)
	for entry, masses := range map[string][2]unit.Mass{lotOf(e, "c"): {22, 11}, lotOf(back, "a"): {42, 1}} {
		got := map[string]unit.Mass{}
		for _, p := range lots[entry].Parents {
			got[p.Lot] = p.Mass
		}
		if want := map[string]unit.Mass{lotOf(a, "a"): masses[0], lotOf(b, "b"): masses[1]}; !maps.Equal(got, want) {
			t.Errorf("got %v, want %v", got, want)
		}
		if lots[entry].Depth != 2 {
			t.Errorf("depth %d", lots[entry].Depth)
		}
	}
}

func TestMoreThanWasSentStillDescendsFromIt(t *testing.T) {
	t.Parallel()
	var c club
	a := c.stock("a", "A", 100)
	c.send("a", "t", 50)
	c.arrive("t", journal.Arrival{To: journal.Bin("b"), Received: 50})
	e := c.arrive("t", journal.Arrival{To: journal.Bin("c"), Received: 7})
	lots, states := c.derive(t)
	if got := lots[lotOf(e, "c")]; !slices.Equal(got.Parents, []lineage.Parent{{Lot: lotOf(a, "a"), Mass: 7}}) || states[underWay("t")].Book != -7 {
		t.Errorf("got %+v, %+v", got, states[underWay("t")])
	}
}

func TestAReceiptOfWhatNobodySentIsOfUnknownOrigin(t *testing.T) {
	t.Parallel()
	var c club
	e := c.arrive("t", journal.Arrival{To: journal.Bin("b"), Received: 7})
	lots, _ := c.derive(t)
	if got := lots[lotOf(e, "b")]; lineage.UnknownShare(got.Shares) != 1 || got.Depth != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestWhatArrivesAndDiesInOneEntryIsALotThatEnded(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 10)
	e := c.add(journal.HandOver, slices.Concat(
		journal.Move(journal.Bin("a"), journal.Bin("b"), worms, 10),
		journal.Move(journal.Bin("b"), journal.Account{Kind: journal.Mortality}, worms, 10),
	)...)
	lots, _ := c.derive(t)
	if l := lots[lotOf(e, "b")]; l.Current() || l.EndedBy != e || l.Mass != 0 {
		t.Errorf("got %+v", l)
	}
}

func TestCastingsHaveNoLots(t *testing.T) {
	t.Parallel()
	var c club
	c.add(journal.Harvest, journal.Move(journal.Account{Kind: journal.Processing}, journal.Batch("k"), journal.Castings, 10)...)
	if lots, states := c.derive(t); len(lots)+len(states) != 0 || len(lineage.Places(c.entries[0])) != 0 {
		t.Errorf("got %v and %v", lots, states)
	}
}

func TestPlacesAreWhatAnEntryTouchesEachOnce(t *testing.T) {
	t.Parallel()
	e := journal.Entry{Postings: slices.Concat(
		journal.Move(journal.Bin("b"), journal.InTransit("t"), worms, 5),
		journal.Move(journal.Bin("b"), journal.Bin("a"), worms, 5),
		journal.Move(journal.Bin("a"), journal.Account{Kind: journal.Mortality}, worms, 5),
	)}
	if got, want := lineage.Places(e), []lineage.Place{underWay("t"), in("a"), in("b")}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestTakingMoreThanTheBookIsAShortfall(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 10)
	c.move("a", "b", 12)
	_, _, err := lineage.Derive(c.entries)
	want := journal.Shortfall{Account: journal.Bin("a"), Commodity: worms, At: day(2), Entry: "e2", Book: -2, Missing: 2}
	if got, ok := errors.AsType[*journal.Shortfall](err); !ok || *got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestABookWithoutALotIsAnError(t *testing.T) {
	t.Parallel()
	var c club
	c.move("a", "b", 5)
	states := map[lineage.Place]lineage.State{in("a"): {Book: 10}}
	changed, next, err := lineage.Apply(states, c.entries[0])
	if got, ok := errors.AsType[*lineage.NoLotError](err); !ok || *got != (lineage.NoLotError{Entry: "e1", Place: in("a"), Book: 10}) {
		t.Errorf("got %v", err)
	}
	if changed != nil || next != nil {
		t.Errorf("with %v and %v", changed, next)
	}
}

func TestALotWhoseSharesAreNotWholeIsAnError(t *testing.T) {
	t.Parallel()
	var c club
	c.move("a", "b", 5)
	states := map[lineage.Place]lineage.State{in("a"): {Lot: &lineage.Lot{ID: "l"}, Book: 10}}
	_, _, err := lineage.Apply(states, c.entries[0])
	if _, ok := errors.AsType[*lineage.MixError](err); !ok {
		t.Errorf("got %v", err)
	}
}

func TestApplyChangesNoneOfItsArguments(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 10)
	c.move("a", "b", 10)
	_, first, err := lineage.Apply(nil, c.entries[0])
	if err != nil {
		t.Fatal(err)
	}
	lot := *first[in("a")].Lot
	changed, next, err := lineage.Apply(first, c.entries[1])
	if err != nil || len(changed) != 2 || len(next) != 2 {
		t.Fatalf("got %v, %v, %v", changed, next, err)
	}
	if s := first[in("a")]; len(first) != 1 || s.Book != 10 || !reflect.DeepEqual(*s.Lot, lot) {
		t.Errorf("the states before became %+v", first)
	}
}

func TestAReversalIsNotPutOnTop(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 10)
	c.reverse(e)
	_, _, err := lineage.Apply(nil, c.entries[1])
	want := lineage.ReversalError{Entry: "e1-back", Reverses: "e1"}
	if got, ok := errors.AsType[*lineage.ReversalError](err); !ok || *got != want {
		t.Errorf("Apply: %v", err)
	}
	_, _, err = lineage.Derive(c.entries[1:])
	if got, ok := errors.AsType[*lineage.ReversalError](err); !ok || *got != want {
		t.Errorf("Derive without what is reversed: %v", err)
	}
}

func TestErrorsNameTheLotThePlaceAndTheEntry(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		err  error
		want string
	}{
		{&lineage.MixError{Index: -1}, "nothing to mix"},
		{&lineage.MixError{Index: 2, Mass: 5, Sum: 7}, "part 2: a mass of 5 mg with shares of 7 parts can't be mixed"},
		{&lineage.NoLotError{Entry: "e", Place: in("a"), Book: 5}, "entry e: 5 mg stand in bin a (eisenia-fetida) without a lot"},
		{&lineage.NoLotError{Entry: "e", Place: underWay("t"), Book: 5}, "entry e: 5 mg stand in transfer t (eisenia-fetida) without a lot"},
		{&lineage.ReversalError{Entry: "r", Reverses: "e"}, "reversal r of entry e needs the lots derived from all entries"},
		{&lineage.MissingLotError{Lot: "x"}, "lot x is missing"},
	} {
		if tt.err.Error() != tt.want {
			t.Errorf("\n got %s\nwant %s", tt.err, tt.want)
		}
	}
}
