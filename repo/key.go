package repo

import (
	"encoding/base64"
	"errors"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// signingKeyRow is a row of signing_keys.
type signingKeyRow struct {
	ID        string `gorm:"primaryKey"`
	PEM       string `gorm:"column:pem"`
	CreatedAt int64  `gorm:"autoCreateTime:false"`
	RetiredAt int64
}

// TableName implements gorm's Tabler.
func (signingKeyRow) TableName() string { return "signing_keys" }

func signingKeyRowOf(k service.SigningKey) signingKeyRow {
	return signingKeyRow{ID: k.ID, PEM: k.PEM, CreatedAt: micros(k.Created), RetiredAt: micros(k.Retired)}
}

func (r signingKeyRow) key() service.SigningKey {
	return service.SigningKey{ID: r.ID, PEM: r.PEM, Created: fromMicros(r.CreatedAt), Retired: fromMicros(r.RetiredAt)}
}

// secretRow is a row of secrets; Value is base64.
type secretRow struct {
	Name  string `gorm:"primaryKey"`
	Value string
}

// TableName implements gorm's Tabler.
func (secretRow) TableName() string { return "secrets" }

// keys implements service.KeyRepo.
type keys struct{ db *gorm.DB }

// Insert implements service.KeyRepo. Errors: the driver's.
func (s keys) Insert(k service.SigningKey) error {
	r := signingKeyRowOf(k)
	return translate(s.db.Create(&r).Error)
}

// Retire implements service.KeyRepo. Errors: the driver's.
func (s keys) Retire(but string, now time.Time) error {
	return translate(s.db.Model(new(signingKeyRow)).Where("id <> ? AND retired_at = 0", but).
		Updates(map[string]any{"retired_at": micros(now)}).Error)
}

// All implements service.KeyRepo. Errors: the driver's.
func (s keys) All() ([]service.SigningKey, error) {
	var rows []signingKeyRow
	if err := s.db.Order("created_at DESC").Order("id").Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	out := make([]service.SigningKey, len(rows))
	for i, r := range rows {
		out[i] = r.key()
	}
	return out, nil
}

// Secret implements service.KeyRepo. Of two that make it at once, both get the
// one that was stored first. Errors: make's, the driver's.
func (s keys) Secret(name string, make func() ([]byte, error)) ([]byte, error) {
	secret, err := s.secret(name)
	if !errors.Is(err, gorm.ErrRecordNotFound) {
		return secret, translate(err)
	}
	fresh, err := make()
	if err != nil {
		return nil, err
	}
	r := secretRow{Name: name, Value: base64.StdEncoding.EncodeToString(fresh)}
	if err := s.db.Clauses(clause.OnConflict{DoNothing: true}).Create(&r).Error; err != nil {
		return nil, translate(err)
	}
	secret, err = s.secret(name)
	return secret, translate(err)
}

func (s keys) secret(name string) ([]byte, error) {
	var r secretRow
	if err := s.db.Where("name = ?", name).Take(&r).Error; err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(r.Value)
}
