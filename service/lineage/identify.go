package lineage

import (
	"cmp"
	"slices"
	"time"
)

// Statement is a dated identification of the worms of a lot.
type Statement struct {
	ID      string
	Lot     string
	Species string // found
	At      time.Time
	Seq     int64 // the order in which statements of one moment were recorded
}

// Identity is what the worms of a lot are, by the statements that bear on it.
type Identity struct {
	Species    []string // sorted; more than one: not told apart
	At         time.Time
	Seq        int64    // At and Seq are those of the latest statement
	Statements []string // ids, sorted
}

func (i *Identity) later(than *Identity) bool {
	return cmp.Or(i.At.Compare(than.At), cmp.Compare(i.Seq, than.Seq)) > 0
}

// Identify returns the identity of every lot that has one, by the lot's id.
//
// A statement on a lot holds for it and for all lots that descend from it,
// unless there is a later one of their own; so a later statement on a parent
// goes before an earlier one on its child. A lot of several parents is what all
// of them are. Where they differ it is not told apart: then a parent that nobody
// identified counts as it is booked. Where they don't differ and one of them was
// not identified, an origin among them, nothing is known of the lot. A statement on
// a withdrawn lot holds for the lot that stands for it.
func Identify(lots []Lot, statements []Statement) map[string]Identity {
	known := map[string]Lot{}
	for _, l := range lots {
		known[l.ID] = l
	}
	own := map[string]*Identity{}
	for _, s := range statements {
		id := standsFor(known, s.Lot)
		given := &Identity{[]string{s.Species}, s.At, s.Seq, []string{s.ID}}
		if before := own[id]; before == nil || given.later(before) {
			own[id] = given
		}
	}
	out := map[string]Identity{}
	for _, l := range slices.SortedFunc(slices.Values(lots), compareLots) {
		found := inherited(l, out)
		if mine := own[l.ID]; mine != nil && (found == nil || mine.later(found)) {
			found = mine
		}
		if found != nil && !l.Withdrawn {
			out[l.ID] = *found
		}
	}
	return out
}

// standsFor follows a withdrawn lot to the one that stands for it.
func standsFor(lots map[string]Lot, id string) string {
	for range lots {
		l, ok := lots[id]
		if !ok || !l.Withdrawn || l.Successor == "" {
			break
		}
		id = l.Successor
	}
	return id
}

// inherited returns what the parents of a lot make of it, or nil.
func inherited(l Lot, identities map[string]Identity) *Identity {
	var found Identity
	unidentified := false
	for _, p := range l.Parents {
		parent, ok := identities[p.Lot]
		if !ok {
			unidentified = true
			continue
		}
		found.Species = append(found.Species, parent.Species...)
		found.Statements = append(found.Statements, parent.Statements...)
		if parent.later(&found) {
			found.At, found.Seq = parent.At, parent.Seq
		}
	}
	if len(found.Species) == 0 {
		return nil
	}
	if unidentified {
		found.Species = append(found.Species, l.Place.Species)
	}
	found.Species, found.Statements = sortedSet(found.Species), sortedSet(found.Statements)
	if unidentified && len(found.Species) == 1 {
		return nil
	}
	return &found
}

func sortedSet(all []string) []string {
	slices.Sort(all)
	return slices.Compact(all)
}
