package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"time"

	"lumbricary.example/service"

	"github.com/riverqueue/river"
	"gorm.io/gorm"
)

// Store keeps the domain in a database. It implements service.Store.
type Store struct {
	db          *gorm.DB // guarded: without a door it reaches nothing
	write, read *sql.DB  // one and the same on PostgreSQL
	postgres    bool
	version     int64 // of the schema
	now         func() time.Time
	patience    time.Duration
	jobs        *river.Client[*sql.Tx] // puts work into the queue
	running     sync.Map               // keys of writes that happen once and are running
}

var _ service.Store = (*Store)(nil)

var (
	errNested    = errors.New("repo: a door opened inside another")
	errOtherClub = errors.New("repo: another club's door opened inside a write that happens once")
	errRehearsed = errors.New("repo: rehearsed")
)

// Close closes the database. Errors: the driver's.
func (s *Store) Close() error {
	var err error
	if s.read != nil && s.read != s.write {
		err = s.read.Close()
	}
	if s.write != nil {
		err = errors.Join(err, s.write.Close())
	}
	return err
}

// Ready implements service.Store. Errors: ErrNotReady.
func (s *Store) Ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	version, err := versionOf(ctx, s.read, s.postgres)
	switch {
	case err != nil:
		return service.ErrNotReady.Because(err)
	case version != s.version:
		return service.ErrNotReady.Because(fmt.Errorf("repo: schema %d, not %d", version, s.version))
	}
	return nil
}

// View implements service.Store. Errors: ErrClubNotFound, ErrBusy, ErrNotReady,
// fn's.
func (s *Store) View(ctx context.Context, club service.ClubID, fn func(service.Tx) error) error {
	return s.visit(ctx, club, func(v visit) error { return v.club(club, fn) })
}

// ViewShared implements service.Store. Errors: ErrBusy, ErrNotReady, fn's.
func (s *Store) ViewShared(ctx context.Context, fn func(service.Shared) error) error {
	return s.visit(ctx, "", func(v visit) error { return v.shared(fn) })
}

// Update implements service.Store. Errors: ErrClubNotFound, ErrBusy,
// ErrNotReady, fn's.
func (s *Store) Update(ctx context.Context, club service.ClubID, fn func(service.Tx) error) error {
	return s.change(ctx, club, func(v visit) error { return v.club(club, fn) })
}

// UpdateShared implements service.Store. Errors: ErrBusy, ErrNotReady, fn's.
func (s *Store) UpdateShared(ctx context.Context, fn func(service.Shared) error) error {
	return s.change(ctx, "", func(v visit) error { return v.shared(fn) })
}

// Rehearse implements service.Store. Errors: those of Update.
func (s *Store) Rehearse(ctx context.Context, club service.ClubID, fn func(service.Tx) error) error {
	err := s.change(ctx, club, func(v visit) error {
		if err := v.club(club, fn); err != nil {
			return err
		}
		return errRehearsed
	})
	if errors.Is(err, errRehearsed) {
		return nil
	}
	return err
}

// visit is one time through a door: an open transaction and what it may do.
type visit struct {
	*Store
	ctx   context.Context //nolint:containedctx // a visit lives no longer than its call
	conn  gorm.ConnPool
	write bool
	bound service.ClubID // that the transaction is bound to already
}

// visit opens a transaction that reads one snapshot. In the ctx of Once it uses
// that transaction.
func (s *Store) visit(ctx context.Context, club service.ClubID, fn func(visit) error) error {
	if j, ok := joined(ctx, s); ok {
		return j.enter(ctx, club, false, fn)
	}
	if inside(pass, passOnce) {
		return errNested
	}
	opts := &sql.TxOptions{ReadOnly: true}
	if s.postgres {
		opts.Isolation = sql.LevelRepeatableRead
	}
	return s.retry(ctx, func() error {
		return s.transact(ctx, s.read, opts, func(conn gorm.ConnPool) error {
			return fn(visit{Store: s, ctx: ctx, conn: conn})
		})
	})
}

// change opens a transaction that writes. In the ctx of Once it uses that
// transaction.
func (s *Store) change(ctx context.Context, club service.ClubID, fn func(visit) error) error {
	if j, ok := joined(ctx, s); ok {
		return j.enter(ctx, club, true, fn)
	}
	if inside(pass, passOnce) {
		return errNested
	}
	return s.retry(ctx, func() error {
		return s.transact(ctx, s.write, nil, func(conn gorm.ConnPool) error {
			return fn(visit{Store: s, ctx: ctx, conn: conn, write: true})
		})
	})
}

