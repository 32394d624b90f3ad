package season

import (
	"slices"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// Facts is what a club recorded, as far as it bears on a period. Records that
// were voided or reversed, and the reversals, are left out.
type Facts struct {
	Period    Period
	AsOf      time.Time // now, while the period runs; zero or later than its end: the end
	Bins      []BinFacts
	Movements []Movement
	Receipts  []Receipt
}

// BinFacts is the history of one bin. Feeds, Harvests and Leftovers reach back
// to its start, or at least to the last full harvest before the period, that
// one included: a window that closes in the period opened there, and an old
// feeding may still be left. What is dated outside the period is sorted out
// here. Anchors and Jumps may lie outside it, on both sides.
type BinFacts struct {
	ID           string
	Site, Member string // ids; the member who answers for the bin
	Started      time.Time
	Retired      time.Time // zero: in use
	MeanWormMg   float64   // mean mass of a worm in mg; 0: unknown
	Feeds        []Feed
	Harvests     []Harvest
	Leftovers    []rates.Leftover
	Checked      []time.Time // moments of all its checks in the period
	Anchors      []rates.Anchor
	Jumps        []rates.Jump
	Stock        []SpeciesStock // every species with stock at any time of the period
	Added        *Added         // when it is known without Feeds and Harvests; nil: they are added up
}

// Added is what was fed to a bin and harvested from it in the period.
type Added struct {
	Records   int64 // how many it is from
	Fed       yields.Sums
	Weighed   unit.Mass      // how much of Fed.FeedWet was weighed
	Materials []MaterialLine // in any order; those of one material are added
}

// Feed is one material of a feeding.
type Feed struct {
	rates.Feed
	Material string // id
	Weighed  bool   // false: by volume or by eye
}

// Harvest is what was taken out of a bin, and the batch it went to.
type Harvest struct {
	yields.Harvest
	Batch string // id; empty: none
}

// SpeciesStock is the book of one species at both ends of the period.
type SpeciesStock struct {
	Species string // id
	Start   unit.Mass
	End     unit.Mass
}

// Movement is one quantity of an entry in the journal: worms of a species, or
// the dry matter of castings. An entry of several quantities gives one Movement
// each, with the same id and its price on the first.
type Movement struct {
	ID       string
	At       time.Time
	Kind     string // of the entry, as "hand-over" or "loss"
	Species  string // id; empty: castings
	Mass     unit.Mass
	From, To string    // ids of the members who kept it before and after; empty: nobody in the club
	Outside  bool      // an outside party is at the empty end
	Terms    string    // sale, swap, gift, loan; empty: no transfer
	Price    int64     // in minor units of Currency
	Currency string    // ISO 4217; empty: no price
	SeenDead unit.Mass // of Mass: worms seen dead
	Lost     unit.Mass // of Mass: shortfall, escaped, written off
}

// Receipt is feedstock or bedding that came in.
type Receipt struct {
	ID       string
	At       time.Time
	Material string // id
	Member   string // id of who took it in
	Bedding  bool
	Net      unit.Mass // gross less tare, before rejection
	Rejected unit.Mass
	Residue  unit.Mass // taken in, and thrown out later
	Weighed  bool
}

// asOf returns the moment up to which the period is known.
func (f Facts) asOf() time.Time {
	if f.AsOf.IsZero() || f.AsOf.After(f.Period.To) {
		return f.Period.To
	}
	return f.AsOf
}

// active says whether the bin was kept in a part of p.
func (b BinFacts) active(p Period) bool {
	return b.Started.Before(p.To) && (b.Retired.IsZero() || b.Retired.After(p.From))
}

// feeds lists what was fed in p.
func (b BinFacts) feeds(p Period) []Feed {
	return within(b.Feeds, p, func(x Feed) time.Time { return x.At })
}

// harvests lists what was harvested in p.
func (b BinFacts) harvests(p Period) []Harvest {
	return within(b.Harvests, p, func(h Harvest) time.Time { return h.At })
}

// added returns what was fed and harvested in p.
func (b BinFacts) added(p Period) Added {
	if b.Added != nil {
		return *b.Added
	}
	var a Added
	for _, x := range b.feeds(p) {
		a.AddFeed(1, MaterialLine{Key: x.Material, Fed: fedSums(x), Weighed: weighed(x)})
	}
	for _, h := range b.harvests(p) {
		a.AddHarvest(1, harvestSums(h))
	}
	return a
}

// AddFeed adds what so many records say was fed of a material.
func (a *Added) AddFeed(records int64, l MaterialLine) {
	a.Records += records
	a.Fed = a.Fed.Plus(l.Fed)
	a.Weighed += l.Weighed
	a.Materials = append(a.Materials, l)
}

// AddHarvest adds what so many harvests gave.
func (a *Added) AddHarvest(records int64, castings yields.Sums) {
	a.Records += records
	a.Fed = a.Fed.Plus(castings)
}

// leftovers lists the records of p that say something of what is left.
func (b BinFacts) leftovers(p Period) []rates.Leftover {
	in := within(b.Leftovers, p, func(l rates.Leftover) time.Time { return l.At })
	return slices.DeleteFunc(in, func(l rates.Leftover) bool { return l.All == nil && len(l.Of) == 0 })
}

// dated says whether something is dated inside p.
func (b BinFacts) dated(p Period) bool {
	anchors := within(b.Anchors, p, func(a rates.Anchor) time.Time { return a.At })
	jumps := within(b.Jumps, p, func(j rates.Jump) time.Time { return j.At })
	return b.added(p).Records > 0 || len(b.leftovers(p))+len(anchors)+len(jumps) > 0
}

// windows lists what lies between two full harvests of the bin.
func (b BinFacts) windows() []yields.Window {
	feeds := make([]yields.Feed, 0, len(b.Feeds))
	for _, x := range b.Feeds {
		feeds = append(feeds, yields.Feed(x.Feed))
	}
	harvests := make([]yields.Harvest, 0, len(b.Harvests))
	for _, h := range b.Harvests {
		harvests = append(harvests, h.Harvest)
	}
	return yields.Windows(b.Started, feeds, harvests)
}

// Keys of the rows of bins that hold not exactly one species.
const (
	NoSpecies      = "none"
	SeveralSpecies = "several"
)

// species returns the row that the bin counts under by species.
func (b BinFacts) species() string {
	switch {
	case len(b.Stock) == 0:
		return NoSpecies
	case slices.ContainsFunc(b.Stock, func(s SpeciesStock) bool { return s.Species != b.Stock[0].Species }):
		return SeveralSpecies
	}
	return b.Stock[0].Species
}
