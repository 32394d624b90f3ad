package repo

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// movementRow is a row of movements.
type movementRow struct {
	ClubID     string      `gorm:"column:club_id;primaryKey"`
	ID         string      `gorm:"column:id;primaryKey"`
	Kind       string      `gorm:"column:kind"`
	Moment     momentRow   `gorm:"embedded"`
	Recorded   recordedRow `gorm:"embedded"`
	Lines      string      `gorm:"column:lines"` // JSON array of lineJSON
	ToBin      *string     `gorm:"column:to_bin"`
	FromBatch  *string     `gorm:"column:from_batch"`
	Terms      string      `gorm:"column:terms"`
	Party      string      `gorm:"column:party"`
	FromMember *string     `gorm:"column:from_member"`
	ToMember   *string     `gorm:"column:to_member"`
	PriceMinor *int64      `gorm:"column:price_minor"`
	Currency   string      `gorm:"column:currency"`
	Cause      string      `gorm:"column:cause"`
	MaterialMg int64       `gorm:"column:material_mg"`
	TransferID *string     `gorm:"column:transfer_id"`
	LegID      *string     `gorm:"column:leg_id"`
	ToBatch    *string     `gorm:"column:to_batch"`
	Reverses   *string     `gorm:"column:reverses"`
	Reason     string      `gorm:"column:reason"`
	Note       string      `gorm:"column:note"`
}

// TableName returns the name of the table.
func (movementRow) TableName() string { return "movements" }

// movementToRow leaves out the postings, which have rows of their own, and what
// it was reversed by, which the other row says.
func movementToRow(m service.Movement) movementRow {
	return movementRow{
		ID:         string(m.ID),
		Kind:       string(m.Kind),
		Moment:     momentToRow(m.At),
		Recorded:   recordedToRow(m.Recorded),
		Lines:      toArray(each(m.Lines, lineToJSON)),
		ToBin:      ref(m.ToBin),
		FromBatch:  ref(m.FromBatch),
		Terms:      string(m.Terms),
		Party:      m.Party,
		FromMember: ref(m.FromMember),
		ToMember:   ref(m.ToMember),
		PriceMinor: m.PriceMinor,
		Currency:   m.Currency,
		Cause:      string(m.Cause),
		MaterialMg: int64(m.MaterialMass),
		TransferID: ref(m.Transfer),
		LegID:      ref(m.Leg),
		ToBatch:    ref(m.ToBatch),
		Reverses:   ref(m.Reverses),
		Reason:     m.Reason,
		Note:       m.Note,
	}
}

// movementFromRow leaves out the postings and what it was reversed by.
func movementFromRow(r movementRow) service.Movement {
	return service.Movement{
		ID:           service.MovementID(r.ID),
		Kind:         journal.Kind(r.Kind),
		At:           momentFromRow(r.Moment),
		Lines:        each(fromArray[lineJSON](r.Lines), lineFromJSON),
		ToBin:        unref[service.BinID](r.ToBin),
		FromBatch:    unref[service.BatchID](r.FromBatch),
		Terms:        service.Terms(r.Terms),
		Party:        r.Party,
		FromMember:   unref[service.MemberID](r.FromMember),
		ToMember:     unref[service.MemberID](r.ToMember),
		PriceMinor:   r.PriceMinor,
		Currency:     r.Currency,
		Cause:        service.Cause(r.Cause),
		MaterialMass: unit.Mass(r.MaterialMg),
		Transfer:     unref[service.TransferID](r.TransferID),
		Leg:          unref[service.LegID](r.LegID),
		ToBatch:      unref[service.BatchID](r.ToBatch),
		Reverses:     unref[service.MovementID](r.Reverses),
		Reason:       r.Reason,
		Note:         r.Note,
		Recorded:     recordedFromRow(r.Recorded),
	}
}

// effectiveOrder returns the columns of the journal's order.
func effectiveOrder() []string { return []string{"moment_at", "seq"} }

func compareMovements(a, b movementRow) int {
	return cmp.Or(cmp.Compare(a.Moment.At, b.Moment.At), cmp.Compare(a.Recorded.Seq, b.Recorded.Seq))
}

// movements implements service.MovementRepo.
type movements struct {
	db       *gorm.DB
	postings postings
}

func newMovements(db *gorm.DB) movements { return movements{db, postings{db}} }

// NextSeq implements service.MovementRepo. Errors: the database's.
func (s movements) NextSeq() (int64, error) { return nextSeq(s.db) }

