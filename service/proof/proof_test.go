package proof_test

import (
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/proof"
	"lumbricary.example/service/unit"
)

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

const red = journal.Commodity("worms:eisenia-fetida")

// sound is a small book in which everything is right.
func sound(t *testing.T) proof.Book {
	t.Helper()
	entries := []journal.Entry{
		{ID: "in", Kind: journal.Stocking, Effective: noon, Seq: 1, Postings: journal.Receive("farm", journal.Bin("a"), red, 500)},
		{ID: "over", Kind: journal.Split, Effective: noon.Add(time.Hour), Seq: 2, Postings: journal.Move(journal.Bin("a"), journal.Bin("b"), red, 200)},
		{ID: "wrong", Kind: journal.Loss, Effective: noon.Add(2 * time.Hour), Seq: 3, Postings: journal.Move(journal.Bin("b"), journal.Account{Kind: journal.Mortality}, red, 50)},
	}
	back, err := journal.Reverse(entries[2], "back")
	if err != nil {
		t.Fatal(err)
	}
	back.Seq = 4
	b := proof.Book{Entries: append(entries, back), Keepers: map[string]string{"in": "ana"}, Bins: []proof.Bin{{ID: "c", Retired: noon}}}
	b.Held = proof.Sums(b.Entries)
	for _, e := range b.Entries {
		for _, p := range e.Postings {
			b.Lines = append(b.Lines, journal.Line{Entry: e.ID, Effective: e.Effective, Seq: e.Seq, Amount: p.Amount})
		}
		b.Due = append(b.Due, proof.Event{Bin: "a", At: e.Effective, Seq: e.Seq, Kind: "movement", Record: e.ID})
	}
	b.Events = append(b.Events, b.Due...)
	lots, _, err := lineage.Derive(b.Entries)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lots {
		b.Lots = append(b.Lots, proof.Lot{Lot: l, Member: b.Keepers[l.OpenedBy]})
	}
	return b
}

func TestABookInWhichEverythingIsRightHasNoFindings(t *testing.T) {
	t.Parallel()
	if got := proof.Verify(sound(t)); len(got) > 0 {
		t.Error(got)
	}
	if got := proof.Verify(proof.Book{}); len(got) > 0 {
		t.Errorf("nothing at all: %v", got)
	}
}

func TestWhatIsWrongIsSaidWithItsPlaceAndMoment(t *testing.T) {
	t.Parallel()
	for want, damage := range map[string]func(b *proof.Book){
		"entries are sound: in at 2026-03-01T12:00:00Z: expected a sound entry, found entry in: unknown-kind": func(b *proof.Book) { b.Entries[0].Kind = "gift" },
		"the club sums to zero: worms:eisenia-fetida: expected 0 mg, found 7 mg":                              func(b *proof.Book) { b.Entries[0].Postings[0].Amount += 7 },
		"back at 2026-03-01T14:00:00Z: expected entry none, found none":                                       func(b *proof.Book) { b.Entries[3].Reverses = "none" },
		"expected one reversal of wrong, found another, back": func(b *proof.Book) {
			twice := b.Entries[3]
			twice.ID = "twice"
			b.Entries = append(b.Entries, twice)
		},
		"expected the reversal of an entry, found entry back: reverses-reversal": func(b *proof.Book) {
			b.Entries = append(b.Entries, journal.Entry{ID: "forth", Kind: journal.Reversal, Reverses: "back", Effective: noon, Postings: b.Entries[2].Postings})
		},
		"expected 2026-03-01T14:00:00Z, found 2026-03-01T15:00:00Z":                                                 func(b *proof.Book) { b.Entries[3].Effective = noon.Add(3 * time.Hour) },
		"expected [{mortality worms":                                                                                func(b *proof.Book) { b.Entries[3].Postings = b.Entries[2].Postings },
		"over bin:a worms:eisenia-fetida at 2026-02-28T12:00:00Z: expected 0 mg or more, found -200 mg":             func(b *proof.Book) { b.Entries[1].Effective = noon.AddDate(0, 0, -1) },
		"expected a journal that lots can be derived from":                                                          func(b *proof.Book) { b.Entries[1].Effective = noon.AddDate(0, 0, -1) },
		"nothing stays in transit: t transit:t worms:eisenia-fetida: expected 0 mg, found 200 mg":                   func(b *proof.Book) { b.Entries[1].Postings[1].Account = journal.InTransit("t") },
		"retired bins are empty: b bin:b worms:eisenia-fetida at 2026-03-01T12:00:00Z":                              func(b *proof.Book) { b.Bins = []proof.Bin{{ID: "b", Retired: noon}} },
		"lots are those of the journal: " + lineage.LotID("in", lineage.Place{Bin: "a", Species: "eisenia-fetida"}): func(b *proof.Book) { b.Keepers["in"] = "ben" },
		"expected the lot, found none":                                                                              func(b *proof.Book) { b.Lots = b.Lots[:1] },
		"expected no such lot, found one of 3 mg":                                                                   func(b *proof.Book) { b.Lots = append(b.Lots, proof.Lot{Lot: lineage.Lot{ID: "more", Mass: 3}}) },
		"shares sum to one: more":                                                                                   func(b *proof.Book) { b.Lots = append(b.Lots, proof.Lot{Lot: lineage.Lot{ID: "more", Mass: 3}}) },
		"expected 300 mg, found 301 mg":                                                                             func(b *proof.Book) { b.Held[journal.Book{Account: journal.Bin("a"), Commodity: red}]++ },
		"expected 0 mg, found 9 mg":                                                                                 func(b *proof.Book) { b.Held[journal.Book{Account: journal.Bin("z"), Commodity: red}] = 9 },
		"found 2026-03-01T12:00:00Z, 99":                                                                            func(b *proof.Book) { b.Lines[0].Seq = 99 },
		"in bin:a at 2026-03-01T12:00:00Z: expected a movement in the timeline, found none":                         func(b *proof.Book) { b.Events = b.Events[1:] },
		"expected no such line in the timeline, found a movement":                                                   func(b *proof.Book) { b.Events = append(b.Events, b.Events[0]) },
		"expected a release after it began":                                                                         func(b *proof.Book) { b.Quarantines = []proof.Stay{{ID: "q", Bin: "a", From: noon, To: noon.Add(-1)}} },
		"expected no other at that time, found quarantine q": func(b *proof.Book) {
			b.Quarantines = []proof.Stay{{ID: "r", Bin: "a", From: noon.Add(1)}, {ID: "q", Bin: "a", From: noon}, {ID: "s", Bin: "b", From: noon}}
		},
	} {
		b := sound(t)
		damage(&b)
		var said []string
		for _, f := range proof.Verify(b) {
			said = append(said, f.String())
		}
		if !strings.Contains(strings.Join(said, "\n"), want) {
			t.Errorf("%q isn't in\n%s", want, strings.Join(said, "\n"))
		}
	}
}

