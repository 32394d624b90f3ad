// Package proof holds a club's book against the rules that are always true of
// it: entries balance, no book of a bin or batch is ever negative, and all that
// is derived is what deriving it again gives.
//
// To add a rule, write a function from Book to findings and name it in
// Verifications.
package proof

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// Book is a club's book as it is stored.
type Book struct {
	Entries     []journal.Entry
	Lines       []journal.Line             // of every posting, with the copy of its entry's moment and sequence that stands beside it
	Held        map[journal.Book]unit.Mass // what accounts hold
	Lots        []Lot
	Keepers     map[string]string // by entry: the member who kept the stock after it
	Events      []Event           // of the timelines
	Due         []Event           // that the records ask for
	Censuses    []Census
	Bins        []Bin
	Quarantines []Stay
	UnderWay    []string          // legs of transfers that are under way
	Givers      map[string]string // by entry: the member who kept the stock before it
	Goals       map[string]string // by arrival: the bin that it went into; what it put into another went back
	Totals      []Total
	Merged      map[string]string // cultures that were merged, and into which
	Origins     map[string]string // that belong to a culture, and to which
}

// Lot is a lot, and the member who kept its bin when it opened.
type Lot struct {
	lineage.Lot
	Member string
}

// Event is a line in the timeline of a bin.
type Event struct {
	Bin    string
	At     time.Time
	Seq    int64
	Kind   string
	Record string
}

// Census is a census with what it says that it found in the book and posted.
type Census struct {
	journal.Assertion
	Book, Posted unit.Mass
}

// Bin is a bin, and when it retired; zero: it is in use.
type Bin struct {
	ID      string
	Retired time.Time
}

// Stay is a quarantine of a bin that wasn't voided; To is zero while it is open.
type Stay struct {
	ID, Bin  string
	From, To time.Time
}

// Total is a monthly total as it is kept and as the records add up to it, in
// words.
type Total struct{ Key, Kept, Due string }

// Finding is something that is wrong, and where.
type Finding struct {
	Rule     string    // that is broken
	Record   string    // id of the entry, lot, census …; empty: of no single one
	Place    string    // account, bin or lot's place
	At       time.Time // zero: always
	Expected string
	Found    string
}

// String says in one line what is wrong.
func (f Finding) String() string {
	out := f.Rule + ":"
	for _, part := range []string{f.Record, f.Place} {
		if part != "" {
			out += " " + part
		}
	}
	if !f.At.IsZero() {
		out += " at " + f.At.UTC().Format(time.RFC3339Nano)
	}
	return fmt.Sprintf("%s: expected %s, found %s", out, f.Expected, f.Found)
}

// Verification looks for what breaks one rule.
type Verification struct {
	Rule    string
	Derived bool // what it looks at can be derived again
	Find    func(Book) []Finding
}

// Verifications are all rules, those that others rest on first.
func Verifications() []Verification {
	return []Verification{
		{"entries are sound", false, soundEntries},
		{"the club sums to zero", false, zeroSums},
		{"reversals take back one entry whole", false, reversals},
		{"books are never negative", false, neverNegative},
		{"nothing stays in transit", false, emptyTransit},
		{"censuses hold", false, censusesHold},
		{"retired bins are empty", false, emptyWhenRetired},
		{"a bin is in one quarantine at a time", false, stays},
		{"origins belong to cultures that stand", false, standingCultures},
		{"shares sum to one", true, wholeShares},
		{"postings stand at their entry's moment", true, postingMoments},
		{"books sum up the postings", true, heldSums},
		{"lots are those of the journal", true, derivedLots},
		{"timelines tell every record once", true, timelines},
		{"totals are what the records add up to", true, totals},
	}
}

// Verify returns what breaks any rule.
func Verify(b Book) []Finding {
	return find(b, func(Verification) bool { return true })
}

// Stale returns what is wrong of what can be derived again.
func Stale(b Book) []Finding {
	return find(b, func(v Verification) bool { return v.Derived })
}

func find(b Book, which func(Verification) bool) (out []Finding) {
	for _, v := range Verifications() {
		if !which(v) {
			continue
		}
		for _, f := range v.Find(b) {
			f.Rule = v.Rule
			out = append(out, f)
		}
	}
	return out
}

// Sums returns what every account holds by the postings of all entries; zeros
// are left out.
func Sums(entries []journal.Entry) map[journal.Book]unit.Mass {
	out := map[journal.Book]unit.Mass{}
	for _, e := range entries {
		for _, p := range e.Postings {
			h := journal.Book{Account: p.Account, Commodity: p.Commodity}
			if out[h] += p.Amount; out[h] == 0 {
				delete(out, h)
			}
		}
	}
	return out
}

// sortedBooks lists the keys of maps, in order, each once.
func sortedBooks[V any](maps ...map[journal.Book]V) []journal.Book {
	var out []journal.Book
	for _, m := range maps {
		for h := range m {
			out = append(out, h)
		}
	}
	slices.SortFunc(out, func(a, b journal.Book) int { return cmp.Compare(a.String(), b.String()) })
	return slices.Compact(out)
}

func mg(m unit.Mass) string { return fmt.Sprintf("%d mg", m) }

func instant(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }
