package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// harvestRow is a row of harvests.
type harvestRow struct {
	ClubID      string        `gorm:"column:club_id;primaryKey"`
	ID          string        `gorm:"column:id;primaryKey"`
	BinID       string        `gorm:"column:bin_id"`
	Moment      momentRow     `gorm:"embedded"`
	Full        bool          `gorm:"column:full_harvest"`
	Method      string        `gorm:"column:method"`
	MeshMM      float64       `gorm:"column:mesh_mm"`
	TypedValue  float64       `gorm:"column:typed_value"`
	TypedUnit   string        `gorm:"column:typed_unit"`
	WetMg       int64         `gorm:"column:wet_mg"`
	MoisturePct *unit.Percent `gorm:"column:moisture_pct"`
	DryMg       int64         `gorm:"column:dry_mg"`
	BatchID     *string       `gorm:"column:batch_id"`
	PutBackMg   int64         `gorm:"column:put_back_mg"`
	WormsTo     *string       `gorm:"column:worms_to"`
	Worms       string        `gorm:"column:worms"` // JSON array of lineJSON
	Note        string        `gorm:"column:note"`
	Recorded    recordedRow   `gorm:"embedded"`
	Version     int64         `gorm:"column:version"`
}

// TableName returns the name of the table.
func (harvestRow) TableName() string { return "harvests" }

func harvestToRow(h service.Harvest) harvestRow {
	return harvestRow{
		ID:          string(h.ID),
		BinID:       string(h.Bin),
		Moment:      momentToRow(h.At),
		Full:        h.Full,
		Method:      string(h.Method),
		MeshMM:      h.MeshMM,
		TypedValue:  h.Typed.Value,
		TypedUnit:   h.Typed.Unit,
		WetMg:       int64(h.Wet),
		MoisturePct: h.Moisture,
		DryMg:       int64(h.Dry),
		BatchID:     ref(h.Batch),
		PutBackMg:   int64(h.PutBack),
		WormsTo:     ref(h.WormsTo),
		Worms:       toArray(each(h.Worms, lineToJSON)),
		Note:        h.Note,
		Recorded:    recordedToRow(h.Recorded),
		Version:     h.Version,
	}
}

func harvestFromRow(r harvestRow) service.Harvest {
	return service.Harvest{
		ID:       service.HarvestID(r.ID),
		Bin:      service.BinID(r.BinID),
		At:       momentFromRow(r.Moment),
		Full:     r.Full,
		Method:   service.HarvestMethod(r.Method),
		MeshMM:   r.MeshMM,
		Typed:    unit.Measure{Value: r.TypedValue, Unit: r.TypedUnit},
		Wet:      unit.Mass(r.WetMg),
		Moisture: r.MoisturePct,
		Dry:      unit.Mass(r.DryMg),
		Batch:    unref[service.BatchID](r.BatchID),
		PutBack:  unit.Mass(r.PutBackMg),
		WormsTo:  unref[service.BinID](r.WormsTo),
		Worms:    each(fromArray[lineJSON](r.Worms), lineFromJSON),
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Version:  r.Version,
	}
}

// newHarvests filters by bin and batch, and by member on who recorded.
func newHarvests(db *gorm.DB) table[service.Harvest, service.HarvestID, harvestRow] {
	return table[service.Harvest, service.HarvestID, harvestRow]{
		db: db, row: harvestToRow, value: harvestFromRow, missing: service.ErrHarvestNotFound,
		dated: true, columns: filters{bin: "bin_id", member: "recorded_by", batch: "batch_id"},
	}
}
