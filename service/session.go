package service

import (
	"context"
	"time"
)

// How long a session lasts.
const (
	sessionIdle  = 30 * 24 * time.Hour  // without a refresh
	sessionMost  = 180 * 24 * time.Hour // from the sign-in on, whatever happens
	sessionGrace = 10 * time.Second     // in which a lost answer can be had again
	sessionsMost = 100                  // an account has at a time
)

// EndReason is why a session has ended before its time.
type EndReason string

// The reasons.
const (
	SignedOut         EndReason = "signed-out"
	SignedOutAll      EndReason = "signed-out-everywhere"
	PassphraseChanged EndReason = "passphrase-changed"
	AccountRecovered  EndReason = "account-recovered"
	TokenReplayed     EndReason = "token-replayed"
	OneTooMany        EndReason = "one-too-many"
	AccountGone       EndReason = "account-erased"
)

// Session is a sign-in that lasts: the family of refresh tokens that came from
// it. A token is used once; its successor has the next generation.
type Session struct {
	ID         SessionID
	Account    AccountID
	Generation int64 // of the newest refresh token
	CreatedAt  time.Time
	RotatedAt  time.Time // when the newest refresh token was made
	ExpiresAt  time.Time
	EndedAt    time.Time // zero: hasn't been ended
	Why        EndReason
}

// Alive reports whether the session lasts at now.
func (s Session) Alive(now time.Time) bool { return s.EndedAt.IsZero() && now.Before(s.ExpiresAt) }

// ended is the session ended for a reason, unless it was before.
func (s Session) ended(now time.Time, why EndReason) Session {
	if s.EndedAt.IsZero() {
		s.EndedAt, s.Why = now, why
	}
	return s
}

// refreshed is the session after a refresh token of a generation was shown. The
// newest one is rotated. The one before gets the same successor again for 10 s,
// because its answer may have been lost; any other was stolen or is stolen now,
// and ends the session. Errors: ErrSessionEnded.
func (s Session) refreshed(generation int64, now time.Time) (Session, error) {
	switch {
	case !s.Alive(now):
		return s, ErrSessionEnded
	case generation == s.Generation:
		s.Generation++
		s.RotatedAt, s.ExpiresAt = now, lasting(s.CreatedAt, now)
		return s, nil
	case generation == s.Generation-1 && now.Sub(s.RotatedAt) <= sessionGrace:
		return s, nil
	}
	return s.ended(now, TokenReplayed), ErrSessionEnded
}

// lasting is when a session that was begun and is used now expires.
func lasting(begun, now time.Time) time.Time {
	idle, most := now.Add(sessionIdle), begun.Add(sessionMost)
	if most.Before(idle) {
		return most
	}
	return idle
}

// Bearer is whom an access token names.
type Bearer struct {
	Account AccountID
	Session SessionID
}

// Tokens is what a sign-in and a refresh give.
type Tokens struct {
	Session Session
	Access  string
	Expires time.Time // of the access token
	Refresh string
}

// Sessions are the use-cases on signing in and out.
type Sessions struct {
	*Desk
	gate Gate
}

// SignIn trades e-mail and passphrase for tokens. An unknown account gets the
// same answer in the same time. Errors: ErrCredentials, ErrLimited, ErrBusy.
func (s Sessions) SignIn(ctx context.Context, email, passphrase string) (Tokens, error) {
	a, err := Accounts(s).Prove(ctx, email, passphrase)
	if err != nil {
		return Tokens{}, err
	}
	now := s.now()
	begun := Session{ID: SessionID(s.NewID()), Account: a.ID, CreatedAt: now, RotatedAt: now, ExpiresAt: lasting(now, now)}
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		still, err := sh.Accounts.Lock(a.ID)
		switch {
		case err != nil:
			return err
		case still.PassphraseHash != a.PassphraseHash: // changed since it was proved
			return ErrCredentials
		}
		if err := makeRoom(sh.Sessions, a.ID, now); err != nil {
			return err
		}
		return sh.Sessions.Insert(begun)
	})
	if err != nil {
		return Tokens{}, err
	}
	return s.tokens(ctx, begun)
}

