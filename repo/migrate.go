package repo

import (
	"context"
	"database/sql"
	"fmt"

	"lumbricary.example/migrations"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// NewerError says that a database, or a file of one, has a newer schema than the
// program knows. It has been left as it is.
type NewerError struct{ Database, Program int64 }

// Error tells both versions.
func (e NewerError) Error() string {
	return fmt.Sprintf("repo: schema %d is newer than this program's, which is %d: use a newer program", e.Database, e.Program)
}

// OlderError says that a database that was opened to be read alone, or an archive,
// has an older schema than the program. It has been left as it is.
type OlderError struct{ Database, Program int64 }

// Error tells both versions.
func (e OlderError) Error() string {
	return fmt.Sprintf("repo: the database has schema %d, this program works with %d: start the service on it first", e.Database, e.Program)
}

// migrate brings the database to the program's schema, whose version it
// returns. Before it changes one that holds something it calls first, which is
// told both versions. Errors: NewerError, first's, the driver's.
func migrate(ctx context.Context, db *sql.DB, postgres bool, first func(from, to int64) error) (int64, error) {
	provider, err := provide(db, postgres)
	if err != nil {
		return 0, err
	}
	newest := newestOf(provider)
	version, err := versionOf(ctx, db, postgres)
	switch {
	case err != nil:
		return 0, err
	case version > newest:
		return 0, NewerError{Database: version, Program: newest}
	case version == newest:
		return newest, nil
	}
	if holds, err := holdsRows(ctx, db, version); err != nil {
		return 0, err
	} else if holds {
		if err := first(version, newest); err != nil {
			return 0, err
		}
	}
	_, err = provider.Up(ctx)
	return newest, err
}

// newestOf is the schema of this program.
func newestOf(provider *goose.Provider) int64 {
	sources := provider.ListSources()
	return sources[len(sources)-1].Version
}

// holdsRows reports whether a database of that schema has an account or a club.
// Errors: the driver's.
func holdsRows(ctx context.Context, db *sql.DB, version int64) (holds bool, err error) {
	if version == 0 {
		return false, nil
	}
	err = db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM accounts) OR EXISTS (SELECT 1 FROM clubs)`).Scan(&holds)
	return holds, err
}

// provide returns what runs the migrations. Starts at the same time wait for
// each other on PostgreSQL. Errors: goose's, when the files can't be used.
func provide(db *sql.DB, postgres bool) (*goose.Provider, error) {
	name, dialect := "sqlite", goose.DialectSQLite3
	options := []goose.ProviderOption{goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger())}
	if postgres {
		name, dialect = "postgres", goose.DialectPostgres
		locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 300))
		if err != nil {
			return nil, err
		}
		options = append(options, goose.WithSessionLocker(locker))
	}
	files, err := migrations.Files(name)
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(dialect, db, files, options...)
}

// versionOf returns the version of the database's schema, 0 where there is
// none, without writing anything. Errors: the driver's.
func versionOf(ctx context.Context, db *sql.DB, postgres bool) (int64, error) {
	exists := `SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE name = 'goose_db_version')`
	if postgres {
		exists = `SELECT to_regclass('goose_db_version') IS NOT NULL`
	}
	var there bool
	if err := db.QueryRowContext(ctx, exists).Scan(&there); err != nil || !there {
		return 0, err
	}
	var version int64
	err := db.QueryRowContext(ctx, `SELECT COALESCE(MAX(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&version)
	return version, err
}
