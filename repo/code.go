package repo

import (
	"errors"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// codeRow is a row of codes.
type codeRow struct {
	Hash      string `gorm:"primaryKey"`
	Purpose   string
	AccountID *string
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	ExpiresAt int64
}

// TableName implements gorm's Tabler.
func (codeRow) TableName() string { return "codes" }

func codeRowOf(c service.Code) codeRow {
	return codeRow{
		Hash: c.Hash, Purpose: string(c.Purpose), AccountID: ref(c.Account), CreatedAt: micros(c.CreatedAt), ExpiresAt: micros(c.ExpiresAt),
	}
}

func (r codeRow) code() service.Code {
	return service.Code{
		Hash: r.Hash, Purpose: service.Purpose(r.Purpose), Account: unref[service.AccountID](r.AccountID),
		CreatedAt: fromMicros(r.CreatedAt), ExpiresAt: fromMicros(r.ExpiresAt),
	}
}

// codes implements service.CodeRepo.
type codes struct{ db *gorm.DB }

// Insert implements service.CodeRepo. Errors: the driver's.
func (s codes) Insert(c service.Code) error {
	if err := s.db.Where("expires_at <= ?", micros(c.CreatedAt)).Delete(new(codeRow)).Error; err != nil {
		return translate(err)
	}
	r := codeRowOf(c)
	return translate(s.db.Create(&r).Error)
}

// Find implements service.CodeRepo. Errors: ErrCodeNotFound.
func (s codes) Find(hash string, p service.Purpose, now time.Time) (service.Code, error) {
	var r codeRow
	err := s.db.Where("hash = ? AND purpose = ? AND expires_at > ?", hash, string(p), micros(now)).Take(&r).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return service.Code{}, service.ErrCodeNotFound
	}
	return r.code(), translate(err)
}

// Take implements service.CodeRepo. Of two that take it at once, one removes the
// row. Errors: ErrCodeNotFound.
func (s codes) Take(hash string, p service.Purpose, now time.Time) (service.Code, error) {
	c, err := s.Find(hash, p, now)
	if err != nil {
		return service.Code{}, err
	}
	done := s.db.Where("hash = ?", hash).Delete(new(codeRow))
	if done.Error == nil && done.RowsAffected == 0 {
		return service.Code{}, service.ErrCodeNotFound
	}
	return c, translate(done.Error)
}

// Forget implements service.CodeRepo. Errors: the driver's.
func (s codes) Forget(account service.AccountID) error {
	return translate(s.db.Where("account_id = ?", string(account)).Delete(new(codeRow)).Error)
}
