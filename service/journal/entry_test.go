package journal_test

import (
	"errors"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

const red = "eisenia-fetida"

var noon = time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)

func entry(k journal.Kind, ps ...journal.Posting) journal.Entry {
	return journal.Entry{ID: "e1", Kind: k, Effective: noon, Seq: 1, Postings: ps}
}

func post(a journal.Account, c journal.Commodity, m unit.Mass) journal.Posting {
	return journal.Posting{Account: a, Commodity: c, Amount: m}
}

func only(k journal.AccountKind) journal.Account { return journal.Account{Kind: k} }

func TestAWormCommodityTellsItsSpecies(t *testing.T) {
	t.Parallel()
	for c, want := range map[journal.Commodity]string{
		journal.Worms(red): red,
		journal.Castings:   "",
		journal.Worms(""):  "",
		"sand":             "",
	} {
		if got, ok := c.Species(); got != want || ok != (want != "") {
			t.Errorf("Species of %q = %q, %v; want %q", c, got, ok, want)
		}
	}
}

func TestAnAccountIsWrittenWithItsId(t *testing.T) {
	t.Parallel()
	for a, want := range map[journal.Account]string{
		journal.Bin("b1"):       "bin:b1",
		journal.Batch("k1"):     "batch:k1",
		journal.InTransit("t1"): "transit:t1",
		only(journal.Growth):    "growth",
	} {
		if a.String() != want {
			t.Errorf("got %s, want %s", a, want)
		}
	}
}

func TestEntriesOfEveryKindPass(t *testing.T) {
	t.Parallel()
	w, c := journal.Worms(red), journal.Castings
	a, b, k := journal.Bin("a"), journal.Bin("b"), journal.Batch("k")
	for name, e := range map[string]journal.Entry{
		"stocking from a supplier":      entry(journal.Stocking, journal.Receive("o1", a, w, 500)...),
		"stocking of unknown origin":    entry(journal.Stocking, journal.Receive("", a, w, 500)...),
		"split":                         entry(journal.Split, journal.Move(a, b, w, 5)...),
		"combine":                       entry(journal.Combine, journal.Move(a, b, w, 5)...),
		"dispatch":                      entry(journal.HandOver, journal.Move(a, journal.InTransit("t"), w, 5)...),
		"dispatch of castings":          entry(journal.HandOver, journal.Move(k, journal.InTransit("t"), c, 5)...),
		"loss":                          entry(journal.Loss, journal.Move(a, only(journal.Mortality), w, 5)...),
		"write-off":                     entry(journal.Loss, journal.Move(k, only(journal.Adjustment), c, 5)...),
		"census inside its interval":    entry(journal.Census),
		"census":                        entry(journal.Census, journal.Assert(a, w, 7, 5)...),
		"rework with dust":              entry(journal.Rework, append(journal.Move(k, journal.Batch("fine"), c, 7), journal.Move(k, only(journal.Adjustment), c, 2)...)...),
		"harvest of castings and worms": entry(journal.Harvest, append(journal.Move(only(journal.Processing), k, c, 9), journal.Move(a, b, w, 5)...)...),
		"use":                           entry(journal.Use, journal.Move(k, only(journal.Outside), c, 5)...),
		"the largest mass":              entry(journal.Split, journal.Move(a, b, w, unit.MaxMass)...),
	} {
		if err := e.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		r, err := journal.Reverse(e, "r1")
		if err != nil {
			t.Errorf("reversing %s: %v", name, err)
		}
		if err := r.Validate(); err != nil {
			t.Errorf("reversal of %s: %v", name, err)
		}
	}
}

