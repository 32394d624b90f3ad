package repo

import (
	"database/sql"
	"path/filepath"
	"testing"
)

func TestBatchesFromBeforeKeepTheirLotNumbersTaken(t *testing.T) {
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
	if _, err := migrations.UpTo(t.Context(), 11); err != nil {
		t.Fatal(err)
	}
	for _, old := range []string{
		`INSERT INTO batches (club_id, id, lot_number, product, mesh_mm, note, created_at, version) VALUES ('c', 'b', '2026-A', 'castings', 0, '', 1, 1)`,
		`INSERT INTO feeding_items (club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, weighed, measure_id, measure_count)
			VALUES ('c', 'f', 1, 'm', 0, '', 1500000, true, 'bucket', 2.5)`,
	} {
		if _, err := db.ExecContext(t.Context(), old); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := migrations.Up(t.Context()); err != nil {
		t.Fatal(err)
	}
	var number, batch, measure string
	var count float64
	var receipt sql.NullString
	if err := db.QueryRowContext(t.Context(), `SELECT id, batch_id FROM lot_numbers WHERE club_id = 'c'`).Scan(&number, &batch); err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRowContext(t.Context(), `SELECT measure_id, measure_count, receipt_id FROM feeding_items`).Scan(&measure, &count, &receipt); err != nil {
		t.Fatal(err)
	}
	if number != "2026-A" || batch != "b" || measure != "bucket" || count != 2.5 || receipt.Valid {
		t.Errorf("%s is %s's; %s %v %v", number, batch, measure, count, receipt)
	}
}
