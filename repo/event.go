package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// eventRow is a row of bin_events.
type eventRow struct {
	ClubID   string `gorm:"column:club_id;primaryKey"`
	BinID    string `gorm:"column:bin_id;primaryKey"`
	At       int64  `gorm:"column:moment_at;primaryKey;autoIncrement:false"`
	Seq      int64  `gorm:"column:seq;primaryKey;autoIncrement:false"`
	Kind     string `gorm:"column:kind;primaryKey"`
	RecordID string `gorm:"column:record_id;primaryKey"`
}

// TableName returns the name of the table.
func (eventRow) TableName() string { return "bin_events" }

func eventToRow(e service.BinEvent) eventRow {
	return eventRow{
		BinID:    string(e.Bin),
		At:       micros(e.At),
		Seq:      e.Seq,
		Kind:     string(e.Kind),
		RecordID: e.ID,
	}
}

func eventFromRow(r eventRow) service.BinEvent {
	return service.BinEvent{
		Bin:  service.BinID(r.BinID),
		At:   fromMicros(r.At),
		Seq:  r.Seq,
		Kind: service.EventKind(r.Kind),
		ID:   r.RecordID,
	}
}

// events implements service.EventRepo.
type events struct{ db *gorm.DB }

func newEvents(db *gorm.DB) events { return events{db} }

// Insert implements service.EventRepo. Errors: the database's.
func (s events) Insert(all ...service.BinEvent) error {
	return insert(s.db, each(all, eventToRow))
}

// Replace implements service.EventRepo. Errors: the database's.
func (s events) Replace(all []service.BinEvent) error {
	if err := s.db.Where("bin_id <> ?", "").Delete(new(eventRow)).Error; err != nil {
		return translate(err)
	}
	return s.Insert(all...)
}

// Remove implements service.EventRepo. Errors: the database's.
func (s events) Remove(e service.BinEvent) error {
	r := eventToRow(e)
	return translate(s.db.Where("bin_id = ? AND moment_at = ? AND seq = ? AND kind = ? AND record_id = ?", r.BinID, r.At, r.Seq, r.Kind, r.RecordID).
		Delete(new(eventRow)).Error)
}

// List implements service.EventRepo. A place's id is the sequence as text: a
// record has one of its own, so a bin has no two events in one place. Filters
// by bin and kind. Errors: the database's.
func (s events) List(q service.Query) ([]service.BinEvent, error) {
	db, err := filters{bin: "bin_id", kind: "kind"}.apply(s.db, q)
	if err != nil {
		return nil, err
	}
	var rows []eventRow
	db = page(between(db, "moment_at", q), q, []string{"moment_at", "seq"})
	if err := db.Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return each(rows, eventFromRow), nil
}
