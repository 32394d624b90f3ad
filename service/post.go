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

// post appends m to the journal: it locks the club's journal, checks every book
// that m touches at every moment from m on, writes the entry, and derives the
// lots. m's postings and moment must be settled; the rest is stamped here. An
// entry that isn't on top of the journal makes later censuses of its bins assert
// their level again. Errors: ErrMoreThanBook with the first moment that breaks,
// ErrIDTaken, ErrReversedBefore.
func (w *work) post(m *Movement) error {
	if err := w.Movements.Lock(); err != nil {
		return err
	}
	rec, err := w.recorded()
	if err != nil {
		return err
	}
	m.Recorded = rec
	e := m.Entry()
	if err := e.Validate(); err != nil {
		return ErrInvalid.With("%s", err)
	}
	if w.voids(*m) {
		return w.insert(*m, m.event())
	}
	last, seq, err := w.Movements.Last()
	if err != nil {
		return err
	}
	onTop := journal.Compare(journal.Entry{Effective: last, Seq: seq}, e) < 0
	if !onTop || e.Kind == journal.Reversal {
		return w.postLate(*m)
	}
	if err := w.checkStock(e); err != nil {
		return err
	}
	if w.bulk {
		return w.insert(*m, m.event())
	}
	states, err := w.states(e)
	if err != nil {
		return err
	}
	next, err := w.opensOnly(e, last)
	if err != nil {
		return err
	}
	if err := w.insert(*m, m.event()); err != nil {
		return err
	}
	if next {
		return w.deriveNext(states, *m)
	}
	return w.deriveAll()
}

// opensOnly reports whether e, on top of a journal whose last moment is given,
// does no more to the lots than to open, end or revive some in the places that
// it touches. An entry at the very moment of another may do more, and so may one
// in a place where a withdrawn lot waits for its successor.
func (w *work) opensOnly(e journal.Entry, last time.Time) (bool, error) {
	if !e.Effective.After(last) {
		return false, nil
	}
	for _, p := range lineage.Places(e) {
		lots, err := w.Lots.List(Query{Bin: BinID(p.Bin), Species: SpeciesID(p.Species)})
		if err != nil || slices.ContainsFunc(lots, func(l Lot) bool { return l.Withdrawn }) {
			return false, err
		}
	}
	return true, nil
}

// voids reports whether m and another entry of this transaction come to nothing
// together: m is reversed later in it, or reverses such an entry.
func (w *work) voids(m Movement) bool { return w.void[m.ID] || w.void[m.Reverses] }

// insert writes m and its lines in the timelines, as an event of that kind.
func (w *work) insert(m Movement, kind EventKind) error {
	insert := w.Movements.Insert
	if w.voids(m) {
		insert = w.Movements.InsertVoid
	}
	if err := insert(m); err != nil {
		return err
	}
	return w.Events.Insert(m.events(kind)...)
}

// checkStock sees that what e, on top of the journal, takes from a bin or batch
// stands there.
func (w *work) checkStock(e journal.Entry) error {
	for _, p := range e.Postings {
		if !p.Account.Stands() || p.Amount > 0 {
			continue
		}
		stands, err := w.stands(p.Account, p.Commodity)
		if err != nil {
			return err
		}
		lines := append([]journal.Line{{Amount: stands}}, journal.Lines([]journal.Entry{e}, p.Account, p.Commodity)...)
		if err := journal.Check(p.Account, p.Commodity, lines); err != nil {
			return w.explain(err, e)
		}
	}
	return nil
}

// stands returns what a bin or batch holds now.
func (w *work) stands(a journal.Account, c journal.Commodity) (unit.Mass, error) {
	if species, worms := c.Species(); worms {
		stock, err := w.Movements.Stock(BinID(a.Ref))
		return stock[SpeciesID(species)], err
	}
	var sum unit.Mass
	lines, err := w.Movements.Lines(a, c)
	for _, l := range lines {
		sum += l.Amount
	}
	return sum, err
}

// explain says which book would be short, when, and by how much.
func (w *work) explain(err error, e journal.Entry) error {
	s, ok := errors.AsType[*journal.Shortfall](err)
	if !ok {
		return err
	}
	when := "then"
	if s.Entry != e.ID {
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

// states reads what stands in the places that e touches, before e.
func (w *work) states(e journal.Entry) (map[lineage.Place]lineage.State, error) {
	states := map[lineage.Place]lineage.State{}
	for _, p := range lineage.Places(e) {
		stock, err := w.Movements.Stock(BinID(p.Bin))
		if err != nil {
			return nil, err
		}
		standing, err := w.Lots.Standing(BinID(p.Bin))
		if err != nil {
			return nil, err
		}
		st := lineage.State{Book: stock[SpeciesID(p.Species)]}
		for _, l := range standing {
			if l.Place == p {
				st.Lot = &l.Lot
			}
		}
		states[p] = st
	}
	return states, nil
}

// deriveNext derives the lots that m opens, ends or revives.
func (w *work) deriveNext(states map[lineage.Place]lineage.State, m Movement) error {
	changed, _, err := lineage.Apply(states, m.Entry())
	if err != nil || len(changed) == 0 {
		return err
	}
	lots := make([]Lot, 0, len(changed))
	for _, l := range changed {
		lot := Lot{Lot: l, Member: m.ToMember}
		if l.OpenedBy != string(m.ID) {
			old, err := w.Lots.Get(LotID(l.ID))
			if err != nil {
				return err
			}
			lot.Member = old.Member
		}
		lots = append(lots, lot)
	}
	return w.Lots.Put(lots)
}

// deriveAll derives every lot of the club from its journal: what a late entry
// or a reversal asks for.
func (w *work) deriveAll() error {
	entries, err := w.Movements.Entries()
	if err != nil {
		return err
	}
	derived, _, err := lineage.Derive(entries)
	if err != nil {
		return err
	}
	var openers []MovementID
	for _, l := range derived {
		openers = append(openers, MovementID(l.OpenedBy))
	}
	slices.Sort(openers)
	movements, err := w.Movements.Some(slices.Compact(openers))
	if err != nil {
		return err
	}
	keeper := map[string]MemberID{}
	for _, m := range movements {
		keeper[string(m.ID)] = m.ToMember
	}
	lots := make([]Lot, 0, len(derived))
	for _, l := range derived {
		lots = append(lots, Lot{Lot: l, Member: keeper[l.OpenedBy]})
	}
	slices.SortFunc(lots, func(a, b Lot) int {
		return cmp.Or(a.OpenedAt.Compare(b.OpenedAt), cmp.Compare(a.OpenedSeq, b.OpenedSeq), cmp.Compare(a.ID, b.ID))
	})
	return w.Lots.Replace(lots)
}

// event is the kind of event that m is in the timelines of its bins.
func (m Movement) event() EventKind {
	switch m.Kind {
	case journal.Census:
		return CensusEvent
	case journal.Harvest:
		return HarvestEvent
	case journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Loss, journal.Use, journal.Reversal:
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
	all, err := w.Movements.StockAt(at.Add(time.Microsecond))
	return all[bin], err
}
