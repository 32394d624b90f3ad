package lineage

import (
	"maps"
	"slices"
)

// Ancestry returns the chain of custody of a lot: all that it descends from and
// the lot itself, in the order in which they opened. It asks lots for each once,
// a whole generation in one call, so the cost grows with the lots and not with
// the ways between them. Errors: what lots returns; MissingLotError; CycleError.
func Ancestry(id string, lots func(ids []string) ([]Lot, error)) ([]Lot, error) {
	found := map[string]Lot{}
	for level := []string{id}; len(level) > 0; {
		got, err := lots(level)
		if err != nil {
			return nil, err
		}
		for _, l := range got {
			found[l.ID] = l
		}
		for _, id := range level {
			if _, ok := found[id]; !ok {
				return nil, &MissingLotError{id}
			}
		}
		level = parentsOf(got, found)
	}
	return inOrder(found)
}

// parentsOf returns the parent lots that are not found yet, sorted, each once.
func parentsOf(lots []Lot, found map[string]Lot) []string {
	var out []string
	for _, l := range lots {
		for _, p := range l.Parents {
			if _, ok := found[p.Lot]; !ok && p.Lot != "" {
				out = append(out, p.Lot)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Descendants returns all lots that descend from a lot, without itself, in the
// order in which they opened. It asks children, which returns the lots that
// have any of ids as a parent, a whole generation in one call. Errors: what
// children returns; CycleError.
func Descendants(id string, children func(ids []string) ([]Lot, error)) ([]Lot, error) {
	found := map[string]Lot{}
	for level := []string{id}; len(level) > 0; {
		got, err := children(level)
		if err != nil {
			return nil, err
		}
		level = nil
		for _, l := range got {
			if _, ok := found[l.ID]; !ok {
				found[l.ID] = l
				level = append(level, l.ID)
			}
		}
		slices.Sort(level)
	}
	return inOrder(found)
}

// inOrder returns lots in the order in which they opened. Errors: CycleError.
func inOrder(lots map[string]Lot) ([]Lot, error) {
	w := walk{lots: lots, done: map[string]bool{}, at: map[string]int{}}
	for _, id := range slices.Sorted(maps.Keys(lots)) {
		if cycle := w.visit(id); cycle != nil {
			return nil, &CycleError{cycle}
		}
	}
	return slices.SortedFunc(maps.Values(lots), compareLots), nil
}

// walk looks for a cycle, depth first.
type walk struct {
	lots map[string]Lot
	done map[string]bool // no cycle can be reached from it
	at   map[string]int  // position in path
	path []string
}

// visit returns a cycle that can be reached from the lot id, or nil.
func (w *walk) visit(id string) []string {
	if i, ok := w.at[id]; ok {
		return append(slices.Clone(w.path[i:]), id)
	}
	if w.done[id] {
		return nil
	}
	w.at[id] = len(w.path)
	w.path = append(w.path, id)
	for _, p := range w.lots[id].Parents {
		if p.Lot == "" {
			continue
		}
		if cycle := w.visit(p.Lot); cycle != nil {
			return cycle
		}
	}
	w.path = w.path[:len(w.path)-1]
	delete(w.at, id)
	w.done[id] = true
	return nil
}
