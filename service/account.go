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
	// Hash turns a passphrase into what is stored. Errors: ErrBusy.
	Hash(ctx context.Context, passphrase string) (string, error)
	// Verify reports whether the passphrase is the hashed one; with an empty hash
	// it takes as long and says no. Errors: ErrBusy.
	Verify(ctx context.Context, hash, passphrase string) (bool, error)
	// Issue makes an access token for the account and says when it expires.
	Issue(ctx context.Context, account AccountID) (token string, expires time.Time, err error)
	// Account returns whose token it is. Errors: ErrSignIn, ErrTokenExpired.
	Account(ctx context.Context, token string) (AccountID, error)
	// NewCode makes a one-use secret and the hash to keep of it.
	NewCode() (plain, hash string, err error)
	// HashCode returns the hash of a secret somebody presents, or "" if it can't
	// be one.
	HashCode(plain string) string
}

// Accounts are the use-cases on accounts and signing in.
type Accounts struct {
	*Desk
	gate Gate
}

// SignUp opens an account. Errors: ErrInvalid, ErrEmailTaken, ErrBusy.
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

// Session is what a sign-in gives.
type Session struct {
	Token   string
	Expires time.Time
}

// SignIn trades e-mail and passphrase for an access token. An unknown account
// gets the same answer in the same time. Errors: ErrCredentials, ErrBusy.
func (s Accounts) SignIn(ctx context.Context, email, passphrase string) (Session, error) {
	email, _ = normalEmail(email)
	var a Account
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		a, err = sh.Accounts.ByEmail(email)
		return err
	})
	if err != nil && KindOf(err) != NotFound {
		return Session{}, err
	}
	ok, err := s.gate.Verify(ctx, a.PassphraseHash, passphrase)
	if err != nil {
		return Session{}, err
	}
	if !ok {
		return Session{}, ErrCredentials
	}
	token, expires, err := s.gate.Issue(ctx, a.ID)
	return Session{token, expires}, err
}

// Identify returns whose access token it is. Errors: ErrSignIn, ErrTokenExpired.
func (s Accounts) Identify(ctx context.Context, token string) (AccountID, error) {
	return s.gate.Account(ctx, token)
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
		m, memberErr := read(ctx, s.Desk, Actor{id, string(c.ID)}, func(w *work) (Member, error) { return w.who, nil })
		switch {
		case memberErr == nil:
			in = append(in, Membership{c, m})
		case KindOf(memberErr) != NotFound:
			return a, in, memberErr
		}
	}
	return a, in, err
}

func normalEmail(text string) (string, bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	a, err := mail.ParseAddress(text)
	return text, err == nil && a.Address == text && len(text) <= 254
}
