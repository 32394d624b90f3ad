package service

import (
	"cmp"
	"context"
	"time"

	"lumbricary.example/service/reference"
)

// Desk is what every use-case works with: the store, one clock, one source of
// ids and the reference tables.
type Desk struct {
	Store     Store
	Now       func() time.Time // UTC
	NewID     func() string    // UUID, version 7
	Reference *reference.Tables
	Founding  Founding
}

// work is one transaction done on behalf of one member. Its clock stands still.
type work struct {
	Tx
	who  Member
	by   MemberID // on whose behalf who records; empty: their own
	now  time.Time
	zone *time.Location
	desk *Desk
	bulk bool // the lots are derived once, after everything
}

// door is one of the store's ways into a club.
type door func(context.Context, ClubID, func(Tx) error) error

// enter finds the actor's club, opens the door, and runs fn as the member that
// the actor is there. Errors: ErrClubNotFound, also for an actor who is no
// member, so that a club can't be told from none.
func (d *Desk) enter(ctx context.Context, a Actor, through door, fn func(*work) error) error {
	club, err := d.club(ctx, a.Club)
	if err != nil {
		return err
	}
	return through(ctx, club.ID, func(tx Tx) error {
		who, err := tx.Members.ByAccount(a.Account)
		if KindOf(err) == NotFound {
			return ErrClubNotFound
		}
		if err != nil {
			return err
		}
		now := d.Now().Truncate(time.Microsecond)
		return fn(&work{Tx: tx, who: who, now: now, zone: tx.Club.Zone(), desk: d})
	})
}

func (d *Desk) club(ctx context.Context, ref string) (club Club, err error) {
	err = d.Store.ViewShared(ctx, func(s Shared) error {
		club, err = s.Clubs.ByRef(ref)
		return err
	})
	return club, err
}

// read runs fn in a view of the actor's club.
func read[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (out T, err error) {
	err = d.enter(ctx, a, d.Store.View, func(w *work) error {
		out, err = fn(w)
		return err
	})
	return out, err
}

// write runs fn in one transaction on the actor's club; fn may run again.
func write[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (out T, err error) {
	err = d.enter(ctx, a, d.Store.Update, func(w *work) error {
		out, err = fn(w)
		return err
	})
	return out, err
}

// Once makes a write happen once per key: fn is run with a context in which
// every use-case joins one transaction, and its answer is kept with the effect.
// The actor's membership is checked before a kept answer is given again.
// Errors: ErrClubNotFound, ErrKeyReused, ErrKeyBusy.
func (d *Desk) Once(ctx context.Context, a Actor, key OnceKey, fn func(context.Context) (Answer, error)) (Answer, error) {
	club, err := read(ctx, d, a, func(w *work) (ClubID, error) { return w.Club.ID, nil })
	if err != nil {
		return Answer{}, err
	}
	key.Account = a.Account
	return d.Store.Once(ctx, club, key, fn)
}

// may fails with ErrForbidden unless the member has the right to do action on a
// thing that owners answer for.
func (w *work) may(action Action, owners ...MemberID) error {
	if !w.who.May(action, owners...) {
		return ErrForbidden
	}
	return nil
}

// id returns given if it is a good id, or makes one if it is empty.
func (w *work) id(given string, faults *Faults) string {
	if given == "" {
		return w.desk.NewID()
	}
	if !validID(given) {
		faults.Add("/id", "format", "an id is a UUID in lower case")
	}
	return given
}

// recorded stamps a new record.
func (w *work) recorded() (Recorded, error) {
	seq, err := w.Movements.NextSeq()
	return Recorded{Seq: seq, At: w.now, By: w.author()}, err
}

// author is the member whose doing is recorded.
func (w *work) author() MemberID { return cmp.Or(w.by, w.who.ID) }
