package journal_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

func at(hour int) time.Time { return noon.Add(time.Duration(hour) * time.Hour) }

func line(id string, hour int, seq int64, m unit.Mass) journal.Line {
	return journal.Line{Entry: id, Effective: at(hour), Seq: seq, Amount: m}
}

func TestTheLevelCountsEverythingUpToTheEndOfAMoment(t *testing.T) {
	t.Parallel()
	lines := []journal.Line{line("a", 0, 1, 100), line("b", 2, 2, -30), line("c", 2, 5, -20), line("d", 3, 3, 7)}
	for hour, want := range []unit.Mass{100, 100, 50, 57} {
		if got := journal.Level(lines, at(hour)); got != want {
			t.Errorf("hour %d: %d, want %d", hour, got, want)
		}
	}
	if got := journal.Level(lines, at(-1)); got != 0 {
		t.Errorf("before anything: %d", got)
	}
}

func TestABookThatStaysAtZeroOrAbovePasses(t *testing.T) {
	t.Parallel()
	for name, lines := range map[string][]journal.Line{
		"empty":                        nil,
		"down to zero":                 {line("a", 0, 1, 5), line("b", 1, 2, -5)},
		"below zero within one entry":  {line("a", 0, 1, 5), line("b", 1, 2, -9), line("b", 1, 2, 4)},
		"in and out at the same time":  {line("a", 0, 1, 5), line("b", 0, 2, -5)},
		"recorded late, effective now": {line("late", 0, 9, 5), line("b", 1, 2, -5)},
	} {
		if err := journal.Check(journal.Bin("a"), journal.Worms(red), lines); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestTheFirstMomentOfAShortfallIsReported(t *testing.T) {
	t.Parallel()
	w := journal.Worms(red)
	for name, tt := range map[string]struct {
		lines []journal.Line
		want  journal.Shortfall
	}{
		"taken before it came": {
			[]journal.Line{line("out", 0, 2, -5), line("in", 1, 1, 5)},
			journal.Shortfall{At: at(0), Entry: "out", Book: -5, Missing: 5},
		},
		"taken before it came at one moment": {
			[]journal.Line{line("out", 0, 1, -5), line("in", 0, 2, 5)},
			journal.Shortfall{At: at(0), Entry: "out", Book: -5, Missing: 5},
		},
		"twice, the second time deeper": {
			[]journal.Line{line("in", 0, 1, 5), line("b", 1, 2, -7), line("c", 2, 3, 10), line("d", 3, 4, -100)},
			journal.Shortfall{At: at(1), Entry: "b", Book: -2, Missing: 2},
		},
		"last posting of an entry": {
			[]journal.Line{line("in", 0, 1, 5), line("b", 1, 2, -3), line("b", 1, 2, -3), line("c", 2, 3, 1)},
			journal.Shortfall{At: at(1), Entry: "b", Book: -1, Missing: 1},
		},
	} {
		tt.want.Account, tt.want.Commodity = journal.Bin("a"), w
		got, ok := errors.AsType[*journal.Shortfall](journal.Check(journal.Bin("a"), w, tt.lines))
		if !ok || *got != tt.want {
			t.Errorf("%s: %+v; want %+v", name, got, tt.want)
		}
	}
}

func TestOnlyWhatStandsSomewhereCanBeShort(t *testing.T) {
	t.Parallel()
	lines := []journal.Line{line("out", 0, 1, -5)}
	for _, a := range []journal.Account{
		only(journal.Outside), journal.InTransit("t"), only(journal.Growth), only(journal.Mortality),
		only(journal.WeightChange), only(journal.Processing), only(journal.Adjustment),
	} {
		if err := journal.Check(a, journal.Worms(red), lines); err != nil {
			t.Errorf("%s: %v", a, err)
		}
	}
	if _, ok := errors.AsType[*journal.Shortfall](journal.Check(journal.Batch("k"), journal.Castings, lines)); !ok {
		t.Error("a batch can be negative")
	}
}

func TestLinesAreThoseOfOneAccountInEffectiveOrder(t *testing.T) {
	t.Parallel()
	w, a, b := journal.Worms(red), journal.Bin("a"), journal.Bin("b")
	in := journal.Entry{ID: "in", Effective: at(0), Seq: 2, Postings: journal.Receive("o", a, w, 10)}
	out := journal.Entry{ID: "out", Effective: at(1), Seq: 1, Postings: journal.Move(a, b, w, 4)}
	other := journal.Entry{ID: "other", Effective: at(2), Seq: 3, Postings: journal.Receive("o", a, journal.Worms("x"), 10)}
	got := journal.Lines([]journal.Entry{other, out, in}, a, w)
	if want := []journal.Line{line("in", 0, 2, 10), line("out", 1, 1, -4)}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestACensusPostsTheDifferenceToGrowth(t *testing.T) {
	t.Parallel()
	w, a := journal.Worms(red), journal.Bin("a")
	more := []journal.Posting{post(only(journal.Growth), w, -2), post(a, w, 2)}
	if got := journal.Assert(a, w, 7, 5); !slices.Equal(got, more) {
		t.Errorf("more than the book: %v", got)
	}
	less := []journal.Posting{post(only(journal.Growth), w, 5), post(a, w, -5)}
	if got := journal.Assert(a, w, 0, 5); !slices.Equal(got, less) {
		t.Errorf("none left: %v", got)
	}
	if got := journal.Assert(a, w, 5, 5); got != nil {
		t.Errorf("as the book says: %v", got)
	}
}

func TestAnArrivalPostsEachOfItsPartsAndLeavesNothingInTransit(t *testing.T) {
	t.Parallel()
	w, b := journal.Worms(red), journal.Bin("b")
	got := journal.Arrive("t", w, journal.Arrival{To: b, Received: 90, Dead: 3, WeightLost: 5, Missing: 2})
	want := []journal.Posting{
		post(journal.InTransit("t"), w, -100), post(b, w, 90), post(only(journal.Mortality), w, 3),
		post(only(journal.WeightChange), w, 5), post(only(journal.Adjustment), w, 2),
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	gained := journal.Arrive("t", w, journal.Arrival{To: b, Received: 104, WeightLost: -4})
	if want := []journal.Posting{post(journal.InTransit("t"), w, -100), post(b, w, 104), post(only(journal.WeightChange), w, -4)}; !slices.Equal(gained, want) {
		t.Errorf("weight regained: %v", gained)
	}
}

// A club's whole journal sums to zero, and a reversal undoes its entry on every
// account.
func TestAnEntryAndItsReversalLeaveEveryAccountAsItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := journal.Worms(red)
		a := journal.Arrival{
			To:         journal.Bin(rapid.SampledFrom([]string{"a", "b"}).Draw(t, "bin")),
			Received:   unit.Mass(rapid.Int64Range(1, 1e6).Draw(t, "received")),
			Dead:       unit.Mass(rapid.Int64Range(0, 1e6).Draw(t, "dead")),
			WeightLost: unit.Mass(rapid.Int64Range(0, 1e6).Draw(t, "lost")),
			Missing:    unit.Mass(rapid.Int64Range(0, 1e6).Draw(t, "missing")),
		}
		e := entry(journal.HandOver, journal.Arrive("t", w, a)...)
		r, err := journal.Reverse(e, "r1")
		if err := errors.Join(err, e.Validate(), r.Validate()); err != nil {
			t.Fatal(err)
		}
		for _, p := range e.Postings {
			lines := journal.Lines([]journal.Entry{e, r}, p.Account, w)
			if got := journal.Level(lines, noon); len(lines) != 2 || got != 0 {
				t.Errorf("%s is left at %d", p.Account, got)
			}
		}
	})
}

func ExampleCheck() {
	w, bin := journal.Worms("eisenia-fetida"), journal.Bin("north")
	stocked := journal.Entry{ID: "e1", Effective: noon, Seq: 1, Postings: journal.Receive("supplier", bin, w, 500*unit.Gram)}
	split := journal.Entry{ID: "e2", Effective: noon.Add(-time.Hour), Seq: 2, Postings: journal.Move(bin, journal.Bin("south"), w, 200*unit.Gram)}
	fmt.Println(journal.Check(bin, w, journal.Lines([]journal.Entry{stocked, split}, bin, w)))
	// Output: entry e2 at 2026-04-01T11:00:00Z: 200000 mg of worms:eisenia-fetida missing in bin:north
}
