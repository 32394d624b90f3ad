package service

import (
	"context"
	"errors"
	"strings"
)

// AccountErased says what the erasure of an account ended.
type AccountErased struct {
	Sessions    int
	Memberships int
}

// Erase blanks the caller's account for good: it takes the account out of its
// clubs, one after the other, ends its sessions and forgets its recovery codes. In
// the clubs it stays a member on paper, with its name, until that is erased
// there. Broken off in between, it can be called again. Errors: ErrInvalid for a
// wrong passphrase; ErrLastSteward, which names the clubs; ErrLimited, ErrBusy.
func (s Accounts) Erase(ctx context.Context, who Bearer, passphrase string) (AccountErased, error) {
	var a Account
	var clubs []Club
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		if a, err = sh.Accounts.ByID(who.Account); err != nil {
			return ErrSignIn.Because(err)
		}
		clubs, err = sh.Clubs.Of(who.Account)
		return err
	})
	if err != nil {
		return AccountErased{}, err
	}
	ok, err := s.gate.Verify(ctx, a.PassphraseHash, passphrase)
	if err != nil {
		return AccountErased{}, err
	}
	if !ok {
		var faults Faults
		faults.Add("/passphrase", "wrong", "that isn't your passphrase")
		return AccountErased{}, faults.Err()
	}
	if err := s.needed(ctx, a.ID, clubs); err != nil {
		return AccountErased{}, err
	}
	var done AccountErased
	for _, c := range clubs {
		n, err := s.unlink(ctx, a, c.ID, (*work).unlink)
		if err != nil {
			return AccountErased{}, err
		}
		done.Memberships += n
	}
	done.Sessions, err = s.blank(ctx, a.ID)
	return done, err
}

// needed fails if one of the clubs would have no steward without the account.
// Errors: ErrLastSteward.
func (s Accounts) needed(ctx context.Context, account AccountID, clubs []Club) error {
	var by []string
	for _, c := range clubs {
		_, err := view(ctx, s.Desk, Actor{Account: account, Club: string(c.ID)}, func(w *work) (none struct{}, _ error) {
			return none, w.keepSteward(w.who.Member)
		})
		switch {
		case KindOf(err) == Conflict:
			by = append(by, c.Handle)
		case err != nil && KindOf(err) != NotFound:
			return err
		}
	}
	if len(by) > 0 {
		return ErrLastSteward.With("you are the last steward with an account in %s; make another member steward there first", strings.Join(by, ", "))
	}
	return nil
}

// unlink takes the account out of a club by the way given, and tells whether it
// was in. Errors: those of the way.
func (s Accounts) unlink(ctx context.Context, a Account, club ClubID, way func(*work, Member, string) error) (n int, err error) {
	err = s.Store.Update(ctx, club, func(tx Tx) error {
		n = 0
		w := (&work{Tx: tx, now: s.now(), zone: tx.Club.Zone(), desk: s.Desk}).audited()
		m, err := w.Members.ByAccount(a.ID)
		if KindOf(err) == NotFound { // has left: nobody of the club does it
			w.quiet = true
			return w.forgetEmail(a.Email)
		}
		if err != nil {
			return err
		}
		n, w.who = 1, caller{Member: m}
		if err := way(w, m, a.Email); err != nil {
			return err
		}
		return w.announce()
	})
	return n, err
}

// unlink takes an account from a member, unless the club needs it. Errors:
// ErrLastSteward.
func (w *work) unlink(m Member, email string) error {
	if err := w.keepSteward(m); err != nil {
		return err
	}
	return w.unlinkAnyway(m, email)
}

// unlinkAnyway is unlink of an account that the club may need. Errors: the
// store's.
func (w *work) unlinkAnyway(m Member, email string) error {
	if err := errors.Join(w.endKeys(m.ID), w.endCalendars(m.ID)); err != nil {
		return err
	}
	m.Account, m.PublicName = "", ""
	if _, err := w.putMember(m); err != nil {
		return err
	}
	return w.forgetEmail(email)
}

// forgetEmail blanks an address in the club's invitations and kept answers.
func (w *work) forgetEmail(email string) error {
	all, err := w.Invitations.List(Query{})
	if err != nil {
		return err
	}
	for _, in := range all {
		if in.Email != email {
			continue
		}
		if in.Email = noEmail; in.open(w.now) {
			in.RevokedAt = w.now
		}
		if err := w.Invitations.Update(in); err != nil {
			return err
		}
	}
	var known personal
	known.add(email, noEmail)
	return w.Answers.Rewrite(known.redacted)
}

// blank empties the account's row, ends its sessions and forgets its codes and
// memberships. Errors: the store's.
func (s Accounts) blank(ctx context.Context, id AccountID) (ended int, err error) {
	email := s.NewID() + noMailDomain
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		if _, err := sh.Accounts.Lock(id); err != nil {
			return err
		}
		if err := sh.Accounts.Blank(id, email); err != nil {
			return err
		}
		if err := sh.Codes.Forget(id); err != nil {
			return err
		}
		if err := sh.Clubs.Leave(id); err != nil {
			return err
		}
		ended, err = endBut(sh.Sessions, Bearer{Account: id}, s.now(), AccountGone)
		return err
	})
	return ended, err
}
