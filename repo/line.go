package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// lineJSON is a line of a movement or a harvest as a JSON column holds it. Its
// names stay, whatever becomes of those of service.Line.
type lineJSON struct {
	FromBin      string        `json:"from_bin,omitempty"`
	Origin       string        `json:"origin,omitempty"`
	Species      string        `json:"species,omitempty"`
	Typed        measureJSON   `json:"typed"`
	SizeClass    string        `json:"size_class,omitempty"`
	DensityGPerL float64       `json:"density_g_per_l,omitempty"`
	SampleMg     float64       `json:"sample_mg,omitempty"`
	MoisturePct  *unit.Percent `json:"moisture_pct,omitempty"`
	BookedMg     *unit.Mass    `json:"booked_mg,omitempty"`
	MassMg       int64         `json:"mass_mg"`
	Basis        string        `json:"basis,omitempty"`
	Worms        int64         `json:"worms,omitempty"`
	CV           float64       `json:"cv,omitempty"`
	MeanMg       float64       `json:"mean_mg,omitempty"`
	MeanBasis    string        `json:"mean_basis,omitempty"`
	FromBatch    string        `json:"from_batch,omitempty"`
	Castings     bool          `json:"castings,omitempty"`
	Material     bool          `json:"material,omitempty"`
	DeadMg       int64         `json:"dead_mg,omitempty"`
	WeightLostMg int64         `json:"weight_lost_mg,omitempty"`
	MissingMg    int64         `json:"missing_mg,omitempty"`
	ReturnedMg   int64         `json:"returned_mg,omitempty"`
}

func lineToJSON(l service.Line) lineJSON {
	return lineJSON{
		FromBin:      string(l.FromBin),
		Origin:       string(l.Origin),
		Species:      string(l.Species),
		Typed:        measureToJSON(l.Typed),
		SizeClass:    string(l.SizeClass),
		DensityGPerL: l.Density,
		SampleMg:     l.SampleMg,
		MoisturePct:  l.Moisture,
		BookedMg:     l.Booked,
		MassMg:       int64(l.Mass),
		Basis:        l.Basis,
		Worms:        int64(l.Worms),
		CV:           l.CV,
		MeanMg:       l.MeanMg,
		MeanBasis:    l.MeanBasis,
		FromBatch:    string(l.FromBatch),
		Castings:     l.Castings,
		Material:     l.Material,
		DeadMg:       int64(l.Dead),
		WeightLostMg: int64(l.WeightLost),
		MissingMg:    int64(l.Missing),
		ReturnedMg:   int64(l.Returned),
	}
}

func lineFromJSON(l lineJSON) service.Line {
	return service.Line{
		FromBin:   service.BinID(l.FromBin),
		Origin:    service.OriginID(l.Origin),
		Species:   service.SpeciesID(l.Species),
		Typed:     measureFromJSON(l.Typed),
		SizeClass: quantity.SizeClass(l.SizeClass),
		Density:   l.DensityGPerL,
		SampleMg:  l.SampleMg,
		Moisture:  l.MoisturePct,
		Booked:    l.BookedMg,
		Mass:      unit.Mass(l.MassMg),
		Basis:     l.Basis,
		Worms:     unit.Count(l.Worms),
		CV:        l.CV,
		MeanMg:    l.MeanMg,
		MeanBasis: l.MeanBasis,

		FromBatch:  service.BatchID(l.FromBatch),
		Castings:   l.Castings,
		Material:   l.Material,
		Dead:       unit.Mass(l.DeadMg),
		WeightLost: unit.Mass(l.WeightLostMg),
		Missing:    unit.Mass(l.MissingMg),
		Returned:   unit.Mass(l.ReturnedMg),
	}
}
