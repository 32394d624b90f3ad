package repo

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// lotRow is a row of lots.
type lotRow struct {
	ClubID    string  `gorm:"column:club_id;primaryKey"`
	ID        string  `gorm:"column:id;primaryKey"`
	BinID     *string `gorm:"column:bin_id"`
	Transit   string  `gorm:"column:transit"`
	SpeciesID string  `gorm:"column:species_id"`
	OpenedBy  string  `gorm:"column:opened_by"`
	OpenedAt  int64   `gorm:"column:opened_at"`
	OpenedSeq int64   `gorm:"column:opened_seq"`
	MassMg    int64   `gorm:"column:mass_mg"`
	EndedAt   int64   `gorm:"column:ended_at"`
	EndedBy   *string `gorm:"column:ended_by"`
	Depth     int64   `gorm:"column:depth"`
	MemberID  string  `gorm:"column:member_id"`
	Withdrawn bool    `gorm:"column:withdrawn"`
	Successor string  `gorm:"column:successor"`
	Shares    []byte  `gorm:"column:shares"` // see shares.go
}

// TableName returns the name of the table.
func (lotRow) TableName() string { return "lots" }

// lotToRow leaves out the parents, which have rows of their own.
func lotToRow(l service.Lot) lotRow {
	return lotRow{
		ID:        l.ID,
		BinID:     ref(l.Place.Bin),
		Transit:   l.Place.Transit,
		SpeciesID: l.Place.Species,
		OpenedBy:  l.OpenedBy,
		OpenedAt:  micros(l.OpenedAt),
		OpenedSeq: l.OpenedSeq,
		MassMg:    int64(l.Mass),
		EndedAt:   micros(l.EndedAt),
		EndedBy:   ref(l.EndedBy),
		Depth:     int64(l.Depth),
		MemberID:  string(l.Member),
		Withdrawn: l.Withdrawn,
		Successor: l.Successor,
		Shares:    sharesToBytes(l.Shares),
	}
}

// lotFromRow leaves out the parents, which have rows of their own.
func lotFromRow(r lotRow, known origins) service.Lot {
	return service.Lot{
		Lot: lineage.Lot{
			ID:        r.ID,
			Place:     lineage.Place{Bin: unref[string](r.BinID), Species: r.SpeciesID, Transit: r.Transit},
			OpenedBy:  r.OpenedBy,
			OpenedAt:  fromMicros(r.OpenedAt),
			OpenedSeq: r.OpenedSeq,
			Mass:      unit.Mass(r.MassMg),
			EndedAt:   fromMicros(r.EndedAt),
			EndedBy:   unref[string](r.EndedBy),
			Depth:     int(r.Depth),
			Withdrawn: r.Withdrawn,
			Successor: r.Successor,
			Shares:    known.shares(r.Shares),
		},
		Member: service.MemberID(r.MemberID),
	}
}

// lotParentRow is a row of lot_parents: a lot or an origin that a lot came from.
type lotParentRow struct {
	ClubID   string  `gorm:"column:club_id;primaryKey"`
	LotID    string  `gorm:"column:lot_id;primaryKey"`
	Line     int64   `gorm:"column:line;primaryKey;autoIncrement:false"`
	ParentID *string `gorm:"column:parent_id"`
	OriginID string  `gorm:"column:origin_id"`
	MassMg   int64   `gorm:"column:mass_mg"`
	Via      bool    `gorm:"column:via"` // no parent, but a lot under way that some came by
}

// TableName returns the name of the table.
func (lotParentRow) TableName() string { return "lot_parents" }

// parentsToRows returns the parents of l, then the lots under way that it came
// by.
func parentsToRows(l service.Lot) []lotParentRow {
	var rows []lotParentRow
	for line, p := range slices.Concat(l.Parents, l.Via) {
		rows = append(rows, lotParentRow{
			LotID: l.ID, Line: int64(line), ParentID: ref(p.Lot), OriginID: p.Origin, MassMg: int64(p.Mass), Via: line >= len(l.Parents),
		})
	}
	return rows
}

