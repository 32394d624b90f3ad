package lineage

import (
	"slices"

	"lumbricary.example/service/journal"
)

// Derive returns all lots by id, and what stands in each place, from all
// entries of a club in any order.
//
// A reversed entry and its reversal are left out. The lot that the reversed
// entry opened stays readable, withdrawn, and names as successor the lot that
// stands in its place at the end of that moment, or the next to stand there.
// So does the lot that growth opened in a place where nothing had ever stood,
// when an entry recorded later puts an arrival before it.
//
// Errors: those of Apply; ReversalError for a reversal of an entry that is
// missing.
func Derive(entries []journal.Entry) (map[string]Lot, map[Place]State, error) {
	sorted := slices.SortedFunc(slices.Values(entries), journal.Compare)
	reversed, err := reversals(sorted)
	if err != nil {
		return nil, nil, err
	}
	h := newHistory()
	if err := h.run(sorted, reversed); err != nil {
		return nil, nil, err
	}
	return h.lots, h.states, nil
}

// reversals returns the ids of reversed entries. Errors: ReversalError.
func reversals(entries []journal.Entry) (map[string]bool, error) {
	ids := map[string]bool{}
	for _, e := range entries {
		ids[e.ID] = true
	}
	out := map[string]bool{}
	for _, e := range entries {
		switch {
		case e.Kind != journal.Reversal:
		case !ids[e.Reverses]:
			return nil, &ReversalError{e.ID, e.Reverses}
		default:
			out[e.Reverses] = true
		}
	}
	return out, nil
}

// moment returns how many entries have the effective time of the first.
func moment(entries []journal.Entry) int {
	for i, e := range entries {
		if !e.Effective.Equal(entries[0].Effective) {
			return i
		}
	}
	return len(entries)
}

// history is a derivation under way.
type history struct {
	lots      map[string]Lot
	states    map[Place]State
	first     map[Place]int64 // the lowest sequence of an entry that put stock there
	withdrawn map[Place][]Lot // that wait for a successor

	touched map[Place]bool // the places that are derived; nil: all
	stored  map[string]Lot // where some are: lots as they were before, by id
}

func newHistory() *history {
	return &history{lots: map[string]Lot{}, states: map[Place]State{}, first: map[Place]int64{}, withdrawn: map[Place][]Lot{}}
}

// derives reports whether p is a place that is derived.
func (h *history) derives(p Place) bool { return h.touched == nil || h.touched[p] }

// run derives entries in effective order. Errors: those of Apply.
func (h *history) run(sorted []journal.Entry, reversed map[string]bool) error {
	for len(sorted) > 0 {
		n := moment(sorted)
		if err := h.moment(sorted[:n], reversed); err != nil {
			return err
		}
		sorted = sorted[n:]
	}
	for _, lots := range h.withdrawn {
		h.keep(lots)
	}
	return nil
}

// moment derives the entries of one effective time. Errors: those of Apply.
func (h *history) moment(entries []journal.Entry, reversed map[string]bool) error {
	touched := map[Place]bool{}
	for _, e := range entries {
		if e.Kind == journal.Reversal {
			continue
		}
		if err := h.entry(e, reversed[e.ID]); err != nil {
			return err
		}
		for _, p := range Places(e) {
			touched[p] = true
		}
	}
	for p := range touched {
		h.succeed(p)
	}
	return nil
}

// entry derives e, or only what it had opened when it is reversed. Errors:
// those of Apply.
func (h *history) entry(e journal.Entry, reversed bool) error {
	opening := h.opening(e)
	if !reversed {
		changed, err := h.apply(e)
		if err != nil {
			return err
		}
		h.keep(changed)
		h.note(e)
	}
	for _, p := range opening {
		id := LotID(e.ID, p)
		if _, ok := h.lots[id]; !ok {
			h.withdrawn[p] = append(h.withdrawn[p], Lot{
				ID: id, Place: p, OpenedBy: e.ID, OpenedAt: e.Effective, OpenedSeq: e.Seq, Withdrawn: true,
			})
		}
	}
	return nil
}

// opening returns the places where e opened a lot when it was recorded: where
// stock arrived, or grew before anything recorded till then had put some there.
func (h *history) opening(e journal.Entry) []Place {
	var out []Place
	for _, f := range flows(e) {
		for p := range f.gained {
			from, _ := f.into(p)
			first, ok := h.first[p]
			if h.derives(p) && (len(from) > 0 || !ok || first > e.Seq) {
				out = append(out, p)
			}
		}
	}
	return out
}

// note remembers where e put stock.
func (h *history) note(e journal.Entry) {
	for _, f := range flows(e) {
		for p := range f.gained {
			if first, ok := h.first[p]; !ok || e.Seq < first {
				h.first[p] = e.Seq
			}
		}
	}
}

// succeed names the lot that stands in p as successor of those that wait.
func (h *history) succeed(p Place) {
	standing := h.states[p].Lot
	if standing == nil || !standing.Current() {
		return
	}
	for i := range h.withdrawn[p] {
		h.withdrawn[p][i].Successor = standing.ID
	}
	h.keep(h.withdrawn[p])
	delete(h.withdrawn, p)
}

func (h *history) keep(lots []Lot) {
	for _, l := range lots {
		h.lots[l.ID] = l
	}
}
