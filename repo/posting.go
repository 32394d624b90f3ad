package repo

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// postingRow is a row of postings. The moment and the sequence are those of the
// movement, for reading one account in order.
type postingRow struct {
	ClubID      string  `gorm:"column:club_id;primaryKey"`
	MovementID  string  `gorm:"column:movement_id;primaryKey"`
	Line        int64   `gorm:"column:line;primaryKey;autoIncrement:false"`
	Commodity   string  `gorm:"column:commodity"`
	AccountKind string  `gorm:"column:account_kind"`
	AccountRef  string  `gorm:"column:account_ref"`
	AmountMg    int64   `gorm:"column:amount_mg"`
	OriginID    *string `gorm:"column:origin_id"`
	At          int64   `gorm:"column:moment_at"`
	Seq         int64   `gorm:"column:seq"`
}

// TableName returns the name of the table.
func (postingRow) TableName() string { return "postings" }

func postingsToRows(m service.Movement) []postingRow {
	rows := make([]postingRow, len(m.Postings))
	for line, p := range m.Postings {
		rows[line] = postingRow{
			MovementID:  string(m.ID),
			Line:        int64(line),
			Commodity:   string(p.Commodity),
			AccountKind: string(p.Account.Kind),
			AccountRef:  p.Account.Ref,
			AmountMg:    int64(p.Amount),
			OriginID:    ref(p.Origin),
			At:          micros(m.At.Time),
			Seq:         m.Recorded.Seq,
		}
	}
	return rows
}

func postingFromRow(r postingRow) journal.Posting {
	return journal.Posting{
		Account:   journal.Account{Kind: journal.AccountKind(r.AccountKind), Ref: r.AccountRef},
		Commodity: journal.Commodity(r.Commodity),
		Amount:    unit.Mass(r.AmountMg),
		Origin:    unref[string](r.OriginID),
	}
}

func journalLineFromRow(r postingRow) journal.Line {
	return journal.Line{
		Entry:     r.MovementID,
		Effective: fromMicros(r.At),
		Seq:       r.Seq,
		Amount:    unit.Mass(r.AmountMg),
	}
}

// bookRow is a row of books: what an account holds of a commodity now.
type bookRow struct {
	ClubID      string `gorm:"column:club_id;primaryKey"`
	AccountKind string `gorm:"column:account_kind;primaryKey"`
	AccountRef  string `gorm:"column:account_ref;primaryKey"`
	Commodity   string `gorm:"column:commodity;primaryKey"`
	BookMg      int64  `gorm:"column:book_mg"`
}

// TableName returns the name of the table.
func (bookRow) TableName() string { return "books" }

func compareBooks(a, b bookRow) int {
	return cmp.Or(
		cmp.Compare(a.AccountKind, b.AccountKind),
		cmp.Compare(a.AccountRef, b.AccountRef),
		cmp.Compare(a.Commodity, b.Commodity),
	)
}

// changes sums the postings per account and commodity, as rows of books that
// hold the change, in order; nothing where the sum is zero.
func changes(postings []journal.Posting) []bookRow {
	sums := map[bookRow]int64{}
	for _, p := range postings {
		key := bookRow{
			AccountKind: string(p.Account.Kind), AccountRef: p.Account.Ref, Commodity: string(p.Commodity),
		}
		sums[key] += int64(p.Amount)
	}
	var out []bookRow
	for _, b := range slices.SortedFunc(maps.Keys(sums), compareBooks) {
		if b.BookMg = sums[b]; b.BookMg != 0 {
			out = append(out, b)
		}
	}
	return out
}

// postings keeps the postings of movements and the books they add up to.
type postings struct{ db *gorm.DB }

// book brings the books up to date with the sum of all. Errors:
// ErrMoreThanBook.
func (s postings) book(all []journal.Posting) error {
	for _, change := range changes(all) {
		if err := s.add(change); err != nil {
			return err
		}
	}
	return nil
}

// add adds a change to the row of its account, or makes the row. Errors:
// ErrMoreThanBook.
func (s postings) add(change bookRow) error {
	done := s.db.Model(&bookRow{}).
		Where("account_kind = ?", change.AccountKind).
		Where("account_ref = ?", change.AccountRef).
		Where("commodity = ?", change.Commodity).
		Updates(map[string]any{"book_mg": gorm.Expr("book_mg + ?", change.BookMg)})
	if done.Error == nil && done.RowsAffected == 0 {
		return translate(s.db.Create(&change).Error)
	}
	return translate(done.Error)
}

