package repo

import (
	"database/sql"
	"path/filepath"
	"testing"
)

func TestQuarantinesFromBeforeHaveTheLineOfTheirRelease(t *testing.T) {
	t.Parallel()
	db, err := sql.Open("sqlite", filepath.Join(t.TempDir(), "old.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	migrations, err := provide(db, false)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := migrations.UpTo(t.Context(), 19); err != nil {
		t.Fatal(err)
	}
	const row = `INSERT INTO quarantines (club_id, id, bin_id, moment_at, moment_precision, until_day, reason, released_at, released_precision,
		outcome, released_note, note, seq, recorded_at, recorded_by, version) VALUES ('c', ?, 'b', 5, 'instant', '', '', ?, 'instant', '', '', '', 3, 5, 'm', 1)`
	for id, released := range map[string]int64{"open": 0, "at once": 5, "over": 9} {
		if _, err := db.ExecContext(t.Context(), row, id, released); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := migrations.Up(t.Context()); err != nil {
		t.Fatal(err)
	}
	var n, at int64
	var kind, record string
	err = db.QueryRowContext(t.Context(), `SELECT count(*), max(moment_at), max(kind), max(record_id) FROM bin_events WHERE seq = 3`).Scan(&n, &at, &kind, &record)
	if err != nil || n != 1 || at != 9 || kind != "release" || record != "over" {
		t.Errorf("%d, %d, %s of %s, %v", n, at, kind, record, err)
	}
}
