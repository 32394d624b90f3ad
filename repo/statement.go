package repo

import "gorm.io/gorm"

// statement is one of the store's own statements, the only ones that don't go
// through gorm and its guard. None but updateLots, which takes the club from the
// door, reads or writes a club's rows.
type statement string

const (
	bindClub     statement = `SELECT set_config('app.club_id', $1, true)`
	waitAtMost   statement = `SELECT set_config('lock_timeout', $1, true)`
	lockClubRow  statement = `SELECT id FROM clubs WHERE id = $1 FOR NO KEY UPDATE`
	nextOfPG     statement = `SELECT nextval('recorded_sequence')`
	nextOfSQLite statement = `UPDATE recorded_sequence SET last = last + 1 RETURNING last`
	savepoint    statement = `SAVEPOINT joined`
	backToSave   statement = `ROLLBACK TO SAVEPOINT joined`
	dropSave     statement = `RELEASE SAVEPOINT joined`

	updateLotsPG statement = `UPDATE lots SET mass_mg = v.mass, ended_at = v.ended, ended_by = v.ender, depth = v.depth,
		withdrawn = v.withdrawn, successor = v.successor, shares = v.shares
		FROM unnest($2::text[], $3::bigint[], $4::bigint[], $5::text[], $6::bigint[], $7::boolean[], $8::text[], $9::bytea[])
		AS v (id, mass, ended, ender, depth, withdrawn, successor, shares)
		WHERE lots.club_id = $1 AND lots.id = v.id`
	updateLotSQLite statement = `UPDATE lots SET mass_mg = $3, ended_at = $4, ended_by = $5, depth = $6,
		withdrawn = $7, successor = $8, shares = $9 WHERE club_id = $1 AND id = $2`
)

// exec runs one of the store's own statements. Errors: ErrBusy, the driver's.
func exec(db *gorm.DB, s statement, args ...any) error {
	_, err := db.Statement.ConnPool.ExecContext(db.Statement.Context, string(s), args...)
	return translate(err)
}

// nextSeq returns a number higher than any given before in this database.
// Errors: errGuard through a door for reading, the driver's.
func nextSeq(db *gorm.DB) (int64, error) {
	d, ok := db.Statement.ConnPool.(*door)
	if !ok || !d.write {
		return 0, refuse("a write through a door for reading")
	}
	next := nextOfSQLite
	if db.Name() == "postgres" {
		next = nextOfPG
	}
	var n int64
	err := d.QueryRowContext(db.Statement.Context, string(next)).Scan(&n)
	return n, translate(err)
}

// updateLots writes what can change of lots: one statement for many on PostgreSQL,
// where each has its way to the server. Errors: errGuard outside a club's door for
// writing, the driver's.
func updateLots(db *gorm.DB, rows []lotRow) error {
	d, ok := db.Statement.ConnPool.(*door)
	if !ok || d.club == "" || !d.write {
		return refuse("a change of lots outside a club's door for writing")
	}
	if db.Name() == "postgres" {
		return exec(db, updateLotsPG, string(d.club),
			each(rows, func(r lotRow) string { return r.ID }), each(rows, func(r lotRow) int64 { return r.MassMg }),
			each(rows, func(r lotRow) int64 { return r.EndedAt }), each(rows, func(r lotRow) *string { return r.EndedBy }),
			each(rows, func(r lotRow) int64 { return r.Depth }), each(rows, func(r lotRow) bool { return r.Withdrawn }),
			each(rows, func(r lotRow) string { return r.Successor }), each(rows, func(r lotRow) []byte { return r.Shares }))
	}
	update, err := d.PrepareContext(db.Statement.Context, string(updateLotSQLite))
	if err != nil {
		return translate(err)
	}
	defer func() { _ = update.Close() }() // it ends with the transaction in any case
	for _, r := range rows {
		_, err := update.ExecContext(db.Statement.Context, string(d.club), r.ID, r.MassMg, r.EndedAt, r.EndedBy, r.Depth, r.Withdrawn, r.Successor, r.Shares)
		if err != nil {
			return translate(err)
		}
	}
	return nil
}
