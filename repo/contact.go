package repo

import (
	"cmp"
	"slices"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// contactRow is a row of contacts.
type contactRow struct {
	ClubID   string      `gorm:"column:club_id;primaryKey"`
	ID       string      `gorm:"column:id;primaryKey"`
	Moment   momentRow   `gorm:"embedded"`
	What     string      `gorm:"column:what"`
	Note     string      `gorm:"column:note"`
	Recorded recordedRow `gorm:"embedded"`
	Voided   voidedRow   `gorm:"embedded"`
	Version  int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (contactRow) TableName() string { return "contacts" }

// contactToRow leaves out the bins, which have rows of their own.
func contactToRow(c service.BinContact) contactRow {
	return contactRow{
		ID:       string(c.ID),
		Moment:   momentToRow(c.At),
		What:     string(c.What),
		Note:     c.Note,
		Recorded: recordedToRow(c.Recorded),
		Voided:   voidedToRow(c.Voided),
		Version:  c.Version,
	}
}

// contactFromRow leaves out the bins, which have rows of their own.
func contactFromRow(r contactRow) service.BinContact {
	return service.BinContact{
		ID:       service.BinContactID(r.ID),
		At:       momentFromRow(r.Moment),
		What:     service.ContactWhat(r.What),
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Voided:   voidedFromRow(r.Voided),
		Version:  r.Version,
	}
}

// contactBinRow is a row of contact_bins: one bin of a contact.
type contactBinRow struct {
	ClubID    string `gorm:"column:club_id;primaryKey"`
	ContactID string `gorm:"column:contact_id;primaryKey"`
	Line      int64  `gorm:"column:line;primaryKey;autoIncrement:false"`
	BinID     string `gorm:"column:bin_id"`
}

// TableName returns the name of the table.
func (contactBinRow) TableName() string { return "contact_bins" }

func contactBinsToRows(c service.BinContact) []contactBinRow {
	rows := make([]contactBinRow, len(c.Bins))
	for line, bin := range c.Bins {
		rows[line] = contactBinRow{ContactID: string(c.ID), Line: int64(line), BinID: string(bin)}
	}
	return rows
}

func binOfContact(r contactBinRow) service.BinID { return service.BinID(r.BinID) }

// contacts keeps contacts with their bins, which never change.
type contacts struct {
	table[service.BinContact, service.BinContactID, contactRow]
}

// newContacts filters by bin, and by member on who recorded; its lists leave out
// what was voided.
func newContacts(db *gorm.DB) contacts {
	return contacts{table[service.BinContact, service.BinContactID, contactRow]{
		db: db, row: contactToRow, value: contactFromRow, missing: service.ErrContactNotFound,
		dated: true, voids: true, columns: filters{member: "recorded_by"},
	}}
}

// Insert implements service.Records. Errors: ErrIDTaken.
func (s contacts) Insert(c service.BinContact) error {
	if err := s.table.Insert(c); err != nil {
		return err
	}
	return insert(s.db, contactBinsToRows(c))
}

// Get implements service.Records. Errors: ErrContactNotFound.
func (s contacts) Get(id service.BinContactID) (service.BinContact, error) {
	c, err := s.table.Get(id)
	if err != nil {
		return service.BinContact{}, err
	}
	all, err := s.filled([]service.BinContact{c})
	if err != nil {
		return service.BinContact{}, err
	}
	return all[0], nil
}

// Some implements service.Records. Errors: the database's.
func (s contacts) Some(ids []service.BinContactID) ([]service.BinContact, error) {
	all, err := s.table.Some(ids)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// List implements service.Records. Errors: the database's.
func (s contacts) List(q service.Query) ([]service.BinContact, error) {
	of := s.table
	if q.Bin != "" {
		var ids []string
		err := s.db.Model(&contactBinRow{}).Where("bin_id = ?", string(q.Bin)).Pluck("contact_id", &ids).Error
		if err != nil || len(ids) == 0 {
			return nil, translate(err)
		}
		of.db, q.Bin = s.db.Where("id IN ?", ids).Session(&gorm.Session{}), ""
	}
	all, err := of.List(q)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// filled gives the contacts their bins, read in one query.
func (s contacts) filled(all []service.BinContact) ([]service.BinContact, error) {
	ids := each(all, func(c service.BinContact) service.BinContactID { return c.ID })
	rows, err := some[contactBinRow](s.db, "contact_id", ids)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(rows, func(a, b contactBinRow) int { return cmp.Compare(a.Line, b.Line) })
	bins := map[service.BinContactID][]service.BinID{}
	for _, r := range rows {
		id := service.BinContactID(r.ContactID)
		bins[id] = append(bins[id], binOfContact(r))
	}
	for i := range all {
		all[i].Bins = bins[all[i].ID]
	}
	return all, nil
}
