package service

import (
	"reflect"
	"slices"

	"lumbricary.example/service/journal"
)

// counted makes the repositories of dated records note what each change of them
// adds to the monthly totals, so that no use-case can forget it. What was noted
// is added at the end of the transaction (keepTotals).
func (w *work) counted() *work {
	tx := &w.Tx
	tx.Feedings = countedRecords[Feeding, FeedingID]{tx.Feedings, w}
	tx.Checks = countedRecords[Check, CheckID]{tx.Checks, w}
	tx.Harvests = countedHarvests{countedRecords[Harvest, HarvestID]{tx.Harvests, w}}
	tx.Movements = countedMovements{tx.Movements, w}
	tx.Materials = remadeByMaterials{tx.Materials, w}
	tx.Settings = remadeBySettings{tx.Settings, w}
	return w
}

// count notes that records count once more or once less.
func (w *work) count(times int64, v countable) {
	w.changes = append(w.changes, counting{v, times})
}

// countedRecords counts the records of a noun that posts nothing.
type countedRecords[T countable, K ~string] struct {
	Records[T, K]
	work *work
}

// Insert implements Records.
func (s countedRecords[T, K]) Insert(v T) error {
	if err := s.Records.Insert(v); err != nil {
		return err
	}
	s.work.count(1, v)
	return nil
}

// Update implements Records.
func (s countedRecords[T, K]) Update(v T) error {
	before, err := s.Get(K(idOf(v)))
	if err != nil {
		return err
	}
	if err := s.Records.Update(v); err != nil {
		return err
	}
	s.work.count(-1, before)
	s.work.count(1, v)
	return nil
}

// Delete implements Records.
func (s countedRecords[T, K]) Delete(v T) error {
	if err := s.Records.Delete(v); err != nil {
		return err
	}
	s.work.count(-1, v)
	return nil
}

// countedHarvests counts harvests, which stand and fall with their movements.
type countedHarvests struct {
	countedRecords[Harvest, HarvestID]
}

// Insert implements Records.
func (s countedHarvests) Insert(h Harvest) error {
	if s.work.void[MovementID(h.ID)] {
		return s.Records.Insert(h)
	}
	return s.countedRecords.Insert(h)
}

// countedMovements counts the entries of the journal. Those that come to nothing
// with another of the same transaction (InsertVoid) never count.
type countedMovements struct {
	MovementRepo
	work *work
}

// Insert implements MovementRepo.
func (s countedMovements) Insert(ms ...Movement) error {
	for _, m := range ms {
		if m.Kind == journal.Reversal {
			if err := s.take(m.Reverses, ms); err != nil {
				return err
			}
		}
		s.work.count(1, m)
	}
	return s.MovementRepo.Insert(ms...)
}

// take notes that an entry, one of ms or before them, is about to be reversed,
// and its harvest with it.
func (s countedMovements) take(id MovementID, ms []Movement) error {
	if i := slices.IndexFunc(ms, func(m Movement) bool { return m.ID == id }); i >= 0 {
		s.work.count(-1, ms[i])
		return nil
	}
	m, err := s.Get(id)
	if err != nil {
		return err
	}
	s.work.count(-1, m)
	if m.Kind != journal.Harvest {
		return nil
	}
	h, err := s.work.Harvests.Get(HarvestID(id))
	if err != nil {
		return err
	}
	s.work.count(-1, h)
	return nil
}

// remadeByMaterials makes all totals anew where a material's moisture changes,
// since dry matter that was fed of it does.
type remadeByMaterials struct {
	Records[Material, MaterialID]
	work *work
}

// Update implements Records.
func (s remadeByMaterials) Update(m Material) error {
	before, err := s.Get(m.ID)
	if err != nil {
		return err
	}
	if !reflect.DeepEqual(before.Moisture, m.Moisture) {
		s.work.remakes = true
	}
	return s.Records.Update(m)
}

// remadeBySettings makes all totals anew where the club's zone changes, since
// its months begin at other moments then.
type remadeBySettings struct {
	SettingsRepo
	work *work
}

// Update implements SettingsRepo.
func (s remadeBySettings) Update(c Club) error {
	s.work.remakes = s.work.remakes || c.TimeZone != s.work.Club.TimeZone
	if err := s.SettingsRepo.Update(c); err != nil {
		return err
	}
	s.work.Club = c
	return nil
}
