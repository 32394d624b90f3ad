package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/webhook"

	"gorm.io/gorm"
)

// webhookRow is a row of webhooks.
type webhookRow struct {
	ClubID     string `gorm:"column:club_id;primaryKey"`
	ID         string `gorm:"column:id;primaryKey"`
	Name       string `gorm:"column:name"`
	URL        string `gorm:"column:url"`
	Events     string `gorm:"column:events"` // JSON array
	Enabled    bool   `gorm:"column:enabled"`
	Gone       int64  `gorm:"column:gone_at"`
	Generation int64  `gorm:"column:generation"`
	Rotated    int64  `gorm:"column:rotated_at"`
	Created    int64  `gorm:"column:created_at"`
	Version    int64  `gorm:"column:version"`
}

// TableName returns the name of the table.
func (webhookRow) TableName() string { return "webhooks" }

func webhookToRow(h service.Webhook) webhookRow {
	return webhookRow{
		ID: string(h.ID), Name: h.Name, URL: h.URL, Events: toArray(h.Events), Enabled: h.Enabled, Gone: micros(h.Gone),
		Generation: h.Generation, Rotated: micros(h.RotatedAt), Created: micros(h.CreatedAt), Version: h.Version,
	}
}

func webhookFromRow(r webhookRow) service.Webhook {
	return service.Webhook{
		ID: service.WebhookID(r.ID), Name: r.Name, URL: r.URL, Events: fromArray[webhook.Event](r.Events), Enabled: r.Enabled, Gone: fromMicros(r.Gone),
		Generation: r.Generation, RotatedAt: fromMicros(r.Rotated), CreatedAt: fromMicros(r.Created), Version: r.Version,
	}
}

func newWebhooks(db *gorm.DB) table[service.Webhook, service.WebhookID, webhookRow] {
	return table[service.Webhook, service.WebhookID, webhookRow]{db: db, row: webhookToRow, value: webhookFromRow, missing: service.ErrWebhookNotFound}
}
