package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// materialRow is a row of materials.
type materialRow struct {
	ClubID       string        `gorm:"column:club_id;primaryKey"`
	ID           string        `gorm:"column:id;primaryKey"`
	Name         string        `gorm:"column:name"`
	Kind         string        `gorm:"column:kind"`
	Feedstock    string        `gorm:"column:feedstock"`
	MoisturePct  *unit.Percent `gorm:"column:moisture_pct"`
	NitrogenPct  *float64      `gorm:"column:nitrogen_pct"`
	CarbonRatio  *float64      `gorm:"column:carbon_ratio"`
	DensityGPerL *float64      `gorm:"column:density_g_per_l"`
	AnimalOrigin bool          `gorm:"column:animal_origin"`
	Slow         bool          `gorm:"column:slow"`
	Note         string        `gorm:"column:note"`
	Created      int64         `gorm:"column:created_at"`
	Version      int64         `gorm:"column:version"`
}

// TableName returns the name of the table.
func (materialRow) TableName() string { return "materials" }

func materialToRow(m service.Material) materialRow {
	return materialRow{
		ID:           string(m.ID),
		Name:         m.Name,
		Kind:         string(m.Kind),
		Feedstock:    m.Feedstock,
		MoisturePct:  m.Moisture,
		NitrogenPct:  m.NitrogenPct,
		CarbonRatio:  m.CarbonRatio,
		DensityGPerL: m.DensityGPerL,
		AnimalOrigin: m.AnimalOrigin,
		Slow:         m.Slow,
		Note:         m.Note,
		Created:      micros(m.CreatedAt),
		Version:      m.Version,
	}
}

func materialFromRow(r materialRow) service.Material {
	return service.Material{
		ID:           service.MaterialID(r.ID),
		Name:         r.Name,
		Kind:         service.MaterialKind(r.Kind),
		Feedstock:    r.Feedstock,
		Moisture:     r.MoisturePct,
		NitrogenPct:  r.NitrogenPct,
		CarbonRatio:  r.CarbonRatio,
		DensityGPerL: r.DensityGPerL,
		AnimalOrigin: r.AnimalOrigin,
		Slow:         r.Slow,
		Note:         r.Note,
		CreatedAt:    fromMicros(r.Created),
		Version:      r.Version,
	}
}

// newMaterials filters by kind.
func newMaterials(db *gorm.DB) table[service.Material, service.MaterialID, materialRow] {
	return table[service.Material, service.MaterialID, materialRow]{
		db: db, row: materialToRow, value: materialFromRow, missing: service.ErrMaterialNotFound,
		columns: filters{kind: "kind"},
	}
}
