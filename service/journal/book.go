package journal

import (
	"cmp"
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
	Void      bool // of an entry that is reversed or a reversal: counts for nothing
}

// Lines returns the lines of an account and commodity, in effective order,
// from entries in any order.
func Lines(entries []Entry, account Account, c Commodity) []Line {
	b := Book{account, c}
	l := Ledger{b: nil}
	l.Add(entries...)
	return l[b]
}

// Book is what one account holds of one commodity.
type Book struct {
	Account   Account
	Commodity Commodity
}

// String returns b as in "bin:b1 worms:eisenia-fetida".
func (b Book) String() string { return b.Account.String() + " " + string(b.Commodity) }

// Books lists the books that entries touch, each once.
func Books(entries ...Entry) []Book {
	var out []Book
	for _, e := range entries {
		for _, p := range e.Postings {
			if b := (Book{p.Account, p.Commodity}); !slices.Contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

// Ledger holds the lines of some books, each in effective order.
type Ledger map[Book][]Line

// Add puts the lines of entries, in any order, into the books that l has.
func (l Ledger) Add(entries ...Entry) {
	void := map[string]bool{}
	for _, e := range entries {
		if e.Reverses != "" {
			void[e.ID], void[e.Reverses] = true, true
		}
		for _, p := range e.Postings {
			b := Book{p.Account, p.Commodity}
			if lines, ok := l[b]; ok {
				l[b] = append(lines, Line{Entry: e.ID, Effective: e.Effective, Seq: e.Seq, Amount: p.Amount})
			}
		}
	}
	for _, lines := range l {
		for i := range lines {
			lines[i].Void = lines[i].Void || void[lines[i].Entry]
		}
		slices.SortStableFunc(lines, func(a, b Line) int {
			return cmp.Or(a.Effective.Compare(b.Effective), cmp.Compare(a.Seq, b.Seq))
		})
	}
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
// is never negative after an entry that isn't void. Accounts that don't stand anywhere may be
// negative. Errors: Shortfall at the first moment of a negative book.
func Check(account Account, c Commodity, lines []Line) error {
	if !account.Stands() {
		return nil
	}
	var book unit.Mass
	lines = slices.DeleteFunc(slices.Clone(lines), func(l Line) bool { return l.Void })
	for i, l := range lines {
		book += l.Amount
		whole := i+1 == len(lines) || lines[i+1].Entry != l.Entry
		if whole && book < 0 {
			return &Shortfall{account, c, l.Effective, l.Entry, book, -book}
		}
	}
	return nil
}
