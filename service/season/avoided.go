package season

import "lumbricary.example/service/unit"

// Factors are the emissions of food waste that is landfilled and composted, in
// tonnes of CO2 equivalent per short ton of wet waste.
type Factors struct {
	Landfilled, Composted float64
	Basis                 string // where they are from, and what else is assumed
}

// KilogramsPerShortTon is 2000 lb of 0.45359237 kg, exact.
const KilogramsPerShortTon = 907.18474

// Emissions is what was avoided by composting food waste rather than landfilling
// it, and what that was worked out from. The three masses add up to all feed.
type Emissions struct {
	Avoided unit.Figure // kg of CO2 equivalent, of Food and Own
	Food    unit.Mass   // fed of materials that are known to be food waste
	Own     unit.Mass   // of the club's own materials, taken for food waste
	LeftOut unit.Mass   // of materials that are something else, as manure
}

// Kind says whether a material is food waste.
type Kind uint8

// The kinds.
const (
	FoodWaste Kind = iota
	OwnMaterial
	OtherWaste
)

// Emit returns the emissions that feeding the materials has avoided:
//
//	E = F / 907.18474 · (l − c) · 1000
//
// in kg of CO2 equivalent, with F the food waste in kg wet, without bedding, l
// and c the factors of landfilling and composting in t per short ton. Worms are
// taken to emit what other composting does. There is none ("no-feed") where
// nothing was fed.
func Emit(fed []MaterialLine, kind func(material string) Kind, factors Factors) Emissions {
	var e Emissions
	for _, l := range fed {
		switch kind(l.Key) {
		case FoodWaste:
			e.Food += l.Fed.FeedWet
		case OwnMaterial:
			e.Own += l.Fed.FeedWet
		case OtherWaste:
			e.LeftOut += l.Fed.FeedWet
		}
	}
	if e.Food+e.Own+e.LeftOut <= 0 {
		e.Avoided = unit.None("kg", "no-feed")
		return e
	}
	kg := (e.Food + e.Own).Kilograms() / KilogramsPerShortTon * (factors.Landfilled - factors.Composted) * 1000
	e.Avoided = unit.Of(kg, "kg", factors.Basis)
	return e
}
