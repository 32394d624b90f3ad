package lineage

import "slices"

// Page is the part of a trace that is asked for.
type Page struct {
	After Lot // the last of the page before; without an id: from the start
	Limit int
}

// Step is a lot that a trace comes by.
type Step struct {
	Lot   Lot
	Depth int   // arrivals between it and the lot that the trace is of, by the shortest way
	Parts int64 // of One: how much of it descends from that lot; 0 upstream
}

// Upstream returns a page of the lots that l descends from, the newest first. It
// asks some for lots by their ids. Errors: what some returns; MissingLotError.
func Upstream(l Lot, p Page, some func(ids []string) ([]Lot, error)) ([]Step, error) {
	t := newTrace(l, func(a, b Lot) int { return compareLots(b, a) })
	t.next = t.up(some)
	t.measure = func(l Lot) Step {
		for _, p := range l.Parents {
			if d, ok := t.depth[p.Lot]; !ok || d > t.depth[l.ID]+1 {
				t.depth[p.Lot] = t.depth[l.ID] + 1
			}
		}
		return Step{Lot: l, Depth: t.depth[l.ID]}
	}
	return t.page(p)
}

// Downstream returns a page of the lots that descend from l, the oldest first. It
// asks children for the lots that have any of ids as a parent. Errors: what
// children returns.
func Downstream(l Lot, p Page, children func(ids []string) ([]Lot, error)) ([]Step, error) {
	t := newTrace(l, compareLots)
	t.next = func(lots []Lot) ([]Lot, error) {
		ids := make([]string, len(lots))
		for i, l := range lots {
			ids[i] = l.ID
		}
		return children(ids)
	}
	t.measure = func(l Lot) Step {
		depth, parts := t.descent(l)
		t.depth[l.ID], t.parts[l.ID] = depth, parts
		return Step{l, depth, parts}
	}
	return t.page(p)
}

// trace is a walk through lots in the order in which they opened, or the other
// way round. No lot leads to one that it has passed: parents open before their
// children. So a page costs what lies before its end, and no more.
type trace struct {
	of      Lot
	order   func(a, b Lot) int
	next    func([]Lot) ([]Lot, error) // the lots that lots lead to
	measure func(Lot) Step             // once all that lead to a lot are measured
	waiting []Lot                      // met and not passed, in order
	met     map[string]bool
	spread  map[string]bool // what they lead to is met
	depth   map[string]int
	parts   map[string]int64
}

func newTrace(of Lot, order func(a, b Lot) int) *trace {
	return &trace{
		of: of, order: order,
		met: map[string]bool{of.ID: true}, spread: map[string]bool{}, depth: map[string]int{}, parts: map[string]int64{of.ID: One},
	}
}

// page walks to the end of a page.
func (t *trace) page(p Page) ([]Step, error) {
	var out []Step
	for l := t.of; ; {
		step := t.measure(l)
		if l.ID != t.of.ID && (p.After.ID == "" || t.order(p.After, l) < 0) {
			out = append(out, step)
		}
		if len(out) == p.Limit {
			return out, nil
		}
		if err := t.goOn(l); err != nil {
			return nil, err
		}
		if len(t.waiting) == 0 {
			return out, nil
		}
		l, t.waiting = t.waiting[0], t.waiting[1:]
	}
}

// lookahead is how many lots are asked about in one call: the more, the fewer
// calls, and the more that is read past the end of a page.
const lookahead = 32

// goOn meets what l leads to, and in the same call what the next that wait lead
// to.
func (t *trace) goOn(l Lot) error {
	if t.spread[l.ID] {
		return nil
	}
	ask := []Lot{l}
	for _, w := range t.waiting[:min(lookahead, len(t.waiting))] {
		if !t.spread[w.ID] {
			ask = append(ask, w)
		}
	}
	found, err := t.next(ask)
	if err != nil {
		return err
	}
	for _, l := range ask {
		t.spread[l.ID] = true
	}
	for _, f := range found {
		if !t.met[f.ID] {
			t.met[f.ID], t.waiting = true, append(t.waiting, f)
		}
	}
	slices.SortFunc(t.waiting, t.order)
	return nil
}

// up leads to the parents of lots, which some finds by their ids.
func (t *trace) up(some func(ids []string) ([]Lot, error)) func([]Lot) ([]Lot, error) {
	return func(lots []Lot) ([]Lot, error) {
		ids := t.parents(lots)
		if len(ids) == 0 {
			return nil, nil
		}
		found, err := some(ids)
		if err != nil {
			return nil, err
		}
		return found, missing(ids, found)
	}
}

// parents returns the parent lots that aren't met yet, sorted, each once.
func (t *trace) parents(lots []Lot) []string {
	ids := map[string]bool{}
	for _, l := range lots {
		for _, p := range l.Parents {
			if p.Lot != "" && !t.met[p.Lot] {
				ids[p.Lot] = true
			}
		}
	}
	return sortedIDs(ids)
}

// descent returns how far l is from the lot that the trace is of, and how much of
// it descends from that. Where nothing is known of a parent, nothing does.
func (t *trace) descent(l Lot) (depth int, parts int64) {
	if l.ID == t.of.ID {
		return 0, One
	}
	var mass int64
	var kin, others wide
	for _, p := range l.Parents {
		share, ok := t.parts[p.Lot]
		mass += int64(p.Mass)
		kin, others = kin.plus(times(int64(p.Mass), share)), others.plus(times(int64(p.Mass), One-share))
		if d := t.depth[p.Lot] + 1; ok && (depth == 0 || d < depth) {
			depth = d
		}
	}
	return depth, divide([]wide{kin, others}, mass, One)[0]
}

// missing returns a MissingLotError unless all ids were found.
func missing(ids []string, found []Lot) error {
	there := map[string]bool{}
	for _, l := range found {
		there[l.ID] = true
	}
	for _, id := range ids {
		if !there[id] {
			return &MissingLotError{id}
		}
	}
	return nil
}
