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
	Steps   int       // from the start, by the way that is told; being under way is part of a step
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
		by, found := first(e.From, open)
		if !found {
			continue
		}
		for _, p := range e.To {
			if _, exposed := open[p]; !exposed {
				open[p] = len(out)
				out = append(out, out[by].next(p, e))
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
	open := map[Place]int{start: 0} // index in out of places whose earlier arrivals count
	seen := map[Place]int{start: 0}
	for _, e := range slices.Backward(order(events)) {
		if e.At.After(until) || e.At.Before(from) {
			continue
		}
		if into, found := first(e.To, open); found {
			for _, p := range e.From {
				if _, told := seen[p]; !told {
					seen[p] = len(out)
					out = append(out, out[into].next(p, e))
				}
				open[p] = seen[p]
			}
		}
		delete(open, e.Clears)
	}
	return out
}

// next is the place p that is reached from r by e. To be under way is part of a
// step, and no step of its own.
func (r Reached) next(p Place, e Event) Reached {
	steps := r.Steps
	if r.Kind != Way || steps == 0 {
		steps++
	}
	return Reached{Place: p, At: e.At, Record: e.Record, Why: e.Why, By: r.Place, Steps: steps}
}

// Arrived leaves out of a trace the ways that ended among the events: what came
// by one is told by where it set out or, of a trace back, by where it went.
func Arrived(trace []Reached, events []Event) []Reached {
	begun, ended := map[Place]bool{}, map[Place]bool{}
	for _, e := range events {
		for _, p := range e.From {
			ended[p] = ended[p] || p.Kind == Way
		}
		for _, p := range e.To {
			begun[p] = begun[p] || p.Kind == Way
		}
	}
	by := map[Place]Place{}
	var out []Reached
	for i, r := range trace {
		if through, hidden := by[r.By]; hidden {
			r.By = through
		}
		if i > 0 && begun[r.Place] && ended[r.Place] {
			by[r.Place] = r.By
			continue
		}
		out = append(out, r)
	}
	return out
}

// first returns the index of the first of the places that is open.
func first(places []Place, open map[Place]int) (int, bool) {
	for _, p := range places {
		if i, is := open[p]; is {
			return i, true
		}
	}
	return 0, false
}
