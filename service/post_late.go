package service

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// postLate writes entries that don't stand on top of the journal: late ones, and
// reversals. Every later census of the bins that they touch asserts its level
// again, then every book is checked at every moment, and the lots are derived
// from the whole journal. Errors: ErrMoreThanBook with the first moment that
// breaks, ErrIDTaken, ErrReversedBefore.
func (w *work) postLate(ms []Movement) error {
	entries, err := w.Movements.Entries()
	if err != nil {
		return err
	}
	var own []journal.Entry
	for _, m := range ms {
		own = append(own, m.Entry())
	}
	entries = append(entries, own...)
	censuses, err := w.assertingCensuses(own)
	if err != nil {
		return err
	}
	again, err := w.reassert(entries, censuses)
	if err != nil {
		return err
	}
	for _, a := range again {
		entries = append(entries, a.Entry())
	}
	if err := w.checkBooks(own, entries); err != nil {
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
	return w.deriveAll()
}

// checkBooks sees that no bin or batch that entries of a journal touch is ever
// short in it.
func (w *work) checkBooks(own, entries []journal.Entry) error {
	standing := journal.Standing(entries)
	for _, b := range booksOf(own) {
		if err := journal.Check(b.account, b.commodity, journal.Lines(standing, b.account, b.commodity)); err != nil {
			ids := make([]string, len(own))
			for i, e := range own {
				ids[i] = e.ID
			}
			return w.explain(err, ids...)
		}
	}
	return nil
}

// book is what an account holds of a commodity.
type book struct {
	account   journal.Account
	commodity journal.Commodity
}

// booksOf lists the books that entries touch, each once.
func booksOf(entries []journal.Entry) []book {
	var out []book
	for _, e := range entries {
		for _, p := range e.Postings {
			if b := (book{p.Account, p.Commodity}); !slices.Contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

// asserting is a census that hasn't been reversed, and the movement that posts
// for it.
type asserting struct {
	Census
	posts   Movement
	changed bool
}

// assertingCensuses reads the censuses of the bins and species that entries
// touch, without those that are reversed, by these or before.
func (w *work) assertingCensuses(entries []journal.Entry) ([]*asserting, error) {
	reversed := map[string]bool{}
	for _, e := range entries {
		reversed[e.Reverses] = true
	}
	var out []*asserting
	for _, b := range booksOf(entries) {
		species, worms := b.commodity.Species()
		if b.account.Kind != journal.BinAccount || !worms {
			continue
		}
		censuses, err := w.Censuses.List(Query{Bin: BinID(b.account.Ref), Species: SpeciesID(species)})
		if err != nil {
			return nil, err
		}
		for _, c := range censuses {
			m, err := w.Movements.Get(c.Movement)
			if err != nil {
				return nil, err
			}
			if m.ReversedBy == "" && !reversed[string(m.ID)] {
				out = append(out, &asserting{Census: c, posts: m})
			}
		}
	}
	return out, nil
}

// reassert returns the movements by which censuses post anew, and notes in the
// censuses what they find and post.
func (w *work) reassert(entries []journal.Entry, censuses []*asserting) ([]Movement, error) {
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
	for _, p := range journal.Reassert(entries, assertions) {
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
