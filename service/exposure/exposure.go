// Package exposure traces what may have carried something along, worms or not:
// stock, castings, half-worked material, feedstock, and tools or bedding shared
// by two bins. Cocoons, mites and flatworms travel in all of it. Unlike lineage it
// knows no shares, only yes or no.
package exposure

import (
	"cmp"
	"slices"
	"time"
)

// Kind is what kind of place something stands in.
type Kind string

// The kinds of place.
const (
	Bin     Kind = "bin"
	Batch   Kind = "batch"
	Receipt Kind = "receipt" // feedstock or bedding that came in
	Way     Kind = "way"     // a leg of a transfer
	Outside Kind = "outside" // a party outside the club, by the record that says so
)

// Place is where something stands, or is under way.
type Place struct {
	Kind Kind
	Ref  string
}

// Event is one record by which something may have got from places to places. A
// contact goes both ways: its bins are on both sides. A clearing has one place to
// clear and nothing else.
type Event struct {
	At     time.Time
	Seq    int64
	Record string // id
	Why    string // kind of record: split, harvest, contact …
	From   []Place
	To     []Place
	Clears Place // zero: clears nothing
}

// Reached is a place that something may have reached, or come from, and how.
type Reached struct {
	Place
	At      time.Time // when first; of a trace back: when last
	Record  string    // by which record; empty for the start
	Why     string
	By      Place     // from which place; of a trace back: into which
	Cleared time.Time // zero: still exposed
}

// order sorts events by time, then by sequence.
func order(events []Event) []Event {
	return slices.SortedStableFunc(slices.Values(events), func(a, b Event) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Seq, b.Seq))
	})
}

// Forward returns every place that something which stood in start at since may
// have reached, start first, in the order in which they were reached. A place is
// exposed from the first arrival or contact out of a place that is exposed at that
// moment, until it is cleared; exposed again after that, it is there again. The
// cost is linear in the events.
func Forward(start Place, since time.Time, events []Event) []Reached {
	out := []Reached{{Place: start, At: since}}
	open := map[Place]int{start: 0} // index in out of places that are exposed now
	for _, e := range order(events) {
		if e.At.Before(since) {
			continue
		}
		if i, exposed := open[e.Clears]; exposed {
			out[i].Cleared = e.At
			delete(open, e.Clears)
		}
		by, found := first(e.From, func(p Place) bool { _, exposed := open[p]; return exposed })
		if !found {
			continue
		}
		for _, p := range e.To {
			if _, exposed := open[p]; !exposed {
				open[p] = len(out)
				out = append(out, Reached{Place: p, At: e.At, Record: e.Record, Why: e.Why, By: by})
			}
		}
	}
	return out
}

// Back returns every place that something which stands in start at until may have
// come from, start first, the latest first, no further back than from. What a
// place got before it was cleared doesn't count.
func Back(start Place, until, from time.Time, events []Event) []Reached {
	out := []Reached{{Place: start, At: until}}
	open := map[Place]bool{start: true} // places whose earlier arrivals count
	seen := map[Place]bool{start: true}
	for _, e := range slices.Backward(order(events)) {
		if e.At.After(until) || e.At.Before(from) {
			continue
		}
		into, found := first(e.To, func(p Place) bool { return open[p] })
		if found {
			for _, p := range e.From {
				open[p] = true
				if !seen[p] {
					seen[p] = true
					out = append(out, Reached{Place: p, At: e.At, Record: e.Record, Why: e.Why, By: into})
				}
			}
		}
		delete(open, e.Clears)
	}
	return out
}

func first(places []Place, is func(Place) bool) (Place, bool) {
	if i := slices.IndexFunc(places, is); i >= 0 {
		return places[i], true
	}
	return Place{}, false
}
