package repo

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/webhook"

	"gorm.io/gorm"
)

// deliveryRow is a row of deliveries.
type deliveryRow struct {
	ClubID    string `gorm:"column:club_id;primaryKey"`
	ID        string `gorm:"column:id;primaryKey"`
	WebhookID string `gorm:"column:webhook_id"`
	MessageID string `gorm:"column:message_id"`
	Event     string `gorm:"column:event"`
	MomentAt  int64  `gorm:"column:moment_at"`
	Body      string `gorm:"column:body"`
	State     string `gorm:"column:state"`
	Attempts  string `gorm:"column:attempts"` // JSON array
	Version   int64  `gorm:"column:version"`
}

// TableName returns the name of the table.
func (deliveryRow) TableName() string { return "deliveries" }

func deliveryToRow(d service.Delivery) deliveryRow {
	return deliveryRow{
		ID: string(d.ID), WebhookID: string(d.Webhook), MessageID: d.Message, Event: string(d.Event), MomentAt: micros(d.At),
		Body: d.Body, State: string(d.State), Attempts: toArray(d.Attempts), Version: d.Version,
	}
}

func deliveryFromRow(r deliveryRow) service.Delivery {
	return service.Delivery{
		ID: service.DeliveryID(r.ID), Webhook: service.WebhookID(r.WebhookID), Message: r.MessageID, Event: webhook.Event(r.Event), At: fromMicros(r.MomentAt),
		Body: r.Body, State: service.DeliveryState(r.State), Attempts: fromArray[service.Attempt](r.Attempts), Version: r.Version,
	}
}

// deliveries implements service.DeliveryRepo.
type deliveries struct {
	table[service.Delivery, service.DeliveryID, deliveryRow]
}

func newDeliveries(db *gorm.DB) deliveries {
	return deliveries{table[service.Delivery, service.DeliveryID, deliveryRow]{
		db: db, row: deliveryToRow, value: deliveryFromRow, missing: service.ErrDeliveryNotFound,
		dated: true, columns: filters{webhook: "webhook_id", kind: "state"},
	}}
}

// Forget implements service.DeliveryRepo. Errors: the driver's.
func (d deliveries) Forget(of service.WebhookID) error {
	return translate(d.db.Where("webhook_id = ?", string(of)).Delete(new(deliveryRow)).Error)
}

// Sweep implements service.DeliveryRepo. Errors: the driver's.
func (d deliveries) Sweep(before time.Time) error {
	return translate(d.db.Where("moment_at < ?", micros(before)).Delete(new(deliveryRow)).Error)
}
