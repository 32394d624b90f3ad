package lineage

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Course is how much of the stock in bins descended from some origins, moment
// by moment.
type Course struct {
	places  map[Place]*run
	origins map[string]bool
}

// run is what was posted in a place and which lots stood there, both in order.
type run struct {
	lines []journal.Line
	lots  []Lot
}

// Level is how much there is from a moment on.
type Level struct {
	At   time.Time
	Mass unit.Mass
}

// Follow returns the course of what descends from origins, from the journal and
// the lots of their species, in any order. Entries that are reversed, and
// withdrawn lots, don't count.
func Follow(entries []journal.Entry, lots []Lot, origins map[string]bool) Course {
	c := Course{map[Place]*run{}, origins}
	for _, l := range lots {
		if l.Withdrawn || l.Place.Bin == "" {
			continue
		}
		if c.places[l.Place] == nil {
			c.places[l.Place] = &run{}
		}
		c.places[l.Place].lots = append(c.places[l.Place].lots, l)
	}
	ledger := journal.Ledger{}
	for p := range c.places {
		ledger[bookOf(p)] = nil
	}
	ledger.Add(entries...)
	for p, r := range c.places {
		r.lines = slices.DeleteFunc(ledger[bookOf(p)], func(l journal.Line) bool { return l.Void })
		slices.SortFunc(r.lots, compareLots)
	}
	return c
}

func bookOf(p Place) journal.Book {
	return journal.Book{Account: journal.Bin(p.Bin), Commodity: journal.Worms(p.Species)}
}

// Parts returns how much of what stands in a place at the end of a moment
// descends from the origins, of One.
func (c Course) Parts(p Place, at time.Time) int64 {
	r, ok := c.places[p]
	if !ok {
		return 0
	}
	return r.parts(at, c.origins)
}

func (r *run) parts(at time.Time, origins map[string]bool) int64 {
	i, _ := slices.BinarySearchFunc(r.lots, at, func(l Lot, at time.Time) int {
		return cmp.Or(l.OpenedAt.Compare(at), -1) // those that opened at that moment count
	})
	if i == 0 {
		return 0
	}
	var parts int64
	for _, s := range r.lots[i-1].Shares {
		if origins[s.Origin] {
			parts += s.Parts
		}
	}
	return parts
}

// Book returns what stands in a place at the end of a moment.
func (c Course) Book(p Place, at time.Time) unit.Mass {
	r, ok := c.places[p]
	if !ok {
		return 0
	}
	return journal.Level(r.lines, at)
}

// Levels returns how much descended from the origins in all bins together, each
// time that it changed, in order.
func (c Course) Levels() []Level {
	changes := map[time.Time]unit.Mass{}
	for _, r := range c.places {
		var book, before unit.Mass
		for i, l := range r.lines {
			book += l.Amount
			if i+1 < len(r.lines) && r.lines[i+1].Effective.Equal(l.Effective) {
				continue
			}
			after := PartOf(book, r.parts(l.Effective, c.origins))
			changes[l.Effective.UTC()] += after - before
			before = after
		}
	}
	var out []Level
	var mass unit.Mass
	for _, at := range slices.SortedFunc(maps.Keys(changes), time.Time.Compare) {
		if changes[at] == 0 {
			continue
		}
		mass += changes[at]
		out = append(out, Level{at, mass})
	}
	return out
}