func TestAnEntryThatDoesNotBalanceIsRefused(t *testing.T) {
	t.Parallel()
	w, k := journal.Worms(red), journal.Worms("eudrilus-eugeniae")
	a, b := journal.Bin("a"), journal.Bin("b")
	for name, tt := range map[string]struct {
		entry journal.Entry
		want  journal.BalanceError
	}{
		"one posting":      {entry(journal.Split, post(a, w, 5)), journal.BalanceError{Entry: "e1", Commodity: w, Sum: 5}},
		"mass made":        {entry(journal.Split, post(a, w, -5), post(b, w, 6)), journal.BalanceError{Entry: "e1", Commodity: w, Sum: 1}},
		"species changed":  {entry(journal.Split, post(a, w, -5), post(b, k, 5)), journal.BalanceError{Entry: "e1", Commodity: w, Sum: -5}},
		"one of them even": {entry(journal.Split, append(journal.Move(a, b, w, 1), post(a, k, -2), post(b, k, 1))...), journal.BalanceError{Entry: "e1", Commodity: k, Sum: -1}},
	} {
		got, ok := errors.AsType[*journal.BalanceError](tt.entry.Validate())
		if !ok || *got != tt.want {
			t.Errorf("%s: %v; want %v", name, got, &tt.want)
		}
	}
}

func TestAPostingThatBreaksARuleOfItsAccountIsRefused(t *testing.T) {
	t.Parallel()
	w, c := journal.Worms(red), journal.Castings
	a := journal.Bin("a")
	origin := post(a, w, 5)
	origin.Origin = "o1"
	outflow := post(only(journal.Outside), w, 5)
	outflow.Origin = "o1"
	for _, tt := range []struct {
		name string
		kind journal.Kind
		p    journal.Posting
		want journal.Fault
	}{
		{"no such account", journal.Split, post(only("cellar"), w, 5), journal.UnknownAccount},
		{"split into outside", journal.Split, post(only(journal.Outside), w, 5), journal.AccountNotAllowed},
		{"stocking out of growth", journal.Stocking, post(only(journal.Growth), w, 5), journal.AccountNotAllowed},
		{"census of what is under way", journal.Census, post(journal.InTransit("t"), w, 5), journal.AccountNotAllowed},
		{"a bin without id", journal.Split, post(journal.Bin(""), w, 5), journal.RefMissing},
		{"a transit without id", journal.HandOver, post(journal.InTransit(""), w, 5), journal.RefMissing},
		{"growth with an id", journal.Census, post(journal.Account{Kind: journal.Growth, Ref: "a"}, w, 5), journal.RefMisplaced},
		{"castings in a bin", journal.Harvest, post(a, c, 5), journal.WrongCommodity},
		{"worms in a batch", journal.Harvest, post(journal.Batch("k"), w, 5), journal.WrongCommodity},
		{"rework out of the club", journal.Rework, post(only(journal.Outside), c, 5), journal.AccountNotAllowed},
		{"worms out of processing", journal.Harvest, post(only(journal.Processing), w, 5), journal.WrongCommodity},
		{"castings that die", journal.Loss, post(only(journal.Mortality), c, 5), journal.WrongCommodity},
		{"sand", journal.Stocking, post(only(journal.Outside), "sand", -5), journal.WrongCommodity},
		{"worms of no species", journal.Stocking, post(a, journal.Worms(""), 5), journal.WrongCommodity},
		{"an origin on a bin", journal.Stocking, origin, journal.OriginMisplaced},
		{"an origin on an outflow", journal.Use, outflow, journal.OriginMisplaced},
		{"nothing", journal.Split, post(a, w, 0), journal.ZeroAmount},
		{"too much", journal.Split, post(a, w, unit.MaxMass+1), journal.TooLarge},
		{"too much out", journal.Split, post(a, w, -unit.MaxMass-1), journal.TooLarge},
	} {
		got, ok := errors.AsType[*journal.PostingError](entry(tt.kind, tt.p).Validate())
		if want := (journal.PostingError{Entry: "e1", Posting: tt.p, Fault: tt.want}); !ok || *got != want {
			t.Errorf("%s: %v; want %v", tt.name, got, &want)
		}
	}
}

func TestTheFirstPostingAtFaultIsNamed(t *testing.T) {
	t.Parallel()
	w := journal.Worms(red)
	e := entry(journal.Split, post(journal.Bin("a"), w, -5), post(journal.Bin(""), w, 5), post(journal.Bin("b"), w, 0))
	if got, ok := errors.AsType[*journal.PostingError](e.Validate()); !ok || got.Index != 1 {
		t.Errorf("got %v, want posting 1", got)
	}
}

