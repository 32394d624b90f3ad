package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// batchRow is a row of batches.
type batchRow struct {
	ClubID    string  `gorm:"column:club_id;primaryKey"`
	ID        string  `gorm:"column:id;primaryKey"`
	LotNumber string  `gorm:"column:lot_number"`
	Product   string  `gorm:"column:product"`
	MeshMM    float64 `gorm:"column:mesh_mm"`
	Note      string  `gorm:"column:note"`
	Created   int64   `gorm:"column:created_at"`
	Version   int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (batchRow) TableName() string { return "batches" }

func batchToRow(b service.Batch) batchRow {
	return batchRow{
		ID:        string(b.ID),
		LotNumber: b.LotNumber,
		Product:   string(b.Product),
		MeshMM:    b.MeshMM,
		Note:      b.Note,
		Created:   micros(b.CreatedAt),
		Version:   b.Version,
	}
}

func batchFromRow(r batchRow) service.Batch {
	return service.Batch{
		ID:        service.BatchID(r.ID),
		LotNumber: r.LotNumber,
		Product:   service.Product(r.Product),
		MeshMM:    r.MeshMM,
		Note:      r.Note,
		CreatedAt: fromMicros(r.Created),
		Version:   r.Version,
	}
}

// newBatches filters by kind on the product.
func newBatches(db *gorm.DB) table[service.Batch, service.BatchID, batchRow] {
	return table[service.Batch, service.BatchID, batchRow]{
		db: db, row: batchToRow, value: batchFromRow, missing: service.ErrBatchNotFound,
		columns: filters{kind: "product"},
	}
}
