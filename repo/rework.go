package repo

import (
	"cmp"
	"slices"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// reworkRow is a row of reworks.
type reworkRow struct {
	ClubID   string      `gorm:"column:club_id;primaryKey"`
	ID       string      `gorm:"column:id;primaryKey"`
	Kind     string      `gorm:"column:kind"`
	Moment   momentRow   `gorm:"embedded"`
	LostMg   int64       `gorm:"column:lost_mg"`
	Note     string      `gorm:"column:note"`
	Recorded recordedRow `gorm:"embedded"`
	Version  int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (reworkRow) TableName() string { return "reworks" }

// reworkToRow leaves out the parts, which have rows of their own.
func reworkToRow(r service.Rework) reworkRow {
	return reworkRow{
		ID:       string(r.ID),
		Kind:     string(r.Kind),
		Moment:   momentToRow(r.At),
		LostMg:   int64(r.Lost),
		Note:     r.Note,
		Recorded: recordedToRow(r.Recorded),
		Version:  r.Version,
	}
}

// reworkFromRow leaves out the parts, which have rows of their own.
func reworkFromRow(r reworkRow) service.Rework {
	return service.Rework{
		ID:       service.ReworkID(r.ID),
		Kind:     service.ReworkKind(r.Kind),
		At:       momentFromRow(r.Moment),
		Lost:     unit.Mass(r.LostMg),
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Version:  r.Version,
	}
}

// reworkPartRow is a row of rework_parts: what goes in of a batch, or comes out
// into one.
type reworkPartRow struct {
	ClubID      string        `gorm:"column:club_id;primaryKey"`
	ReworkID    string        `gorm:"column:rework_id;primaryKey"`
	Line        int64         `gorm:"column:line;primaryKey;autoIncrement:false"`
	ComesOut    bool          `gorm:"column:comes_out"`
	BatchID     string        `gorm:"column:batch_id"`
	TypedValue  float64       `gorm:"column:typed_value"`
	TypedUnit   string        `gorm:"column:typed_unit"`
	MoisturePct *unit.Percent `gorm:"column:moisture_pct"`
	Assumed     bool          `gorm:"column:assumed"`
	WetMg       int64         `gorm:"column:wet_mg"`
	DryMg       int64         `gorm:"column:dry_mg"`
}

// TableName returns the name of the table.
func (reworkPartRow) TableName() string { return "rework_parts" }

func partsToRows(r service.Rework) []reworkPartRow {
	var rows []reworkPartRow
	for _, side := range [][]service.ReworkPart{r.From, r.Into} {
		for _, p := range side {
			rows = append(rows, reworkPartRow{
				ReworkID:    string(r.ID),
				Line:        int64(len(rows)),
				ComesOut:    len(rows) >= len(r.From),
				BatchID:     string(p.Batch),
				TypedValue:  p.Typed.Value,
				TypedUnit:   p.Typed.Unit,
				MoisturePct: p.Moisture,
				Assumed:     p.Assumed,
				WetMg:       int64(p.Wet),
				DryMg:       int64(p.Dry),
			})
		}
	}
	return rows
}

// withParts gives a rework the parts of its rows, which are in order.
func withParts(r service.Rework, rows []reworkPartRow) service.Rework {
	for _, row := range rows {
		p := service.ReworkPart{
			Batch:    service.BatchID(row.BatchID),
			Typed:    unit.Measure{Value: row.TypedValue, Unit: row.TypedUnit},
			Moisture: row.MoisturePct,
			Assumed:  row.Assumed,
			Wet:      unit.Mass(row.WetMg),
			Dry:      unit.Mass(row.DryMg),
		}
		if row.ComesOut {
			r.Into = append(r.Into, p)
		} else {
			r.From = append(r.From, p)
		}
	}
	return r
}

// reworks keeps reworks with their parts. They are never changed.
type reworks struct {
	table[service.Rework, service.ReworkID, reworkRow]
}

// newReworks filters by kind, by batch on both sides, and by member on who
// recorded.
func newReworks(db *gorm.DB) reworks {
	return reworks{table[service.Rework, service.ReworkID, reworkRow]{
		db: db, row: reworkToRow, value: reworkFromRow, missing: service.ErrReworkNotFound,
		dated: true, columns: filters{kind: "kind", member: "recorded_by"},
	}}
}

// Insert implements service.Records. Errors: ErrIDTaken.
func (s reworks) Insert(r service.Rework) error {
	if err := s.table.Insert(r); err != nil {
		return err
	}
	return insert(s.db, partsToRows(r))
}

// Get implements service.Records. Errors: ErrReworkNotFound.
func (s reworks) Get(id service.ReworkID) (service.Rework, error) {
	r, err := s.table.Get(id)
	if err != nil {
		return service.Rework{}, err
	}
	all, err := s.filled([]service.Rework{r})
	if err != nil {
		return service.Rework{}, err
	}
	return all[0], nil
}

// Some implements service.Records. Errors: the database's.
func (s reworks) Some(ids []service.ReworkID) ([]service.Rework, error) {
	all, err := s.table.Some(ids)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// List implements service.Records. Errors: the database's.
func (s reworks) List(q service.Query) ([]service.Rework, error) {
	list := s.table
	if q.Batch != "" {
		var parts []reworkPartRow
		if err := s.db.Where("batch_id = ?", string(q.Batch)).Find(&parts).Error; err != nil {
			return nil, translate(err)
		}
		list.db = s.db.Where("id IN ?", append(each(parts, func(p reworkPartRow) string { return p.ReworkID }), "")).Session(&gorm.Session{})
		q.Batch = ""
	}
	all, err := list.List(q)
	if err != nil {
		return nil, err
	}
	return s.filled(all)
}

// filled gives the reworks their parts, read in one query.
func (s reworks) filled(all []service.Rework) ([]service.Rework, error) {
	rows, err := some[reworkPartRow](s.db, "rework_id", each(all, func(r service.Rework) service.ReworkID { return r.ID }))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(rows, func(a, b reworkPartRow) int { return cmp.Compare(a.Line, b.Line) })
	parts := map[string][]reworkPartRow{}
	for _, r := range rows {
		parts[r.ReworkID] = append(parts[r.ReworkID], r)
	}
	for i, r := range all {
		all[i] = withParts(r, parts[string(r.ID)])
	}
	return all, nil
}
