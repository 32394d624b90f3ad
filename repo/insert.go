package repo

import (
	"slices"

	"gorm.io/gorm"
)

// insert adds rows, chunk at a time: a statement takes so many values only.
// Errors: what the constraints of the rows mean.
func insert[R any](db *gorm.DB, rows []R) error {
	for part := range slices.Chunk(rows, chunk) {
		if err := db.Create(&part).Error; err != nil {
			return translate(err)
		}
	}
	return nil
}