// level returns what an account holds of a commodity now.
func (s postings) level(a journal.Account, c journal.Commodity) (unit.Mass, error) {
	var rows []bookRow
	err := s.db.Where("account_kind = ?", string(a.Kind)).
		Where("account_ref = ?", a.Ref).
		Where("commodity = ?", string(c)).Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return 0, translate(err)
	}
	return unit.Mass(rows[0].BookMg), nil
}

// lines returns the postings on one account in effective order, and whether each
// is of an entry that is reversed or a reversal.
func (s postings) lines(a journal.Account, c journal.Commodity) ([]journal.Line, error) {
	var rows []postingRow
	err := s.db.Where("account_kind = ?", string(a.Kind)).
		Where("account_ref = ?", a.Ref).
		Where("commodity = ?", string(c)).
		Order("moment_at").Order("seq").Order("line").Find(&rows).Error
	if err != nil {
		return nil, translate(err)
	}
	reversals, err := some[movementRow](s.db.Select("id", "reverses").Session(&gorm.Session{}), "reverses",
		each(rows, func(r postingRow) string { return r.MovementID }))
	if err != nil {
		return nil, err
	}
	void := map[string]bool{}
	for _, r := range reversals {
		void[r.ID], void[*r.Reverses] = true, true
	}
	out := each(rows, journalLineFromRow)
	for i, l := range out {
		out[i].Void = void[l.Entry]
	}
	return out, nil
}

// of returns the postings of the movements, in their order.
func (s postings) of(movements []string) (map[string][]journal.Posting, error) {
	rows, err := some[postingRow](s.db, "movement_id", movements)
	if err != nil {
		return nil, err
	}
	return byMovement(rows), nil
}

// all returns all postings, in the order of their movements.
func (s postings) all() (map[string][]journal.Posting, error) {
	var rows []postingRow
	if err := s.db.Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return byMovement(rows), nil
}

func byMovement(rows []postingRow) map[string][]journal.Posting {
	slices.SortFunc(rows, func(a, b postingRow) int { return cmp.Compare(a.Line, b.Line) })
	out := map[string][]journal.Posting{}
	for _, r := range rows {
		out[r.MovementID] = append(out[r.MovementID], postingFromRow(r))
	}
	return out
}

// touching returns a page of the places, by (moment, sequence), of movements
// that post on the bin, the batch or the species of q; a place's id is that of
// the movement.
func (s postings) touching(q service.Query) ([]postingRow, error) {
	db := s.db.Model(&postingRow{}).Distinct("movement_id", "moment_at", "seq")
	if q.Bin != "" {
		db = db.Where("account_kind = ? AND account_ref = ?", string(journal.BinAccount), string(q.Bin))
	}
	if q.Batch != "" {
		db = db.Where("account_kind = ? AND account_ref = ?", string(journal.BatchAccount), string(q.Batch))
	}
	if q.Species != "" {
		db = db.Where("commodity = ?", string(journal.Worms(string(q.Species))))
	}
	var rows []postingRow
	err := page(between(db, "moment_at", q), q, effectiveOrder()).Find(&rows).Error
	return rows, translate(err)
}

// stock returns the books of bins; of one bin, unless it is empty.
func (s postings) stock(bin service.BinID) ([]bookRow, error) {
	db := s.db.Where("account_kind = ?", string(journal.BinAccount)).Where("book_mg <> 0")
	if bin != "" {
		db = db.Where("account_ref = ?", string(bin))
	}
	var rows []bookRow
	err := db.Find(&rows).Error
	return rows, translate(err)
}

// stockAt returns what the postings on bins before a moment add up to.
func (s postings) stockAt(at time.Time) ([]bookRow, error) {
	var rows []postingRow
	err := s.db.Select("account_ref", "commodity", "CAST(SUM(amount_mg) AS bigint) AS amount_mg").
		Where("account_kind = ?", string(journal.BinAccount)).
		Where("moment_at < ?", micros(at)).
		Group("account_ref").Group("commodity").Find(&rows).Error
	sum := func(r postingRow) bookRow {
		return bookRow{AccountRef: r.AccountRef, Commodity: r.Commodity, BookMg: r.AmountMg}
	}
	return each(rows, sum), translate(err)
}
