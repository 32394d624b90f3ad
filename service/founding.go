package service

import (
	"context"
	"time"
)

// Founding is the operator's word on who may found a club by the API.
type Founding string

// The policies.
const (
	FoundingFirst   Founding = "first"   // the first account only
	FoundingOpen    Founding = "open"    // every account
	FoundingInvited Founding = "invited" // whoever has a founding code
	FoundingClosed  Founding = "closed"  // nobody
)

// foundingLasts is how long a founding code can be used.
const foundingLasts = 7 * 24 * time.Hour

// FoundAs is Found for an account that asks by the API, with a founding code
// where the operator wants one. A code is used up only by a club that was
// founded. Errors: as Found, and ErrFoundingClosed, ErrFoundingCode, ErrSignIn.
func (s Clubs) FoundAs(ctx context.Context, id AccountID, c Club, code string) (Club, Member, error) {
	var founder Account
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		if founder, err = sh.Accounts.ByID(id); err != nil {
			return ErrSignIn
		}
		n, err := sh.Accounts.Count()
		if !s.Founding.admits(n) {
			return ErrFoundingClosed
		}
		return err
	})
	if err != nil {
		return Club{}, Member{}, err
	}
	return s.found(ctx, founder, c, func(sh Shared) error {
		if s.Founding != FoundingInvited {
			return nil
		}
		_, err := sh.Codes.Take(s.gate.HashCode(code), ForFounding, s.now())
		if KindOf(err) == NotFound {
			return ErrFoundingCode
		}
		return err
	})
}

// admits reports whether somebody may found a club where there are so many
// accounts; with a code, where it takes one.
func (f Founding) admits(accounts int64) bool {
	switch f {
	case FoundingOpen, FoundingInvited:
		return true
	case FoundingFirst:
		return accounts <= 1
	case FoundingClosed:
	}
	return false
}

// FoundingCode makes a code with which one club can be founded where the policy
// is FoundingInvited. Errors: the store's.
func (s Clubs) FoundingCode(ctx context.Context) (code string, expires time.Time, err error) {
	return issueCode(ctx, s.Desk, s.gate, Code{Purpose: ForFounding}, foundingLasts)
}
