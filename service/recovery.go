package service

import (
	"context"
	"fmt"
	"time"
)

// Purpose is what a code opens.
type Purpose string

// The purposes.
const (
	ForRecovery Purpose = "recovery" // another passphrase for an account
	ForFounding Purpose = "founding" // one club
)

// Code is a one-use code that belongs to no club. Only its hash is kept, until
// it is used or has expired.
type Code struct {
	Hash      string
	Purpose   Purpose
	Account   AccountID // of a recovery
	CreatedAt time.Time
	ExpiresAt time.Time
}

// issueCode makes a code that lasts so long and keeps its hash. Errors: the
// store's.
func issueCode(ctx context.Context, d *Desk, gate Gate, c Code, lasts time.Duration) (plain string, expires time.Time, err error) {
	plain, c.Hash, err = gate.NewCode()
	if err != nil {
		return "", time.Time{}, err
	}
	c.CreatedAt = d.now()
	c.ExpiresAt = c.CreatedAt.Add(lasts)
	err = d.Store.UpdateShared(ctx, func(sh Shared) error { return sh.Codes.Insert(c) })
	return plain, c.ExpiresAt, err
}

const (
	recoveryLasts   = time.Hour
	recoveriesAhead = 32 // requests that may wait for their mail
	recoveryMailIn  = time.Minute
)

// Mailer sends mail.
type Mailer interface {
	// Send sends a text to one address. Errors: the mail server's.
	Send(ctx context.Context, to, subject, text string) error
}

// Recoveries are the use-cases on accounts whose passphrase is lost. A code
// comes from the operator, or by mail where the operator has set that up, and
// never from a steward.
type Recoveries struct {
	*Desk
	gate  Gate
	asked chan string // e-mail addresses
}

// Code makes a recovery code for the account with an e-mail address. Errors:
// ErrAccountNotFound.
func (s *Recoveries) Code(ctx context.Context, email string) (code string, expires time.Time, err error) {
	email, _ = normalEmail(email)
	var a Account
	err = s.Store.ViewShared(ctx, func(sh Shared) error {
		a, err = sh.Accounts.ByEmail(email)
		return err
	})
	if err != nil {
		return "", time.Time{}, err
	}
	return issueCode(ctx, s.Desk, s.gate, Code{Purpose: ForRecovery, Account: a.ID}, recoveryLasts)
}

// Recover gives the account of a code another passphrase, ends all its sessions
// and uses up its codes; it tells how many sessions there were. A code that
// isn't one costs no hash. Errors: ErrInvalid, ErrCodeNotFound, ErrLimited,
// ErrBusy.
func (s *Recoveries) Recover(ctx context.Context, code, passphrase string) (ended int, err error) {
	var faults Faults
	faults.Check("/passphrase", "passphrase", s.gate.CheckPassphrase(passphrase))
	if err := faults.Err(); err != nil {
		return 0, err
	}
	hashed := s.gate.HashCode(code)
	err = s.Store.ViewShared(ctx, func(sh Shared) error {
		_, err := sh.Codes.Find(hashed, ForRecovery, s.now())
		return err
	})
	if err != nil {
		return 0, err
	}
	hash, err := s.gate.Hash(ctx, passphrase)
	if err != nil {
		return 0, err
	}
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		c, err := sh.Codes.Take(hashed, ForRecovery, s.now())
		if err != nil {
			return err
		}
		ended, err = setPassphrase(sh, Bearer{Account: c.Account}, hash, s.now(), AccountRecovered)
		return err
	})
	return ended, err
}

// Request asks for a recovery code by mail. It only notes the address: whether
// an account has it shows neither in the answer nor in the time it takes.
// Errors: ErrInvalid, ErrRecoveryByOperator where there is no mail, ErrLimited
// when too many wait.
func (s *Recoveries) Request(email string) error {
	if s.Mail == nil {
		return ErrRecoveryByOperator
	}
	email, ok := normalEmail(email)
	if !ok {
		var faults Faults
		faults.Add("/email", "format", "give an e-mail address")
		return faults.Err()
	}
	select {
	case s.asked <- email:
		return nil
	default:
		full := ErrLimited.With("too many wait for mail; try again")
		full.RetryAfter = recoveryMailIn
		return full
	}
}

// Work sends what was asked for, one after the other, until ctx ends, and tells
// failed what couldn't be sent.
func (s *Recoveries) Work(ctx context.Context, failed func(error)) {
	for {
		select {
		case <-ctx.Done():
			return
		case email := <-s.asked:
			if err := s.mail(ctx, email); err != nil {
				failed(err)
			}
		}
	}
}

// mail sends a code to an address that has an account. Errors: the store's, the
// mailer's.
func (s *Recoveries) mail(ctx context.Context, email string) error {
	ctx, cancel := context.WithTimeout(ctx, recoveryMailIn)
	defer cancel()
	code, expires, err := s.Code(ctx, email)
	if KindOf(err) == NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	return s.Mail.Send(ctx, email, "A new passphrase for your account", fmt.Sprintf(recoveryText, code, expires.Format("2006-01-02 15:04")))
}

// recoveryText is the mail: its code and when it expires.
const recoveryText = `Somebody, probably you, asked for a new passphrase for the account with this
e-mail address. The code, good for one use until %[2]s UTC:

%[1]s

Send it with the new passphrase to POST /v1/recoveries, or enter both where
you were asked for them. If it wasn't you, do nothing: without this code
nothing changes.
`
