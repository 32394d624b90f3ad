package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// totalRow is a row of monthly_totals.
type totalRow struct {
	ClubID     string `gorm:"column:club_id;primaryKey"`
	Month      string `gorm:"column:month;primaryKey"`
	BinID      string `gorm:"column:bin_id;primaryKey"`
	Kind       string `gorm:"column:kind;primaryKey"`
	SpeciesID  string `gorm:"column:species_id;primaryKey"`
	MaterialID string `gorm:"column:material_id;primaryKey"`
	MemberID   string `gorm:"column:member_id;primaryKey"`
	Records    int64  `gorm:"column:records"`
	MassMg     int64  `gorm:"column:mass_mg"`
	DryMg      int64  `gorm:"column:dry_mg"`
	WeighedMg  int64  `gorm:"column:weighed_mg"`
	Minor      int64  `gorm:"column:minor"`
}

// TableName returns the name of the table.
func (totalRow) TableName() string { return "monthly_totals" }

func totalToRow(t service.Total) totalRow {
	return totalRow{
		Month:      t.Month,
		BinID:      string(t.Bin),
		Kind:       string(t.Kind),
		SpeciesID:  string(t.Species),
		MaterialID: string(t.Material),
		MemberID:   string(t.Member),
		Records:    t.Records,
		MassMg:     int64(t.Mass),
		DryMg:      int64(t.Dry),
		WeighedMg:  int64(t.Weighed),
		Minor:      t.Minor,
	}
}

func totalFromRow(r totalRow) service.Total {
	return service.Total{
		TotalKey: service.TotalKey{
			Month:    r.Month,
			Bin:      service.BinID(r.BinID),
			Kind:     service.TotalKind(r.Kind),
			Species:  service.SpeciesID(r.SpeciesID),
			Material: service.MaterialID(r.MaterialID),
			Member:   service.MemberID(r.MemberID),
		},
		Amounts: service.Amounts{
			Records: r.Records, Mass: unit.Mass(r.MassMg), Dry: unit.Mass(r.DryMg), Weighed: unit.Mass(r.WeighedMg), Minor: r.Minor,
		},
	}
}

// rulesRow says by which rules the totals of a club were added up: a row of no
// month.
func rulesRow() totalRow { return totalRow{Kind: "rules", Records: service.TotalRules} }

// totals implements service.TotalRepo.
type totals struct{ db *gorm.DB }

// Add implements service.TotalRepo. Errors: the driver's.
func (s totals) Add(deltas []service.Total) error {
	for _, d := range deltas {
		if err := s.add(totalToRow(d)); err != nil {
			return err
		}
	}
	return nil
}

// add adds to the row of a key, or makes it. Errors: the driver's.
func (s totals) add(r totalRow) error {
	done := s.db.Model(new(totalRow)).Where(
		"month = ? AND bin_id = ? AND kind = ? AND species_id = ? AND material_id = ? AND member_id = ?",
		r.Month, r.BinID, r.Kind, r.SpeciesID, r.MaterialID, r.MemberID,
	).Updates(map[string]any{
		"records":    gorm.Expr("records + ?", r.Records),
		"mass_mg":    gorm.Expr("mass_mg + ?", r.MassMg),
		"dry_mg":     gorm.Expr("dry_mg + ?", r.DryMg),
		"weighed_mg": gorm.Expr("weighed_mg + ?", r.WeighedMg),
		"minor":      gorm.Expr("minor + ?", r.Minor),
	})
	if done.Error == nil && done.RowsAffected == 0 {
		return translate(s.db.Create(&r).Error)
	}
	return translate(done.Error)
}

// List implements service.TotalRepo. Errors: the driver's.
func (s totals) List(first, last string) ([]service.Total, error) {
	db := s.db.Where("month >= ?", max(first, "0"))
	if last != "" {
		db = db.Where("month <= ?", last)
	}
	var rows []totalRow
	for _, column := range []string{"month", "bin_id", "kind", "species_id", "material_id", "member_id"} {
		db = db.Order(column)
	}
	err := db.Find(&rows).Error
	return each(rows, totalFromRow), translate(err)
}

// Replace implements service.TotalRepo. Errors: the driver's.
func (s totals) Replace(all []service.Total) error {
	if err := s.db.Where("month >= ?", "").Delete(new(totalRow)).Error; err != nil {
		return translate(err)
	}
	return insert(s.db, append([]totalRow{rulesRow()}, each(all, totalToRow)...))
}

// Rules implements service.TotalRepo. Errors: the driver's.
func (s totals) Rules() (int64, error) {
	var rows []totalRow
	err := s.db.Where("month = ? AND kind = ?", "", rulesRow().Kind).Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return 0, translate(err)
	}
	return rows[0].Records, nil
}
