package service

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// post appends movements that happen together to the journal, in that order: it
// checks every book that they touch at every moment from then on, in the journal that results from all of them, writes the entries,
// and derives the lots. Their postings and moments must be settled; the rest is
// stamped here. A reversal may take back one of those before it. Entries that
// aren't on top of the journal make later censuses of their bins assert their
// level again. Errors: ErrInvalid, ErrMoreThanBook with the first moment that
// breaks, ErrIDTaken, ErrReversedBefore.
func (w *work) post(ms ...*Movement) error {
	var counts []Movement
	for _, m := range ms {
		if err := w.stamp(m); err != nil {
			return err
		}
		if !w.voids(*m) {
			counts = append(counts, *m)
		} else if err := w.insertVoid(*m); err != nil {
			return err
		}
	}
	last, seq, err := w.Movements.Last()
	if err != nil {
		return err
	}
	if !onTop(counts, journal.Entry{Effective: last, Seq: seq}) {
		return w.postLate(counts)
	}
	for _, m := range counts {
		if err := w.postOnTop(m, last); err != nil {
			return err
		}
		last = m.At.Time
	}
	return nil
}

// stamp gives m its place in the order of recording. Errors: ErrInvalid for an
// entry that is none.
func (w *work) stamp(m *Movement) (err error) {
	if m.Recorded, err = w.recorded(); err != nil {
		return err
	}
	if err := m.Entry().Validate(); err != nil {
		return ErrInvalid.With("%s", err)
	}
	return nil
}

// onTop reports whether each of ms goes on top of the journal whose last entry
// is given, with those before it.
func onTop(ms []Movement, last journal.Entry) bool {
	for _, m := range ms {
		e := m.Entry()
		if e.Kind == journal.Reversal || journal.Compare(last, e) > 0 {
			return false
		}
		last = e
	}
	return true
}

// postOnTop writes an entry on top of the journal, whose last moment is given.
func (w *work) postOnTop(m Movement, last time.Time) error {
	e := m.Entry()
	if err := w.checkStock(e); err != nil {
		return err
	}
	if w.bulk {
		return w.insert([]Movement{m})
	}
	next, err := w.opensOnly(e, last)
	if err != nil {
		return err
	}
	if !next {
		return cmp.Or(w.insert([]Movement{m}), w.redo(m))
	}
	standing, err := w.standing(e)
	if err != nil {
		return err
	}
	return cmp.Or(w.insert([]Movement{m}), w.deriveNext(standing, m))
}

// opensOnly reports whether e, on top of a journal whose last moment is given,
// does no more to the lots than to open, end or revive some in the places that
// it touches. An entry at the very moment of another may do more, and so may one
// in a place where a withdrawn lot waits for its successor.
func (w *work) opensOnly(e journal.Entry, last time.Time) (bool, error) {
	if !e.Effective.After(last) {
		return false, nil
	}
	waiting, err := w.Lots.Waiting(lineage.Places(e))
	return len(waiting) == 0, err
}

// voids reports whether m and another entry of this transaction come to nothing
// together: m is reversed later in it, or reverses such an entry.
func (w *work) voids(m Movement) bool { return w.void[m.ID] || w.void[m.Reverses] }

// insert writes movements that happen together, with those by which censuses
// post anew, and their lines in the timelines.
func (w *work) insert(ms []Movement, again ...Movement) error {
	all := slices.Concat(ms, again)
	if err := w.Movements.Insert(all...); err != nil {
		return err
	}
	if w.bulk {
		w.posted = append(w.posted, all...)
	}
	var events []BinEvent
	for _, m := range ms {
		events = append(events, m.events(m.event())...)
	}
	for _, m := range again {
		events = append(events, m.events(MovementEvent)...)
	}
	return w.Events.Insert(events...)
}

// insertVoid writes a movement that comes to nothing together with another.
func (w *work) insertVoid(m Movement) error {
	if err := w.Movements.InsertVoid(m); err != nil {
		return err
	}
	w.posted = append(w.posted, m)
	return w.Events.Insert(m.events(m.event())...)
}

// checkStock sees that what e, on top of the journal, takes from a bin or batch
// stands there.
func (w *work) checkStock(e journal.Entry) error {
	for _, p := range e.Postings {
		if !p.Account.Stands() || p.Amount > 0 {
			continue
		}
		stands, err := w.Movements.Book(p.Account, p.Commodity)
		if err != nil {
			return err
		}
		lines := append([]journal.Line{{Amount: stands}}, journal.Lines([]journal.Entry{e}, p.Account, p.Commodity)...)
		if err := journal.Check(p.Account, p.Commodity, lines); err != nil {
			return w.explain(err, e.ID)
		}
	}
	return nil
}

// explain says which book would be short, when, and by how much, to who
// records the entries.
func (w *work) explain(err error, entries ...string) error {
	s, ok := errors.AsType[*journal.Shortfall](err)
	if !ok {
		return err
	}
	when := "then"
	if !slices.Contains(entries, s.Entry) {
		when = "at a later entry, " + s.At.In(w.zone).Format(time.RFC3339)
	}
	return ErrMoreThanBook.With("that takes %.3f g more than the book of %s has %s", s.Missing.Grams(), w.nameOf(s.Account), when)
}

// nameOf says what the club calls the bin or batch of an account.
func (w *work) nameOf(a journal.Account) string {
	name := a.Ref
	if b, err := w.Bins.Get(BinID(a.Ref)); err == nil && a.Kind == journal.BinAccount {
		name = b.Name
	}
	if b, err := w.Batches.Get(BatchID(a.Ref)); err == nil && a.Kind == journal.BatchAccount {
		name = b.LotNumber
	}
	return string(a.Kind) + " " + name
}

// event is the kind of event that m is in the timelines of its bins.
func (m Movement) event() EventKind {
	switch m.Kind {
	case journal.Census:
		return CensusEvent
	case journal.Harvest:
		return HarvestEvent
	case journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Dispatch, journal.Arriving, journal.Loss, journal.Rework, journal.Use, journal.Reversal:
	}
	return MovementEvent
}

// events are the lines that m puts into the timelines of its bins.
func (m Movement) events(kind EventKind) []BinEvent {
	var out []BinEvent
	for _, bin := range m.bins() {
		out = append(out, BinEvent{bin, m.At.Time, m.Recorded.Seq, kind, string(m.ID)})
	}
	return out
}

// bins lists the bins that m touches, in order.
func (m Movement) bins() []BinID {
	var bins []BinID
	add := func(b BinID) {
		if b != "" && !slices.Contains(bins, b) {
			bins = append(bins, b)
		}
	}
	for _, l := range m.Lines {
		add(l.FromBin)
	}
	add(m.ToBin)
	for _, p := range m.Postings {
		if p.Account.Kind == journal.BinAccount {
			add(BinID(p.Account.Ref))
		}
	}
	slices.Sort(bins)
	return bins
}

// stockAt returns the book of a bin at the end of that moment: entries of the
// same moment that are recorded count.
func (w *work) stockAt(bin BinID, at time.Time) (map[SpeciesID]unit.Mass, error) {
	last, _, err := w.Movements.Last()
	if err != nil {
		return nil, err
	}
	if !at.Before(last) {
		return w.Movements.Stock(bin)
	}
	return w.Movements.StockOf(bin, at.Add(time.Microsecond))
}