func TestAnEntryOfNoKindAndAMisplacedReversalAreRefused(t *testing.T) {
	t.Parallel()
	named := entry(journal.Census)
	named.Reverses = "e0"
	for name, tt := range map[string]struct {
		entry journal.Entry
		want  journal.Fault
	}{
		"kind":                        {entry("gossip"), journal.UnknownKind},
		"reversal of nothing":         {entry(journal.Reversal), journal.MisplacedReverses},
		"census that reverses a name": {named, journal.MisplacedReverses},
	} {
		got, ok := errors.AsType[*journal.EntryError](tt.entry.Validate())
		if !ok || *got != (journal.EntryError{Entry: "e1", Fault: tt.want}) {
			t.Errorf("%s: %v; want %s", name, got, tt.want)
		}
	}
}

func TestAReversalNegatesInReverseOrderAtTheSameTime(t *testing.T) {
	t.Parallel()
	w := journal.Worms(red)
	e := entry(journal.Stocking, journal.Receive("o1", journal.Bin("a"), w, 5)...)
	r, err := journal.Reverse(e, "r1")
	if err != nil {
		t.Fatal(err)
	}
	if r.ID != "r1" || r.Kind != journal.Reversal || r.Reverses != "e1" || !r.Effective.Equal(noon) || r.Seq != 0 {
		t.Errorf("got %+v", r)
	}
	back := journal.Posting{Account: only(journal.Outside), Commodity: w, Amount: 5, Origin: "o1"}
	if len(r.Postings) != 2 || r.Postings[0] != post(journal.Bin("a"), w, -5) || r.Postings[1] != back {
		t.Errorf("got %+v", r.Postings)
	}
	if e.Postings[0].Amount != -5 {
		t.Error("the reversed entry changed")
	}
}

func TestAReversalIsNeverReversed(t *testing.T) {
	t.Parallel()
	r, err := journal.Reverse(entry(journal.Census), "r1")
	if err != nil {
		t.Fatal(err)
	}
	_, err = journal.Reverse(r, "r2")
	if got, ok := errors.AsType[*journal.EntryError](err); !ok || *got != (journal.EntryError{Entry: "r1", Fault: journal.ReversesReversal}) {
		t.Errorf("got %v", err)
	}
}

func TestEntriesStandByTimeThenBySequence(t *testing.T) {
	t.Parallel()
	a := journal.Entry{Effective: noon, Seq: 2}
	for name, b := range map[string]journal.Entry{
		"later":                      {Effective: noon.Add(1), Seq: 1},
		"recorded later":             {Effective: noon, Seq: 3},
		"recorded later, other zone": {Effective: noon.In(time.FixedZone("", 3600)), Seq: 3},
	} {
		if journal.Compare(a, b) >= 0 || journal.Compare(b, a) <= 0 {
			t.Errorf("%s: not after", name)
		}
	}
	if journal.Compare(a, a) != 0 {
		t.Error("an entry stands apart from itself")
	}
}

func TestErrorsSayWhatIsWrongWhere(t *testing.T) {
	t.Parallel()
	w := journal.Worms(red)
	for _, tt := range []struct {
		err  error
		want string
	}{
		{&journal.EntryError{Entry: "e1", Fault: journal.UnknownKind}, "entry e1: unknown-kind"},
		{
			&journal.PostingError{Entry: "e1", Index: 2, Posting: post(journal.Bin("a"), w, 0), Fault: journal.ZeroAmount},
			"entry e1, posting 2: 0 mg of worms:eisenia-fetida on bin:a: zero-amount",
		},
		{&journal.BalanceError{Entry: "e1", Commodity: w, Sum: -3}, "entry e1: the postings of worms:eisenia-fetida sum to -3 mg, not to zero"},
		{
			&journal.Shortfall{Account: journal.Bin("a"), Commodity: w, At: noon, Entry: "e1", Book: -3, Missing: 3},
			"entry e1 at 2026-04-01T12:00:00Z: 3 mg of worms:eisenia-fetida missing in bin:a",
		},
	} {
		if tt.err.Error() != tt.want {
			t.Errorf("\n got %s\nwant %s", tt.err, tt.want)
		}
	}
}
