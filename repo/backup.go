package repo

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"

	"lumbricary.example/service/archive"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// notInBackup says which rows a backup leaves out: what they let in to has ended
// when they would come back.
var notInBackup = map[string]string{
	"sessions": "everybody signs in again after a restore",
	"codes":    "codes for one use would be good a second time",
}

var (
	// ErrNotEmpty says that a restore was asked for where something is already.
	ErrNotEmpty = errors.New("there is something in that database already: restore into a new one")
	// ErrHalfRestored says that a restore broke off before its end.
	ErrHalfRestored = errors.New("a restore into this database broke off or is under way; make a new database and restore again")
)

// underWay is the name of the secret that a database has until its restore is
// done.
const underWay = "restore under way"

// whole fails for a database whose restore isn't done. Errors: ErrHalfRestored,
// the driver's.
func whole(ctx context.Context, db *sql.DB) error {
	var half bool
	err := db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM secrets WHERE name = $1)`, underWay).Scan(&half)
	if err == nil && half {
		return ErrHalfRestored
	}
	return err
}

// Backup copies all rows of the database at address as they are at one moment,
// while others write, in whatever schema they have; it changes nothing. Errors:
// NewerError, ErrHalfRestored; one that says that there is no database of this
// program; the driver's, to's.
func Backup(ctx context.Context, address string, to io.Writer) (archive.Sum, error) {
	db, err := openRaw(address, true)
	if err != nil {
		return archive.Sum{}, err
	}
	defer func() { _ = db.Close() }() // it was only read
	postgres := isPostgres(address)
	version, err := current(ctx, db, postgres)
	if older, ok := errors.AsType[OlderError](err); ok && older.Database > 0 {
		version, err = older.Database, nil
	}
	if err != nil {
		return archive.Sum{}, err
	}
	if err := whole(ctx, db); err != nil {
		return archive.Sum{}, err
	}
	opts := &sql.TxOptions{ReadOnly: true}
	if postgres {
		opts.Isolation = sql.LevelRepeatableRead
	}
	tx, err := db.BeginTx(ctx, opts)
	if err != nil {
		return archive.Sum{}, err
	}
	defer func() { _ = tx.Rollback() }() // nothing was written
	return copier{tx, ctx, postgres}.everything(version, to)
}

// everything writes all rows. Errors: the driver's, to's.
func (c copier) everything(schema int64, to io.Writer) (archive.Sum, error) {
	tables, err := tablesOf(c.ctx, c, c.postgres)
	if err != nil {
		return archive.Sum{}, err
	}
	var clubs []string
	var club string
	if err := eachRow(c.ctx, c, `SELECT id FROM clubs`, []any{&club}, func() error { clubs = append(clubs, club); return nil }); err != nil {
		return archive.Sum{}, err
	}
	slices.Sort(clubs)
	w, err := archive.NewWriter(to, archive.Header{Kind: archive.Service, Schema: schema})
	if err != nil {
		return archive.Sum{}, err
	}
	for _, t := range tables {
		if notInBackup[t.name] != "" {
			continue
		}
		if err := w.Part(t.name); err != nil {
			return archive.Sum{}, err
		}
		if !t.ofClub {
			err = c.out(t, "", "", nil, w)
		}
		for _, club := range clubs {
			if !t.ofClub || err != nil {
				break
			}
			err = cmp.Or(c.bind(club), c.out(t, "club_id", club, nil, w))
		}
		if err != nil {
			return archive.Sum{}, err
		}
	}
	return w.Close()
}

// openRaw opens a database past doors and guard, as the user of its address.
// Errors: one for an address that can't be read; the driver's.
func openRaw(address string, toRead bool) (*sql.DB, error) {
	if isPostgres(address) {
		config, err := pgx.ParseConfig(address)
		if err != nil {
			return nil, errors.New("repo: the address of the PostgreSQL database can't be read")
		}
		return stdlib.OpenDB(*config), nil
	}
	path, err := pathOf(address)
	if err != nil {
		return nil, err
	}
	file := fileOf(path, 5000)
	if !toRead {
		return sql.Open("sqlite", file+writing)
	}
	if _, err := os.Stat(path); err != nil {
		return nil, err
	}
	return sql.Open("sqlite", file+reading)
}

// Restoration is a restore under way. Until Done nobody can open the database: on
// SQLite it is a file of another name, on PostgreSQL it is marked.
type Restoration struct {
	Sum     archive.Sum
	address string // of what is being filled
	path    string // of the SQLite file that it becomes
}

// Restore puts the rows of a backup into a new database, in the schema that they
// were in. Done ends it, Undone breaks it off. Errors: ErrNotEmpty,
// ErrHalfRestored, NewerError, archive.FaultError, the driver's.
func Restore(ctx context.Context, address string, from *archive.Reader) (*Restoration, error) {
	if from.Header().Kind != archive.Service {
		return nil, archive.FaultError{Line: from.Line(), Why: "this is no backup of a service but an archive of a club: use archive read"}
	}
	r := &Restoration{address: address}
	if !isPostgres(address) {
		var err error
		if r.path, err = pathOf(address); err != nil {
			return nil, err
		}
		if there, err := os.Stat(r.path); err == nil && there.Size() > 0 {
			return nil, ErrNotEmpty
		} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		r.address = r.path + ".restoring"
		if err := errors.Join(r.Undone(), touch(r.address)); err != nil {
			return nil, err
		}
	}
	err := load(ctx, r.address, from, func(c copier) error { return c.all(from) })
	if err != nil {
		return nil, errors.Join(err, r.Undone())
	}
	r.Sum = from.Sum()
	return r, nil
}

// Open opens the database before the restore is done. Errors: those of Open.
func (r *Restoration) Open(ctx context.Context, opts Options) (*Store, error) {
	opts.restoring = true
	opts.Notice = nil
	return Open(ctx, r.address, opts)
}

// Done lets the database be opened by everybody. It must be closed. Errors: the
// driver's, the file system's.
func (r *Restoration) Done(ctx context.Context) error {
	db, err := openRaw(r.address, false)
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, `DELETE FROM secrets WHERE name = $1`, underWay)
	if err == nil && r.path != "" {
		_, err = db.ExecContext(ctx, `PRAGMA journal_mode = DELETE`) // one file, without a log beside it
	}
	if err := errors.Join(err, db.Close()); err != nil || r.path == "" {
		return err
	}
	return os.Rename(r.address, r.path)
}

// Undone removes what a restore made beside its SQLite file. On PostgreSQL it
// and for none it does nothing: rows that aren't committed are gone, others are marked. Errors:
// the file system's.
func (r *Restoration) Undone() error {
	if r == nil || r.path == "" {
		return nil
	}
	return errors.Join(os.RemoveAll(r.address), os.RemoveAll(r.address+"-wal"), os.RemoveAll(r.address+"-shm"), os.RemoveAll(r.address+"-journal"))
}

// load gives an empty database the schema of a file, and its rows in one
// transaction. Errors: those of Restore, put's.
func load(ctx context.Context, address string, from *archive.Reader, put func(copier) error) error {
	db, err := openRaw(address, false)
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }() // what was committed is kept
	postgres, schema := isPostgres(address), from.Header().Schema
	provider, err := provide(db, postgres)
	if err != nil {
		return err
	}
	if newest := newestOf(provider); schema > newest {
		return NewerError{Database: schema, Program: newest}
	}
	if err := empty(ctx, db, postgres, schema); err != nil {
		return err
	}
	if _, err := provider.UpTo(ctx, schema); err != nil {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if err := put(copier{tx, ctx, postgres}); err != nil {
		return err
	}
	return tx.Commit()
}

// empty fails unless the database is new, or has the schema and nothing in it.
// Errors: ErrNotEmpty, ErrHalfRestored, the driver's.
func empty(ctx context.Context, db *sql.DB, postgres bool, schema int64) error {
	tables, err := tablesOf(ctx, db, postgres)
	if err != nil || len(tables) == 0 {
		return err
	}
	version, err := versionOf(ctx, db, postgres)
	switch {
	case err != nil:
		return err
	case version != schema:
		return ErrNotEmpty
	}
	if err := whole(ctx, db); err != nil {
		return err
	}
	holds, err := holdsRows(ctx, db, version)
	if err == nil && holds {
		err = ErrNotEmpty
	}
	return err
}

// all adds the rows of a backup, and the mark that the restore is under way.
// Errors: archive.FaultError, the driver's.
func (c copier) all(from *archive.Reader) error {
	tables, err := tablesOf(c.ctx, c, c.postgres)
	if err != nil {
		return err
	}
	tables = slices.DeleteFunc(tables, func(t relation) bool { return notInBackup[t.name] != "" })
	if err := c.parts(tables, "", from); err != nil {
		return err
	}
	_, err = c.ExecContext(c.ctx, `INSERT INTO secrets (name, value) VALUES ($1, '')`, underWay)
	return err
}