// club binds the transaction to a club and runs fn on its rows, which nobody else
// writes until a transaction that writes ends. Errors: ErrClubNotFound, ErrBusy,
// fn's.
func (v visit) club(id service.ClubID, fn func(service.Tx) error) error {
	db, err := v.bind(id)
	if err != nil {
		return err
	}
	if v.write && v.postgres {
		if err := exec(db, lockClubRow, string(id)); err != nil {
			return err
		}
	}
	c, err := clubs{db: v.through(&door{ConnPool: v.conn})}.byID(id)
	if err != nil {
		return err
	}
	tx := txOf(c, db)
	tx.Queue = v.queue()
	tx.Settings = settings{v.through(&door{ConnPool: v.conn, write: v.write}), c.ID}
	tx.Rows = v.storedRows(c.ID)
	return pass(func() error { return fn(tx) })
}

// bind binds the transaction to a club. Errors: ErrClubNotFound.
func (v visit) bind(id service.ClubID) (*gorm.DB, error) {
	if id == "" {
		return nil, service.ErrClubNotFound
	}
	db := v.through(&door{ConnPool: v.conn, club: id, write: v.write})
	if !v.postgres || v.bound == id {
		return db, nil
	}
	return db, exec(db, bindClub, string(id))
}

// shared runs fn on the tables that belong to no club. Errors: fn's.
func (v visit) shared(fn func(service.Shared) error) error {
	db := v.through(&door{ConnPool: v.conn, write: v.write})
	return pass(func() error {
		return fn(service.Shared{Accounts: accounts{db}, Clubs: clubs{db, v.within}, Keys: keys{db}, Sessions: sessions{db}, Codes: codes{db}})
	})
}

// within runs fn on the rows of a club that has just been made, and leaves the
// transaction bound as it was. Errors: fn's, the driver's.
func (v visit) within(id service.ClubID, fn func(*gorm.DB) error) error {
	db := v.through(&door{ConnPool: v.conn, club: id, write: v.write})
	if !v.postgres {
		return fn(db)
	}
	if err := exec(db, bindClub, string(id)); err != nil {
		return err
	}
	if err := fn(db); err != nil {
		return err
	}
	return exec(db, bindClub, string(v.bound))
}

// through returns the only handle that reaches rows: one with a door.
func (v visit) through(d *door) *gorm.DB {
	db := v.db.Session(&gorm.Session{NewDB: true, Context: v.ctx})
	db.Statement.ConnPool = d
	db.ConnPool = d
	return db
}

// txOf gathers the nouns of one club.
func txOf(c service.Club, db *gorm.DB) service.Tx {
	return service.Tx{
		Club:            c,
		Members:         newMembers(db),
		Invitations:     newInvitations(db),
		APIKeys:         newAPIKeys(db),
		Sites:           newSites(db),
		Bins:            newBins(db),
		Materials:       newMaterials(db),
		Measures:        newMeasures(db),
		Receipts:        newReceipts(db),
		Turnouts:        newTurnouts(db),
		Cultures:        newCultures(db),
		Origins:         newOrigins(db),
		Batches:         newBatches(db),
		LotNumbers:      lotNumbers{db},
		BatchSteps:      newBatchSteps(db),
		Reworks:         newReworks(db),
		Feedings:        newFeedings(db),
		Checks:          newChecks(db),
		Censuses:        newCensuses(db),
		Harvests:        newHarvests(db),
		Quarantines:     newQuarantines(db),
		Identifications: newIdentifications(db),
		Contacts:        newContacts(db),
		Clearings:       newClearings(db),
		LateEntries:     newLateEntries(db),
		Movements:       newMovements(db),
		Transfers:       newTransfers(db),
		Offers:          newOffers(db),
		Calendars:       newCalendars(db),
		Webhooks:        newWebhooks(db),
		Deliveries:      newDeliveries(db),
		Lots:            newLots(db),
		Events:          newEvents(db),
		Audit:           newAudit(db),
		Erasures:        newErasures(db),
		Answers:         answers{db},
		Totals:          totals{db},
	}
}
