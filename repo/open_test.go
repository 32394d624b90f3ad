package repo_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"

	"github.com/jackc/pgx/v5"
)

// emptyURLs are the addresses of databases without a schema.
func emptyURLs(t *testing.T, fn func(*testing.T, string)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { t.Parallel(); fn(t, "sqlite:"+filepath.Join(t.TempDir(), "a b#c?d%e.db")) })
	t.Run("postgres", func(t *testing.T) { t.Parallel(); fn(t, repotest.EmptyPostgresURL(t)) })
}

func TestOpenMakesTheSchemaAndFindsItAgain(t *testing.T) {
	t.Parallel()
	emptyURLs(t, func(t *testing.T, url string) {
		for range 2 {
			s, err := repo.Open(t.Context(), url, repo.Options{})
			must(t, err)
			must(t, s.Ready(t.Context()))
			must(t, s.Close())
		}
	})
}

func TestANewSQLiteFileIsItsOwnersOnly(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "new.db")
	s, err := repo.Open(t.Context(), path, repo.Options{})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	info, err := os.Stat(path)
	must(t, err)
	if info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v", info.Mode())
	}
}

func TestFourStartsAtOnceOnOneEmptyDatabase(t *testing.T) {
	t.Parallel()
	url := repotest.EmptyPostgresURL(t)
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			s, err := repo.Open(t.Context(), url, repo.Options{Connections: 2})
			if err != nil {
				t.Error(err)
				return
			}
			if err := errors.Join(s.Ready(t.Context()), s.Close()); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

func TestANewerDatabaseIsRefusedUntouched(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s, err := repo.OpenAsOwner(t.Context(), url)
		must(t, err)
		_, err = s.SQL().ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, '1')")
		must(t, err)
		count := "SELECT count(*) FROM goose_db_version"
		before := value[int](t, s.SQL(), count)
		_, err = repo.Open(t.Context(), url, repo.Options{})
		newer, ok := errors.AsType[repo.NewerError](err)
		if !ok || newer.Database != 9999 || newer.Program < 5 {
			t.Errorf("err = %v", err)
		}
		if after := value[int](t, s.SQL(), count); after != before {
			t.Errorf("%d migrations before, %d after", before, after)
		}
		must(t, s.Close())
	})
}

func TestWhatIsNoDatabaseIsNotReady(t *testing.T) {
	t.Parallel()
	garbage := filepath.Join(t.TempDir(), "garbage.db")
	must(t, os.WriteFile(garbage, make([]byte, 5000), 0o600))
	for _, url := range []string{
		filepath.Join(t.TempDir(), "no", "such", "directory.db"),
		garbage,
		"postgres://nobody@127.0.0.1:1/none?sslmode=disable&connect_timeout=2",
	} {
		if s, err := repo.Open(t.Context(), url, repo.Options{}); !errors.Is(err, service.ErrNotReady) {
			t.Errorf("%s: %v, %v", url, s, err)
		}
	}
	for _, url := range []string{"", ":memory:", "sqlite::memory:", "file::memory:?cache=shared", "postgres://%zz"} {
		if s, err := repo.Open(t.Context(), url, repo.Options{}); err == nil {
			t.Errorf("%q opened %v", url, s)
		}
	}
}

func TestAUserWithoutRightsStartsAPreparedDatabaseAndNoOther(t *testing.T) {
	t.Parallel()
	prepared, empty := repotest.PostgresURL(t), repotest.EmptyPostgresURL(t)
	conn, err := pgx.Connect(t.Context(), prepared)
	must(t, err)
	defer func() { must(t, conn.Close(t.Context())) }()
	for _, q := range []string{"DROP ROLE IF EXISTS plain, stranger", "CREATE ROLE plain LOGIN", "CREATE ROLE stranger LOGIN", "GRANT lumbricary_app TO plain"} {
		_, err := conn.Exec(t.Context(), q)
		must(t, err)
	}
	signIn := func(url, user string) error {
		s, err := repo.Open(t.Context(), strings.Replace(url, "postgres@", user+"@", 1), repo.Options{})
		if err == nil {
			err = errors.Join(s.Ready(t.Context()), s.Close())
		}
		return err
	}
	must(t, signIn(prepared, "plain"))
	if err := signIn(prepared, "stranger"); err == nil {
		t.Error("a stranger took the role")
	}
	if err := signIn(empty, "plain"); err == nil {
		t.Error("a user without rights made the schema")
	}
}
