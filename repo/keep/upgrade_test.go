package keep_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lumbricary.example/repo/repotest"

	"github.com/jackc/pgx/v5"
)

// fixtures is a folder for each schema that a released program had: the story as
// that program kept it, in a database of each kind, a backup and an archive.
const fixtures = "../../testdata/migrate"

// TestAnOlderDatabaseIsUpgradedAndRight goes four ways from each older schema to the
// present one, which must come to the same club. WRITE_FIXTURE=1 writes the folder
// of the present schema first.
func TestAnOlderDatabaseIsUpgradedAndRight(t *testing.T) {
	t.Parallel()
	if os.Getenv("WRITE_FIXTURE") == "1" {
		writeFixture(t)
	}
	folders, err := filepath.Glob(fixtures + "/0*")
	must(t, err)
	if len(folders) == 0 {
		t.Fatal("no fixtures")
	}
	for _, folder := range folders {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			t.Parallel()
			ways := map[string]string{
				"sqlite": loaded(t, folder), "postgres": poured(t, folder), "backup": filepath.Join(t.TempDir(), "restored.db"), "archive": repotest.SQLiteURL(t),
			}
			done(t, "restore", filepath.Join(folder, "service.lbk"), "-db", ways["backup"])
			done(t, "archive", "read", filepath.Join(folder, "harbour.lba"), "-db", ways["archive"])
			var first []byte
			for way, url := range ways {
				must(t, open(t, url).Close()) // which migrates
				file, data := archived(t, url, "harbour")
				done(t, "archive", "check", file)
				if first == nil {
					first = data
				}
				if !bytes.Equal(first, data) {
					t.Errorf("by way of %s the club is another", way)
				}
			}
			told, err := os.ReadFile(filepath.Join(folder, "harbour.lba"))
			must(t, err)
			now := map[string]int{}
			for _, p := range partsOf(t, first) {
				now[p.name] = len(p.rows)
			}
			for _, p := range partsOf(t, told) {
				if rows, there := now[p.name]; there && rows != len(p.rows) {
					t.Errorf("%s had %d rows and has %d", p.name, len(p.rows), rows)
				}
			}
		})
	}
}

// loaded is a SQLite file of the fixture's dump.
func loaded(t *testing.T, folder string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, "sqlite.sql"))
	must(t, err)
	path := filepath.Join(t.TempDir(), "old.db")
	db, err := sql.Open("sqlite", path)
	must(t, err)
	_, err = db.ExecContext(t.Context(), string(text))
	must(t, errors.Join(err, db.Close()))
	return path
}

// poured is a PostgreSQL database of the fixture's dump.
func poured(t *testing.T, folder string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, "postgres.sql"))
	must(t, err)
	url := repotest.EmptyPostgresURL(t)
	conn, err := pgx.Connect(t.Context(), url)
	must(t, err)
	_, err = conn.Exec(t.Context(), string(text))
	must(t, errors.Join(err, conn.Close(t.Context())))
	return url
}

// writeFixture writes the folder of the present schema.
func writeFixture(t *testing.T) {
	t.Helper()
	s := newStory(t, repotest.SQLiteURL(t))
	s.erase()
	_, data := archived(t, s.url, "harbour")
	folder := filepath.Join(fixtures, fmt.Sprintf("%04d", headerOf(t, data).Schema))
	must(t, os.RemoveAll(folder))
	must(t, os.MkdirAll(folder, 0o755))
	write := func(name string, data []byte) { must(t, os.WriteFile(filepath.Join(folder, name), data, 0o644)) }
	write("harbour.lba", data)
	write("service.lbk", backedUp(t, s.url))
	write("sqlite.sql", []byte(dumped(t, s.url)))
	to := repotest.EmptyPostgresURL(t)
	done(t, "restore", filepath.Join(folder, "service.lbk"), "-db", to)
	program, err := filepath.Glob("/usr/lib/postgresql/*/bin/pg_dump")
	must(t, err)
	out, err := exec.CommandContext(t.Context(), program[len(program)-1], "--inserts", "--no-owner", to).Output()
	must(t, err)
	write("postgres.sql", regexp.MustCompile(`(?m)^(\\|--|SET transaction_timeout).*\n|^\n`).ReplaceAll(out, nil))
}

// dumped is a SQLite file as SQL.
func dumped(t *testing.T, path string) string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	must(t, err)
	defer func() { must(t, db.Close()) }()
	column := func(query string) (out []string) {
		rows, err := db.QueryContext(t.Context(), query)
		must(t, err)
		defer func() { must(t, rows.Close()) }()
		for rows.Next() {
			var text string
			must(t, rows.Scan(&text))
			out = append(out, text)
		}
		must(t, rows.Err())
		return out
	}
	text := column(`SELECT sql || ';' FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY rowid`)
	for _, table := range column(`SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY rowid`) {
		values := strings.Join(column(`SELECT 'quote("' || name || '")' FROM pragma_table_info('`+table+`')`), ` || ', ' || `)
		text = append(text, column(`SELECT 'INSERT INTO "`+table+`" VALUES (' || `+values+` || ');' FROM "`+table+`"`)...)
	}
	text = append(text, column(`SELECT sql || ';' FROM sqlite_master WHERE type IN ('index', 'trigger') AND sql IS NOT NULL ORDER BY rowid`)...)
	return "PRAGMA foreign_keys = OFF;\nBEGIN;\n" + strings.Join(text, "\n") + "\nCOMMIT;\n"
}
