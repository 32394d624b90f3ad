package service

import (
	"context"
	"net/mail"
	"strings"
	"time"
)

// Account is a person who can sign in. It belongs to no club; memberships tie
// it to clubs.
type Account struct {
	ID             AccountID
	Email          string // lower case
	Name           string
	PassphraseHash string
	CreatedAt      time.Time
}

// Gate is what the use-cases ask of package auth.
type Gate interface {
	// CheckPassphrase says why p is no good passphrase, or nil.
	CheckPassphrase(p string) error
	// Hash turns a passphrase into what is stored. Errors: ErrLimited.
	Hash(ctx context.Context, passphrase string) (string, error)
	// Verify reports whether the passphrase is the hashed one; with an empty hash
	// it takes as long and says no. Errors: ErrLimited.
	Verify(ctx context.Context, hash, passphrase string) (bool, error)
	// Issue makes an access token and says when it expires.
	Issue(ctx context.Context, to Bearer) (token string, expires time.Time, err error)
	// Bearer returns whom an access token names. Errors: ErrSignIn,
	// ErrTokenExpired.
	Bearer(ctx context.Context, token string) (Bearer, error)
	// RefreshToken makes the refresh token of a generation of a session, the same
	// each time.
	RefreshToken(of SessionID, generation int64) (string, error)
	// ReadRefreshToken reads what RefreshToken made; false for anything else.
	ReadRefreshToken(token string) (of SessionID, generation int64, ok bool)
	// NewCode makes a one-use secret and the hash to keep of it.
	NewCode() (plain, hash string, err error)
	// HashCode returns the hash of a secret somebody presents, or "" if it can't
	// be one.
	HashCode(plain string) string
}

// Accounts are the use-cases on accounts.
type Accounts struct {
	*Desk
	gate Gate
}

// SignUp opens an account. Errors: ErrInvalid, ErrEmailTaken, ErrLimited.
func (s Accounts) SignUp(ctx context.Context, email, name, passphrase string) (Account, error) {
	var faults Faults
	email, ok := normalEmail(email)
	if !ok {
		faults.Add("/email", "format", "give an e-mail address")
	}
	checkName(&faults, "/name", name)
	faults.Check("/passphrase", "passphrase", s.gate.CheckPassphrase(passphrase))
	if err := faults.Err(); err != nil {
		return Account{}, err
	}
	hash, err := s.gate.Hash(ctx, passphrase)
	if err != nil {
		return Account{}, err
	}
	a := Account{AccountID(s.NewID()), email, name, hash, s.Now().Truncate(time.Microsecond)}
	err = s.Store.UpdateShared(ctx, func(sh Shared) error { return sh.Accounts.Insert(a) })
	return a, err
}

// Prove returns the account that has the e-mail address and the passphrase. An
// unknown address gets the same answer in the same time. Errors: ErrCredentials,
// ErrLimited.
func (s Accounts) Prove(ctx context.Context, email, passphrase string) (Account, error) {
	email, _ = normalEmail(email)
	var a Account
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		a, err = sh.Accounts.ByEmail(email)
		return err
	})
	if err != nil && KindOf(err) != NotFound {
		return Account{}, err
	}
	ok, err := s.gate.Verify(ctx, a.PassphraseHash, passphrase)
	if err != nil {
		return Account{}, err
	}
	if !ok {
		return Account{}, ErrCredentials
	}
	return a, nil
}

// ChangePassphrase gives the caller's account another passphrase and ends all
// its sessions but the caller's; it tells how many. Errors: ErrInvalid, also
// for a wrong old passphrase; ErrLimited, ErrBusy.
func (s Accounts) ChangePassphrase(ctx context.Context, who Bearer, old, fresh string) (ended int, err error) {
	var faults Faults
	faults.Check("/new", "passphrase", s.gate.CheckPassphrase(fresh))
	if err := faults.Err(); err != nil {
		return 0, err
	}
	var a Account
	err = s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		a, err = sh.Accounts.ByID(who.Account)
		return err
	})
	if err != nil {
		return 0, err
	}
	ok, err := s.gate.Verify(ctx, a.PassphraseHash, old)
	if err != nil {
		return 0, err
	}
	if !ok {
		faults.Add("/old", "wrong", "that isn't your passphrase")
		return 0, faults.Err()
	}
	hash, err := s.gate.Hash(ctx, fresh)
	if err != nil {
		return 0, err
	}
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		ended, err = setPassphrase(sh, who, hash, s.now(), PassphraseChanged)
		return err
	})
	return ended, err
}

// setPassphrase changes the passphrase of who's account, ends its sessions but
// who's own, and forgets its recovery codes. Errors: the store's.
func setPassphrase(sh Shared, who Bearer, hash string, now time.Time, why EndReason) (ended int, err error) {
	if _, err := sh.Accounts.Lock(who.Account); err != nil {
		return 0, err
	}
	if err := sh.Accounts.SetPassphrase(who.Account, hash); err != nil {
		return 0, err
	}
	if err := sh.Codes.Forget(who.Account); err != nil {
		return 0, err
	}
	return endBut(sh.Sessions, who, now, why)
}

// Membership is a club of an account and who the account is there.
type Membership struct {
	Club   Club
	Member Member
}

// Me returns the account and its memberships, by the clubs' handles. Errors:
// ErrSignIn when the account is gone.
func (s Accounts) Me(ctx context.Context, id AccountID) (a Account, in []Membership, err error) {
	var clubs []Club
	err = s.Store.ViewShared(ctx, func(sh Shared) error {
		if a, err = sh.Accounts.ByID(id); err != nil {
			return ErrSignIn.Because(err)
		}
		clubs, err = sh.Clubs.Of(id)
		return err
	})
	for _, c := range clubs {
		m, memberErr := view(ctx, s.Desk, Actor{Account: id, Club: string(c.ID)}, func(w *work) (Member, error) { return w.who.Member, nil })
		switch {
		case memberErr == nil:
			in = append(in, Membership{c, m})
		case KindOf(memberErr) != NotFound:
			return a, in, memberErr
		}
	}
	return a, in, err
}

// NormalEmail is the spelling of an e-mail address by which accounts are found.
func NormalEmail(text string) string {
	text, _ = normalEmail(text)
	return text
}

func normalEmail(text string) (string, bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	a, err := mail.ParseAddress(text)
	return text, err == nil && a.Address == text && len(text) <= 254
}
