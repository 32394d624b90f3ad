package service

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// postLate writes an entry that doesn't stand on top of the journal: a late one,
// or a reversal. Every later census of the bins that it touches asserts its level
// again, then every book is checked at every moment, and the lots are derived
// from the whole journal. Errors: ErrMoreThanBook with the first moment that
// breaks, ErrIDTaken, ErrReversedBefore.
func (w *work) postLate(m Movement) error {
	e := m.Entry()
	entries, err := w.Movements.Entries()
	if err != nil {
		return err
	}
	entries = append(entries, e)
	censuses, err := w.assertingCensuses(e)
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
	if err := w.checkBooks(e, entries); err != nil {
		return err
	}
	if err := w.insertAll(m, again); err != nil {
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

// insertAll writes m and the movements by which censuses post anew: first those
// that add to a book, then m, then those that take, so that no book is short on
// the way.
func (w *work) insertAll(m Movement, again []Movement) error {
	adds, takes := again[:0:0], again[:0:0]
	for _, a := range again {
		if slices.ContainsFunc(a.Postings, func(p journal.Posting) bool { return p.Account.Stands() && p.Amount < 0 }) {
			takes = append(takes, a)
		} else {
			adds = append(adds, a)
		}
	}
	for _, a := range adds {
		if err := w.insert(a, MovementEvent); err != nil {
			return err
		}
	}
	if err := w.insert(m, m.event()); err != nil {
		return err
	}
	for _, a := range takes {
		if err := w.insert(a, MovementEvent); err != nil {
			return err
		}
	}
	return nil
}

// checkBooks sees that no bin or batch that e touches is ever short in a journal.
func (w *work) checkBooks(e journal.Entry, entries []journal.Entry) error {
	standing := journal.Standing(entries)
	for _, p := range e.Postings {
		if err := journal.Check(p.Account, p.Commodity, journal.Lines(standing, p.Account, p.Commodity)); err != nil {
			return w.explain(err, e)
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

// assertingCensuses reads the censuses of the bins and species that e touches,
// without those that are reversed, by e or before.
func (w *work) assertingCensuses(e journal.Entry) ([]*asserting, error) {
	var out []*asserting
	seen := map[journal.Account]map[journal.Commodity]bool{}
	for _, p := range e.Postings {
		species, worms := p.Commodity.Species()
		if p.Account.Kind != journal.BinAccount || !worms || seen[p.Account][p.Commodity] {
			continue
		}
		if seen[p.Account] == nil {
			seen[p.Account] = map[journal.Commodity]bool{}
		}
		seen[p.Account][p.Commodity] = true
		censuses, err := w.Censuses.List(Query{Bin: BinID(p.Account.Ref), Species: SpeciesID(species)})
		if err != nil {
			return nil, err
		}
		for _, c := range censuses {
			m, err := w.Movements.Get(c.Movement)
			if err != nil {
				return nil, err
			}
			if m.ReversedBy == "" && e.Reverses != string(m.ID) {
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
