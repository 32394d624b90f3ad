package journal_test

import (
	"reflect"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

func TestACensusPostsTheDifferenceToWhatStoodBefore(t *testing.T) {
	t.Parallel()
	day := func(n int) time.Time { return time.Date(2026, 5, n, 12, 0, 0, 0, time.UTC) }
	reds, bin := journal.Worms("reds"), journal.Bin("b")
	outside := journal.Account{Kind: journal.Outside}
	in := func(id string, at, seq int, m unit.Mass) journal.Entry {
		return journal.Entry{ID: id, Kind: journal.Stocking, Effective: day(at), Seq: int64(seq), Postings: journal.Move(outside, bin, reds, m)}
	}
	census := func(id string, at, seq int, level, low, high unit.Mass) journal.Assertion {
		return journal.Assertion{ID: id, Entry: id, Bin: bin, Commodity: reds, At: day(at), Seq: int64(seq), Level: level, Low: low, High: high}
	}
	always := func(a journal.Assertion) journal.Assertion { a.Apply = true; return a }
	old := journal.Entry{ID: "c1", Kind: journal.Census, Effective: day(5), Seq: 2, Postings: journal.Assert(bin, reds, 700, 1000)}
	reversal := func(of journal.Entry, seq int) journal.Entry {
		r, err := journal.Reverse(of, "r-"+of.ID)
		if err != nil {
			t.Fatal(err)
		}
		r.Seq = int64(seq)
		return r
	}
	for _, tt := range []struct {
		name       string
		entries    []journal.Entry
		assertions []journal.Assertion
		want       []journal.Posted
	}{
		{
			"outside its interval",
			[]journal.Entry{in("s", 1, 1, 1000)},
			[]journal.Assertion{census("c1", 5, 2, 700, 600, 800)},
			[]journal.Posted{{ID: "c1", Book: 1000, Amount: -300}},
		},
		{
			"inside its interval nothing",
			[]journal.Entry{in("s", 1, 1, 1000)},
			[]journal.Assertion{census("c1", 5, 2, 900, 800, 1100)},
			[]journal.Posted{{ID: "c1", Book: 1000}},
		},
		{
			"inside its interval when told to apply",
			[]journal.Entry{in("s", 1, 1, 1000)},
			[]journal.Assertion{always(census("c1", 5, 2, 900, 800, 1100))},
			[]journal.Posted{{ID: "c1", Book: 1000, Amount: -100}},
		},
		{
			"anew after a late entry, whatever it posted before",
			[]journal.Entry{in("s", 1, 1, 1000), old, in("late", 3, 3, 500)},
			[]journal.Assertion{census("c1", 5, 2, 700, 600, 800)},
			[]journal.Posted{{ID: "c1", Book: 1500, Amount: -800}},
		},
		{
			"and the next census starts from it",
			[]journal.Entry{in("s", 1, 1, 1000), old, in("late", 3, 4, 500)},
			[]journal.Assertion{census("c2", 9, 3, 750, 650, 850), census("c1", 5, 2, 700, 600, 800)},
			[]journal.Posted{{ID: "c1", Book: 1500, Amount: -800}, {ID: "c2", Book: 700}},
		},
		{
			"without what is reversed, at the same moment too",
			[]journal.Entry{in("wrong", 5, 1, 30_000), in("s", 1, 3, 650), reversal(in("wrong", 5, 1, 30_000), 4)},
			[]journal.Assertion{census("c1", 5, 2, 700, 600, 800)},
			[]journal.Posted{{ID: "c1", Book: 650}},
		},
		{
			"before what came at the same moment but later",
			[]journal.Entry{in("s", 1, 1, 1000), in("same", 5, 3, 400)},
			[]journal.Assertion{census("c1", 5, 2, 700, 600, 800)},
			[]journal.Posted{{ID: "c1", Book: 1000, Amount: -300}},
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := journal.Reassert(ledger(tt.entries), tt.assertions); !reflect.DeepEqual(got, tt.want) {
				t.Errorf("posts %+v; want %+v", got, tt.want)
			}
		})
	}
}

// ledger returns all books of a journal.
func ledger(entries []journal.Entry) journal.Ledger {
	l := journal.Ledger{}
	for _, b := range journal.Books(entries...) {
		l[b] = nil
	}
	l.Add(entries...)
	return l
}
