package repo

import (
	"context"
	"errors"
	"strconv"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

const (
	keyPatience = 2 * time.Second    // how long a second call waits for the first
	keyLife     = 7 * 24 * time.Hour // how long an answer is kept
	sweepAtMost = 50                 // how many old answers one call removes
)

// keyRow is a row of idempotency_keys. It is seen by others only with its
// answer: both are committed at once.
type keyRow struct {
	ClubID    string `gorm:"primaryKey"`
	AccountID string `gorm:"primaryKey"`
	Route     string `gorm:"primaryKey"`
	Key       string `gorm:"primaryKey"`
	BodyHash  string
	Status    int64
	Location  string
	ETag      string `gorm:"column:etag"`
	Type      string
	Body      string
	CreatedAt int64 `gorm:"autoCreateTime:false"`
}

// TableName implements gorm's Tabler.
func (keyRow) TableName() string { return "idempotency_keys" }

func (r keyRow) answer() service.Answer {
	return service.Answer{Status: int(r.Status), Location: r.Location, ETag: r.ETag, Type: r.Type, Body: []byte(r.Body)}
}

// errSeen means that the key has an answer.
var errSeen = errors.New("repo: the key has been seen")

// scope identifies a key in the whole store.
type scope struct {
	club service.ClubID
	key  service.OnceKey
}

// Once implements service.Store. The key's row is inserted first: its primary
// key makes a second call wait until the first has ended. Errors:
// ErrClubNotFound, ErrKeyReused, ErrKeyBusy, ErrBusy, ErrNotReady, fn's.
func (s *Store) Once(ctx context.Context, club service.ClubID, key service.OnceKey, fn func(context.Context) (service.Answer, error)) (service.Answer, error) {
	if _, ok := joined(ctx, s); ok || inside(pass, passOnce) {
		return service.Answer{}, errNested
	}
	var answer service.Answer
	err := s.retry(ctx, func() (err error) {
		answer, err = s.once(ctx, club, key, fn)
		if errors.Is(err, errSeen) {
			answer, err = s.seen(ctx, club, key)
		}
		return err
	})
	if err != nil {
		return service.Answer{}, err
	}
	return answer, nil
}

// once runs fn in one transaction with the key. Errors: errSeen, ErrKeyBusy,
// ErrBusy, ErrClubNotFound, fn's.
func (s *Store) once(ctx context.Context, club service.ClubID, key service.OnceKey, fn func(context.Context) (service.Answer, error)) (answer service.Answer, err error) {
	free, err := s.claim(ctx, scope{club, service.OnceKey{Account: key.Account, Route: key.Route, Key: key.Key}})
	if err != nil {
		return answer, err
	}
	defer free()
	err = s.transact(ctx, s.write, nil, func(conn gorm.ConnPool) error {
		v := visit{Store: s, ctx: ctx, conn: conn, write: true}
		db, err := v.bind(club)
		if err != nil {
			return err
		}
		v.bound = club
		if err := s.take(db, key); err != nil {
			return err
		}
		answer, err = passOnce(context.WithValue(ctx, joinKey{}, &join{visit: v}), fn)
		if err != nil {
			return err
		}
		return keep(db, key, answer)
	})
	return answer, err
}

// passOnce calls fn, and its frame on the stack tells that a write that happens
// once is running.
//
//go:noinline
func passOnce(ctx context.Context, fn func(context.Context) (service.Answer, error)) (service.Answer, error) {
	return fn(ctx)
}

// claim waits until no call with the key runs in this program; those in others
// meet in the database. Errors: ErrKeyBusy, ctx's.
func (s *Store) claim(ctx context.Context, k scope) (free func(), err error) {
	done := make(chan struct{})
	late := time.NewTimer(keyPatience)
	defer late.Stop()
	for {
		first, busy := s.running.LoadOrStore(k, done)
		if !busy {
			return func() { s.running.Delete(k); close(done) }, nil
		}
		running, ok := first.(chan struct{})
		if !ok {
			return nil, errNested
		}
		select {
		case <-running:
		case <-late.C:
			return nil, service.ErrKeyBusy
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// take inserts the key's row. Errors: errSeen, ErrKeyBusy.
func (s *Store) take(db *gorm.DB, key service.OnceKey) error {
	if err := s.hurry(db, keyPatience); err != nil {
		return err
	}
	err := db.Create(&keyRow{
		AccountID: string(key.Account), Route: key.Route, Key: key.Key, BodyHash: key.BodyHash, CreatedAt: micros(s.now()),
	}).Error
	switch {
	case err == nil:
	case broken(err) == "idempotency_keys_pkey":
		return errSeen
	case waitedTooLong(err):
		return service.ErrKeyBusy.Because(err)
	default:
		return translate(err)
	}
	if err := s.sweep(db); err != nil {
		return err
	}
	return s.hurry(db, s.patience)
}

// hurry sets how long the transaction waits for a lock. Errors: the driver's.
func (s *Store) hurry(db *gorm.DB, d time.Duration) error {
	if !s.postgres {
		return nil
	}
	return exec(db, waitAtMost, strconv.FormatInt(d.Milliseconds(), 10))
}

// sweep removes some answers that are too old. Errors: the driver's.
func (s *Store) sweep(db *gorm.DB) error {
	var old []int64
	err := db.Model(new(keyRow)).Where("created_at < ?", micros(s.now().Add(-keyLife))).Order("created_at").Limit(sweepAtMost).
		Clauses(clause.Locking{Strength: "UPDATE", Options: "SKIP LOCKED"}).Pluck("created_at", &old).Error
	if err != nil || len(old) == 0 {
		return translate(err)
	}
	return translate(db.Where("created_at IN ?", old).Delete(new(keyRow)).Error)
}

// keep writes the answer beside the key. Errors: the driver's.
func keep(db *gorm.DB, key service.OnceKey, a service.Answer) error {
	return translate(where(db.Model(new(keyRow)), key).
		Select("status", "location", "etag", "type", "body").
		Updates(&keyRow{Status: int64(a.Status), Location: a.Location, ETag: a.ETag, Type: a.Type, Body: string(a.Body)}).Error)
}

// seen returns the first answer of a key. Errors: ErrKeyReused, ErrKeyBusy when
// the answer has just been swept.
func (s *Store) seen(ctx context.Context, club service.ClubID, key service.OnceKey) (service.Answer, error) {
	var r keyRow
	err := s.visit(ctx, club, func(v visit) error {
		db, err := v.bind(club)
		if err != nil {
			return err
		}
		return where(db, key).Take(&r).Error
	})
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return service.Answer{}, service.ErrKeyBusy
	case err != nil:
		return service.Answer{}, translate(err)
	case r.BodyHash != key.BodyHash:
		return service.Answer{}, service.ErrKeyReused
	}
	return r.answer(), nil
}

func where(db *gorm.DB, key service.OnceKey) *gorm.DB {
	return db.Where("account_id = ? AND route = ? AND key = ?", string(key.Account), key.Route, key.Key)
}

// join is what the ctx of Once carries: its transaction.
type join struct{ visit visit }

type joinKey struct{}

// joined returns the transaction that ctx carries, if it is one of s.
func joined(ctx context.Context, s *Store) (*join, bool) {
	j, ok := ctx.Value(joinKey{}).(*join)
	return j, ok && j.visit.Store == s
}

// enter opens a door of the same club, or of the shared tables, in the
// transaction of Once. What fn wrote is taken back when it fails, whatever Once
// then does. Errors: errNested, errOtherClub, fn's.
func (j *join) enter(ctx context.Context, club service.ClubID, write bool, fn func(visit) error) error {
	v := j.visit
	switch {
	case inside(pass):
		return errNested
	case club != "" && club != v.bound:
		return errOtherClub
	}
	v.ctx, v.write = ctx, write
	if !write {
		return fn(v)
	}
	db := v.through(&door{ConnPool: v.conn, write: true})
	if err := exec(db, savepoint); err != nil {
		return err
	}
	if err := fn(v); err != nil {
		_ = exec(db, backToSave) // if it fails, so does the commit
		return err
	}
	return exec(db, dropSave)
}
