package repo

import (
	"database/sql"
	"path/filepath"
	"testing"
)

// The table of items is made anew on SQLite, for its foreign key to measures.
func TestFeedingsFromBeforeThereWereMeasuresKeepTheirItems(t *testing.T) {
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
	if _, err := migrations.UpTo(t.Context(), 9); err != nil {
		t.Fatal(err)
	}
	_, err = db.ExecContext(t.Context(), `INSERT INTO feeding_items
		(club_id, feeding_id, line, material_id, typed_value, typed_unit, wet_mg, moisture_pct, weighed)
		VALUES ('c', 'f', 1, 'm', 1.5, 'kg', 1500000, 80.5, true)`)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := migrations.Up(t.Context()); err != nil {
		t.Fatal(err)
	}
	var feeding, unit string
	var line, wet int64
	var value, moisture float64
	var weighed bool
	var measure sql.NullString
	err = db.QueryRowContext(t.Context(), `SELECT feeding_id, line, typed_value, typed_unit, wet_mg, moisture_pct, weighed, measure_id FROM feeding_items`).
		Scan(&feeding, &line, &value, &unit, &wet, &moisture, &weighed, &measure)
	if err != nil {
		t.Fatal(err)
	}
	if feeding != "f" || line != 1 || value != 1.5 || unit != "kg" || wet != 1500000 || moisture != 80.5 || !weighed || measure.Valid {
		t.Errorf("the item is %s %d %v %s %d %v %v %v", feeding, line, value, unit, wet, moisture, weighed, measure)
	}
}