func TestWhatIsUnderWayByAnOpenTransferMayBeInTransitAndIsALotOfItsGiver(t *testing.T) {
	t.Parallel()
	b := sound(t)
	out := journal.Entry{ID: "sent", Kind: journal.Dispatch, Effective: noon.Add(5 * time.Hour), Seq: 9, Postings: journal.Move(journal.Bin("a"), journal.InTransit("t"), red, 10)}
	b.Entries, b.UnderWay, b.Givers = append(b.Entries, out), []string{"t"}, map[string]string{"sent": "ana"}
	b.Held = proof.Sums(b.Entries)
	if got := proof.Verify(b); len(got) != 1 || got[0].Expected != "the lot" {
		t.Errorf("%v; want that the lot under way is missing", got)
	}
	lots, _, err := lineage.Derive(b.Entries)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lots {
		if l.Place.Transit != "" {
			b.Lots = append(b.Lots, proof.Lot{Lot: l, Member: "ana"})
		}
	}
	if got := proof.Verify(b); len(got) > 0 {
		t.Error(got)
	}
}

func TestATotalIsHeldAgainstTheRecords(t *testing.T) {
	t.Parallel()
	b := sound(t)
	b.Totals = []proof.Total{{"2026-05 fed", "3 records", "3 records"}, {"2026-06 fed", "2 records", "1 record"}}
	if got := proof.Verify(b); len(got) != 1 || got[0].Place != "2026-06 fed" || got[0].Expected != "1 record" || got[0].Found != "2 records" {
		t.Error(got)
	}
}

// A census of 400 mg in a bin whose book has 300 mg.
func TestACensusIsHeldAgainstWhatItFindsAndPosts(t *testing.T) {
	t.Parallel()
	with := func(book, says, posts unit.Mass) proof.Book {
		b := sound(t)
		e := journal.Entry{ID: "counted", Kind: journal.Census, Effective: noon.Add(3 * time.Hour), Seq: 5, Postings: journal.Assert(journal.Bin("a"), red, 300+posts, 300)}
		b.Entries = append(b.Entries, e)
		b.Censuses = []proof.Census{{Assertion: journal.Assertion{
			ID: "c", Entry: "counted", Bin: journal.Bin("a"), Commodity: red, At: e.Effective, Seq: 5, Level: 400, Low: 390, High: 410,
		}, Book: book, Posted: says}}
		return b
	}
	for want, b := range map[string]proof.Book{
		"":                             with(300, 100, 100),
		"300 mg in the book before it": with(299, 100, 100),
		"100 mg posted, as it says":    with(300, 90, 100),
		"100 mg posted, in its entry":  with(300, 100, 90),
	} {
		found := ""
		for _, f := range proof.Verify(b) {
			if f.Rule == "censuses hold" {
				found += f.Expected
			}
		}
		if found != want {
			t.Errorf("%q, want %q", found, want)
		}
	}
}

func TestWhatIsStaleIsOnlyWhatCanBeDerivedAgain(t *testing.T) {
	t.Parallel()
	b := sound(t)
	b.Entries[0].Kind, b.Events = "gift", nil
	for _, f := range proof.Stale(b) {
		if f.Rule != "timelines tell every record once" {
			t.Error(f)
		}
	}
}