// Insert implements service.MovementRepo; it keeps the books. Errors:
// ErrIDTaken, ErrReversedBefore, ErrMoreThanBook.
func (s movements) Insert(ms ...service.Movement) error {
	var posted []journal.Posting
	for _, m := range ms {
		if err := s.InsertVoid(m); err != nil {
			return err
		}
		posted = append(posted, m.Postings...)
	}
	return s.postings.book(posted)
}

// InsertVoid implements service.MovementRepo. Errors: ErrIDTaken,
// ErrReversedBefore.
func (s movements) InsertVoid(m service.Movement) error {
	r := movementToRow(m)
	if err := s.db.Create(&r).Error; err != nil {
		return translate(err)
	}
	return insert(s.db, postingsToRows(m))
}

// Get implements service.MovementRepo. Errors: ErrMovementNotFound.
func (s movements) Get(id service.MovementID) (service.Movement, error) {
	all, err := s.Some([]service.MovementID{id})
	if err == nil && len(all) == 0 {
		err = service.ErrMovementNotFound
	}
	if err != nil {
		return service.Movement{}, err
	}
	return all[0], nil
}

// Some implements service.MovementRepo. Errors: the database's.
func (s movements) Some(ids []service.MovementID) ([]service.Movement, error) {
	rows, err := some[movementRow](s.db, "id", ids)
	if err != nil {
		return nil, err
	}
	return s.filled(rows)
}

// List implements service.MovementRepo. A place's id is the sequence as text.
// It filters by kind, by member on both sides of a hand-over, and by bin, batch
// and species on the postings. Errors: the database's.
func (s movements) List(q service.Query) ([]service.Movement, error) {
	list := s.page
	if q.Bin != "" || q.Batch != "" || q.Species != "" {
		list = s.touching
	}
	rows, err := list(q)
	if err != nil {
		return nil, err
	}
	return s.filled(rows)
}

// narrowed keeps the movements of the kind and the member of q. It may start
// several statements.
func (s movements) narrowed(q service.Query) *gorm.DB {
	db := s.db
	if q.Kind != "" {
		db = db.Where("kind = ?", q.Kind)
	}
	if q.Member != "" {
		db = db.Where("from_member = ? OR to_member = ?", string(q.Member), string(q.Member))
	}
	return db.Session(&gorm.Session{})
}

// page returns a page of all movements.
func (s movements) page(q service.Query) ([]movementRow, error) {
	var rows []movementRow
	err := page(between(s.narrowed(q), "moment_at", q), q, effectiveOrder()).Find(&rows).Error
	return rows, translate(err)
}

// touching returns a page of the movements that post on the bin, the batch or
// the species of q: their places from the postings, then those movements. Where
// the movements are narrowed further it goes on until the page is full.
// Errors: errFilter for a bin and a batch at once.
func (s movements) touching(q service.Query) ([]movementRow, error) {
	if q.Bin != "" && q.Batch != "" {
		return nil, fmt.Errorf("%w: a bin and a batch at once", errFilter)
	}
	look := q
	if q.Limit > 0 && (q.Kind != "" || q.Member != "") {
		look.Limit = max(q.Limit, chunk)
	}
	var out []movementRow
	for {
		places, err := s.postings.touching(look)
		if err != nil {
			return nil, err
		}
		rows, err := some[movementRow](s.narrowed(q), "id", each(places, func(r postingRow) string { return r.MovementID }))
		if err != nil {
			return nil, err
		}
		slices.SortFunc(rows, compareMovements)
		if q.Newest {
			slices.Reverse(rows)
		}
		out = append(out, rows...)
		switch {
		case q.Limit > 0 && len(out) >= q.Limit:
			return out[:q.Limit], nil
		case q.Limit == 0 || len(places) < look.Limit:
			return out, nil
		}
		last := places[len(places)-1]
		look.After = service.Place{At: fromMicros(last.At), ID: strconv.FormatInt(last.Seq, 10)}
	}
}

// filled returns the movements of rows with their postings and what reversed
// them, each read in one query.
func (s movements) filled(rows []movementRow) ([]service.Movement, error) {
	ids := each(rows, func(r movementRow) string { return r.ID })
	posted, postedErr := s.postings.of(ids)
	reversals, reversalErr := some[movementRow](s.db, "reverses", ids)
	if err := errors.Join(postedErr, reversalErr); err != nil {
		return nil, err
	}
	reversed := map[string]service.MovementID{}
	for _, r := range reversals {
		reversed[unref[string](r.Reverses)] = service.MovementID(r.ID)
	}
	out := each(rows, movementFromRow)
	for i, r := range rows {
		out[i].Postings, out[i].ReversedBy = posted[r.ID], reversed[r.ID]
	}
	return out, nil
}

