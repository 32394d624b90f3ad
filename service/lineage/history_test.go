package lineage_test

import (
	"errors"
	"reflect"
	"slices"
	"testing"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
)

func TestAReversedEntryLeavesItsLotWithdrawn(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 100)
	c.reverse(e)
	lots, states := c.derive(t)
	want := lineage.Lot{
		ID: lotOf(e, "a"), Place: in("a"), OpenedBy: e, OpenedAt: day(1), OpenedSeq: 1, Withdrawn: true,
	}
	if got := lots[want.ID]; len(lots) != 1 || !reflect.DeepEqual(got, want) || got.Current() {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if s := states[in("a")]; s.Book != 0 || s.Lot != nil {
		t.Errorf("stands there: %+v", s)
	}
}

func TestTheSuccessorIsTheLotThatStandsThereAtTheEndOfTheMoment(t *testing.T) {
	t.Parallel()
	var c club
	e1 := c.stock("a", "A", 100)
	wrong := c.stock("a", "B", 50)
	c.reverse(wrong)
	lots, _ := c.derive(t)
	if got := lots[lotOf(wrong, "a")]; got.Successor != lotOf(e1, "a") || !got.Withdrawn {
		t.Errorf("taken back: %+v", got)
	}
	right := c.stock("a", "B", 500)
	c.at(day(2))
	lots, _ = c.derive(t)
	if got := lots[lotOf(wrong, "a")]; got.Successor != lotOf(right, "a") {
		t.Errorf("written again: %+v", got)
	}
}

func TestTheSuccessorOfALotInAnEmptyBinIsTheNextToStandThere(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 100)
	c.lose("a", 100)
	wrong := c.stock("a", "A", 100)
	c.reverse(wrong)
	c.stock("b", "B", 100)
	next := c.move("b", "a", 10)
	c.stock("a", "C", 10)
	lots, _ := c.derive(t)
	if got := lots[lotOf(wrong, "a")]; got.Successor != lotOf(next, "a") {
		t.Errorf("got %+v", got)
	}
}

func TestALotThatRevivesIsASuccessorToo(t *testing.T) {
	t.Parallel()
	var c club
	e1 := c.stock("a", "A", 100)
	c.lose("a", 100)
	wrong := c.stock("a", "B", 50)
	c.reverse(wrong)
	c.grow("a", 5)
	lots, _ := c.derive(t)
	if got := lots[lotOf(wrong, "a")]; got.Successor != lotOf(e1, "a") {
		t.Errorf("got %+v", got)
	}
}

func TestReversingWhatOpenedNothingWithdrawsNothing(t *testing.T) {
	t.Parallel()
	var c club
	e1 := c.stock("a", "A", 100)
	census := c.grow("a", 5)
	dead := c.lose("a", 7)
	c.reverse(census)
	c.reverse(dead)
	lots, states := c.derive(t)
	if _, ok := lots[lotOf(e1, "a")]; !ok || len(lots) != 1 || states[in("a")].Book != 100 {
		t.Errorf("got %+v", lots)
	}
}

// A census found worms that nobody had recorded; later somebody records how
// they came in, so the census is taken back and asserted again.
func TestALateStockingBeforeACensusSucceedsTheLotThatTheCensusOpened(t *testing.T) {
	t.Parallel()
	var c club
	census := c.grow("a", 40)
	c.stock("a", "A", 100)
	c.at(day(0))
	stocked := c.entries[1].ID
	check := func(when string) {
		t.Helper()
		lots, _ := c.derive(t)
		got := lots[lotOf(census, "a")]
		if !got.Withdrawn || got.Successor != lotOf(stocked, "a") || len(lots) != 2 {
			t.Errorf("%s: %+v", when, got)
		}
	}
	check("before the census is asserted again")
	c.reverse(census)
	c.lose("a", 60)
	c.at(day(1))
	check("after it")
}

func TestEntriesCountInEffectiveOrderNotInTheOrderGiven(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 100)
	c.move("a", "b", 50)
	c.grow("b", 5)
	c.move("b", "a", 20)
	want, states := c.derive(t)
	slices.Reverse(c.entries)
	given := slices.Clone(c.entries)
	got, again := c.derive(t)
	if !reflect.DeepEqual(got, want) || !reflect.DeepEqual(again, states) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if !reflect.DeepEqual(given, c.entries) {
		t.Error("the entries were put in another order")
	}
}

func TestALateEntryAddsLotsAndNeverRenamesOne(t *testing.T) {
	t.Parallel()
	var c club
	c.stock("a", "A", 100)
	c.move("a", "b", 50)
	before, _ := c.derive(t)
	c.stock("a", "B", 100)
	c.at(day(1).Add(1))
	after, _ := c.derive(t)
	for id, old := range before {
		got, ok := after[id]
		if !ok || got.Withdrawn || got.OpenedBy != old.OpenedBy {
			t.Errorf("%+v became %+v", old, got)
		}
	}
	if got := after[lotOf("e2", "b")]; len(after) != 3 || !slices.Equal(got.Shares, shares("A", lineage.One/2, "B", lineage.One/2)) {
		t.Errorf("downstream: %+v", got)
	}
}

func TestAReversalThatLeavesALaterEntryShortIsRefused(t *testing.T) {
	t.Parallel()
	var c club
	e := c.stock("a", "A", 100)
	c.move("a", "b", 50)
	c.reverse(e)
	_, _, err := lineage.Derive(c.entries)
	if got, ok := errors.AsType[*journal.Shortfall](err); !ok || got.Entry != "e2" {
		t.Errorf("got %v", err)
	}
}
