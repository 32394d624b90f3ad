package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// measureRow is a row of measures.
type measureRow struct {
	ClubID      string  `gorm:"column:club_id;primaryKey"`
	ID          string  `gorm:"column:id;primaryKey"`
	Name        string  `gorm:"column:name"`
	VolumeValue float64 `gorm:"column:volume_value"`
	VolumeUnit  string  `gorm:"column:volume_unit"`
	TareValue   float64 `gorm:"column:tare_value"`
	TareUnit    string  `gorm:"column:tare_unit"`
	Note        string  `gorm:"column:note"`
	Created     int64   `gorm:"column:created_at"`
	Version     int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (measureRow) TableName() string { return "measures" }

func measureToRow(m service.Measure) measureRow {
	return measureRow{
		ID:          string(m.ID),
		Name:        m.Name,
		VolumeValue: m.Volume.Value,
		VolumeUnit:  m.Volume.Unit,
		TareValue:   m.Tare.Value,
		TareUnit:    m.Tare.Unit,
		Note:        m.Note,
		Created:     micros(m.CreatedAt),
		Version:     m.Version,
	}
}

func measureFromRow(r measureRow) service.Measure {
	return service.Measure{
		ID:        service.MeasureID(r.ID),
		Name:      r.Name,
		Volume:    unit.Measure{Value: r.VolumeValue, Unit: r.VolumeUnit},
		Tare:      unit.Measure{Value: r.TareValue, Unit: r.TareUnit},
		Note:      r.Note,
		CreatedAt: fromMicros(r.Created),
		Version:   r.Version,
	}
}

// newMeasures has no filters.
func newMeasures(db *gorm.DB) table[service.Measure, service.MeasureID, measureRow] {
	return table[service.Measure, service.MeasureID, measureRow]{
		db: db, row: measureToRow, value: measureFromRow, missing: service.ErrMeasureNotFound,
	}
}
