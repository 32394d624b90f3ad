package api

import "lumbricary.example/service"

// Price is what a sale costs: a total, a price for each stated unit, or both.
// Payment is settled elsewhere.
type Price struct {
	TotalMinor *int64  `json:"total_minor" example:"1250" minimum:"0" extensions:"x-nullable"` // minor units of the currency; left out: unit_minor times the quantity
	UnitMinor  *int64  `json:"unit_minor" example:"5000" minimum:"0" extensions:"x-nullable"`  // for each unit
	Unit       *string `json:"unit" example:"kg" extensions:"x-nullable"`                      // UCUM code, as kg or {worms}
	Currency   string  `json:"currency" example:"EUR" validate:"required"`                     // ISO 4217
}

func (p *Price) price() service.Price {
	if p == nil {
		return service.Price{}
	}
	out := service.Price{TotalMinor: p.TotalMinor, UnitMinor: p.UnitMinor, Currency: p.Currency}
	if p.Unit != nil {
		out.Unit = *p.Unit
	}
	return out
}

// priceOf shows a price; null where there is none, or it isn't for the caller.
func priceOf(p service.Price) *Price {
	if p == (service.Price{}) {
		return nil
	}
	return &Price{p.TotalMinor, p.UnitMinor, orNull(p.Unit), p.Currency}
}
