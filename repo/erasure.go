package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// erasureRow is a row of erasures.
type erasureRow struct {
	ClubID string `gorm:"column:club_id;primaryKey"`
	ID     string `gorm:"column:id;primaryKey"` // the member's
	At     int64  `gorm:"column:erased_at"`
	By     string `gorm:"column:erased_by"`
}

// TableName returns the name of the table.
func (erasureRow) TableName() string { return "erasures" }

func erasureToRow(e service.Erasure) erasureRow {
	return erasureRow{ID: string(e.ID), At: micros(e.At), By: string(e.By)}
}

func erasureFromRow(r erasureRow) service.Erasure {
	return service.Erasure{ID: service.MemberID(r.ID), At: fromMicros(r.At), By: service.MemberID(r.By)}
}

// newErasures implements service.ErasureRepo.
func newErasures(db *gorm.DB) table[service.Erasure, service.MemberID, erasureRow] {
	return table[service.Erasure, service.MemberID, erasureRow]{
		db: db, row: erasureToRow, value: erasureFromRow, missing: service.ErrMemberNotFound,
	}
}

// answers implements service.AnswerRepo: the answers that Once keeps.
type answers struct{ db *gorm.DB }

// Rewrite implements service.AnswerRepo. Errors: the driver's.
func (s answers) Rewrite(rewrite func(body string) string) error {
	var rows []keyRow
	if err := s.db.Where("body <> ?", "").Find(&rows).Error; err != nil {
		return translate(err)
	}
	for _, r := range rows {
		body := rewrite(r.Body)
		if body == r.Body {
			continue
		}
		err := s.db.Model(new(keyRow)).Where("account_id = ? AND route = ? AND key = ?", r.AccountID, r.Route, r.Key).
			Updates(map[string]any{"body": body}).Error
		if err != nil {
			return translate(err)
		}
	}
	return nil
}
