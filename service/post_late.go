package service

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// postLate writes entries that don't stand on top of the journal: late ones, and
// reversals. Every later census of the bins that they touch asserts its level
// again, then the books that they touch are checked at every moment, and the lots
// are derived again that descend from what changes. Errors: ErrMoreThanBook with
// the first moment that breaks, ErrIDTaken, ErrReversedBefore.
func (w *work) postLate(ms []Movement) error {
	own := entriesOf(ms)
	ledger, err := w.ledger(own)
	if err != nil {
		return err
	}
	censuses, err := w.assertingCensuses(own)
	if err != nil {
		return err
	}
	again, err := w.reassert(ledger, censuses)
	if err != nil {
		return err
	}
	ledger.Add(entriesOf(again)...)
	if err := w.checkBooks(own, ledger); err != nil {
		return err
	}
	if err := w.insert(ms, again...); err != nil {
		return err
	}
	for _, c := range censuses {
		if c.changed {
			if err := w.Censuses.Update(c.Census); err != nil {
				return err
			}
		}
	}
	if w.bulk {
		return nil
	}
	return w.redo(slices.Concat(ms, again)...)
}

func entriesOf(ms []Movement) []journal.Entry {
	out := make([]journal.Entry, len(ms))
	for i, m := range ms {
		out[i] = m.Entry()
	}
	return out
}

// ledger reads the books that entries touch, and adds the entries.
func (w *work) ledger(own []journal.Entry) (journal.Ledger, error) {
	l := journal.Ledger{}
	for _, b := range journal.Books(own...) {
		if !b.Account.Stands() {
			continue
		}
		var err error
		if l[b], err = w.Movements.Lines(b.Account, b.Commodity); err != nil {
			return nil, err
		}
	}
	l.Add(own...)
	return l, nil
}

// checkBooks sees that no bin or batch that entries touch is ever short.
func (w *work) checkBooks(own []journal.Entry, l journal.Ledger) error {
	for _, b := range journal.Books(own...) {
		if err := journal.Check(b.Account, b.Commodity, l[b]); err != nil {
			ids := make([]string, len(own))
			for i, e := range own {
				ids[i] = e.ID
			}
			return w.explain(err, ids...)
		}
	}
	return nil
}

// asserting is a census that hasn't been reversed, and the movement that posts
// for it.
type asserting struct {
	Census
	posts   Movement
	changed bool
}

// assertingCensuses reads the censuses of the bins and species that entries
// touch, from the first of them on, without those that are reversed, by these or
// before.
func (w *work) assertingCensuses(entries []journal.Entry) ([]*asserting, error) {
	reversed := map[string]bool{}
	from := entries[0].Effective
	for _, e := range entries {
		reversed[e.Reverses] = true
		if e.Effective.Before(from) {
			from = e.Effective
		}
	}
	var out []*asserting
	for _, b := range journal.Books(entries...) {
		species, worms := b.Commodity.Species()
		if b.Account.Kind != journal.BinAccount || !worms {
			continue
		}
		censuses, err := w.Censuses.List(Query{Bin: BinID(b.Account.Ref), Species: SpeciesID(species), From: from})
		if err != nil {
			return nil, err
		}
		posts, err := byID(w.Movements.Some, postersOf(censuses), func(m Movement) string { return string(m.ID) })
		if err != nil {
			return nil, err
		}
		for _, c := range censuses {
			if m := posts[string(c.Movement)]; m.ReversedBy == "" && !reversed[string(m.ID)] {
				out = append(out, &asserting{Census: c, posts: m})
			}
		}
	}
	return out, nil
}

// postersOf lists the movements that post for censuses now.
func postersOf(censuses []Census) []string {
	out := make([]string, len(censuses))
	for i, c := range censuses {
		out[i] = string(c.Movement)
	}
	return out
}

// reassert returns the movements by which censuses post anew, and notes in the
// censuses what they find and post.
func (w *work) reassert(ledger journal.Ledger, censuses []*asserting) ([]Movement, error) {
	var assertions []journal.Assertion
	byID := map[string]*asserting{}
	for _, c := range censuses {
		byID[string(c.ID)] = c
		assertions = append(assertions, journal.Assertion{
			ID: string(c.ID), Entry: string(c.Movement), Bin: journal.Bin(string(c.Bin)), Commodity: journal.Worms(string(c.Species)),
			At: c.At.Time, Seq: c.Recorded.Seq, Level: c.Mass, Low: c.Low, High: c.High, Apply: c.Apply,
		})
	}
	var out []Movement
	for _, p := range journal.Reassert(ledger, assertions) {
		c := byID[p.ID]
		c.changed = c.Book != p.Book || c.Posted != p.Amount
		c.Book = p.Book
		if c.Posted == p.Amount {
			continue
		}
		moves, err := w.postAnew(c, p.Amount)
		if err != nil {
			return nil, err
		}
		out = append(out, moves...)
	}
	return out, nil
}

// postAnew makes the movements that replace what a census posted by amount.
func (w *work) postAnew(c *asserting, amount unit.Mass) ([]Movement, error) {
	anew := Movement{
		ID: MovementID(w.desk.NewID()), Kind: journal.Census, At: c.At, ToMember: c.posts.ToMember,
		Note:     "the census asserts its level again after a late entry",
		Postings: journal.Assert(journal.Bin(string(c.Bin)), journal.Worms(string(c.Species)), c.Mass, c.Mass-amount),
	}
	out := []Movement{anew}
	if c.Posted != 0 {
		e, err := journal.Reverse(c.posts.Entry(), w.desk.NewID())
		if err != nil {
			return nil, err
		}
		out = append(out, Movement{
			ID: MovementID(e.ID), Kind: journal.Reversal, At: c.At, Reverses: c.Movement, Reason: anew.Note,
			FromMember: c.posts.ToMember, Postings: e.Postings,
		})
	}
	for i := range out {
		rec, err := w.recorded()
		if err != nil {
			return nil, err
		}
		out[i].Recorded = rec
	}
	c.Movement, c.Posted = anew.ID, amount
	return out, nil
}
