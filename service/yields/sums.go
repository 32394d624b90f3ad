package yields

import (
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Feed is one material in one feeding.
type Feed struct {
	ID       string // of the feeding; its materials share it
	At       time.Time
	Bedding  bool // counts apart from what is meant as feed
	Wet      unit.Mass
	Moisture Moisture
}

// Harvest is what one harvest took out of a bin.
type Harvest struct {
	ID       string
	At       time.Time
	Full     bool // emptied the bin of castings, and so closes a window
	Wet      unit.Mass
	Moisture Moisture  // of what was taken out and of what was put back
	PutBack  unit.Mass // wet material of this harvest returned to the bin
}

// Castings returns the wet mass that left the bin for good: what was taken out
// less what was put back, and never less than nothing.
func (h Harvest) Castings() unit.Mass { return max(0, h.Wet-h.PutBack) }

// Dry is a sum of dry matter. The zero Dry is the sum of no records.
type Dry struct {
	Mass    unit.Mass // of the records whose moisture is known
	Unknown bool      // some record had no moisture, so Mass falls short
	Basis   string    // the least sure moisture in the sum; "" for no records
}

func (d Dry) plus(e Dry) Dry {
	return Dry{d.Mass + e.Mass, d.Unknown || e.Unknown, lessSure(d.Basis, e.Basis)}
}

// Figure returns the dry matter in kg, with the least sure moisture in it as
// basis; none ("moisture-unknown") when a moisture is missing.
func (d Dry) Figure() unit.Figure {
	switch {
	case d.Unknown:
		return unit.None("kg", "moisture-unknown")
	case d.Basis == "":
		return unit.Of(0, "kg", "no-records")
	}
	return unit.Of(d.Mass.Kilograms(), "kg", d.Basis+"-moisture")
}

func dryOf(wet unit.Mass, m Moisture) Dry {
	if wet == 0 {
		return Dry{}
	}
	mass, known := m.Dry(wet)
	if !known {
		return Dry{Unknown: true}
	}
	return Dry{Mass: mass, Basis: lessSure("", m.Basis)}
}

// lessSure returns the less sure of two bases. One that isn't listed is as
// unsure as a default.
func lessSure(a, b string) string {
	order := []string{"", Measured, Material, Default}
	rank := func(basis string) int {
		if i := slices.Index(order, basis); i >= 0 {
			return i
		}
		return len(order) - 1
	}
	return order[max(rank(a), rank(b))]
}

// Sums is what went into a bin and what came out of it. All of it is in whole
// milligrams, so that Plus gives the same in any order.
type Sums struct {
	FeedWet     unit.Mass // without bedding
	BeddingWet  unit.Mass
	CastingsWet unit.Mass // less what was put back
	FeedDry     Dry
	BeddingDry  Dry
	CastingsDry Dry
}

// Plus returns the sums of both.
func (a Sums) Plus(b Sums) Sums {
	return Sums{
		FeedWet:     a.FeedWet + b.FeedWet,
		BeddingWet:  a.BeddingWet + b.BeddingWet,
		CastingsWet: a.CastingsWet + b.CastingsWet,
		FeedDry:     a.FeedDry.plus(b.FeedDry),
		BeddingDry:  a.BeddingDry.plus(b.BeddingDry),
		CastingsDry: a.CastingsDry.plus(b.CastingsDry),
	}
}

func (f Feed) sums() Sums {
	if f.Bedding {
		return Sums{BeddingWet: f.Wet, BeddingDry: dryOf(f.Wet, f.Moisture)}
	}
	return Sums{FeedWet: f.Wet, FeedDry: dryOf(f.Wet, f.Moisture)}
}

func (h Harvest) sums() Sums {
	wet := h.Castings()
	return Sums{CastingsWet: wet, CastingsDry: dryOf(wet, h.Moisture)}
}
