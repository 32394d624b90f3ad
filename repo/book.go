package repo

import (
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Posted implements service.MovementRepo. Errors: the database's.
func (s movements) Posted() ([]journal.Line, error) {
	var rows []postingRow
	err := s.db.Order("moment_at").Order("seq").Order("line").Find(&rows).Error
	return each(rows, journalLineFromRow), translate(err)
}

// Repost implements service.MovementRepo. Errors: the database's.
func (s movements) Repost(entries []journal.Entry) error {
	lines, err := s.Posted()
	if err != nil {
		return err
	}
	of := map[string]journal.Entry{}
	for _, e := range entries {
		of[e.ID] = e
	}
	for _, l := range lines {
		e := of[l.Entry]
		if l.Effective.Equal(e.Effective) && l.Seq == e.Seq {
			continue
		}
		err := s.db.Model(new(postingRow)).Where("movement_id = ?", l.Entry).
			Updates(map[string]any{"moment_at": micros(e.Effective), "seq": e.Seq}).Error
		if err != nil {
			return translate(err)
		}
	}
	return nil
}

// Held implements service.MovementRepo. Errors: the database's.
func (s movements) Held() (map[journal.Book]unit.Mass, error) {
	var rows []bookRow
	err := s.db.Where("book_mg <> 0").Find(&rows).Error
	out := map[journal.Book]unit.Mass{}
	for _, r := range rows {
		account := journal.Account{Kind: journal.AccountKind(r.AccountKind), Ref: r.AccountRef}
		out[journal.Book{Account: account, Commodity: journal.Commodity(r.Commodity)}] = unit.Mass(r.BookMg)
	}
	return out, translate(err)
}

// Rebook implements service.MovementRepo. Errors: ErrMoreThanBook, the
// database's.
func (s movements) Rebook(held map[journal.Book]unit.Mass) error {
	if err := s.db.Where("commodity <> ?", "").Delete(new(bookRow)).Error; err != nil {
		return translate(err)
	}
	var rows []bookRow
	for h, m := range held {
		rows = append(rows, bookRow{
			AccountKind: string(h.Account.Kind), AccountRef: h.Account.Ref, Commodity: string(h.Commodity), BookMg: int64(m),
		})
	}
	return insert(s.db, rows)
}
