package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// clearingRow is a row of clearings.
type clearingRow struct {
	ClubID    string      `gorm:"column:club_id;primaryKey"`
	ID        string      `gorm:"column:id;primaryKey"`
	BinID     *string     `gorm:"column:bin_id"`
	BatchID   *string     `gorm:"column:batch_id"`
	ReceiptID *string     `gorm:"column:receipt_id"`
	Moment    momentRow   `gorm:"embedded"`
	How       string      `gorm:"column:how"`
	Note      string      `gorm:"column:note"`
	Recorded  recordedRow `gorm:"embedded"`
	Voided    voidedRow   `gorm:"embedded"`
	Version   int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (clearingRow) TableName() string { return "clearings" }

func clearingToRow(c service.Clearing) clearingRow {
	return clearingRow{
		ID:        string(c.ID),
		BinID:     ref(c.Bin),
		BatchID:   ref(c.Batch),
		ReceiptID: ref(c.Receipt),
		Moment:    momentToRow(c.At),
		How:       c.How,
		Note:      c.Note,
		Recorded:  recordedToRow(c.Recorded),
		Voided:    voidedToRow(c.Voided),
		Version:   c.Version,
	}
}

func clearingFromRow(r clearingRow) service.Clearing {
	return service.Clearing{
		ID:       service.ClearingID(r.ID),
		Bin:      unref[service.BinID](r.BinID),
		Batch:    unref[service.BatchID](r.BatchID),
		Receipt:  unref[service.ReceiptID](r.ReceiptID),
		At:       momentFromRow(r.Moment),
		How:      r.How,
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Voided:   voidedFromRow(r.Voided),
		Version:  r.Version,
	}
}

// newClearings filters by bin and batch, and by member on who recorded; its
// lists leave out what was voided.
func newClearings(db *gorm.DB) table[service.Clearing, service.ClearingID, clearingRow] {
	return table[service.Clearing, service.ClearingID, clearingRow]{
		db: db, row: clearingToRow, value: clearingFromRow, missing: service.ErrClearingNotFound,
		dated: true, voids: true, columns: filters{bin: "bin_id", batch: "batch_id", member: "recorded_by"},
	}
}
