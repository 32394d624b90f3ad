package lineage

import (
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// State is what stands in a place. Lot stays set, ended, when the book is 0, so
// that worms found later revive it; it is nil where no lot ever stood.
type State struct {
	Lot  *Lot
	Book unit.Mass
}

// Apply puts one entry on top of the effective order. It returns the lots that
// were opened, ended or revived, in the order in which that happened, and the
// states after it; its arguments stay as they are. Of states it needs those of
// Places(e).
//
// An arrival is stock that a place gains from a bin, a transfer or outside. It
// opens one lot, whatever the number of its sources, and ends the one before.
// The parents are the lot before, with what is left of it once the entry has
// taken out what it takes, and the lot or the origin of each source in
// proportion to what it gives; shares are mixed by these masses. Growth,
// adjustment, weight change and loss alter the book alone. A lot ends at book
// 0. Growth where no lot ever stood opens one of unknown origin.
//
// Errors: journal.Shortfall where a bin has not got what is taken; NoLotError;
// ReversalError for a reversal, which is not derived on top but with Derive;
// MixError for a lot in states whose shares are not whole.
func Apply(states map[Place]State, e journal.Entry) (changed []Lot, next map[Place]State, err error) {
	if e.Kind == journal.Reversal {
		return nil, nil, &ReversalError{e.ID, e.Reverses}
	}
	next = maps.Clone(states)
	if next == nil {
		next = map[Place]State{}
	}
	if changed, err = apply(next, e, everywhere); err != nil {
		return nil, nil, err
	}
	return changed, next, nil
}

// everywhere lets an entry change all its places.
func everywhere(Place) bool { return true }

// apply is Apply in place, for the places that are in. Where it fails it leaves
// states half changed.
func apply(states map[Place]State, e journal.Entry, in func(Place) bool) ([]Lot, error) {
	all := flows(e)
	var changed []Lot
	for _, species := range slices.Sorted(maps.Keys(all)) {
		lots, err := all[species].apply(states, e, in)
		if err != nil {
			return nil, err
		}
		changed = append(changed, lots...)
	}
	return changed, nil
}

// apply changes the states of the places of f that are in. All sources are read
// before any place changes. Errors: as of Apply.
func (f flow) apply(states map[Place]State, e journal.Entry, in func(Place) bool) ([]Lot, error) {
	places := slices.DeleteFunc(f.places(), func(p Place) bool { return !in(p) })
	after := make([]State, len(places))
	var changed []Lot
	for i, p := range places {
		lots, s, err := f.change(p, states, e)
		if err != nil {
			return nil, err
		}
		after[i] = s
		changed = append(changed, lots...)
	}
	for i, p := range places {
		states[p] = after[i]
	}
	return changed, nil
}

// change returns what f makes of the place p, and the lots that it opened,
// ended or revived there. Errors: as of Apply.
func (f flow) change(p Place, states map[Place]State, e journal.Entry) ([]Lot, State, error) {
	before := states[p]
	book := before.Book + f.gained[p] - f.lost[p]
	if p.Transit == "" {
		if err := stands(p, before, book, e); err != nil {
			return nil, State{}, err
		}
	}
	from, mass := f.into(p)
	if len(from) == 0 && (before.Lot != nil || f.gained[p] == 0) {
		lots, after := before.to(book, e)
		return lots, after, nil
	}
	if len(from) == 0 {
		from, mass = []source{{origin: Unknown}}, []unit.Mass{f.gained[p]}
	}
	m := newMixer()
	if rest := before.Book - f.lost[p]; rest > 0 {
		m.add(source{place: p}, states, rest)
	}
	for i, s := range from {
		m.add(s, states, mass[i])
	}
	opened, err := m.open(p, book, e)
	if err != nil {
		return nil, State{}, err
	}
	lots, after := before.followed(opened, e)
	return lots, after, nil
}

// stands checks a bin: what has a book has a lot, and no book is negative.
// Errors: NoLotError, journal.Shortfall.
func stands(p Place, before State, book unit.Mass, e journal.Entry) error {
	switch {
	case before.Book > 0 && before.Lot == nil:
		return &NoLotError{e.ID, p, before.Book}
	case book < 0:
		return &journal.Shortfall{
			Account: journal.Bin(p.Bin), Commodity: journal.Worms(p.Species),
			At: e.Effective, Entry: e.ID, Book: book, Missing: -book,
		}
	}
	return nil
}

// to returns s with another book, and its lot where that ends or revives it.
func (s State) to(book unit.Mass, e journal.Entry) ([]Lot, State) {
	s.Book = book
	if s.Lot == nil || (book > 0) == s.Lot.Current() {
		return nil, s
	}
	lot := *s.Lot
	if book > 0 {
		lot.EndedAt, lot.EndedBy = time.Time{}, ""
	} else {
		lot.EndedAt, lot.EndedBy = e.Effective, e.ID
	}
	s.Lot = &lot
	return []Lot{lot}, s
}

// followed returns the state in which opened follows the lot of s, and the lots
// that changed.
func (s State) followed(opened Lot, e journal.Entry) ([]Lot, State) {
	var changed []Lot
	if s.Lot != nil && s.Lot.Current() {
		before := *s.Lot
		before.EndedAt, before.EndedBy = e.Effective, e.ID
		changed = append(changed, before)
	}
	if opened.Mass <= 0 {
		opened.EndedAt, opened.EndedBy = e.Effective, e.ID
	}
	return append(changed, opened), State{&opened, opened.Mass}
}
