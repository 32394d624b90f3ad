package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// batchStepRow is a row of batch_steps.
type batchStepRow struct {
	ClubID      string        `gorm:"column:club_id;primaryKey"`
	ID          string        `gorm:"column:id;primaryKey"`
	BatchID     string        `gorm:"column:batch_id"`
	Kind        string        `gorm:"column:kind"`
	Moment      momentRow     `gorm:"embedded"`
	MoisturePct *unit.Percent `gorm:"column:moisture_pct"`
	TypedValue  float64       `gorm:"column:typed_value"`
	TypedUnit   string        `gorm:"column:typed_unit"`
	WetMg       int64         `gorm:"column:wet_mg"`
	Bags        int64         `gorm:"column:bags"`
	BagsLeft    int64         `gorm:"column:bags_left"`
	What        string        `gorm:"column:what"`
	Heat        heatRow       `gorm:"embedded"`
	Parameter   string        `gorm:"column:parameter"`
	Sign        string        `gorm:"column:limit_sign"`
	Value       *float64      `gorm:"column:found"`
	Unit        string        `gorm:"column:found_unit"`
	Method      string        `gorm:"column:method"`
	Laboratory  string        `gorm:"column:laboratory"`
	Expires     string        `gorm:"column:expires_on"`
	Note        string        `gorm:"column:note"`
	Recorded    recordedRow   `gorm:"embedded"`
	Voided      voidedRow     `gorm:"embedded"`
	Version     int64         `gorm:"column:version"`
}

// TableName returns the name of the table.
func (batchStepRow) TableName() string { return "batch_steps" }

func batchStepToRow(s service.BatchStep) batchStepRow {
	return batchStepRow{
		ID:          string(s.ID),
		BatchID:     string(s.Batch),
		Kind:        string(s.Kind),
		Moment:      momentToRow(s.At),
		MoisturePct: s.Moisture,
		TypedValue:  s.Typed.Value,
		TypedUnit:   s.Typed.Unit,
		WetMg:       int64(s.Wet),
		Bags:        s.Bags,
		BagsLeft:    s.BagsLeft,
		What:        s.Heat.What,
		Heat:        heatToRow(s.Heat),
		Parameter:   s.Parameter,
		Sign:        string(s.Sign),
		Value:       s.Value,
		Unit:        s.Unit,
		Method:      s.Method,
		Laboratory:  s.Laboratory,
		Expires:     string(s.Expires),
		Note:        s.Note,
		Recorded:    recordedToRow(s.Recorded),
		Voided:      voidedToRow(s.Voided),
		Version:     s.Version,
	}
}

func batchStepFromRow(r batchStepRow) service.BatchStep {
	return service.BatchStep{
		ID:         service.BatchStepID(r.ID),
		Batch:      service.BatchID(r.BatchID),
		Kind:       service.StepKind(r.Kind),
		At:         momentFromRow(r.Moment),
		Moisture:   r.MoisturePct,
		Typed:      unit.Measure{Value: r.TypedValue, Unit: r.TypedUnit},
		Wet:        unit.Mass(r.WetMg),
		Bags:       r.Bags,
		BagsLeft:   r.BagsLeft,
		Heat:       heatFromRow(r.Heat, r.What),
		Parameter:  r.Parameter,
		Sign:       service.Sign(r.Sign),
		Value:      r.Value,
		Unit:       r.Unit,
		Method:     r.Method,
		Laboratory: r.Laboratory,
		Expires:    service.Day(r.Expires),
		Note:       r.Note,
		Recorded:   recordedFromRow(r.Recorded),
		Voided:     voidedFromRow(r.Voided),
		Version:    r.Version,
	}
}

// newBatchSteps filters by batch and kind; its lists leave out what was voided.
func newBatchSteps(db *gorm.DB) table[service.BatchStep, service.BatchStepID, batchStepRow] {
	return table[service.BatchStep, service.BatchStepID, batchStepRow]{
		db: db, row: batchStepToRow, value: batchStepFromRow, missing: service.ErrBatchStepNotFound,
		dated: true, voids: true, columns: filters{batch: "batch_id", kind: "kind", member: "recorded_by"},
	}
}
