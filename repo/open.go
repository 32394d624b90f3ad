// Package repo keeps the domain in SQLite or PostgreSQL through gorm.
//
// A club's rows are behind four walls, each of which would do alone: the doors
// of Store (store.go), the callbacks that bind every statement to the door's
// club (guard.go), keys that lead with the club (migrations), and on PostgreSQL
// row-level security under a role that owns nothing (role.go).
package repo

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	"lumbricary.example/service"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/libtnb/sqlite"
	"github.com/riverqueue/river"
	"gorm.io/driver/postgres"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// Options are what Open may be told. The zero value will do.
type Options struct {
	// Now is the clock by which stored answers grow old; nil: the computer's.
	Now func() time.Time
	// Connections is how many the program opens at most to PostgreSQL, or for
	// reading to SQLite; 0: 16.
	Connections int
	// Patience is how long a call waits for a connection or a lock before
	// ErrBusy; 0: 5 s.
	Patience time.Duration
	// Notice is told what an operator should know before a database that holds
	// something is migrated; nil: nobody is.
	Notice func(string)
	// ToRead opens the database without changing anything in it.
	ToRead bool

	restoring bool // the database is being restored
}

// Open opens the database at address, brings its schema up to date and returns a
// Store on it: PostgreSQL for postgres:// or postgresql://, else a SQLite file,
// with or without sqlite: before its path. A SQLite file that holds something is
// copied before it is migrated. Errors: NewerError; OlderError, to be read alone;
// ErrNotReady when the database doesn't answer; ErrHalfRestored; one that says
// which right is missing; the driver's.
func Open(ctx context.Context, address string, opts Options) (*Store, error) {
	return openAs(ctx, address, opts, appRole)
}

// openAs is Open with the role under which the store works on PostgreSQL; empty
// for the role of the address.
func openAs(ctx context.Context, address string, opts Options, role string) (*Store, error) {
	s := &Store{now: opts.Now, patience: cmp.Or(opts.Patience, 5*time.Second)}
	if s.now == nil {
		s.now = time.Now
	}
	if opts.Notice == nil {
		opts.Notice = func(string) {}
	}
	opts.Connections = cmp.Or(opts.Connections, 16)
	open := s.openSQLite
	if isPostgres(address) {
		s.postgres = true
		open = func(ctx context.Context, address string, opts Options) (gorm.Dialector, error) {
			return s.openPostgres(ctx, address, opts, role)
		}
	}
	dialector, err := open(ctx, address, opts)
	if err == nil {
		s.db, err = gorm.Open(dialector, &gorm.Config{
			Logger: logger.Discard, SkipDefaultTransaction: true, DisableAutomaticPing: true, DisableNestedTransaction: true,
		})
	}
	if err == nil {
		err = guard(s.db)
	}
	if err == nil && !opts.restoring {
		err = whole(ctx, s.read)
	}
	if err == nil {
		s.jobs, err = river.NewClient(driverOf(s.write, s.postgres), &river.Config{Logger: slog.New(slog.DiscardHandler)})
	}
	if err != nil {
		return nil, errors.Join(translate(err), s.Close())
	}
	return s, nil
}

// openPostgres migrates as the user of the address, then opens the pool of
// connections that work as role. Errors: those of Open.
func (s *Store) openPostgres(ctx context.Context, address string, opts Options, role string) (gorm.Dialector, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, errors.New("repo: the address of the PostgreSQL database can't be read")
	}
	if config.RuntimeParams["application_name"] == "" {
		config.RuntimeParams["application_name"] = "lumbricary"
	}
	if s.version, err = preparePostgres(ctx, config, opts); err != nil {
		return nil, err
	}
	if opts.ToRead {
		config.RuntimeParams["default_transaction_read_only"] = "on"
	}
	config.RuntimeParams["lock_timeout"] = strconv.FormatInt(s.patience.Milliseconds(), 10)
	if role != "" {
		config.RuntimeParams["role"] = role
	}
	s.write = stdlib.OpenDB(*config)
	s.write.SetMaxOpenConns(opts.Connections)
	s.write.SetMaxIdleConns(opts.Connections)
	s.write.SetConnMaxIdleTime(5 * time.Minute)
	s.read = s.write
	return postgres.New(postgres.Config{Conn: s.write}), s.write.PingContext(ctx)
}

// isPostgres tells an address of PostgreSQL from a path.
func isPostgres(address string) bool {
	return strings.HasPrefix(address, "postgres://") || strings.HasPrefix(address, "postgresql://")
}

