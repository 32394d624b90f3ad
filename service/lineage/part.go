package lineage

import (
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// begin works out what stood in p just before a moment, from all that was posted
// there before it, in effective order, and the lots that opened before it.
func (h *history) begin(p Place, before []journal.Line, lots []Lot) {
	var stood *Lot
	for _, l := range lots {
		if !l.Withdrawn && (stood == nil || compareLots(*stood, l) < 0) {
			stood = &l
		}
	}
	b := bookUntil(before, stood)
	h.states[p] = State{Book: b.book}
	if b.first > 0 {
		h.first[p] = b.first
	}
	if stood != nil {
		lot := *stood
		lot.EndedAt, lot.EndedBy = b.endedAt, b.endedBy
		h.states[p] = State{&lot, b.book}
		h.keep([]Lot{lot})
	}
	for _, l := range lots {
		if l.Withdrawn && b.book <= 0 && !l.OpenedAt.Before(b.emptySince) {
			l.Successor = ""
			h.withdrawn[p] = append(h.withdrawn[p], l)
		}
	}
}

// past is what the book of a place tells about it until a moment.
type past struct {
	book       unit.Mass
	first      int64     // the lowest sequence of an entry that put stock there; 0: none
	endedAt    time.Time // of the lot that stood
	endedBy    string
	emptySince time.Time // the first of the last moments at whose end nothing stood
}

// bookUntil follows the book of a place along lines. A lot ends with the entry
// since which nothing stands.
func bookUntil(lines []journal.Line, stood *Lot) past {
	var b past
	full := false // at the end of the moment before
	for i, l := range lines {
		if l.Void {
			continue
		}
		b.book += l.Amount
		if l.Amount > 0 && (b.first == 0 || l.Seq < b.first) {
			b.first = l.Seq
		}
		next := nextStanding(lines[i+1:])
		if next == nil || next.Entry != l.Entry {
			b.end(l, stood)
		}
		if next != nil && next.Effective.Equal(l.Effective) {
			continue
		}
		if full && b.book <= 0 {
			b.emptySince = l.Effective
		}
		full = b.book > 0
	}
	return b
}

func nextStanding(lines []journal.Line) *journal.Line {
	for i := range lines {
		if !lines[i].Void {
			return &lines[i]
		}
	}
	return nil
}

// end notes whether the lot that stood ended with the entry of l.
func (b *past) end(l journal.Line, stood *Lot) {
	switch {
	case stood == nil || l.Effective.Before(stood.OpenedAt) || l.Effective.Equal(stood.OpenedAt) && l.Seq < stood.OpenedSeq:
	case b.book > 0:
		b.endedAt, b.endedBy = time.Time{}, ""
	case b.endedBy == "":
		b.endedAt, b.endedBy = l.Effective, l.Entry
	}
}

// apply derives e. In a place that isn't derived only the lot that e opened there
// is made again, out of what stood there.
func (h *history) apply(e journal.Entry) ([]Lot, error) {
	if h.touched == nil {
		return apply(h.states, e, everywhere)
	}
	reopened := h.elsewhere(e)
	changed, err := apply(h.states, e, func(p Place) bool { return h.touched[p] || reopened[p] })
	if err != nil {
		return nil, err
	}
	var out []Lot
	for _, l := range changed {
		switch old := h.stored[l.ID]; {
		case h.touched[l.Place]:
			out = append(out, l)
		case l.OpenedBy == e.ID:
			l.EndedAt, l.EndedBy = old.EndedAt, old.EndedBy
			out = append(out, l)
		}
	}
	return out, nil
}

// elsewhere puts into the states what stood, before e, in the places of e that
// aren't derived, as the lots that e opened tell. It returns those places where e
// opened one.
func (h *history) elsewhere(e journal.Entry) map[Place]bool {
	stood, reopened := map[Place]Lot{}, map[Place]bool{}
	for _, p := range Places(e) {
		for _, id := range h.sources(LotID(e.ID, p)) {
			l := h.lot(id)
			if old, ok := stood[l.Place]; !ok || compareLots(old, l) < 0 {
				stood[l.Place] = l
			}
		}
	}
	all := flows(e)
	for _, p := range Places(e) {
		if h.touched[p] {
			continue
		}
		var s State
		if l, ok := stood[p]; ok {
			s.Lot = &l
		}
		if l, ok := h.stored[LotID(e.ID, p)]; ok {
			f := all[p.Species]
			s.Book, reopened[p] = l.Mass-f.gained[p]+f.lost[p], true
		}
		h.states[p] = s
	}
	return reopened
}

// sources returns the lots that a stored lot came from.
func (h *history) sources(id string) []string {
	ids := map[string]bool{}
	addSources(ids, h.stored[id])
	return sortedIDs(ids)
}

// lot returns a lot as it is now.
func (h *history) lot(id string) Lot {
	if l, ok := h.lots[id]; ok {
		return l
	}
	return h.stored[id]
}
