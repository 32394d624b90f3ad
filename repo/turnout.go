package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// turnoutRow is a row of turnouts.
type turnoutRow struct {
	ClubID     string      `gorm:"column:club_id;primaryKey"`
	ID         string      `gorm:"column:id;primaryKey"`
	Moment     momentRow   `gorm:"embedded"`
	Households *float64    `gorm:"column:households"`
	Hours      *float64    `gorm:"column:hours"`
	Recorded   recordedRow `gorm:"embedded"`
	Voided     voidedRow   `gorm:"embedded"`
	Version    int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (turnoutRow) TableName() string { return "turnouts" }

func turnoutToRow(t service.Turnout) turnoutRow {
	return turnoutRow{
		ID:         string(t.ID),
		Moment:     momentToRow(t.At),
		Households: t.Households,
		Hours:      t.Hours,
		Recorded:   recordedToRow(t.Recorded),
		Voided:     voidedToRow(t.Voided),
		Version:    t.Version,
	}
}

func turnoutFromRow(r turnoutRow) service.Turnout {
	return service.Turnout{
		ID:         service.TurnoutID(r.ID),
		At:         momentFromRow(r.Moment),
		Households: r.Households,
		Hours:      r.Hours,
		Recorded:   recordedFromRow(r.Recorded),
		Voided:     voidedFromRow(r.Voided),
		Version:    r.Version,
	}
}

// newTurnouts filters by member on who recorded; its lists leave out what was
// voided.
func newTurnouts(db *gorm.DB) table[service.Turnout, service.TurnoutID, turnoutRow] {
	return table[service.Turnout, service.TurnoutID, turnoutRow]{
		db: db, row: turnoutToRow, value: turnoutFromRow, missing: service.ErrTurnoutNotFound,
		dated: true, voids: true, columns: filters{member: "recorded_by"},
	}
}
