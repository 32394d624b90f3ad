package repo

import (
	"context"
	"database/sql"
	"fmt"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"

	"gorm.io/gorm"
)

// What the tests of the walls need to open one wall alone.

// ErrGuard and ErrNested are what the guard and the doors say.
var (
	ErrGuard  = errGuard
	ErrNested = errNested
)

// The tables of the two kinds of door, and what the store knows of constraints.
var (
	ClubTables   = clubTables
	SharedTables = sharedTables
	Violations   = violations
	UniqueKeys   = uniqueKeys
	InArchive    = inArchive
	NotInArchive = notInArchive
	InsteadOf    = insteadOf
	NotInBackup  = notInBackup
)

// OpenAsOwner opens a store that works as the user of the address, whom
// row-level security may not bind.
func OpenAsOwner(ctx context.Context, address string) (*Store, error) {
	return openAs(ctx, address, Options{}, "")
}

// Handle gives fn the guarded handle of a club's door for writing; of the
// shared tables where club is empty. Nothing binds the database to the club.
func (s *Store) Handle(ctx context.Context, club service.ClubID, fn func(*gorm.DB) error) error {
	return s.transact(ctx, s.write, nil, func(conn gorm.ConnPool) error {
		v := visit{Store: s, ctx: ctx, conn: conn, write: true}
		return fn(v.through(&door{ConnPool: conn, club: club, write: true}))
	})
}

// Bare is the handle without a door.
func (s *Store) Bare() *gorm.DB { return s.db }

// SQL is the pool that writes, past doors and guard.
func (s *Store) SQL() *sql.DB { return s.write }

// ReadSQL is the pool that reads.
func (s *Store) ReadSQL() *sql.DB { return s.read }

// IsPostgres tells the dialect.
func (s *Store) IsPostgres() bool { return s.postgres }

// Retry is the store's loop of retries.
func (s *Store) Retry(ctx context.Context, try func() error) error { return s.retry(ctx, try) }

// Hold waits for a connection that writes and keeps it.
func (s *Store) Hold(ctx context.Context) (*sql.Conn, error) { return s.connect(ctx, s.write) }

// Translate is what the rows' errors go through.
func Translate(err error) error { return translate(err) }

// MigrateTo brings a database to a version of the schema; 0: the newest.
func MigrateTo(ctx context.Context, db *sql.DB, postgres bool, version int64) error {
	migrations, err := provide(db, postgres)
	if err != nil {
		return err
	}
	if version == 0 {
		_, err = migrations.Up(ctx)
	} else {
		_, err = migrations.UpTo(ctx, version)
	}
	return err
}

// SharesFromBytes reads the shares of a lot's row.
func SharesFromBytes(row []byte) lineage.Shares { return origins{}.shares(row) }

// Relation is a table as archives and backups see it.
type Relation struct {
	Name     string
	Columns  []string // with their kinds
	Key      []string
	OfClub   bool
	Names    []string
	Order    string
	Sequence bool
}

// Relations describes the tables of the store's database in the order in which
// they are copied.
func (s *Store) Relations(ctx context.Context) ([]Relation, error) {
	all, err := tablesOf(ctx, s.read, s.postgres)
	out := make([]Relation, len(all))
	for i, t := range all {
		_, sequence := t.column("seq")
		out[i] = Relation{Name: t.name, Key: t.key, OfClub: t.ofClub, Names: t.names, Order: t.order(false), Sequence: sequence}
		for _, c := range t.columns {
			out[i].Columns = append(out[i].Columns, fmt.Sprint(c.name, " ", c.kind))
		}
	}
	return out, err
}

// odd is a table with a column of each kind.
var odd = relation{name: "odd", columns: []column{
	{"bytes", bytesColumn}, {"real", realColumn}, {"text", textColumn}, {"truth", truthColumn}, {"whole", wholeColumn},
}}

// OddLine writes a row of a table with columns bytes, real, text, truth and whole,
// and OddRow reads one.
func OddLine(values ...any) (string, error) {
	line, err := odd.appendRow(nil, values)
	return string(line), err
}

// OddRow reads what OddLine writes.
func OddRow(line string) ([]any, error) { return odd.readRow([]byte(line)) }
