package journal

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Assertion is a census as the journal sees it: the level that it found in a
// bin, which the book must have at its place in the effective order.
type Assertion struct {
	ID        string // of the census
	Entry     string // the entry that posts for it now
	Bin       Account
	Commodity Commodity
	At        time.Time
	Seq       int64 // of its first recording, which keeps its place at one moment
	Level     unit.Mass
	Low, High unit.Mass // its interval
	Apply     bool      // posts although the book lies inside the interval
}

// Posted is what an assertion finds in the book, and posts.
type Posted struct {
	ID     string    // of the census
	Book   unit.Mass // before it
	Amount unit.Mass // level − book; 0 inside the interval unless Apply is set
}

// Standing returns entries without those that are reversed and their reversals,
// which at every moment come to nothing together.
func Standing(entries []Entry) []Entry {
	gone := map[string]bool{}
	for _, e := range entries {
		if e.Reverses != "" {
			gone[e.ID], gone[e.Reverses] = true, true
		}
	}
	return slices.DeleteFunc(slices.Clone(entries), func(e Entry) bool { return gone[e.ID] })
}

// Reassert returns what each assertion finds and posts in the books of a ledger,
// in effective order. What is void counts for nothing, and neither do the entries
// that post for the assertions now: their amounts are what is worked out here.
func Reassert(l Ledger, assertions []Assertion) []Posted {
	posts := map[string]bool{}
	for _, a := range assertions {
		posts[a.Entry] = true
	}
	sorted := slices.SortedStableFunc(slices.Values(assertions), func(a, b Assertion) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Seq, b.Seq))
	})
	found, read := map[Book]unit.Mass{}, map[Book]int{}
	var out []Posted
	for _, a := range sorted {
		b := Book{a.Bin, a.Commodity}
		for _, line := range l[b][read[b]:] {
			if cmp.Or(line.Effective.Compare(a.At), cmp.Compare(line.Seq, a.Seq)) >= 0 {
				break
			}
			if read[b]++; !line.Void && !posts[line.Entry] {
				found[b] += line.Amount
			}
		}
		p := Posted{ID: a.ID, Book: found[b]}
		if a.Apply || p.Book < a.Low || p.Book > a.High {
			p.Amount = a.Level - p.Book
		}
		found[b] += p.Amount
		out = append(out, p)
	}
	return out
}