// preparePostgres brings schema and role up to date. Errors: those of Open.
func preparePostgres(ctx context.Context, config *pgx.ConnConfig, opts Options) (int64, error) {
	owner := stdlib.OpenDB(*config)
	defer func() { _ = owner.Close() }()
	if opts.ToRead {
		return current(ctx, owner, true)
	}
	version, err := migrate(ctx, owner, true, func(from, to int64) error {
		opts.Notice(fmt.Sprintf("the schema of the PostgreSQL database goes from %d to %d; no copy is made of it before", from, to))
		return nil
	})
	if err != nil {
		return 0, err
	}
	if err := migrateQueue(ctx, owner, true); err != nil {
		return 0, err
	}
	return version, grantRole(ctx, owner)
}

// openSQLite opens one connection that writes and several that can't, and
// migrates. Errors: those of Open.
func (s *Store) openSQLite(ctx context.Context, address string, opts Options) (gorm.Dialector, error) {
	path, err := pathOf(address)
	if err != nil {
		return nil, err
	}
	file := fileOf(path, s.patience.Milliseconds()/(retries+1))
	if opts.ToRead {
		return s.readSQLite(ctx, path, file, opts)
	}
	if err := touch(path); err != nil {
		return nil, service.ErrNotReady.Because(err)
	}
	if s.write, err = sql.Open("sqlite", file+writing); err != nil {
		return nil, err
	}
	s.write.SetMaxOpenConns(1)
	s.write.SetMaxIdleConns(1)
	s.version, err = migrate(ctx, s.write, false, func(from, to int64) error {
		if opts.restoring {
			return nil // the backup is what it was
		}
		copied := fmt.Sprintf("%s.schema-%d-%s", path, from, s.now().UTC().Format("20060102T150405Z"))
		opts.Notice(fmt.Sprintf("the schema goes from %d to %d; the file as it was before is kept as %s", from, to, copied))
		return copySQLite(ctx, s.write, copied)
	})
	if err != nil {
		return nil, err
	}
	if err := migrateQueue(ctx, s.write, false); err != nil {
		return nil, err
	}
	if s.read, err = sql.Open("sqlite", file+reading); err != nil {
		return nil, err
	}
	s.read.SetMaxOpenConns(opts.Connections)
	s.read.SetMaxIdleConns(opts.Connections)
	return sqlite.New(sqlite.Config{Conn: s.write}), nil
}

// readSQLite opens connections that can't write. Errors: those of Open.
func (s *Store) readSQLite(ctx context.Context, path, file string, opts Options) (gorm.Dialector, error) {
	_, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if s.read, err = sql.Open("sqlite", file+reading); err != nil {
		return nil, err
	}
	s.write = s.read
	s.read.SetMaxOpenConns(opts.Connections)
	s.version, err = current(ctx, s.read, false)
	return sqlite.New(sqlite.Config{Conn: s.read}), err
}

// current returns the schema of a database that isn't to be changed. Errors:
// OlderError, NewerError, the driver's.
func current(ctx context.Context, db *sql.DB, postgres bool) (int64, error) {
	provider, err := provide(db, postgres)
	if err != nil {
		return 0, err
	}
	version, err := versionOf(ctx, db, postgres)
	switch newest := newestOf(provider); {
	case err != nil:
		return 0, err
	case version < newest:
		return 0, OlderError{Database: version, Program: newest}
	case version > newest:
		return 0, NewerError{Database: version, Program: newest}
	}
	return version, nil
}

// What is added to the address of a SQLite file.
const (
	writing = "&_pragma=journal_mode(WAL)&_txlock=immediate"
	reading = "&_pragma=query_only(1)&mode=ro"
)

// pathOf is the path of a SQLite file. Errors: one that says that there is none.
func pathOf(address string) (string, error) {
	path := strings.TrimPrefix(strings.TrimPrefix(address, "sqlite:"), "//")
	if path == "" || strings.Contains(path, ":memory:") {
		return "", fmt.Errorf("repo: %q names no database file", address)
	}
	return path, nil
}

// fileOf is the address of a SQLite file for its driver, with the milliseconds
// that a statement waits for a lock.
func fileOf(path string, wait int64) string {
	return fmt.Sprintf("file:%s?_pragma=busy_timeout(%d)&_pragma=foreign_keys(1)&_pragma=synchronous(FULL)", (&url.URL{Path: path}).EscapedPath(), wait)
}

// copySQLite copies a database as it is into a new file. Errors: the file
// system's, the driver's.
func copySQLite(ctx context.Context, db *sql.DB, path string) error {
	part := path + ".part" // what breaks off isn't taken for a copy
	if err := errors.Join(os.RemoveAll(part), touch(part)); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", part); err != nil {
		return err
	}
	return os.Rename(part, path)
}

// touch makes a new file that only its owner can read: it will hold e-mail
// addresses and hashes of passphrases. Errors: the file system's.
func touch(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}
