package lineage

import (
	"cmp"
	"maps"
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// source is one giver in an entry: a place, or an origin outside.
type source struct {
	place  Place  // zero for an origin
	origin string // set for an origin only
}

func compareSources(a, b source) int {
	return cmp.Or(cmp.Compare(a.origin, b.origin), comparePlaces(a.place, b.place))
}

// flow is what an entry does to one species: who gives how much, and which
// places gain and lose how much.
type flow struct {
	given  map[source]unit.Mass // by places and origins, positive
	gained map[Place]unit.Mass  // positive
	lost   map[Place]unit.Mass  // positive
}

// flows sorts the postings of e by species.
func flows(e journal.Entry) map[string]flow {
	out := map[string]flow{}
	for _, p := range e.Postings {
		species, ok := p.Commodity.Species()
		if !ok {
			continue
		}
		if out[species].given == nil {
			out[species] = flow{map[source]unit.Mass{}, map[Place]unit.Mass{}, map[Place]unit.Mass{}}
		}
		out[species].add(p)
	}
	return out
}

func (f flow) add(p journal.Posting) {
	place, ok := placeOf(p)
	switch {
	case ok && p.Amount > 0:
		f.gained[place] += p.Amount
	case ok:
		f.lost[place] -= p.Amount
		f.given[source{place: place}] -= p.Amount
	case p.Account.Kind == journal.Outside && p.Amount < 0:
		f.given[source{origin: known(p.Origin)}] -= p.Amount
	}
}

// places lists the places that f changes, sorted.
func (f flow) places() []Place {
	all := maps.Clone(f.gained)
	maps.Copy(all, f.lost)
	return slices.SortedFunc(maps.Keys(all), comparePlaces)
}

// into returns who gives what arrives in p, sorted, with the mass of each, as
// parts of the arrival in proportion to what each gives: they sum to what p
// gains. There is nobody where the gain is growth or a correction.
func (f flow) into(p Place) ([]source, []unit.Mass) {
	if f.gained[p] == 0 {
		return nil, nil
	}
	var from []source
	var mass []unit.Mass
	for _, s := range slices.SortedFunc(maps.Keys(f.given), compareSources) {
		if s.place != p {
			from, mass = append(from, s), append(mass, f.given[s])
		}
	}
	if len(from) == 0 {
		return nil, nil
	}
	return from, apportion(f.gained[p], mass)
}

// apportion divides m in proportion to the weights, none negative and not all
// zero, to whole milligrams by largest remainder, ties to the earlier.
func apportion(m unit.Mass, weights []unit.Mass) []unit.Mass {
	var total unit.Mass
	products := make([]wide, len(weights))
	for i, w := range weights {
		total += w
		products[i] = times(int64(m), int64(w))
	}
	out := make([]unit.Mass, len(weights))
	for i, q := range divide(products, int64(total), int64(m)) {
		out[i] = unit.Mass(q)
	}
	return out
}
