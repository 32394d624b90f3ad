package repo

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"

	"gorm.io/gorm"
)

// transferRow is a row of transfers.
type transferRow struct {
	ClubID    string      `gorm:"column:club_id;primaryKey"`
	ID        string      `gorm:"column:id;primaryKey"`
	Moment    momentRow   `gorm:"embedded"`
	Done      bool        `gorm:"column:done"`
	Open      bool        `gorm:"column:open"`
	Terms     string      `gorm:"column:terms"`
	Proposer  *string     `gorm:"column:proposer"`
	Giver     *string     `gorm:"column:giver"`
	Receiver  *string     `gorm:"column:receiver"`
	Accepted  bool        `gorm:"column:accepted"`
	Ended     string      `gorm:"column:ended"`
	Expires   int64       `gorm:"column:expires_at"`
	DealLegs  string      `gorm:"column:legs"`     // JSON array of dealLegJSON
	Waivers   string      `gorm:"column:waivers"`  // JSON array
	Forgiven  string      `gorm:"column:forgiven"` // JSON array of amountJSON
	Legs      string      `gorm:"column:typed"`    // JSON array of legJSON
	Party     string      `gorm:"column:party"`
	Contact   string      `gorm:"column:contact"`
	Purpose   string      `gorm:"column:contact_purpose"`
	ContactBy string      `gorm:"column:contact_until"`
	Price     priceRow    `gorm:"embedded"`
	Due       string      `gorm:"column:due"`
	OfferID   *string     `gorm:"column:offer_id"`
	Replaces  *string     `gorm:"column:replaces"`
	Claims    string      `gorm:"column:claims"` // JSON array of claimJSON
	Steps     string      `gorm:"column:steps"`  // JSON array of stepJSON
	Note      string      `gorm:"column:note"`
	Recorded  recordedRow `gorm:"embedded"`
	Version   int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (transferRow) TableName() string { return "transfers" }

// transferToRow writes beside the legs what is filtered by.
func transferToRow(t service.Transfer) transferRow {
	r := transferRow{
		ID:        string(t.ID),
		Moment:    momentToRow(t.At),
		Done:      t.Done,
		Open:      t.Deal.Open(time.Time{}), // whatever has expired
		Terms:     string(t.Deal.Terms),
		Proposer:  ref(t.Deal.Proposer),
		Accepted:  t.Deal.Accepted,
		Ended:     string(t.Deal.Ended),
		Expires:   micros(t.Deal.Expires),
		DealLegs:  toArray(each(t.Deal.Legs, dealLegToJSON)),
		Waivers:   toArray(t.Deal.Waivers),
		Forgiven:  toArray(each(t.Deal.Forgiven, amountToJSON)),
		Legs:      toArray(each(t.Legs, legToJSON)),
		Party:     t.Party,
		Contact:   t.Contact.Text,
		Purpose:   t.Contact.Purpose,
		ContactBy: t.Contact.Until,
		Price:     priceToRow(t.Price),
		Due:       t.Due,
		OfferID:   ref(t.Offer),
		Replaces:  ref(t.Replaces),
		Claims:    toArray(each(t.Claims, claimToJSON)),
		Steps:     toArray(each(t.Steps, stepToJSON)),
		Note:      t.Note,
		Recorded:  recordedToRow(t.Recorded),
		Version:   t.Version,
	}
	if len(t.Deal.Legs) > 0 {
		giver, receiver := t.Deal.Sides()
		r.Giver, r.Receiver = ref(giver), ref(receiver)
	}
	return r
}

func transferFromRow(r transferRow) service.Transfer {
	return service.Transfer{
		ID:   service.TransferID(r.ID),
		At:   momentFromRow(r.Moment),
		Done: r.Done,
		Deal: exchange.Deal{
			Terms:    exchange.Terms(r.Terms),
			Proposer: unref[string](r.Proposer),
			Legs:     each(fromArray[dealLegJSON](r.DealLegs), dealLegFromJSON),
			Accepted: r.Accepted,
			Ended:    exchange.State(r.Ended),
			Expires:  fromMicros(r.Expires),
			Waivers:  fromArray[string](r.Waivers),
			Forgiven: each(fromArray[amountJSON](r.Forgiven), amountFromJSON),
		},
		Legs:     each(fromArray[legJSON](r.Legs), legFromJSON),
		Party:    r.Party,
		Contact:  service.Contact{Text: r.Contact, Purpose: r.Purpose, Until: r.ContactBy},
		Price:    priceFromRow(r.Price),
		Due:      r.Due,
		Offer:    unref[service.OfferID](r.OfferID),
		Replaces: unref[service.TransferID](r.Replaces),
		Claims:   each(fromArray[claimJSON](r.Claims), claimFromJSON),
		Steps:    each(fromArray[stepJSON](r.Steps), stepFromJSON),
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Version:  r.Version,
	}
}

// transferPlaceRow is a row of transfer_places: one thing that a leg names.
type transferPlaceRow struct {
	ClubID     string  `gorm:"column:club_id;primaryKey"`
	TransferID string  `gorm:"column:transfer_id;primaryKey"`
	Line       int64   `gorm:"column:line;primaryKey;autoIncrement:false"`
	BinID      *string `gorm:"column:bin_id"`
	BatchID    *string `gorm:"column:batch_id"`
	OriginID   *string `gorm:"column:origin_id"`
}

// TableName returns the name of the table.
func (transferPlaceRow) TableName() string { return "transfer_places" }

// placesToRows lists what the legs name: where each good comes from, and where
// the leg goes.
func placesToRows(t service.Transfer) []transferPlaceRow {
	var rows []transferPlaceRow
	add := func(bin service.BinID, batch service.BatchID, origin service.OriginID) {
		if bin == "" && batch == "" && origin == "" {
			return
		}
		rows = append(rows, transferPlaceRow{
			TransferID: string(t.ID), Line: int64(len(rows) + 1), BinID: ref(bin), BatchID: ref(batch), OriginID: ref(origin),
		})
	}
	for _, leg := range t.Legs {
		add(leg.ToBin, leg.ToBatch, "")
		for _, l := range leg.Agreed {
			add(l.FromBin, l.FromBatch, l.Origin)
		}
	}
	return rows
}

// transfers implements service.TransferRepo.
type transfers struct {
	table[service.Transfer, service.TransferID, transferRow]
}

// newTransfers filters by bin that a leg names, by member on either side, and by
// kind on the terms.
func newTransfers(db *gorm.DB) transfers {
	return transfers{table[service.Transfer, service.TransferID, transferRow]{
		db: db, row: transferToRow, value: transferFromRow, missing: service.ErrTransferNotFound,
		dated: true, columns: filters{kind: "terms"},
	}}
}

// Insert implements service.Records. Errors: ErrIDTaken.
func (s transfers) Insert(t service.Transfer) error {
	if err := s.table.Insert(t); err != nil {
		return err
	}
	return insert(s.db, placesToRows(t))
}

// Update implements service.Records. Errors: ErrStale.
func (s transfers) Update(t service.Transfer) error {
	if err := s.table.Update(t); err != nil {
		return err
	}
	if err := s.forget(t.ID); err != nil {
		return err
	}
	return insert(s.db, placesToRows(t))
}

// Delete implements service.Records. Errors: ErrStale, ErrInUse.
func (s transfers) Delete(t service.Transfer) error {
	if err := s.forget(t.ID); err != nil {
		return err
	}
	return s.table.Delete(t)
}

// forget removes what the legs of a transfer name.
func (s transfers) forget(id service.TransferID) error {
	return translate(s.db.Where("transfer_id = ?", string(id)).Delete(&transferPlaceRow{}).Error)
}

// List implements service.Records. Errors: the database's.
func (s transfers) List(q service.Query) ([]service.Transfer, error) {
	if q.Bin != "" {
		var ids []string
		err := s.db.Model(&transferPlaceRow{}).Where("bin_id = ?", string(q.Bin)).Pluck("transfer_id", &ids).Error
		if err != nil || len(ids) == 0 {
			return nil, translate(err)
		}
		s.db, q.Bin = s.db.Where("id IN ?", ids).Session(&gorm.Session{}), ""
	}
	if q.Member != "" {
		s.db = s.db.Where("giver = ? OR receiver = ?", string(q.Member), string(q.Member)).Session(&gorm.Session{})
		q.Member = ""
	}
	if q.OpenOn != "" {
		s.db = s.db.Where("open = ?", true).Session(&gorm.Session{})
	}
	return s.table.List(q)
}

// Lapsed implements service.TransferRepo. Errors: the database's.
func (s transfers) Lapsed(day string) ([]service.Transfer, error) {
	var rows []transferRow
	if err := s.db.Where("contact_until <> ?", "").Where("contact_until < ?", day).Order("id").Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return each(rows, transferFromRow), nil
}

// Open implements service.TransferRepo. Errors: the database's.
func (s transfers) Open() ([]service.Transfer, error) {
	var rows []transferRow
	err := s.db.Where("open = ?", true).Order("id").Find(&rows).Error
	return s.values(rows), translate(err)
}
