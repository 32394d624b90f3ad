package lineage

import (
	"maps"
	"slices"

	"lumbricary.example/service/unit"
)

// descend gathers what may have to be mixed again: the lots that were derived
// with other parents than before, and all that descends from them.
func (r *redo) descend() error {
	cone := map[string]bool{}
	var level []string
	for id, l := range r.lots {
		old, ok := r.stored[id]
		if !l.Withdrawn && (!ok || !slices.Equal(old.Parents, l.Parents) || !slices.Equal(old.Via, l.Via)) {
			cone[id], level = true, append(level, id)
		}
	}
	for len(level) > 0 {
		slices.Sort(level)
		children, err := r.src.Children(level)
		if err != nil {
			return err
		}
		level = nil
		for _, id := range children {
			if !cone[id] {
				cone[id], level = true, append(level, id)
			}
		}
	}
	if err := r.some(maps.Clone(cone)); err != nil {
		return err
	}
	sources := map[string]bool{}
	for id := range cone {
		l := r.lot(id)
		r.cone = append(r.cone, l)
		addSources(sources, l)
	}
	slices.SortFunc(r.cone, compareLots)
	for id := range r.lots {
		delete(sources, id)
	}
	return r.some(sources)
}

// remix mixes the lots of the cone again, those first that opened first. One
// whose sources haven't changed stays.
func (r *redo) remix() error {
	direct := make([]map[Parent]unit.Mass, len(r.cone))
	for i, l := range r.cone {
		direct[i] = r.direct(l)
	}
	changed := map[string]bool{}
	for i, l := range r.cone {
		if l.Withdrawn || !r.shaped[l.ID] && !slices.ContainsFunc(slices.Concat(l.Parents, l.Via), func(p Parent) bool { return changed[p.Lot] }) {
			continue
		}
		x := newMixer()
		for p, m := range direct[i] {
			if p.Lot == "" {
				x.origin(p.Origin, m)
			} else {
				x.lot(r.lot(p.Lot), m)
			}
		}
		for _, v := range l.Via {
			x.lot(r.lot(v.Lot), v.Mass)
		}
		mixed, err := x.mixed(l)
		if err != nil {
			return err
		}
		if old, ok := r.stored[l.ID]; !ok || !sameMix(old, mixed) {
			changed[l.ID] = true
		}
		r.lots[l.ID] = mixed
	}
	return nil
}

// direct returns the parents of l without what came by lots under way.
func (r *redo) direct(l Lot) map[Parent]unit.Mass {
	out := map[Parent]unit.Mass{}
	for _, p := range l.Parents {
		out[Parent{Lot: p.Lot, Origin: p.Origin}] = p.Mass
	}
	for _, v := range l.Via {
		way := r.stored[v.Lot]
		if now, ok := r.lots[v.Lot]; ok && r.shaped[l.ID] {
			way = now
		}
		for _, p := range through(way, v.Mass) {
			key := Parent{Lot: p.Lot, Origin: p.Origin}
			if out[key] -= p.Mass; out[key] == 0 {
				delete(out, key)
			}
		}
	}
	return out
}

// sameMix reports whether what descends from a need not be mixed again for b.
func sameMix(a, b Lot) bool {
	return a.Depth == b.Depth && slices.Equal(a.Shares, b.Shares) && slices.Equal(a.Parents, b.Parents)
}
