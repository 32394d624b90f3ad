package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// receiptRow is a row of receipts.
type receiptRow struct {
	ClubID        string      `gorm:"column:club_id;primaryKey"`
	ID            string      `gorm:"column:id;primaryKey"`
	MaterialID    string      `gorm:"column:material_id"`
	Moment        momentRow   `gorm:"embedded"`
	From          string      `gorm:"column:from_name"`
	FromMember    *string     `gorm:"column:from_member"`
	TypedValue    float64     `gorm:"column:typed_value"`
	TypedUnit     string      `gorm:"column:typed_unit"`
	GrossValue    float64     `gorm:"column:gross_value"`
	GrossUnit     string      `gorm:"column:gross_unit"`
	TareValue     float64     `gorm:"column:tare_value"`
	TareUnit      string      `gorm:"column:tare_unit"`
	MeasureID     *string     `gorm:"column:measure_id"`
	Count         *float64    `gorm:"column:measure_count"`
	NetMg         int64       `gorm:"column:net_mg"`
	RejectedValue float64     `gorm:"column:rejected_value"`
	RejectedUnit  string      `gorm:"column:rejected_unit"`
	RejectedMg    int64       `gorm:"column:rejected_mg"`
	RejectedWhy   string      `gorm:"column:rejected_why"`
	ResidueValue  float64     `gorm:"column:residue_value"`
	ResidueUnit   string      `gorm:"column:residue_unit"`
	ResidueMg     int64       `gorm:"column:residue_mg"`
	Animal        *bool       `gorm:"column:animal"`
	Heat          heatRow     `gorm:"embedded"`
	HeatWhat      string      `gorm:"column:heat_what"`
	Basis         string      `gorm:"column:basis"`
	Note          string      `gorm:"column:note"`
	Recorded      recordedRow `gorm:"embedded"`
	Voided        voidedRow   `gorm:"embedded"`
	Version       int64       `gorm:"column:version"`
}

// heatRow is the columns of a treatment with heat, but for what was done.
type heatRow struct {
	Value float64  `gorm:"column:heat_value"`
	Unit  string   `gorm:"column:heat_unit"`
	Hours *float64 `gorm:"column:heat_hours"`
}

func heatToRow(h service.Heat) heatRow { return heatRow{h.Value.Value, h.Value.Unit, h.Hours} }

func heatFromRow(r heatRow, what string) service.Heat {
	return service.Heat{What: what, Value: unit.Measure{Value: r.Value, Unit: r.Unit}, Hours: r.Hours}
}

// TableName returns the name of the table.
func (receiptRow) TableName() string { return "receipts" }

func receiptToRow(r service.Receipt) receiptRow {
	return receiptRow{
		ID:            string(r.ID),
		MaterialID:    string(r.Material),
		Moment:        momentToRow(r.At),
		From:          r.From,
		FromMember:    ref(r.FromMember),
		TypedValue:    r.Typed.Value,
		TypedUnit:     r.Typed.Unit,
		GrossValue:    r.Gross.Value,
		GrossUnit:     r.Gross.Unit,
		TareValue:     r.Tare.Value,
		TareUnit:      r.Tare.Unit,
		MeasureID:     ref(r.Measure),
		Count:         r.Count,
		NetMg:         int64(r.Net),
		RejectedValue: r.RejectedTyped.Value,
		RejectedUnit:  r.RejectedTyped.Unit,
		RejectedMg:    int64(r.Rejected),
		RejectedWhy:   r.RejectedWhy,
		ResidueValue:  r.ResidueTyped.Value,
		ResidueUnit:   r.ResidueTyped.Unit,
		ResidueMg:     int64(r.Residue),
		Animal:        r.Animal,
		Heat:          heatToRow(r.Heat),
		HeatWhat:      r.Heat.What,
		Basis:         string(r.Basis),
		Note:          r.Note,
		Recorded:      recordedToRow(r.Recorded),
		Voided:        voidedToRow(r.Voided),
		Version:       r.Version,
	}
}

func receiptFromRow(r receiptRow) service.Receipt {
	return service.Receipt{
		ID:            service.ReceiptID(r.ID),
		Material:      service.MaterialID(r.MaterialID),
		At:            momentFromRow(r.Moment),
		From:          r.From,
		FromMember:    unref[service.MemberID](r.FromMember),
		Typed:         unit.Measure{Value: r.TypedValue, Unit: r.TypedUnit},
		Gross:         unit.Measure{Value: r.GrossValue, Unit: r.GrossUnit},
		Tare:          unit.Measure{Value: r.TareValue, Unit: r.TareUnit},
		Measure:       unref[service.MeasureID](r.MeasureID),
		Count:         r.Count,
		Net:           unit.Mass(r.NetMg),
		RejectedTyped: unit.Measure{Value: r.RejectedValue, Unit: r.RejectedUnit},
		Rejected:      unit.Mass(r.RejectedMg),
		RejectedWhy:   r.RejectedWhy,
		ResidueTyped:  unit.Measure{Value: r.ResidueValue, Unit: r.ResidueUnit},
		Residue:       unit.Mass(r.ResidueMg),
		Animal:        r.Animal,
		Heat:          heatFromRow(r.Heat, r.HeatWhat),
		Basis:         service.Basis(r.Basis),
		Note:          r.Note,
		Recorded:      recordedFromRow(r.Recorded),
		Voided:        voidedFromRow(r.Voided),
		Version:       r.Version,
	}
}

// newReceipts filters by material, and by member on who recorded; its lists leave
// out what was voided.
func newReceipts(db *gorm.DB) table[service.Receipt, service.ReceiptID, receiptRow] {
	return table[service.Receipt, service.ReceiptID, receiptRow]{
		db: db, row: receiptToRow, value: receiptFromRow, missing: service.ErrReceiptNotFound,
		dated: true, voids: true, columns: filters{material: "material_id", member: "recorded_by"},
	}
}
