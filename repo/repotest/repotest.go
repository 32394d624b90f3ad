// Package repotest gives a test its own empty database of each kind: a SQLite
// file, and a database in a throw-away PostgreSQL cluster that the test binary
// starts when it needs it. A binary that uses PostgreSQL calls Stop from its
// TestMain:
//
//	func TestMain(m *testing.M) {
//		code := m.Run()
//		repotest.Stop()
//		os.Exit(code)
//	}
//
// Where PostgreSQL isn't installed its tests are skipped, unless
// REQUIRE_POSTGRES=1, which makes that fatal.
package repotest

import (
	"os"
	"path/filepath"
	"sync"
	"testing"

	"lumbricary.example/repo"
)

// Each runs fn on a fresh store of each kind, in parallel.
func Each(t *testing.T, fn func(*testing.T, *repo.Store)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) {
		t.Parallel()
		fn(t, SQLite(t))
	})
	t.Run("postgres", func(t *testing.T) {
		t.Parallel()
		fn(t, Postgres(t))
	})
}

// EachURL runs fn on the address of a fresh database of each kind, in parallel.
func EachURL(t *testing.T, fn func(t *testing.T, url string)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) {
		t.Parallel()
		fn(t, SQLiteURL(t))
	})
	t.Run("postgres", func(t *testing.T) {
		t.Parallel()
		fn(t, PostgresURL(t))
	})
}

// SQLite returns a store on a fresh SQLite file.
func SQLite(t testing.TB) *repo.Store {
	t.Helper()
	return open(t, SQLiteURL(t))
}

// Postgres returns a store on a fresh PostgreSQL database.
func Postgres(t testing.TB) *repo.Store {
	t.Helper()
	return open(t, PostgresURL(t))
}

// URLs returns the addresses of a fresh database of each kind, by the kind's
// name.
func URLs(t testing.TB) map[string]string {
	t.Helper()
	return map[string]string{"sqlite": SQLiteURL(t), "postgres": PostgresURL(t)}
}

func open(t testing.TB, url string) *repo.Store {
	t.Helper()
	s, err := repo.Open(t.Context(), url, repo.Options{Connections: 8})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// blank is the bytes of a migrated SQLite file without rows.
var blank = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "lumbricary")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	path := filepath.Join(dir, "blank.db")
	if err := migrate(path); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// SQLiteURL returns the path of a fresh SQLite file with the schema.
func SQLiteURL(t testing.TB) string {
	t.Helper()
	content, err := blank()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "test.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
