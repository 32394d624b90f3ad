package repo_test

import (
	"context"
	"database/sql"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// value reads one value past doors and guard.
func value[T any](t *testing.T, db interface {
	QueryRowContext(context.Context, string, ...any) *sql.Row
}, query string, args ...any,
) (v T) {
	t.Helper()
	must(t, db.QueryRowContext(t.Context(), query, args...).Scan(&v))
	return v
}

func TestTheKeysKeepClubsApartWithoutDoorsAndGuard(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) { // on PostgreSQL a superuser, past row-level security
		insert := func(club service.ClubID, n int, owner string) error {
			_, err := s.SQL().ExecContext(t.Context(),
				`INSERT INTO sites (club_id, id, name, address, owner_id, note, created_at, version) VALUES ($1, $2, $3, '', $4, '', 1, 1)`,
				string(club), id(n), id(n), owner)
			return err
		}
		member := func(club service.ClubID, n int) {
			_, err := s.SQL().ExecContext(t.Context(),
				`INSERT INTO members (club_id, id, name, role, created_at, version) VALUES ($1, $2, $3, 'keeper', 1, 1)`, string(club), id(n), id(n))
			must(t, err)
		}
		member(south, 50)
		if err := insert(north, 60, id(50)); err == nil {
			t.Error("a site of north belongs to a member of south")
		}
		must(t, insert(south, 60, id(50)))
		must(t, insert(north, 60, id(1)))
		if err := insert(north, 60, id(1)); err == nil {
			t.Error("one club has an id twice")
		}
		if err := insert("0190a000-0000-7000-8000-0000000000ff", 61, id(1)); err == nil {
			t.Error("a site of no club")
		}
	})
}

func TestRowLevelSecurityKeepsClubsApartWithoutDoorsAndGuard(t *testing.T) {
	t.Parallel()
	s := repotest.Postgres(t)
	twoClubs(t, s)
	ctx := t.Context()
	conn, err := s.SQL().Conn(ctx) // the same connection throughout
	must(t, err)
	t.Cleanup(func() { must(t, conn.Close()) })
	count := func() int { return value[int](t, conn, "SELECT count(*) FROM sites") }
	if who := value[string](t, conn, "SELECT current_user"); who != "lumbricary_app" {
		t.Fatalf("the program works as %s", who)
	}
	if n := count(); n != 0 {
		t.Errorf("without a club: %d sites", n)
	}
	tx, err := conn.BeginTx(ctx, nil)
	must(t, err)
	_, err = tx.ExecContext(ctx, "SELECT set_config('app.club_id', $1, true)", string(north))
	must(t, err)
	if n := value[int](t, tx, "SELECT count(*) FROM sites"); n != 1 {
		t.Errorf("with a club: %d sites", n)
	}
	for _, q := range []string{"UPDATE sites SET note = 'x' WHERE club_id = $1", "DELETE FROM sites WHERE club_id = $1"} {
		done, err := tx.ExecContext(ctx, q, string(south))
		must(t, err)
		if n, err := done.RowsAffected(); n != 0 || err != nil {
			t.Errorf("%s: %d rows of the other club, %v", q, n, err)
		}
	}
	_, err = tx.ExecContext(ctx, "SAVEPOINT a")
	must(t, err)
	for _, q := range []string{
		"UPDATE sites SET club_id = $1",
		"INSERT INTO members (club_id, id, name, role, created_at, version) VALUES ($1, 'x', 'x', 'keeper', 1, 1)",
	} {
		if _, err := tx.ExecContext(ctx, q, string(south)); err == nil || !strings.Contains(err.Error(), "row-level security") {
			t.Errorf("%s: %v", q, err)
		}
		_, err = tx.ExecContext(ctx, "ROLLBACK TO SAVEPOINT a")
		must(t, err)
	}
	must(t, tx.Commit())
	if v := value[string](t, conn, "SELECT current_setting('app.club_id', true)"); v != "" {
		t.Errorf("after the commit the setting is %q", v)
	}
	if n := count(); n != 0 {
		t.Errorf("after the commit: %d sites", n)
	}
	for _, q := range []string{"ALTER TABLE sites DISABLE ROW LEVEL SECURITY", "DROP POLICY club ON sites", "TRUNCATE sites", "CREATE TABLE x ()", "DELETE FROM goose_db_version"} {
		if _, err := conn.ExecContext(ctx, q); err == nil {
			t.Errorf("the program's role may %s", q)
		}
	}
}

func TestEveryTableIsAClubsOrKnownToBeShared(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		tables := tablesOf(t, s)
		if len(tables) != len(repo.ClubTables)+len(repo.SharedTables) {
			t.Errorf("%d tables, %d known", len(tables), len(repo.ClubTables)+len(repo.SharedTables))
		}
		for _, table := range tables {
			switch first := firstOfKey(t, s, table); {
			case repo.SharedTables[table]:
			case !repo.ClubTables[table]:
				t.Errorf("%s is of no door", table)
			case first != "club_id":
				t.Errorf("the key of %s leads with %s", table, first)
			case s.IsPostgres() && !value[bool](t, s.SQL(), "SELECT relrowsecurity AND relforcerowsecurity AND EXISTS (SELECT 1 FROM pg_policy WHERE polrelid = c.oid AND polcmd = '*' AND polwithcheck IS NOT NULL) FROM pg_class c WHERE oid = to_regclass($1)", table):
				t.Errorf("row-level security of %s isn't forced", table)
			}
		}
	})
}

// tablesOf lists the tables but those of the migrations, of the sequence and of
// the queue.
func tablesOf(t *testing.T, s *repo.Store) (tables []string) {
	t.Helper()
	query := "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
	if s.IsPostgres() {
		query = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
	}
	rows, err := s.SQL().QueryContext(t.Context(), query)
	must(t, err)
	defer func() { must(t, rows.Close()) }()
	for rows.Next() {
		var name string
		must(t, rows.Scan(&name))
		if !slices.Contains([]string{"goose_db_version", "recorded_sequence"}, name) && !strings.HasPrefix(name, "river_") {
			tables = append(tables, name)
		}
	}
	must(t, rows.Err())
	return tables
}

func firstOfKey(t *testing.T, s *repo.Store, table string) string {
	t.Helper()
	if s.IsPostgres() {
		return value[string](t, s.SQL(), "SELECT attname FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = i.indkey[0] WHERE indisprimary AND indrelid = to_regclass($1)", table)
	}
	return value[string](t, s.SQL(), "SELECT name FROM pragma_table_info($1) WHERE pk = 1", table)
}
