package repo_test

import (
	"database/sql"
	"path/filepath"
	"reflect"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service/lineage"
)

func TestLotsFromBeforeSharesWereInTheirRowKeepThemAndTheirParents(t *testing.T) {
	t.Parallel()
	const uuid, upper = "01234567-89ab-7cde-8f01-23456789abcd", "01234567-89AB-7cde-8f01-23456789abcd"
	for name, open := range map[string]func() (driver, url string){
		"sqlite": func() (string, string) { return "sqlite", filepath.Join(t.TempDir(), "old.db") },
		"pgx":    func() (string, string) { return "pgx", repotest.EmptyPostgresURL(t) },
	} {
		db, err := sql.Open(open())
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = db.Close() }()
		db.SetMaxOpenConns(2)
		if err := repo.MigrateTo(t.Context(), db, name == "pgx", 11); err != nil {
			t.Fatal(err)
		}
		old := `INSERT INTO lots (club_id, id, bin_id, species_id, opened_by, opened_at, opened_seq, mass_mg, depth, member_id, withdrawn, successor)
			VALUES ('c', 'l', 'b', 's', 'm', 5, 6, 7, 2, 'bo', false, ''), ('c', 'none', 'b', 's', 'm', 5, 6, 7, 2, 'bo', true, 'l');
			INSERT INTO lot_parents (club_id, lot_id, line, parent_id, origin_id, mass_mg) VALUES ('c', 'l', 1, 'k', '', 7);
			INSERT INTO lot_shares (club_id, lot_id, origin_id, parts) VALUES
			('c', 'l', 'unknown', 1), ('c', 'l', '` + uuid + `', 999999999000), ('c', 'l', '` + upper + `', 499), ('c', 'l', 'grüße', 500)`
		if name == "pgx" {
			old = `SET session_replication_role = replica; ` + old + `; SET session_replication_role = DEFAULT`
		}
		if _, err := db.ExecContext(t.Context(), old); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := repo.MigrateTo(t.Context(), db, name == "pgx", 0); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var bin, transit, parent string
		var shares, none []byte
		err = db.QueryRowContext(t.Context(), `SELECT bin_id, transit, shares, parent_id, (SELECT shares FROM lots WHERE id = 'none')
			FROM lots JOIN lot_parents ON lot_id = id`).Scan(&bin, &transit, &shares, &parent, &none)
		want := lineage.Shares{
			{Origin: upper, Parts: 499}, {Origin: uuid, Parts: 999999999000}, {Origin: "grüße", Parts: 500}, {Origin: lineage.Unknown, Parts: 1},
		}
		if err != nil || bin != "b" || transit != "" || parent != "k" || len(none) != 0 || !reflect.DeepEqual(repo.SharesFromBytes(shares), want) {
			t.Errorf("%s: bin %q, transit %q, parent %q, shares %v, %v", name, bin, transit, parent, repo.SharesFromBytes(shares), err)
		}
	}
}
