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
	Mail      Mailer // nil: the service sends none
	// Pseudonyms is the secret that members are hidden by from who may read
	// figures alone.
	Pseudonyms []byte
	// WebhookKey is the secret from which those of webhooks are made.
	WebhookKey    []byte
	Sender        Sender
	LoopbackHooks bool    // webhooks may lead to the program's own machine
	uses          keyUses // of API keys, until they are written
}

// work is one transaction done on behalf of one member. Its clock stands still.
type work struct {
	Tx
	who    caller
	by     MemberID // on whose behalf who records; empty: their own
	now    time.Time
	zone   *time.Location
	desk   *Desk
	why    string              // the caller writes into closed books; empty: not
	bulk   bool                // the lots are derived once, after everything …
	posted []Movement          // … that was posted
	void   map[MovementID]bool // entries that are reversed later in this transaction

	quiet      bool                   // changes leave no audit entries: one stands for all
	touched    []BinID                // bins of the movements that were written
	late       time.Time              // the earliest moment in closed books that a quiet change wrote
	isolated   map[BinID][]Quarantine // the club's quarantines; nil: not read yet
	identified map[LotID]Identified   // the club's lots that were identified; nil: not read yet
	cultures   cultures               // the club's cultures; nil: not read yet

	told    []told     // events that webhooks may want to know
	changes []counting // what counts in totals, and didn't before this transaction
	remakes bool       // all totals are made anew at its end
}

// door is one of the store's ways into a club.
type door func(context.Context, ClubID, func(Tx) error) error

// enter finds the actor's club, opens the door, and runs fn as the member that
// the actor is there. Errors: ErrClubNotFound, also for an actor who is no
// member and for an API key of another club, so that a club can't be told from
// none; ErrAPIKeyEnded.
func (d *Desk) enter(ctx context.Context, a Actor, through door, fn func(*work) error) error {
	club, err := d.club(ctx, a.Club)
	if err != nil {
		return err
	}
	return through(ctx, club.ID, func(tx Tx) error {
		now := d.Now().Truncate(time.Microsecond)
		who, err := d.callerOf(tx, a, now)
		if KindOf(err) == NotFound {
			return ErrClubNotFound
		}
		if err != nil {
			return err
		}
		w := (&work{Tx: tx, who: who, now: now, zone: tx.Club.Zone(), desk: d, why: a.Late}).audited().counted()
		if err := fn(w); err != nil {
			return err
		}
		if err := w.keepTotals(); err != nil {
			return err
		}
		return w.announce()
	})
}

// callerOf finds the member that the actor is in the club. Errors:
// ErrMemberNotFound, ErrAPIKeyNotFound, ErrAPIKeyEnded, ErrCalendarNotFound.
func (d *Desk) callerOf(tx Tx, a Actor, now time.Time) (caller, error) {
	if a.Link != "" {
		return callerOfLink(tx, a.Link)
	}
	if a.KeyHash == "" {
		m, err := tx.Members.ByAccount(a.Account)
		return caller{Member: m}, err
	}
	k, err := tx.APIKeys.ByHash(a.KeyHash)
	if err != nil {
		return caller{}, err
	}
	if !k.open(now) {
		return caller{}, ErrAPIKeyEnded
	}
	m, err := tx.Members.Get(k.Member)
	if m.left() {
		return caller{}, ErrAPIKeyEnded
	}
	if k.ofClub() {
		m.Role = k.Role
	}
	d.uses.note(tx.Club.ID, k, now)
	return caller{m, &k}, err
}

func (d *Desk) club(ctx context.Context, ref string) (club Club, err error) {
	err = d.Store.ViewShared(ctx, func(s Shared) error {
		club, err = s.Clubs.ByRef(ref)
		return err
	})
	return club, err
}

// clubs lists every club, by handle.
func (d *Desk) clubs(ctx context.Context) (all []Club, err error) {
	err = d.Store.ViewShared(ctx, func(s Shared) error {
		all, err = s.Clubs.All()
		return err
	})
	return all, err
}

// view runs fn in a view of the actor's club, whatever the actor may do there.
func view[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (out T, err error) {
	err = d.enter(ctx, a, d.Store.View, func(w *work) error {
		out, err = fn(w)
		return err
	})
	return out, err
}

// read is view for those who may read the club's book: every member, and API
// keys that are for it. Errors: ErrForbidden, fn's.
func read[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (T, error) {
	return view(ctx, d, a, func(w *work) (none T, err error) {
		if err := w.may(ReadBook); err != nil {
			return none, err
		}
		return fn(w)
	})
}

// figures is view for those who may read the club's figures. Who may not read
// the book besides, as an API key for figures alone, meets its records under a
// veil. Errors: ErrForbidden, fn's.
func figures[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (T, error) {
	return view(ctx, d, a, func(w *work) (none T, err error) {
		if err := w.may(ReadFigures); err != nil {
			return none, err
		}
		if !w.who.May(ReadBook) {
			w = w.veiled()
		}
		return fn(w)
	})
}

// write runs fn in one transaction on the actor's club; fn may run again.
func write[T any](ctx context.Context, d *Desk, a Actor, fn func(*work) (T, error)) (out T, err error) {
	err = d.enter(ctx, a, d.Store.Update, func(w *work) error {
		if out, err = fn(w); err != nil {
			return err
		}
		return w.keepRetiredEmpty()
	})
	return out, err
}

// Once makes a write happen once per key: fn is run with a context in which
// every use-case joins one transaction, and its answer is kept with the effect.
// The actor's membership is checked before a kept answer is given again.
// Errors: ErrClubNotFound, ErrKeyReused, ErrKeyBusy.
func (d *Desk) Once(ctx context.Context, a Actor, key OnceKey, fn func(context.Context) (Answer, error)) (Answer, error) {
	club, err := view(ctx, d, a, func(w *work) (ClubID, error) {
		key.Account = w.who.principal(a)
		return w.Club.ID, nil
	})
	if err != nil {
		return Answer{}, err
	}
	return d.Store.Once(ctx, club, key, fn)
}

// may fails with ErrForbidden unless the member has the right to do action on a
// thing that owners answer for.
func (w *work) may(action Action, owners ...MemberID) error {
	switch scope := ScopeOf(action); {
	case w.who.May(action, owners...):
		return nil
	case w.who.key == nil || w.who.key.Grants(action):
		return ErrForbidden
	case scope == noKey:
		return ErrForbidden.With("no API key may do that; sign in")
	default:
		return ErrForbidden.With("that needs an API key with the scope %s", scope)
	}
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
