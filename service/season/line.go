package season

import (
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// Line is what happened in a group of bins: those of a member, a site or a
// species, one bin, or all.
type Line struct {
	Key     string        // id of what the line is about; empty in the total
	Bins    int           // kept in a part of the period
	Fed     yields.Sums   // fed and harvested in the period itself
	Weighed unit.Mass     // how much of Fed.FeedWet was weighed
	Batches []string      // ids of the batches its harvests went to
	Windows int           // how many windows a full harvest closed in the period
	Closed  yields.Sums   // fed and harvested in those windows, which may have opened earlier
	Yields  yields.Yields // of Closed: a ratio of sums
	Rate    Rate
	Stock   Stock
	trail   []binTrail
}

// Stock is live worms in the book at both ends of the period, all species
// together.
type Stock struct {
	Start, End unit.Mass
}

// Change returns what the stock gained, or lost when negative.
func (s Stock) Change() unit.Mass { return s.End - s.Start }

// MaterialLine is what was fed of one material.
type MaterialLine struct {
	Key     string      // id of the material
	Fed     yields.Sums // without castings
	Weighed unit.Mass   // how much of Fed.FeedWet was weighed
}

// FedDry returns the dry matter of the feed in kg, without bedding; none
// ("moisture-unknown") when a moisture is missing.
func (l Line) FedDry() unit.Figure { return l.Fed.FeedDry.Figure() }

// CastingsDry returns the dry matter of the castings harvested in the period in
// kg; none ("moisture-unknown") when a moisture is missing.
func (l Line) CastingsDry() unit.Figure { return l.Fed.CastingsDry.Figure() }

// WeighedShare returns the share of the feed that was weighed, in percent of
// wet mass; none ("no-feed") when nothing was fed.
func (l Line) WeighedShare() unit.Figure { return share(l.Weighed, l.Fed.FeedWet, "no-feed") }

// FedDry returns the dry matter fed of the material in kg, without what went in
// as bedding; none ("moisture-unknown") when a moisture is missing.
func (l MaterialLine) FedDry() unit.Figure { return l.Fed.FeedDry.Figure() }

// WeighedShare returns the share of the feed that was weighed, in percent of
// wet mass; none ("no-feed") when nothing was fed.
func (l MaterialLine) WeighedShare() unit.Figure { return share(l.Weighed, l.Fed.FeedWet, "no-feed") }

func share(part, whole unit.Mass, reason string) unit.Figure {
	if whole <= 0 {
		return unit.None("%", reason)
	}
	return unit.Of(100*float64(part)/float64(whole), "%", "recorded")
}

func fedSums(x Feed) yields.Sums {
	if x.Bedding {
		return yields.Sums{BeddingWet: x.Wet, BeddingDry: dryOf(x.Wet, x.Moisture)}
	}
	return yields.Sums{FeedWet: x.Wet, FeedDry: dryOf(x.Wet, x.Moisture)}
}

// weighed returns how much of the feed was weighed; bedding doesn't count.
func weighed(x Feed) unit.Mass {
	if x.Bedding || !x.Weighed {
		return 0
	}
	return x.Wet
}

func harvestSums(h Harvest) yields.Sums {
	return yields.Sums{CastingsWet: h.Castings(), CastingsDry: dryOf(h.Castings(), h.Moisture)}
}

// dryOf returns the dry matter in a wet mass; nothing has none, whatever its
// moisture.
func dryOf(wet unit.Mass, m yields.Moisture) yields.Dry {
	if wet == 0 {
		return yields.Dry{}
	}
	mass, known := m.Dry(wet)
	if !known {
		return yields.Dry{Unknown: true}
	}
	return yields.Dry{Mass: mass, Basis: m.Basis}
}