// Lines implements service.MovementRepo. Errors: the database's.
func (s movements) Lines(a journal.Account, c journal.Commodity) ([]journal.Line, error) {
	return s.postings.lines(a, c)
}

// Book implements service.MovementRepo. Errors: the database's.
func (s movements) Book(a journal.Account, c journal.Commodity) (unit.Mass, error) {
	return s.postings.level(a, c)
}

// Stock implements service.MovementRepo. Errors: the database's.
func (s movements) Stock(bin service.BinID) (map[service.SpeciesID]unit.Mass, error) {
	if bin == "" {
		return map[service.SpeciesID]unit.Mass{}, nil
	}
	books, err := s.postings.stock(bin)
	if err != nil {
		return nil, err
	}
	if of := perBin(books)[bin]; of != nil {
		return of, nil
	}
	return map[service.SpeciesID]unit.Mass{}, nil
}

// Stocks implements service.MovementRepo. Errors: the database's.
func (s movements) Stocks(bins []service.BinID) (map[service.BinID]map[service.SpeciesID]unit.Mass, error) {
	books, err := some[bookRow](s.db.Where("account_kind = ?", string(journal.BinAccount)).Session(&gorm.Session{}), "account_ref", bins)
	return perBin(books), err
}

// StockOf implements service.MovementRepo. Errors: the database's.
func (s movements) StockOf(bin service.BinID, at time.Time) (map[service.SpeciesID]unit.Mass, error) {
	books, err := s.postings.stockAt(bin, at)
	return perBin(books)[bin], err
}

// StockAt implements service.MovementRepo; only books that aren't zero are in
// it. Errors: the database's.
func (s movements) StockAt(at time.Time) (map[service.BinID]map[service.SpeciesID]unit.Mass, error) {
	var books []bookRow
	var err error
	if at.IsZero() {
		books, err = s.postings.stock("")
	} else {
		books, err = s.postings.stockAt("", at)
	}
	return perBin(books), err
}

// perBin sorts the books of worms by bin and species.
func perBin(books []bookRow) map[service.BinID]map[service.SpeciesID]unit.Mass {
	out := map[service.BinID]map[service.SpeciesID]unit.Mass{}
	for _, b := range books {
		species, ok := journal.Commodity(b.Commodity).Species()
		if !ok || b.BookMg == 0 {
			continue
		}
		bin := service.BinID(b.AccountRef)
		if out[bin] == nil {
			out[bin] = map[service.SpeciesID]unit.Mass{}
		}
		out[bin][service.SpeciesID(species)] = unit.Mass(b.BookMg)
	}
	return out
}

// Last implements service.MovementRepo. Errors: the database's.
func (s movements) Last() (at time.Time, seq int64, err error) {
	rows, err := s.page(service.Query{Newest: true, Limit: 1})
	if err != nil || len(rows) == 0 {
		return time.Time{}, 0, err
	}
	return fromMicros(rows[0].Moment.At), rows[0].Recorded.Seq, nil
}

// Entries implements service.MovementRepo. Errors: the database's.
func (s movements) Entries() ([]journal.Entry, error) {
	rows, err := s.page(service.Query{})
	if err != nil {
		return nil, err
	}
	posted, err := s.postings.all()
	if err != nil {
		return nil, err
	}
	return entriesOf(rows, posted), nil
}

// SomeEntries implements service.MovementRepo. Errors: the database's.
func (s movements) SomeEntries(ids []service.MovementID) ([]journal.Entry, error) {
	rows, err := some[movementRow](s.db.Select("id", "kind", "moment_at", "seq", "reverses").Session(&gorm.Session{}), "id", ids)
	if err != nil {
		return nil, err
	}
	posted, err := s.postings.of(asTexts(ids))
	if err != nil {
		return nil, err
	}
	return entriesOf(rows, posted), nil
}

// entriesOf returns the entries of rows with their postings.
func entriesOf(rows []movementRow, posted map[string][]journal.Posting) []journal.Entry {
	return each(rows, func(r movementRow) journal.Entry {
		m := movementFromRow(r)
		m.Postings = posted[r.ID]
		return m.Entry()
	})
}

func asTexts[K ~string](ids []K) []string {
	return each(ids, func(id K) string { return string(id) })
}
