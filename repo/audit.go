package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// auditRow is a row of audit_entries. The database refuses to change or remove
// one.
type auditRow struct {
	ClubID   string  `gorm:"column:club_id;primaryKey"`
	ID       string  `gorm:"column:id;primaryKey"`
	At       int64   `gorm:"column:at"`
	Seq      int64   `gorm:"column:seq"`
	MemberID string  `gorm:"column:member_id"`
	KeyID    *string `gorm:"column:key_id"`
	OnBehalf *string `gorm:"column:on_behalf_of"`
	Action   string  `gorm:"column:action"`
	Noun     string  `gorm:"column:noun"`
	RecordID string  `gorm:"column:record_id"`
	Changed  string  `gorm:"column:changed"` // JSON array
	Before   string  `gorm:"column:before"`
	After    string  `gorm:"column:after"`
}

// TableName returns the name of the table.
func (auditRow) TableName() string { return "audit_entries" }

func auditToRow(e service.AuditEntry) auditRow {
	return auditRow{
		ID:       string(e.ID),
		At:       micros(e.At),
		Seq:      e.Seq,
		MemberID: string(e.Member),
		KeyID:    ref(e.Key),
		OnBehalf: ref(e.OnBehalf),
		Action:   string(e.Action),
		Noun:     e.Noun,
		RecordID: e.Record,
		Changed:  toArray(e.Changed),
		Before:   e.Before,
		After:    e.After,
	}
}

func auditFromRow(r auditRow) service.AuditEntry {
	return service.AuditEntry{
		ID:       service.AuditEntryID(r.ID),
		At:       fromMicros(r.At),
		Seq:      r.Seq,
		Member:   service.MemberID(r.MemberID),
		Key:      unref[service.APIKeyID](r.KeyID),
		OnBehalf: unref[service.MemberID](r.OnBehalf),
		Action:   service.AuditAction(r.Action),
		Noun:     r.Noun,
		Record:   r.RecordID,
		Changed:  fromArray[string](r.Changed),
		Before:   r.Before,
		After:    r.After,
	}
}

// audit implements service.AuditRepo.
type audit struct{ db *gorm.DB }

func newAudit(db *gorm.DB) audit { return audit{db} }

// Insert implements service.AuditRepo. Errors: the database's.
func (s audit) Insert(e service.AuditEntry) error {
	r := auditToRow(e)
	return translate(s.db.Create(&r).Error)
}

// List implements service.AuditRepo. A place's id is the sequence as text.
// Errors: the database's.
func (s audit) List(q service.Query) ([]service.AuditEntry, error) {
	db, err := filters{member: "member_id", kind: "noun", record: "record_id"}.apply(s.db, q)
	if err != nil {
		return nil, err
	}
	var rows []auditRow
	if err := page(between(db, "at", q), q, []string{"at", "seq"}).Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return each(rows, auditFromRow), nil
}
