package repo

import (
	"errors"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// sessionRow is a row of sessions.
type sessionRow struct {
	ID         string `gorm:"primaryKey"`
	AccountID  string
	Generation int64
	CreatedAt  int64 `gorm:"autoCreateTime:false"`
	RotatedAt  int64
	ExpiresAt  int64
	EndedAt    int64
	Why        string
}

// TableName implements gorm's Tabler.
func (sessionRow) TableName() string { return "sessions" }

func sessionRowOf(s service.Session) sessionRow {
	return sessionRow{
		ID: string(s.ID), AccountID: string(s.Account), Generation: s.Generation, CreatedAt: micros(s.CreatedAt),
		RotatedAt: micros(s.RotatedAt), ExpiresAt: micros(s.ExpiresAt), EndedAt: micros(s.EndedAt), Why: string(s.Why),
	}
}

func (r sessionRow) session() service.Session {
	return service.Session{
		ID: service.SessionID(r.ID), Account: service.AccountID(r.AccountID), Generation: r.Generation, CreatedAt: fromMicros(r.CreatedAt),
		RotatedAt: fromMicros(r.RotatedAt), ExpiresAt: fromMicros(r.ExpiresAt), EndedAt: fromMicros(r.EndedAt), Why: service.EndReason(r.Why),
	}
}

// sessions implements service.SessionRepo.
type sessions struct{ db *gorm.DB }

// Insert implements service.SessionRepo. Errors: the driver's.
func (s sessions) Insert(v service.Session) error {
	r := sessionRowOf(v)
	return translate(s.db.Create(&r).Error)
}

// Get implements service.SessionRepo. Errors: ErrSessionEnded.
func (s sessions) Get(id service.SessionID) (service.Session, error) { return s.one(s.db, id) }

// Lock implements service.SessionRepo. Errors: ErrSessionEnded, ErrBusy.
func (s sessions) Lock(id service.SessionID) (service.Session, error) {
	return s.one(locking(s.db), id)
}

func (s sessions) one(db *gorm.DB, id service.SessionID) (service.Session, error) {
	var r sessionRow
	err := db.Where("id = ?", string(id)).Take(&r).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return service.Session{}, service.ErrSessionEnded
	}
	return r.session(), translate(err)
}

// Update implements service.SessionRepo. Errors: ErrSessionEnded.
func (s sessions) Update(v service.Session) error {
	r := sessionRowOf(v)
	done := s.db.Model(new(sessionRow)).Where("id = ?", r.ID).Select("*").Omit("id").Updates(&r)
	if done.Error == nil && done.RowsAffected == 0 {
		return service.ErrSessionEnded
	}
	return translate(done.Error)
}

// Of implements service.SessionRepo. Errors: the driver's.
func (s sessions) Of(account service.AccountID, now time.Time) ([]service.Session, error) {
	var rows []sessionRow
	err := s.db.Where("account_id = ? AND ended_at = 0 AND expires_at > ?", string(account), micros(now)).
		Order("rotated_at DESC").Order("id DESC").Find(&rows).Error
	if err != nil {
		return nil, translate(err)
	}
	out := make([]service.Session, len(rows))
	for i, r := range rows {
		out[i] = r.session()
	}
	return out, nil
}

// Sweep implements service.SessionRepo. Errors: the driver's.
func (s sessions) Sweep(account service.AccountID, now time.Time) error {
	return translate(s.db.Where("account_id = ? AND expires_at <= ?", string(account), micros(now)).Delete(new(sessionRow)).Error)
}

// locking makes a query lock the rows it finds until the transaction ends.
// SQLite has one writer in any case.
func locking(db *gorm.DB) *gorm.DB {
	if db.Name() != "postgres" {
		return db
	}
	return db.Clauses(clause.Locking{Strength: "UPDATE"})
}
