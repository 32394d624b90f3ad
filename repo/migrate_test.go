package repo_test

import (
	"database/sql"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// aged brings an empty database to an old schema, with a club in it or without.
func aged(t *testing.T, url string, holding bool) {
	t.Helper()
	driver := "sqlite"
	if strings.Contains(url, "://") {
		driver = "pgx"
	}
	db, err := sql.Open(driver, url)
	must(t, err)
	must(t, repo.MigrateTo(t.Context(), db, driver == "pgx", 5))
	if holding {
		_, err = db.ExecContext(t.Context(), `INSERT INTO clubs (id, handle, name, time_zone, hemisphere, units, currency, retention_years, created_at)
			VALUES ('c', 'harbour', 'Harbour', 'Europe/Lisbon', 'north', 'metric', 'EUR', 10, 1)`)
	}
	must(t, errors.Join(err, db.Close()))
}

// upToDate opens a database once, and returns what an operator was told.
func upToDate(t *testing.T, url string) (notices []string) {
	t.Helper()
	s, err := repo.Open(t.Context(), url, repo.Options{Notice: func(what string) { notices = append(notices, what) }})
	must(t, err)
	must(t, s.Close())
	return notices
}

func TestAFileThatHoldsSomethingIsCopiedBeforeItIsMigrated(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	aged(t, path, true)
	told := upToDate(t, path)
	copies, err := filepath.Glob(path + ".schema-5-*")
	must(t, err)
	if len(told) != 1 || len(copies) != 1 || !strings.HasSuffix(told[0], copies[0]) {
		t.Fatalf("%v, %v", told, copies)
	}
	db, err := sql.Open("sqlite", copies[0])
	must(t, err)
	t.Cleanup(func() { must(t, db.Close()) })
	if v := value[int](t, db, "SELECT max(version_id) FROM goose_db_version"); v != 5 {
		t.Errorf("the copy has schema %d", v)
	}
	if name := value[string](t, db, "SELECT name FROM clubs"); name != "Harbour" {
		t.Errorf("the copy has club %q", name)
	}
	if told := upToDate(t, path); told != nil {
		t.Errorf("a second start says %v", told)
	}
}

func TestADatabaseWithoutAnythingIsMigratedWithoutACopy(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	aged(t, path, false)
	if told := upToDate(t, path); told != nil {
		t.Errorf("%v", told)
	}
	if files, err := filepath.Glob(path + ".schema*"); err != nil || len(files) > 0 {
		t.Errorf("%v %v", files, err)
	}
}

func TestAnOperatorOfPostgreSQLIsToldThatNoCopyIsMade(t *testing.T) {
	t.Parallel()
	url := repotest.EmptyPostgresURL(t)
	aged(t, url, true)
	if told := upToDate(t, url); len(told) != 1 || !strings.Contains(told[0], "no copy is made") {
		t.Errorf("%v", told)
	}
}

func TestAnOlderDatabaseIsNotOpenedToBeReadAndStaysAsItIs(t *testing.T) {
	t.Parallel()
	for _, url := range []string{filepath.Join(t.TempDir(), "book.db"), repotest.EmptyPostgresURL(t)} {
		aged(t, url, true)
		for range 2 {
			_, err := repo.Open(t.Context(), url, repo.Options{ToRead: true})
			if older, ok := errors.AsType[repo.OlderError](err); !ok || older.Database != 5 {
				t.Errorf("%s: %v", url, err)
			}
		}
	}
}

func TestAStoreThatWasOpenedToBeReadTakesNothing(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s, err := repo.Open(t.Context(), url, repo.Options{})
		must(t, err)
		twoClubs(t, s)
		must(t, s.Close())
		s, err = repo.Open(t.Context(), url, repo.Options{ToRead: true})
		must(t, err)
		t.Cleanup(func() { must(t, s.Close()) })
		if v := siteOf(t, s, north); v.Name != "cellar of north" {
			t.Errorf("%+v", v)
		}
		if err := s.Update(t.Context(), north, addSite(3, "attic")); err == nil {
			t.Error("it took a site")
		}
	})
}
