package repo

import (
	"maps"
	"slices"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// apiKeyRow is a row of api_keys.
type apiKeyRow struct {
	ClubID   string `gorm:"column:club_id;primaryKey"`
	ID       string `gorm:"column:id;primaryKey"`
	Name     string `gorm:"column:name"`
	MemberID string `gorm:"column:member_id"`
	Role     string `gorm:"column:role"`
	Scopes   string `gorm:"column:scopes"` // JSON array
	Hash     string `gorm:"column:hash"`
	MadeBy   string `gorm:"column:made_by"`
	Created  int64  `gorm:"column:created_at"`
	Expires  int64  `gorm:"column:expires_at"`
	LastUsed int64  `gorm:"column:last_used_at"`
	Revoked  int64  `gorm:"column:revoked_at"`
	Version  int64  `gorm:"column:version"`
}

// TableName returns the name of the table.
func (apiKeyRow) TableName() string { return "api_keys" }

func apiKeyToRow(k service.APIKey) apiKeyRow {
	return apiKeyRow{
		ID:       string(k.ID),
		Name:     k.Name,
		MemberID: string(k.Member),
		Role:     string(k.Role),
		Scopes:   toArray(k.Scopes),
		Hash:     k.Hash,
		MadeBy:   string(k.MadeBy),
		Created:  micros(k.CreatedAt),
		Expires:  micros(k.ExpiresAt),
		LastUsed: micros(k.LastUsedAt),
		Revoked:  micros(k.RevokedAt),
		Version:  k.Version,
	}
}

func apiKeyFromRow(r apiKeyRow) service.APIKey {
	return service.APIKey{
		ID:         service.APIKeyID(r.ID),
		Name:       r.Name,
		Member:     service.MemberID(r.MemberID),
		Role:       service.Role(r.Role),
		Scopes:     fromArray[service.Scope](r.Scopes),
		Hash:       r.Hash,
		MadeBy:     service.MemberID(r.MadeBy),
		CreatedAt:  fromMicros(r.Created),
		ExpiresAt:  fromMicros(r.Expires),
		LastUsedAt: fromMicros(r.LastUsed),
		RevokedAt:  fromMicros(r.Revoked),
		Version:    r.Version,
	}
}

// apiKeys implements service.APIKeyRepo.
type apiKeys struct {
	table[service.APIKey, service.APIKeyID, apiKeyRow]
}

// newAPIKeys filters by member on as whom a key acts.
func newAPIKeys(db *gorm.DB) apiKeys {
	return apiKeys{table[service.APIKey, service.APIKeyID, apiKeyRow]{
		db: db, row: apiKeyToRow, value: apiKeyFromRow, missing: service.ErrAPIKeyNotFound,
		columns: filters{member: "member_id"},
	}}
}

// ByHash implements service.APIKeyRepo. Errors: ErrAPIKeyNotFound.
func (k apiKeys) ByHash(hash string) (service.APIKey, error) {
	return k.one("hash = ?", hash)
}

// Used implements service.APIKeyRepo. The rows are locked in the order of their
// ids. Errors: the driver's.
func (k apiKeys) Used(at map[service.APIKeyID]time.Time) error {
	for _, id := range slices.Sorted(maps.Keys(at)) {
		used := micros(at[id])
		err := k.db.Model(new(apiKeyRow)).Where("id = ? AND last_used_at < ?", string(id), used).
			Select("last_used_at").Updates(&apiKeyRow{LastUsed: used}).Error
		if err != nil {
			return translate(err)
		}
	}
	return nil
}
