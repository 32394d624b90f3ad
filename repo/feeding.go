package repo

import (
	"cmp"
	"slices"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// feedingRow is a row of feedings.
type feedingRow struct {
	ClubID      string      `gorm:"column:club_id;primaryKey"`
	ID          string      `gorm:"column:id;primaryKey"`
	BinID       string      `gorm:"column:bin_id"`
	Moment      momentRow   `gorm:"embedded"`
	Placement   string      `gorm:"column:placement"`
	Preparation string      `gorm:"column:preparation"`
	Note        string      `gorm:"column:note"`
	Recorded    recordedRow `gorm:"embedded"`
	Voided      voidedRow   `gorm:"embedded"`
	Version     int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (feedingRow) TableName() string { return "feedings" }

// feedingToRow leaves out the items, which have rows of their own.
func feedingToRow(f service.Feeding) feedingRow {
	return feedingRow{
		ID:          string(f.ID),
		BinID:       string(f.Bin),
		Moment:      momentToRow(f.At),
		Placement:   string(f.Placement),
		Preparation: string(f.Preparation),
		Note:        f.Note,
		Recorded:    recordedToRow(f.Recorded),
		Voided:      voidedToRow(f.Voided),
		Version:     f.Version,
	}
}

// feedingFromRow leaves out the items, which have rows of their own.
func feedingFromRow(r feedingRow) service.Feeding {
	return service.Feeding{
		ID:          service.FeedingID(r.ID),
		Bin:         service.BinID(r.BinID),
		At:          momentFromRow(r.Moment),
		Placement:   service.Placement(r.Placement),
		Preparation: service.Preparation(r.Preparation),
		Note:        r.Note,
		Recorded:    recordedFromRow(r.Recorded),
		Voided:      voidedFromRow(r.Voided),
		Version:     r.Version,
	}
}

// feedingItemRow is a row of feeding_items: one material of a feeding.
type feedingItemRow struct {
	ClubID      string        `gorm:"column:club_id;primaryKey"`
	FeedingID   string        `gorm:"column:feeding_id;primaryKey"`
	Line        int64         `gorm:"column:line;primaryKey;autoIncrement:false"`
	MaterialID  string        `gorm:"column:material_id"`
	TypedValue  float64       `gorm:"column:typed_value"`
	TypedUnit   string        `gorm:"column:typed_unit"`
	WetMg       int64         `gorm:"column:wet_mg"`
	MeasureID   *string       `gorm:"column:measure_id"`
	Count       *float64      `gorm:"column:measure_count"`
	ReceiptID   *string       `gorm:"column:receipt_id"`
	MoisturePct *unit.Percent `gorm:"column:moisture_pct"`
	Weighed     bool          `gorm:"column:weighed"`
}

// TableName returns the name of the table.
func (feedingItemRow) TableName() string { return "feeding_items" }

func itemsToRows(f service.Feeding) []feedingItemRow {
	rows := make([]feedingItemRow, len(f.Items))
	for line, i := range f.Items {
		rows[line] = feedingItemRow{
			FeedingID:   string(f.ID),
			Line:        int64(line),
			MaterialID:  string(i.Material),
			TypedValue:  i.Typed.Value,
			TypedUnit:   i.Typed.Unit,
			WetMg:       int64(i.Wet),
			MeasureID:   ref(i.Measure),
			Count:       i.Count,
			ReceiptID:   ref(i.Receipt),
			MoisturePct: i.Moisture,
			Weighed:     i.Weighed,
		}
	}
	return rows
}

func itemFromRow(r feedingItemRow) service.FeedingItem {
	return service.FeedingItem{
		Material: service.MaterialID(r.MaterialID),
		Typed:    unit.Measure{Value: r.TypedValue, Unit: r.TypedUnit},
		Wet:      unit.Mass(r.WetMg),
		Measure:  unref[service.MeasureID](r.MeasureID),
		Count:    r.Count,
		Receipt:  unref[service.ReceiptID](r.ReceiptID),
		Moisture: r.MoisturePct,
		Weighed:  r.Weighed,
	}
}

// feedings keeps feedings with their items.
type feedings struct {
	table[service.Feeding, service.FeedingID, feedingRow]
}

// newFeedings filters by bin, and by member on who recorded; its lists leave out
// what was voided.
func newFeedings(db *gorm.DB) feedings {
	return feedings{table[service.Feeding, service.FeedingID, feedingRow]{
		db: db, row: feedingToRow, value: feedingFromRow, missing: service.ErrFeedingNotFound,
		dated: true, voids: true, columns: filters{bin: "bin_id", member: "recorded_by"},
	}}
}

// Insert implements service.Records. Errors: ErrIDTaken.
func (s feedings) Insert(f service.Feeding) error {
	if err := s.table.Insert(f); err != nil {
		return err
	}
	return insert(s.db, itemsToRows(f))
}

// Get implements service.Records. Errors: ErrFeedingNotFound.
func (s feedings) Get(id service.FeedingID) (service.Feeding, error) {
	f, err := s.table.Get(id)
	if err != nil {
		return service.Feeding{}, err
	}
	all, err := s.filled([]service.Feeding{f})
	if err != nil {
		return service.Feeding{}, err
	}
	return all[0], nil
}

// Some implements service.Records. Errors: the database's.
func (s feedings) Some(ids []service.FeedingID) ([]service.Feeding, error) {
	all, err := s.table.Some(ids)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// List implements service.Records. Errors: the database's.
func (s feedings) List(q service.Query) ([]service.Feeding, error) {
	all, err := s.table.List(q)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// Update implements service.Records; the items are replaced. Errors: ErrStale.
func (s feedings) Update(f service.Feeding) error {
	if err := s.table.Update(f); err != nil {
		return err
	}
	err := s.db.Where("feeding_id = ?", string(f.ID)).Delete(&feedingItemRow{}).Error
	if err != nil {
		return translate(err)
	}
	return insert(s.db, itemsToRows(f))
}

// filled gives the feedings their items, read in one query.
func (s feedings) filled(all []service.Feeding) ([]service.Feeding, error) {
	ids := each(all, func(f service.Feeding) service.FeedingID { return f.ID })
	rows, err := some[feedingItemRow](s.db, "feeding_id", ids)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(rows, func(a, b feedingItemRow) int { return cmp.Compare(a.Line, b.Line) })
	items := map[service.FeedingID][]service.FeedingItem{}
	for _, r := range rows {
		id := service.FeedingID(r.FeedingID)
		items[id] = append(items[id], itemFromRow(r))
	}
	for i := range all {
		all[i].Items = items[all[i].ID]
	}
	return all, nil
}
