package repo

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

const (
	retries  = 5
	firstGap = 4 * time.Millisecond // doubles before each retry
)

// pass calls fn, and its frame on the stack tells that a door is open.
//
//go:noinline
func pass(fn func() error) error { return fn() }

// inside reports whether this goroutine is inside one of doors: a call of it is
// on the stack. A door opened in another goroutine that fn waits for isn't
// seen; it fails with ErrBusy where it would wait for ever.
func inside(doors ...any) bool {
	entries := make([]uintptr, len(doors))
	for i, d := range doors {
		entries[i] = reflect.ValueOf(d).Pointer()
	}
	var pcs [64]uintptr
	for skip := 2; ; skip += len(pcs) {
		n := runtime.Callers(skip, pcs[:])
		for _, pc := range pcs[:n] {
			if f := runtime.FuncForPC(pc - 1); f != nil && slices.Contains(entries, f.Entry()) {
				return true
			}
		}
		if n < len(pcs) {
			return false
		}
	}
}

// transact runs fn in a transaction of its own on pool and commits unless fn
// fails. Errors: ErrBusy when no connection is free in time, ErrNotReady, fn's.
func (s *Store) transact(ctx context.Context, pool *sql.DB, opts *sql.TxOptions, fn func(gorm.ConnPool) error) error {
	conn, err := s.connect(ctx, pool)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }() // back to the pool
	tx, err := conn.BeginTx(ctx, opts)
	if err != nil {
		return translate(err)
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if err := fn(tx); err != nil {
		return err
	}
	return translate(tx.Commit())
}

// connect waits for a free connection, not for ever. Errors: ErrBusy,
// ErrNotReady, ctx's.
func (s *Store) connect(ctx context.Context, pool *sql.DB) (*sql.Conn, error) {
	wait, cancel := context.WithTimeout(ctx, s.patience)
	defer cancel()
	conn, err := pool.Conn(wait)
	switch {
	case err == nil:
		return conn, nil
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case wait.Err() != nil:
		return nil, service.ErrBusy.Because(fmt.Errorf("repo: no connection free after %v: %w", s.patience, err))
	}
	return nil, translate(err)
}

// retry runs try again while it fails for a reason that lies in what others
// wrote at the same time. Errors: ErrBusy after the last retry, ctx's, try's.
func (s *Store) retry(ctx context.Context, try func() error) error {
	err := try()
	for n := range retries {
		if !retryable(err) {
			return err
		}
		gap := time.NewTimer(rand.N(firstGap << (n + 1)))
		select {
		case <-ctx.Done():
			gap.Stop()
			return ctx.Err()
		case <-gap.C:
		}
		err = try()
	}
	if retryable(err) {
		return service.ErrBusy.Because(err)
	}
	return err
}
