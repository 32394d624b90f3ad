package rates

import (
	"time"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// Feed is one material of a feeding; several may share an id.
type Feed struct {
	ID       string // of the feeding
	At       time.Time
	Bedding  bool // counts apart from what is meant as feed
	Wet      unit.Mass
	Moisture yields.Moisture
}

// Leftover is what a check saw of earlier feedings: the percentage of the dry
// matter of a feeding still to be seen. A check sees the bin as it was before
// what is fed at the same moment.
type Leftover struct {
	Check string // id of the check
	At    time.Time
	All   *unit.Percent           // of each feeding that isn't named; nil: not said
	Of    map[string]unit.Percent // by feeding id
}

// Anchor is a moment at which the stock of the bin is known: its mass before
// the arrivals and departures of the same moment. Of two at one moment the surer
// counts.
type Anchor struct {
	ID   string
	At   time.Time
	Mass unit.Mass
	CV   float64 // standard error / Mass
	Kind string  // Stocking or Census
}

// The kinds of anchor.
const (
	Stocking = "stocking" // the first stock of a bin, which held none before
	Census   = "census"
)

// Jump is an arrival (positive) or departure (negative) of worms after the
// first stocking.
type Jump struct {
	ID   string
	At   time.Time
	Mass unit.Mass
	CV   float64 // standard error / Mass
}

// Input is the history of one bin and the window to look at. Feeds and
// Leftovers reach back to the start of the bin: a feeding from before the window
// may be left in it. Anchors and Jumps may lie outside the window, on both
// sides.
type Input struct {
	From, To   time.Time // both count as inside
	Feeds      []Feed
	Leftovers  []Leftover
	Anchors    []Anchor
	Jumps      []Jump
	Surface    unit.Area // 0: unknown
	MeanWormMg float64   // mean mass of a worm in mg; 0: unknown
}

// Result is what was processed in a window, by how much worm.
type Result struct {
	ProcessedWet unit.Figure // kg feed, without bedding
	ProcessedDry unit.Figure // kg dry matter of feed, without bedding
	BeddingWet   unit.Figure // kg bedding alone
	BeddingDry   unit.Figure // kg dry matter of bedding alone
	TogetherWet  unit.Figure // kg feed and bedding
	TogetherDry  unit.Figure // kg dry matter of feed and bedding
	WormDays     unit.Figure // kg.d
	Rate         unit.Figure // kg feed per kg worms per day
	RatePerArea  unit.Figure // kg feed per m2 of surface per day
	Records      []string    // ids of what was used, in order of time
	From, To     time.Time   // the ends used: two checks, or the start of the bin and one
	trail        trail
}
