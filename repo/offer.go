package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// offerRow is a row of offers.
type offerRow struct {
	ClubID    string   `gorm:"column:club_id;primaryKey"`
	ID        string   `gorm:"column:id;primaryKey"`
	MemberID  string   `gorm:"column:member_id"`
	What      string   `gorm:"column:what"`
	SpeciesID string   `gorm:"column:species_id"`
	BinID     *string  `gorm:"column:bin_id"`
	BatchID   *string  `gorm:"column:batch_id"`
	Quantity  float64  `gorm:"column:quantity_value"`
	Unit      string   `gorm:"column:quantity_unit"`
	Terms     string   `gorm:"column:terms"` // JSON array
	Price     priceRow `gorm:"embedded"`
	Until     string   `gorm:"column:until"`
	Withdrawn int64    `gorm:"column:withdrawn_at"`
	Note      string   `gorm:"column:note"`
	Created   int64    `gorm:"column:created_at"`
	Version   int64    `gorm:"column:version"`
}

// TableName returns the name of the table.
func (offerRow) TableName() string { return "offers" }

func offerToRow(o service.Offer) offerRow {
	return offerRow{
		ID:        string(o.ID),
		MemberID:  string(o.Member),
		What:      o.What,
		SpeciesID: string(o.Species),
		BinID:     ref(o.Bin),
		BatchID:   ref(o.Batch),
		Quantity:  o.Quantity.Value,
		Unit:      o.Quantity.Unit,
		Terms:     toArray(o.Terms),
		Price:     priceToRow(o.Price),
		Until:     o.Until,
		Withdrawn: micros(o.Withdrawn),
		Note:      o.Note,
		Created:   micros(o.CreatedAt),
		Version:   o.Version,
	}
}

func offerFromRow(r offerRow) service.Offer {
	return service.Offer{
		ID:        service.OfferID(r.ID),
		Member:    service.MemberID(r.MemberID),
		What:      r.What,
		Species:   service.SpeciesID(r.SpeciesID),
		Bin:       unref[service.BinID](r.BinID),
		Batch:     unref[service.BatchID](r.BatchID),
		Quantity:  unit.Measure{Value: r.Quantity, Unit: r.Unit},
		Terms:     fromArray[exchange.Terms](r.Terms),
		Price:     priceFromRow(r.Price),
		Until:     r.Until,
		Withdrawn: fromMicros(r.Withdrawn),
		Note:      r.Note,
		CreatedAt: fromMicros(r.Created),
		Version:   r.Version,
	}
}

// offers keeps offers.
type offers struct {
	table[service.Offer, service.OfferID, offerRow]
}

// newOffers filters by member and species, and by the day on which they stand.
func newOffers(db *gorm.DB) offers {
	return offers{table[service.Offer, service.OfferID, offerRow]{
		db: db, row: offerToRow, value: offerFromRow, missing: service.ErrOfferNotFound,
		columns: filters{member: "member_id", species: "species_id"},
	}}
}

// List implements service.Records. Errors: the database's.
func (s offers) List(q service.Query) ([]service.Offer, error) {
	if q.OpenOn != "" {
		s.db = s.db.Where("withdrawn_at = 0 AND (until = ? OR until >= ?)", "", q.OpenOn).Session(&gorm.Session{})
	}
	return s.table.List(q)
}
