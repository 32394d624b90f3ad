package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// quarantineRow is a row of quarantines.
type quarantineRow struct {
	ClubID            string      `gorm:"column:club_id;primaryKey"`
	ID                string      `gorm:"column:id;primaryKey"`
	BinID             string      `gorm:"column:bin_id"`
	Moment            momentRow   `gorm:"embedded"`
	UntilDay          string      `gorm:"column:until_day"`
	Reason            string      `gorm:"column:reason"`
	Released          int64       `gorm:"column:released_at"`
	ReleasedPrecision string      `gorm:"column:released_precision"`
	ReleasedBy        *string     `gorm:"column:released_by"`
	Outcome           string      `gorm:"column:outcome"`
	ReleasedNote      string      `gorm:"column:released_note"`
	Note              string      `gorm:"column:note"`
	Recorded          recordedRow `gorm:"embedded"`
	Voided            voidedRow   `gorm:"embedded"`
	Version           int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (quarantineRow) TableName() string { return "quarantines" }

func quarantineToRow(q service.Quarantine) quarantineRow {
	released := momentToRow(q.Released)
	return quarantineRow{
		ID:                string(q.ID),
		BinID:             string(q.Bin),
		Moment:            momentToRow(q.At),
		UntilDay:          string(q.Until),
		Reason:            q.Reason,
		Released:          released.At,
		ReleasedPrecision: released.Precision,
		ReleasedBy:        ref(q.ReleasedBy),
		Outcome:           string(q.Outcome),
		ReleasedNote:      q.ReleasedNote,
		Note:              q.Note,
		Recorded:          recordedToRow(q.Recorded),
		Voided:            voidedToRow(q.Voided),
		Version:           q.Version,
	}
}

func quarantineFromRow(r quarantineRow) service.Quarantine {
	return service.Quarantine{
		ID:           service.QuarantineID(r.ID),
		Bin:          service.BinID(r.BinID),
		At:           momentFromRow(r.Moment),
		Until:        service.Day(r.UntilDay),
		Reason:       r.Reason,
		Released:     momentFromRow(momentRow{r.Released, r.ReleasedPrecision}),
		ReleasedBy:   unref[service.MemberID](r.ReleasedBy),
		Outcome:      service.QuarantineOutcome(r.Outcome),
		ReleasedNote: r.ReleasedNote,
		Note:         r.Note,
		Recorded:     recordedFromRow(r.Recorded),
		Voided:       voidedFromRow(r.Voided),
		Version:      r.Version,
	}
}

// newQuarantines filters by bin, and by member on who recorded; its lists leave
// out what was voided.
func newQuarantines(db *gorm.DB) table[service.Quarantine, service.QuarantineID, quarantineRow] {
	return table[service.Quarantine, service.QuarantineID, quarantineRow]{
		db: db, row: quarantineToRow, value: quarantineFromRow, missing: service.ErrQuarantineNotFound,
		dated: true, voids: true, columns: filters{bin: "bin_id", member: "recorded_by"},
	}
}
