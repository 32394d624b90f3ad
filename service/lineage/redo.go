package lineage

import (
	"reflect"
	"slices"
	"time"

	"lumbricary.example/service/journal"
)

// Source is where Redo reads what was derived before.
type Source interface {
	// Lines returns all that was posted on a place, in effective order.
	Lines(p Place) ([]journal.Line, error)
	// Entries returns entries of the journal.
	Entries(ids []string) ([]journal.Entry, error)
	// Since returns the lots of a place that opened at or after a moment, the newest
	// before that stood there, and all before that are withdrawn.
	Since(p Place, from time.Time) ([]Lot, error)
	// Some returns those of the ids that exist.
	Some(ids []string) ([]Lot, error)
	// Children returns the ids of the lots that have one of ids as a parent, or came
	// by it.
	Children(ids []string) ([]string, error)
}

// Redo returns the lots that are new or other than they were once entries have
// been put into the journal, anywhere in its order: exactly what Derive would
// find changed. Of the journal it reads the books of the places that the entries
// touch, and of the lots those that descend from what changes there.
//
// In the touched places the lots are derived again from the first of the entries
// on, with those that were opened out of them. What descends from these keeps its
// shape; its shares are mixed again, in the order in which the lots opened.
//
// Errors: those of src; those of Apply.
func Redo(entries []journal.Entry, src Source) ([]Lot, error) {
	r := redo{history: newHistory(), src: src, reversed: map[string]bool{}}
	r.touched, r.stored = map[Place]bool{}, map[string]Lot{}
	for i, e := range entries {
		if i == 0 || e.Effective.Before(r.from) {
			r.from = e.Effective
		}
		for _, p := range Places(e) {
			r.touched[p] = true
		}
	}
	for _, step := range []func() error{r.read, r.readElsewhere, r.derive, r.descend, r.remix} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return r.changed(), nil
}

// redo is a derivation of some places from a moment on.
type redo struct {
	*history
	src      Source
	from     time.Time
	entries  []journal.Entry // that touch the places, from then on, in order
	reversed map[string]bool
	shaped   map[string]bool // lots that were derived again from their entry
	cone     []Lot           // what is mixed again, as it is so far
}

// read reads the places and the entries that touch them, and works out what stood
// there before.
func (r *redo) read() error {
	ids := map[string]bool{}
	for p := range r.touched {
		lines, err := r.src.Lines(p)
		if err != nil {
			return err
		}
		lots, err := r.src.Since(p, r.from)
		if err != nil {
			return err
		}
		r.store(lots)
		n, _ := slices.BinarySearchFunc(lines, r.from, func(l journal.Line, at time.Time) int { return l.Effective.Compare(at) })
		r.begin(p, lines[:n], slices.DeleteFunc(lots, func(l Lot) bool { return !l.OpenedAt.Before(r.from) }))
		for _, l := range lines[n:] {
			ids[l.Entry] = true
			r.reversed[l.Entry] = l.Void
		}
	}
	var err error
	if r.entries, err = r.src.Entries(sortedIDs(ids)); err != nil {
		return err
	}
	slices.SortFunc(r.entries, journal.Compare)
	return nil
}

// readElsewhere reads the lots that the entries opened in other places, and what
// those and the lots of the touched places came from.
func (r *redo) readElsewhere() error {
	opened := map[string]bool{}
	for _, e := range r.entries {
		for _, p := range Places(e) {
			if !r.touched[p] && !r.reversed[e.ID] && e.Kind != journal.Reversal {
				opened[LotID(e.ID, p)] = true
			}
		}
	}
	if err := r.some(opened); err != nil {
		return err
	}
	sources := map[string]bool{}
	for _, l := range r.stored {
		addSources(sources, l)
	}
	return r.some(sources)
}

// some reads lots that aren't known.
func (r *redo) some(ids map[string]bool) error {
	for id := range ids {
		if _, ok := r.stored[id]; ok {
			delete(ids, id)
		}
	}
	lots, err := r.src.Some(sortedIDs(ids))
	r.store(lots)
	return err
}

func (r *redo) store(lots []Lot) {
	for _, l := range lots {
		r.stored[l.ID] = l
	}
}

// derive derives the touched places.
func (r *redo) derive() error {
	if err := r.run(r.entries, r.reversed); err != nil {
		return err
	}
	r.shaped = map[string]bool{}
	for id := range r.lots {
		r.shaped[id] = true
	}
	return nil
}

// changed returns the lots that aren't as they were stored, in order.
func (r *redo) changed() []Lot {
	var out []Lot
	for id, l := range r.lots {
		if old, ok := r.stored[id]; !ok || !same(l, old) {
			out = append(out, l)
		}
	}
	slices.SortFunc(out, compareLots)
	return out
}

// same reports whether two lots of one id are told alike.
func same(a, b Lot) bool {
	alike := slices.Equal(a.Shares, b.Shares) && slices.Equal(a.Parents, b.Parents) && slices.Equal(a.Via, b.Via)
	a.Shares, a.Parents, a.Via, b.Shares, b.Parents, b.Via = nil, nil, nil, nil, nil, nil
	return alike && reflect.DeepEqual(a, b)
}

// addSources adds the ids of the lots that l comes from, under way or not.
func addSources(ids map[string]bool, l Lot) {
	for _, p := range slices.Concat(l.Parents, l.Via) {
		if p.Lot != "" {
			ids[p.Lot] = true
		}
	}
}

func sortedIDs(ids map[string]bool) []string {
	out := make([]string, 0, len(ids))
	for id := range ids {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}
