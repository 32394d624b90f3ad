package repo

import "lumbricary.example/service"

// priceRow is the columns of what a transfer costs, or what an offer asks for.
type priceRow struct {
	TotalMinor *int64 `gorm:"column:price_minor"`
	UnitMinor  *int64 `gorm:"column:unit_price_minor"`
	Unit       string `gorm:"column:price_unit"`
	Currency   string `gorm:"column:currency"`
}

func priceToRow(p service.Price) priceRow {
	return priceRow{TotalMinor: p.TotalMinor, UnitMinor: p.UnitMinor, Unit: p.Unit, Currency: p.Currency}
}

func priceFromRow(r priceRow) service.Price {
	return service.Price{TotalMinor: r.TotalMinor, UnitMinor: r.UnitMinor, Unit: r.Unit, Currency: r.Currency}
}
