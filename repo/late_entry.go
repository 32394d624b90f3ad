package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// lateEntryRow is a row of late_entries.
type lateEntryRow struct {
	ClubID   string      `gorm:"column:club_id;primaryKey"`
	ID       string      `gorm:"column:id;primaryKey"`
	Noun     string      `gorm:"column:noun"`
	RecordID string      `gorm:"column:record_id"`
	At       int64       `gorm:"column:moment_at"`
	Why      string      `gorm:"column:why"`
	Recorded recordedRow `gorm:"embedded"`
	Version  int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (lateEntryRow) TableName() string { return "late_entries" }

func lateEntryToRow(l service.LateEntry) lateEntryRow {
	return lateEntryRow{
		ID: string(l.ID), Noun: l.Noun, RecordID: l.Record, At: micros(l.At), Why: l.Why,
		Recorded: recordedToRow(l.Recorded), Version: l.Version,
	}
}

func lateEntryFromRow(r lateEntryRow) service.LateEntry {
	return service.LateEntry{
		ID: service.LateEntryID(r.ID), Noun: r.Noun, Record: r.RecordID, At: fromMicros(r.At), Why: r.Why,
		Recorded: recordedFromRow(r.Recorded), Version: r.Version,
	}
}

// newLateEntries filters by noun (Kind) and record, and by member on who
// recorded.
func newLateEntries(db *gorm.DB) table[service.LateEntry, service.LateEntryID, lateEntryRow] {
	return table[service.LateEntry, service.LateEntryID, lateEntryRow]{
		db: db, row: lateEntryToRow, value: lateEntryFromRow, missing: service.ErrLateEntryNotFound,
		dated: true, columns: filters{kind: "noun", record: "record_id", member: "recorded_by"},
	}
}
