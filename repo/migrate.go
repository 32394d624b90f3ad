package repo

import (
	"context"
	"database/sql"
	"fmt"

	"lumbricary.example/migrations"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// NewerError says that the database has a newer schema than the program knows.
// It has been left as it is.
type NewerError struct{ Database, Program int64 }

// Error tells both versions.
func (e NewerError) Error() string {
	return fmt.Sprintf("repo: the database has schema %d, this program knows %d: start a newer program", e.Database, e.Program)
}

// migrate brings the database to the program's schema, whose version it
// returns. Errors: NewerError, the driver's.
func migrate(ctx context.Context, db *sql.DB, postgres bool) (int64, error) {
	provider, err := provide(db, postgres)
	if err != nil {
		return 0, err
	}
	sources := provider.ListSources()
	newest := sources[len(sources)-1].Version
	switch version, err := versionOf(ctx, db, postgres); {
	case err != nil:
		return 0, err
	case version > newest:
		return 0, NewerError{Database: version, Program: newest}
	case version == newest:
		return newest, nil
	}
	_, err = provider.Up(ctx)
	return newest, err
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
