package balance

import (
	"cmp"
	"maps"
	"math"
	"math/bits"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Amount is castings: what they weigh as they are, and without their water.
type Amount struct{ Wet, Dry unit.Mass }

func (a Amount) plus(b Amount) Amount { return Amount{a.Wet + b.Wet, a.Dry + b.Dry} }

func (a Amount) minus(b Amount) Amount { return Amount{a.Wet - b.Wet, a.Dry - b.Dry} }

// Flow is why castings came into a batch or went out of it.
type Flow string

// The flows.
const (
	Harvested   Flow = "harvested"
	ReworkedIn  Flow = "reworked-in"
	Arrived     Flow = "arrived" // in any other way
	ReworkedOut Flow = "reworked-out"
	Sold        Flow = "sold"
	Swapped     Flow = "swapped"
	Given       Flow = "given"
	HandedOver  Flow = "handed-over" // on terms that nobody told
	Used        Flow = "used"
	Spoiled     Flow = "spoiled"
	Left        Flow = "left"  // in any other way
	Dried       Flow = "dried" // water alone: a moisture was measured
)

// In and Out list the flows of dry matter.
func In() []Flow { return []Flow{Harvested, ReworkedIn, Arrived} }

// Out lists the flows of dry matter out of a batch; see In.
func Out() []Flow {
	return []Flow{ReworkedOut, Sold, Swapped, Given, HandedOver, Used, Spoiled, Left}
}

// Entry is what happened to a batch. Dry is positive for what came in and
// negative for what went out; it is zero where only the moisture was measured.
type Entry struct {
	Batch    string // id
	At       time.Time
	Seq      int64
	Flow     Flow
	Dry      unit.Mass
	Wet      unit.Mass     // of what came in; or, with Dry zero, of the whole batch as weighed
	Moisture *unit.Percent // of the batch, measured then; nil: not
	Assumed  bool          // of what came in: nobody measured its moisture
}

// Contents is what a batch holds at a moment.
type Contents struct {
	Amount
	Assumed bool // nobody measured the moisture of a part at least
}

// Moisture returns the share of water in percent of wet mass: M = 100 (1 − D/W).
// Status computed. False when the batch is empty.
func (c Contents) Moisture() (unit.Percent, bool) {
	if c.Wet <= 0 {
		return 0, false
	}
	return unit.Percent(100 * float64(c.Wet-c.Dry) / float64(c.Wet)), true
}

// WetOf returns what dry matter D weighs at moisture M percent of wet mass:
// W = 100 D / (100 − M), to the milligram. M from 0 to less than 100.
func WetOf(dry unit.Mass, moisture unit.Percent) unit.Mass {
	return unit.Mass(math.Round(float64(dry) * 100 / float64(100-moisture)))
}

// apply changes the contents by an entry, and returns what moved, and by how much
// the water changed before: what comes in mixes; what goes out has the moisture of
// the whole, which a measured one replaces first.
func (c *Contents) apply(e Entry) (moved Amount, water unit.Mass) {
	if e.Dry > 0 {
		moved = Amount{max(e.Wet, e.Dry), e.Dry}
		c.Amount, c.Assumed = c.plus(moved), c.Assumed || e.Assumed
		return moved, 0
	}
	before := c.Wet
	switch {
	case c.Dry <= 0:
	case e.Moisture != nil:
		c.Wet, c.Assumed = WetOf(c.Dry, *e.Moisture), false
	case e.Dry == 0 && e.Wet >= c.Dry:
		c.Wet, c.Assumed = e.Wet, false
	}
	water = c.Wet - before
	if e.Dry < 0 {
		moved = Amount{part(c.Wet, -e.Dry, c.Dry), -e.Dry}
		c.Amount = c.minus(moved)
	}
	if c.Dry <= 0 {
		c.Assumed = false
	}
	return moved, water
}

// part returns x·a/b to the nearest milligram, all of x where a is b.
func part(x, a, b unit.Mass) unit.Mass {
	if a >= b || b <= 0 {
		return x
	}
	high, low := bits.Mul64(uint64(x), uint64(a)) //nolint:gosec // masses in a batch are never negative
	low, carry := bits.Add64(low, uint64(b)/2, 0)
	q, _ := bits.Div64(high+carry, low, uint64(b))
	return unit.Mass(q) //nolint:gosec // at most x
}

// At returns what a batch holds at the end of a moment, from its entries in any
// order.
func At(entries []Entry, at time.Time) Contents {
	var c Contents
	for _, e := range ordered(entries) {
		if !e.At.After(at) {
			c.apply(e)
		}
	}
	return c
}

func ordered(entries []Entry) []Entry {
	return slices.SortedStableFunc(slices.Values(entries), func(a, b Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Seq, b.Seq))
	})
}

// Store is what was in a batch at both ends of a period, and what moved between.
// End is Start with the flows In, less the flows Out; of the wet mass, Water is
// added too.
type Store struct {
	Batch   string // id; empty in a total
	Start   Amount
	Flows   map[Flow]Amount // without Dried; all positive
	Water   unit.Mass       // by which the wet mass changed in store; negative: it dried
	End     Amount
	Assumed bool // the wet masses rest on moistures that nobody measured, for a part at least
}

// Lost returns the dry matter that was lost in rework, as dust: what went in and
// didn't come out. It tells of a total; in one batch the two have nothing to do
// with each other.
func (s Store) Lost() unit.Mass { return s.Flows[ReworkedOut].Dry - s.Flows[ReworkedIn].Dry }

// Stores returns what happened to each batch, in the order of their ids. Batches
// that are empty from the start to the end are left out.
func Stores(entries []Entry, p Period) []Store {
	of := map[string][]Entry{}
	for _, e := range entries {
		of[e.Batch] = append(of[e.Batch], e)
	}
	var out []Store
	for _, batch := range slices.Sorted(maps.Keys(of)) {
		if s := store(batch, of[batch], p); len(s.Flows) > 0 || s.Start.Dry != 0 {
			out = append(out, s)
		}
	}
	return out
}

func store(batch string, entries []Entry, p Period) Store {
	s := Store{Batch: batch, Flows: map[Flow]Amount{}}
	var c Contents
	for _, e := range ordered(entries) {
		switch {
		case !e.At.Before(p.To):
			continue
		case e.At.Before(p.From):
			c.apply(e)
			s.Start, s.Assumed = c.Amount, c.Assumed
			continue
		}
		moved, water := c.apply(e)
		if e.Dry != 0 {
			s.Flows[e.Flow] = s.Flows[e.Flow].plus(moved)
		}
		s.Water += water
		s.Assumed = s.Assumed || c.Assumed
	}
	s.End = c.Amount
	return s
}

// SumOf adds up what happened to batches.
func SumOf(stores []Store) Store {
	sum := Store{Flows: map[Flow]Amount{}}
	for _, s := range stores {
		sum.Start, sum.End = sum.Start.plus(s.Start), sum.End.plus(s.End)
		for f, a := range s.Flows {
			sum.Flows[f] = sum.Flows[f].plus(a)
		}
		sum.Water += s.Water
		sum.Assumed = sum.Assumed || s.Assumed
	}
	return sum
}