// makeRoom forgets the account's sessions that are past, and ends those used
// longest ago where it has as many as it may. Errors: the store's.
func makeRoom(sessions SessionRepo, account AccountID, now time.Time) error {
	if err := sessions.Sweep(account, now); err != nil {
		return err
	}
	alive, err := sessions.Of(account, now)
	if err != nil {
		return err
	}
	for len(alive) >= sessionsMost {
		last := len(alive) - 1
		if err := sessions.Update(alive[last].ended(now, OneTooMany)); err != nil {
			return err
		}
		alive = alive[:last]
	}
	return nil
}

// tokens makes the tokens of a session as it is now. Errors: those of the gate.
func (s Sessions) tokens(ctx context.Context, of Session) (Tokens, error) {
	access, expires, err := s.gate.Issue(ctx, Bearer{of.Account, of.ID})
	if err != nil {
		return Tokens{}, err
	}
	refresh, err := s.gate.RefreshToken(of.ID, of.Generation)
	return Tokens{of, access, expires, refresh}, err
}

// Refresh trades a refresh token for its successor and a new access token.
// Within 10 s the same token gives the same successor; later it ends the
// session, because two have it. Errors: ErrSessionEnded, ErrBusy.
func (s Sessions) Refresh(ctx context.Context, token string) (Tokens, error) {
	id, generation, ok := s.gate.ReadRefreshToken(token)
	if !ok {
		return Tokens{}, ErrSessionEnded
	}
	now := s.now()
	var after Session
	var verdict error
	err := s.Store.UpdateShared(ctx, func(sh Shared) error {
		before, err := sh.Sessions.Lock(id)
		if err != nil {
			return err
		}
		if after, verdict = before.refreshed(generation, now); after == before {
			return nil
		}
		return sh.Sessions.Update(after)
	})
	if err != nil {
		return Tokens{}, err
	}
	if verdict != nil {
		return Tokens{}, verdict
	}
	return s.tokens(ctx, after)
}

// Identify returns whom an access token names, as long as the session that it
// came from lasts. Errors: ErrSignIn, ErrTokenExpired, ErrSessionEnded.
func (s Sessions) Identify(ctx context.Context, token string) (Bearer, error) {
	who, err := s.gate.Bearer(ctx, token)
	if err != nil {
		return Bearer{}, err
	}
	var of Session
	err = s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		of, err = sh.Sessions.Get(who.Session)
		return err
	})
	if err != nil {
		return Bearer{}, err
	}
	if of.Account != who.Account || !of.Alive(s.now()) {
		return Bearer{}, ErrSessionEnded
	}
	return who, nil
}

// Mine lists the account's sessions, the one used last first. Errors: the
// store's.
func (s Sessions) Mine(ctx context.Context, account AccountID) (mine []Session, err error) {
	err = s.Store.ViewShared(ctx, func(sh Shared) error {
		mine, err = sh.Sessions.Of(account, s.now())
		return err
	})
	return mine, err
}

// End ends the session that a refresh token is of, and tells how many it ended.
// A token that is of none ends none: what the caller wants is so. Errors: the
// store's.
func (s Sessions) End(ctx context.Context, token string) (n int, err error) {
	id, _, ok := s.gate.ReadRefreshToken(token)
	if !ok {
		return 0, nil
	}
	now := s.now()
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		n = 0
		of, err := sh.Sessions.Lock(id)
		if err != nil || !of.Alive(now) {
			return err
		}
		n = 1
		return sh.Sessions.Update(of.ended(now, SignedOut))
	})
	if KindOf(err) == Unauthenticated { // there is no such session
		return 0, nil
	}
	return n, err
}

// EndAll ends every session of the account, with the access tokens that came
// from them, and tells how many there were. Errors: the store's.
func (s Sessions) EndAll(ctx context.Context, account AccountID) (n int, err error) {
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		if _, err := sh.Accounts.Lock(account); err != nil {
			return err
		}
		n, err = endBut(sh.Sessions, Bearer{Account: account}, s.now(), SignedOutAll)
		return err
	})
	return n, err
}

// endBut ends the sessions of who's account but who's own. The account is
// locked, so that no session begins meanwhile. Errors: the store's.
func endBut(sessions SessionRepo, who Bearer, now time.Time, why EndReason) (n int, err error) {
	alive, err := sessions.Of(who.Account, now)
	for _, of := range alive {
		if of.ID == who.Session {
			continue
		}
		if err := sessions.Update(of.ended(now, why)); err != nil {
			return n, err
		}
		n++
	}
	return n, err
}

// now is the clock in the store's grain.
func (d *Desk) now() time.Time { return d.Now().Truncate(time.Microsecond) }
