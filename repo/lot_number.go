package repo

import (
	"strings"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// lotNumberRow is a row of lot_numbers: a number and the batch that has it, or
// had it.
type lotNumberRow struct {
	ClubID  string `gorm:"column:club_id;primaryKey"`
	ID      string `gorm:"column:id;primaryKey"`
	BatchID string `gorm:"column:batch_id"`
}

// TableName returns the name of the table.
func (lotNumberRow) TableName() string { return "lot_numbers" }

// lotNumbers implements service.LotNumberRepo.
type lotNumbers struct{ db *gorm.DB }

// Take implements service.LotNumberRepo. Errors: ErrLotNumberTaken.
func (s lotNumbers) Take(number string, of service.BatchID) error {
	there, err := some[lotNumberRow](s.db, "id", []string{number})
	switch {
	case err != nil:
		return err
	case len(there) == 0:
		return insert(s.db, []lotNumberRow{{ID: number, BatchID: string(of)}})
	case there[0].BatchID != string(of):
		return service.ErrLotNumberTaken
	}
	return nil
}

// From implements service.LotNumberRepo. Errors: the database's.
func (s lotNumbers) From(beginning string) ([]string, error) {
	var rows []lotNumberRow
	pattern := strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`).Replace(beginning) + "%"
	if err := s.db.Where(`id LIKE ? ESCAPE ?`, pattern, `\`).Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return each(rows, func(r lotNumberRow) string { return r.ID }), nil
}
