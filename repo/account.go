package repo

import (
	"errors"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// accountRow is a row of accounts.
type accountRow struct {
	ID             string `gorm:"primaryKey"`
	Email          string
	Name           string
	PassphraseHash string
	CreatedAt      int64 `gorm:"autoCreateTime:false"`
}

// TableName implements gorm's Tabler.
func (accountRow) TableName() string { return "accounts" }

func accountRowOf(a service.Account) accountRow {
	return accountRow{
		ID: string(a.ID), Email: a.Email, Name: a.Name, PassphraseHash: a.PassphraseHash, CreatedAt: micros(a.CreatedAt),
	}
}

func (r accountRow) account() service.Account {
	return service.Account{
		ID: service.AccountID(r.ID), Email: r.Email, Name: r.Name, PassphraseHash: r.PassphraseHash, CreatedAt: fromMicros(r.CreatedAt),
	}
}

// accounts implements service.AccountRepo.
type accounts struct{ db *gorm.DB }

// Insert implements service.AccountRepo. Errors: ErrEmailTaken, ErrIDTaken.
func (s accounts) Insert(a service.Account) error {
	r := accountRowOf(a)
	return translate(s.db.Create(&r).Error)
}

// ByID implements service.AccountRepo. Errors: ErrAccountNotFound.
func (s accounts) ByID(id service.AccountID) (service.Account, error) {
	return s.one("id = ?", string(id))
}

// ByEmail implements service.AccountRepo. Errors: ErrAccountNotFound.
func (s accounts) ByEmail(email string) (service.Account, error) {
	return s.one("email = ?", email)
}

// Count implements service.AccountRepo. Errors: the driver's.
func (s accounts) Count() (int64, error) {
	var n int64
	err := s.db.Model(new(accountRow)).Count(&n).Error
	return n, translate(err)
}

// Under implements service.AccountRepo. Errors: the driver's.
func (s accounts) Under(domain string) ([]service.AccountID, error) {
	var ids []string
	err := s.db.Model(new(accountRow)).Where("email LIKE ?", "%"+domain).Order("id").Pluck("id", &ids).Error
	out := make([]service.AccountID, len(ids))
	for i, id := range ids {
		out[i] = service.AccountID(id)
	}
	return out, translate(err)
}

// Lock implements service.AccountRepo. Errors: ErrAccountNotFound, ErrBusy.
func (s accounts) Lock(id service.AccountID) (service.Account, error) {
	return accounts{locking(s.db)}.one("id = ?", string(id))
}

// SetPassphrase implements service.AccountRepo. Errors: ErrAccountNotFound.
func (s accounts) SetPassphrase(id service.AccountID, hash string) error {
	done := s.db.Model(new(accountRow)).Where("id = ?", string(id)).Updates(map[string]any{"passphrase_hash": hash})
	if done.Error == nil && done.RowsAffected == 0 {
		return service.ErrAccountNotFound
	}
	return translate(done.Error)
}

// Blank implements service.AccountRepo. Errors: ErrAccountNotFound.
func (s accounts) Blank(id service.AccountID, email string) error {
	done := s.db.Model(new(accountRow)).Where("id = ?", string(id)).
		Updates(map[string]any{"email": email, "name": "", "passphrase_hash": ""})
	if done.Error == nil && done.RowsAffected == 0 {
		return service.ErrAccountNotFound
	}
	return translate(done.Error)
}

func (s accounts) one(condition, value string) (service.Account, error) {
	var r accountRow
	err := s.db.Where(condition, value).Take(&r).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return service.Account{}, service.ErrAccountNotFound
	}
	return r.account(), translate(err)
}