func parentFromRow(r lotParentRow) lineage.Parent {
	return lineage.Parent{Lot: unref[string](r.ParentID), Origin: r.OriginID, Mass: unit.Mass(r.MassMg)}
}

// addParent puts what a row tells into l.
func addParent(l *service.Lot, r lotParentRow) {
	if r.Via {
		l.Via = append(l.Via, parentFromRow(r))
	} else {
		l.Parents = append(l.Parents, parentFromRow(r))
	}
}

// lots implements service.LotRepo.
type lots struct {
	db    *gorm.DB
	known origins
}

func newLots(db *gorm.DB) lots { return lots{db, origins{}} }

// Insert implements service.LotRepo. Errors: the database's.
func (s lots) Insert(all []service.Lot) error {
	return cmp.Or(insert(s.db, each(all, lotToRow)), s.insertParents(all))
}

// insertParents adds what hangs on lots. Errors: the database's.
func (s lots) insertParents(all []service.Lot) error {
	var parents []lotParentRow
	for _, l := range all {
		parents = append(parents, parentsToRows(l)...)
	}
	return insert(s.db, parents)
}

// Update implements service.LotRepo. Errors: the database's.
func (s lots) Update(all []service.Lot) error {
	for part := range slices.Chunk(all, chunk) {
		ids := each(part, func(l service.Lot) string { return l.ID })
		if err := s.db.Where("lot_id IN ?", ids).Delete(&lotParentRow{}).Error; err != nil {
			return translate(err)
		}
	}
	return cmp.Or(s.Remix(all), s.insertParents(all))
}

// Remix implements service.LotRepo. Errors: the database's.
func (s lots) Remix(all []service.Lot) error {
	for part := range slices.Chunk(all, chunk) {
		if err := updateLots(s.db, each(part, lotToRow)); err != nil {
			return err
		}
	}
	return nil
}

// Since implements service.LotRepo. Errors: the database's.
func (s lots) Since(p lineage.Place, from time.Time) ([]service.Lot, error) {
	var newest, rows []lotRow
	err := s.in(p).Where("withdrawn = ? AND opened_at < ?", false, micros(from)).
		Order("opened_at DESC").Order("opened_seq DESC").Limit(1).Find(&newest).Error
	if err == nil {
		err = s.in(p).Where("withdrawn = ? OR opened_at >= ?", true, micros(from)).Find(&rows).Error
	}
	if err != nil {
		return nil, translate(err)
	}
	return s.filled(append(rows, newest...))
}

// Get implements service.LotRepo. Errors: ErrLotNotFound.
func (s lots) Get(id service.LotID) (service.Lot, error) {
	all, err := s.Some([]service.LotID{id})
	if err == nil && len(all) == 0 {
		err = service.ErrLotNotFound
	}
	if err != nil {
		return service.Lot{}, err
	}
	return all[0], nil
}

// Some implements service.LotRepo. Errors: the database's.
func (s lots) Some(ids []service.LotID) ([]service.Lot, error) {
	rows, err := some[lotRow](s.db, "id", ids)
	if err != nil {
		return nil, err
	}
	return s.filled(rows)
}

// Children implements service.LotRepo. Errors: the database's.
func (s lots) Children(ids []service.LotID) ([]service.LotID, error) {
	links, err := some[lotParentRow](s.db.Select("lot_id").Session(&gorm.Session{}), "parent_id", ids)
	return childrenOf(links), err
}

// childrenOf lists the lots of links, each once.
func childrenOf(links []lotParentRow) []service.LotID {
	children := each(links, func(r lotParentRow) service.LotID { return service.LotID(r.LotID) })
	slices.Sort(children)
	return slices.Compact(children)
}

