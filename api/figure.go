package api

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// Figure is a number that was worked out, or null with the reason why there is
// none.
type Figure struct {
	Value  *float64 `json:"value" example:"0.42" extensions:"x-nullable" validate:"required"`
	Low    *float64 `json:"low" example:"0.3" extensions:"x-nullable" validate:"required"`
	High   *float64 `json:"high" example:"0.58" extensions:"x-nullable" validate:"required"`
	Level  *float64 `json:"level" example:"0.95" extensions:"x-nullable" validate:"required"` // how surely it lies between low and high; null: no interval
	Unit   string   `json:"unit" example:"kg/kg/d" validate:"required"`                       // UCUM code
	Basis  *string  `json:"basis" example:"by-eye" extensions:"x-nullable" validate:"required"`
	Reason *string  `json:"reason" example:"no-leftover-record" extensions:"x-nullable" validate:"required"` // why value is null
	Flags  []string `json:"flags" example:"outside-published-range" validate:"required"`                     // what to doubt it for
}

// figureOf is a figure in the units that it is read in. It is the only place where
// figures change units.
func figureOf(f unit.Figure, in unit.System) Figure {
	f = f.In(in)
	out := Figure{Unit: f.Unit, Basis: orNull(f.Basis), Reason: orNull(f.Reason), Flags: append([]string{}, f.Flags...)}
	if !f.Known {
		return out
	}
	out.Value = &f.Value
	if f.Level > 0 {
		out.Low, out.High, out.Level = &f.Low, &f.High, &f.Level
	}
	return out
}

// censusFigure is what a census found, in g. Both ways of a census give its
// 95 % interval.
func censusFigure(c service.Census, in unit.System) Figure {
	basis := "keeper"
	if len(c.Samples) > 0 {
		basis = "census"
	}
	return figureOf(unit.Of(c.Mass.Grams(), "g", basis).Within(c.Low.Grams(), c.High.Grams(), 0.95), in)
}

// Sums is what went into bins and what came out. The dry matter of what was fed
// and harvested can't be had where a moisture is missing.
type Sums struct {
	FeedG       float64 `json:"feed_g" example:"42000" validate:"required"` // wet, without bedding
	BeddingG    float64 `json:"bedding_g" example:"6000" validate:"required"`
	CastingsG   float64 `json:"castings_g" example:"9000" validate:"required"` // wet, less what was put back
	FeedDry     Figure  `json:"feed_dry" validate:"required"`                  // kg
	BeddingDry  Figure  `json:"bedding_dry" validate:"required"`               // kg
	CastingsDry Figure  `json:"castings_dry" validate:"required"`              // kg
}

func sumsOf(s yields.Sums, in unit.System) Sums {
	return Sums{
		FeedG: s.FeedWet.Grams(), BeddingG: s.BeddingWet.Grams(), CastingsG: s.CastingsWet.Grams(),
		FeedDry: figureOf(s.FeedDry.Figure(), in), BeddingDry: figureOf(s.BeddingDry.Figure(), in), CastingsDry: figureOf(s.CastingsDry.Figure(), in),
	}
}

// Yields is castings per feed, kg by kg.
type Yields struct {
	Wet            Figure `json:"wet" validate:"required"`
	Dry            Figure `json:"dry" validate:"required"`
	WetWithBedding Figure `json:"wet_with_bedding" validate:"required"`
	DryWithBedding Figure `json:"dry_with_bedding" validate:"required"`
}

func yieldsOf(y yields.Yields, in unit.System) Yields {
	return Yields{figureOf(y.Wet, in), figureOf(y.Dry, in), figureOf(y.WetWithBedding, in), figureOf(y.DryWithBedding, in)}
}
