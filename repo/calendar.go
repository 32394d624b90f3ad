package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// calendarRow is a row of calendars.
type calendarRow struct {
	ClubID   string `gorm:"column:club_id;primaryKey"`
	ID       string `gorm:"column:id;primaryKey"`
	Name     string `gorm:"column:name"`
	MemberID string `gorm:"column:member_id"`
	Whole    bool   `gorm:"column:whole"`
	Hash     string `gorm:"column:hash"`
	Created  int64  `gorm:"column:created_at"`
	Revoked  int64  `gorm:"column:revoked_at"`
	Version  int64  `gorm:"column:version"`
}

// TableName returns the name of the table.
func (calendarRow) TableName() string { return "calendars" }

func calendarToRow(c service.Calendar) calendarRow {
	return calendarRow{
		ID: string(c.ID), Name: c.Name, MemberID: string(c.Member), Whole: c.Whole, Hash: c.Hash,
		Created: micros(c.CreatedAt), Revoked: micros(c.RevokedAt), Version: c.Version,
	}
}

func calendarFromRow(r calendarRow) service.Calendar {
	return service.Calendar{
		ID: service.CalendarID(r.ID), Name: r.Name, Member: service.MemberID(r.MemberID), Whole: r.Whole, Hash: r.Hash,
		CreatedAt: fromMicros(r.Created), RevokedAt: fromMicros(r.Revoked), Version: r.Version,
	}
}

// calendars implements service.CalendarRepo.
type calendars struct {
	table[service.Calendar, service.CalendarID, calendarRow]
}

func newCalendars(db *gorm.DB) calendars {
	return calendars{table[service.Calendar, service.CalendarID, calendarRow]{
		db: db, row: calendarToRow, value: calendarFromRow, missing: service.ErrCalendarNotFound,
		columns: filters{member: "member_id"},
	}}
}

// ByHash implements service.CalendarRepo. Errors: ErrCalendarNotFound.
func (c calendars) ByHash(hash string) (service.Calendar, error) { return c.one("hash = ?", hash) }
