package repo

import (
	"cmp"
	"slices"

	"lumbricary.example/service"
)

// All implements service.LotRepo. Errors: the database's.
func (s lots) All() ([]service.Lot, error) {
	var rows []lotRow
	if err := s.db.Order("opened_at").Order("id").Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return s.filled(rows)
}

// Replace implements service.LotRepo. Errors: the database's.
func (s lots) Replace(all []service.Lot) error {
	var rows []lotRow
	if err := s.db.Select("id").Find(&rows).Error; err != nil {
		return translate(err)
	}
	for part := range slices.Chunk(each(rows, func(r lotRow) string { return r.ID }), chunk) {
		err := cmp.Or(
			s.db.Where("lot_id IN ?", part).Delete(&lotParentRow{}).Error,
			s.db.Where("id IN ?", part).Delete(&lotRow{}).Error,
		)
		if err != nil {
			return translate(err)
		}
	}
	return s.Insert(all)
}
