package journal

import (
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Line is one posting on one account and commodity, with the moment of its
// entry. Lines stand in effective order.
type Line struct {
	Entry     string
	Effective time.Time
	Seq       int64
	Amount    unit.Mass
}

// Lines returns the lines of an account and commodity, in effective order,
// from entries in any order.
func Lines(entries []Entry, account Account, c Commodity) []Line {
	var out []Line
	for _, e := range slices.SortedStableFunc(slices.Values(entries), Compare) {
		for _, p := range e.Postings {
			if p.Account == account && p.Commodity == c {
				out = append(out, Line{e.ID, e.Effective, e.Seq, p.Amount})
			}
		}
	}
	return out
}

// Level returns the book at the end of the moment at.
func Level(lines []Line, at time.Time) unit.Mass {
	var book unit.Mass
	for _, l := range lines {
		if !l.Effective.After(at) {
			book += l.Amount
		}
	}
	return book
}

// Check walks lines, which must be in effective order, and sees that the book
// is never negative after an entry. Accounts that don't stand anywhere may be
// negative. Errors: Shortfall at the first moment of a negative book.
func Check(account Account, c Commodity, lines []Line) error {
	if !account.Stands() {
		return nil
	}
	var book unit.Mass
	for i, l := range lines {
		book += l.Amount
		whole := i+1 == len(lines) || lines[i+1].Entry != l.Entry
		if whole && book < 0 {
			return &Shortfall{account, c, l.Effective, l.Entry, book, -book}
		}
	}
	return nil
}