// Bare implements service.LotRepo. Errors: the database's.
func (s lots) Bare(ids []service.LotID) ([]service.Lot, error) {
	rows, err := some[lotRow](s.db.Omit("shares").Session(&gorm.Session{}), "id", ids)
	if err != nil {
		return nil, err
	}
	return s.filled(slices.DeleteFunc(rows, func(r lotRow) bool { return r.BinID == nil }))
}

// BareChildren implements service.LotRepo. Errors: the database's.
func (s lots) BareChildren(ids []service.LotID) ([]service.Lot, error) {
	children, err := s.Children(ids)
	if err != nil {
		return nil, err
	}
	return s.Bare(children)
}

// in keeps the lots of one place.
func (s lots) in(p lineage.Place) *gorm.DB {
	if p.Transit != "" {
		return s.db.Where("transit = ? AND species_id = ?", p.Transit, p.Species)
	}
	return s.db.Where("bin_id = ? AND species_id = ?", p.Bin, p.Species)
}

// Newest implements service.LotRepo. Errors: the database's.
func (s lots) Newest(places []lineage.Place) ([]service.Lot, error) {
	var all []lotRow
	for _, p := range places {
		var rows []lotRow
		err := s.in(p).Where("withdrawn = ?", false).Order("opened_at DESC").Order("opened_seq DESC").Limit(1).Find(&rows).Error
		if err != nil {
			return nil, translate(err)
		}
		all = append(all, rows...)
	}
	return s.filled(all)
}

// Waiting implements service.LotRepo. Errors: the database's.
func (s lots) Waiting(places []lineage.Place) ([]service.Lot, error) {
	var all []lotRow
	for _, p := range places {
		var rows []lotRow
		if err := s.in(p).Where("withdrawn = ?", true).Where("successor = ?", "").Find(&rows).Error; err != nil {
			return nil, translate(err)
		}
		all = append(all, rows...)
	}
	return s.filled(all)
}

// Standing implements service.LotRepo. Withdrawn lots never stood. Errors: the
// database's.
func (s lots) Standing(bin service.BinID) ([]service.Lot, error) {
	db := s.db.Where("withdrawn = ?", false).Where("bin_id IS NOT NULL")
	if bin != "" {
		db = db.Where("bin_id = ?", string(bin))
	}
	var rows []lotRow
	err := db.Order("bin_id").Order("species_id").Order("opened_at").Order("opened_seq").Find(&rows).Error
	if err != nil {
		return nil, translate(err)
	}
	var newest []lotRow
	for i, r := range rows {
		if i+1 == len(rows) || *rows[i+1].BinID != *r.BinID || rows[i+1].SpeciesID != r.SpeciesID {
			newest = append(newest, r)
		}
	}
	return s.filled(newest)
}

// List implements service.LotRepo; withdrawn lots are in it. It filters by bin
// and species, and by member on who kept the bin. Errors: the database's.
func (s lots) List(q service.Query) ([]service.Lot, error) {
	db, err := filters{bin: "bin_id", member: "member_id", species: "species_id"}.apply(s.db.Where("bin_id IS NOT NULL"), q)
	if err != nil {
		return nil, err
	}
	var rows []lotRow
	db = page(between(db, "opened_at", q), q, []string{"opened_at", "id"})
	if err := db.Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return s.filled(rows)
}

// filled returns the lots of rows with their parents, read in one query.
func (s lots) filled(rows []lotRow) ([]service.Lot, error) {
	parentRows, err := some[lotParentRow](s.db, "lot_id", each(rows, func(r lotRow) string { return r.ID }))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(parentRows, func(a, b lotParentRow) int { return cmp.Compare(a.Line, b.Line) })
	out, at := make([]service.Lot, len(rows)), make(map[string]int, len(rows))
	for i, r := range rows {
		out[i], at[r.ID] = lotFromRow(r, s.known), i
	}
	for _, r := range parentRows {
		addParent(&out[at[r.LotID]], r)
	}
	return out, nil
}
