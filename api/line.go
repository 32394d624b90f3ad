package api

import (
	"lumbricary.example/service"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// NewLine is one quantity of a movement: worms of a species out of a bin or from
// an origin, or castings.
type NewLine struct {
	FromBin      string   `json:"from_bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`              // left out: from outside, or castings
	Origin       string   `json:"origin,omitempty" example:"01970000-0000-7000-8000-000000000015" format:"uuid"`                // where worms from outside come from; left out: nobody knows
	Species      string   `json:"species,omitempty" example:"eisenia-fetida"`                                                   // left out: the only one there; of a share: every one
	Quantity     Quantity `json:"quantity" units:"mass count share volume" validate:"required"`                                 // a mass, {worms}, % of the bin by eye, or a volume
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // gives the mass of a worm to a count
	DensityGPerL float64  `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // worms in a litre, for a volume
	SampleMg     float64  `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm of this hand-over, for a count
	MoisturePct  *float64 `json:"moisture_pct" example:"62" minimum:"0" maximum:"99.9" extensions:"x-nullable"`                 // of castings, measured; left out: as harvested
}

func (n NewLine) line() service.Line {
	return service.Line{
		FromBin: service.BinID(n.FromBin), Origin: service.OriginID(n.Origin), Species: service.SpeciesID(n.Species),
		Typed: n.Quantity.measure(), SizeClass: quantity.SizeClass(n.SizeClass), Density: n.DensityGPerL, SampleMg: n.SampleMg, Moisture: (*unit.Percent)(n.MoisturePct),
	}
}

// NewWorms is worms that a harvest takes out.
type NewWorms struct {
	Species      string   `json:"species,omitempty" example:"eisenia-fetida"`                                                   // left out: the only one there; of a share: every one
	Quantity     Quantity `json:"quantity" units:"mass count share volume" validate:"required"`                                 // a mass, {worms}, % of the bin by eye, or a volume
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // gives the mass of a worm to a count
	DensityGPerL float64  `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // worms in a litre, for a volume
	SampleMg     float64  `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm of this hand-over, for a count
}

func (n NewWorms) line() service.Line {
	return service.Line{
		Species: service.SpeciesID(n.Species), Typed: n.Quantity.measure(),
		SizeClass: quantity.SizeClass(n.SizeClass), Density: n.DensityGPerL, SampleMg: n.SampleMg,
	}
}

// Line is one quantity: what was typed, and what it was booked as.
type Line struct {
	FromBin      *string  `json:"from_bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"`
	Origin       *string  `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"`
	Species      *string  `json:"species" example:"eisenia-fetida" extensions:"x-nullable" validate:"required"` // null: castings or material
	Quantity     Quantity `json:"quantity" validate:"required"`                                                 // as typed
	SizeClass    *string  `json:"size_class" example:"bed-run" extensions:"x-nullable" validate:"required"`
	DensityGPerL *float64 `json:"density_g_per_l" example:"30" extensions:"x-nullable" validate:"required"`
	SampleMg     *float64 `json:"sample_mg" example:"410" extensions:"x-nullable" validate:"required"`
	MoisturePct  *float64 `json:"moisture_pct" example:"62" extensions:"x-nullable" validate:"required"`
	MassG        float64  `json:"mass_g" example:"205" validate:"required"` // as booked; castings as dry matter
	Basis        string   `json:"basis" example:"count" enums:"weighed,count,by-eye,volume" validate:"required"`
	CV           *float64 `json:"cv" example:"0.35" extensions:"x-nullable" validate:"required"`     // coefficient of variation of mass_g; null: not known
	Worms        *int64   `json:"worms" example:"500" extensions:"x-nullable" validate:"required"`   // where they were counted
	MeanMg       *float64 `json:"mean_mg" example:"410" extensions:"x-nullable" validate:"required"` // the mass of a worm that made the count a mass
	MeanBasis    *string  `json:"mean_basis" example:"weighed-sample" enums:"weighed-sample,census,size-class,species" extensions:"x-nullable" validate:"required"`
	FromBatch    *string  `json:"from_batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"` // of a transfer's castings
	Castings     bool     `json:"castings" example:"false" validate:"required"`
	Material     bool     `json:"material" example:"false" validate:"required"`                          // half-worked material of a transfer, which has no book
	DeadG        *float64 `json:"dead_g" example:"10" extensions:"x-nullable" validate:"required"`       // of an arrival, beside mass_g: seen dead
	WeightLostG  *float64 `json:"weight_lost_g" example:"5" extensions:"x-nullable" validate:"required"` // water and gut; negative: gained
	MissingG     *float64 `json:"missing_g" example:"15" extensions:"x-nullable" validate:"required"`    // did not arrive
	ReturnedG    *float64 `json:"returned_g" example:"20" extensions:"x-nullable" validate:"required"`   // went back to where it came from
}

func linesOf(lines []service.Line) []Line {
	out := make([]Line, 0, len(lines))
	for _, l := range lines {
		out = append(out, Line{
			FromBin: orNull(string(l.FromBin)), Origin: orNull(string(l.Origin)), Species: orNull(string(l.Species)),
			Quantity: quantityOf(l.Typed), SizeClass: orNull(string(l.SizeClass)), DensityGPerL: orNull(l.Density),
			SampleMg: orNull(l.SampleMg), MoisturePct: (*float64)(l.Moisture), MassG: l.Mass.Grams(), Basis: l.Basis, CV: orNull(l.CV),
			Worms: orNull(int64(l.Worms)), MeanMg: orNull(l.MeanMg), MeanBasis: orNull(l.MeanBasis),
			FromBatch: orNull(string(l.FromBatch)), Castings: l.Castings || l.Species == "" && !l.Material, Material: l.Material,
			DeadG: gramsOrNull(l.Dead), WeightLostG: gramsOrNull(l.WeightLost), MissingG: gramsOrNull(l.Missing), ReturnedG: gramsOrNull(l.Returned),
		})
	}
	return out
}
