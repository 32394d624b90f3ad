// Package operator has the commands by which the service's operator tends it
// from the machine it runs on.
package operator

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"time"

	"lumbricary.example/auth"
	"lumbricary.example/service"
)

// The commands.
const (
	ResetLink    = "account reset-link"
	ListKeys     = "keys list"
	RotateKeys   = "keys rotate"
	FoundingCode = "founding-code"
	Check        = "check"
	Rebuild      = "rebuild"
	Invite       = "invite"
)

// ErrUnknown says that there is no such command.
var ErrUnknown = errors.New("there is no such command")

// Tools are what the commands work with.
type Tools struct {
	Service   *service.Service
	Gate      *auth.Gate
	PublicURL string
	Now       func() time.Time
	Out       io.Writer
}

// Known reports whether there is such a command.
func Known(command string) bool {
	switch command {
	case ResetLink, ListKeys, RotateKeys, FoundingCode, Check, Rebuild, Invite:
		return true
	}
	return false
}

// About is what a command is about.
type About struct {
	Email  string // of an account
	Club   string // handle or id; empty: every club
	Member string // name or id
}

// Flags adds the flags of a command.
func (a *About) Flags(fs *flag.FlagSet, command string) {
	switch command {
	case ResetLink:
		fs.StringVar(&a.Email, "email", "", "e-mail address of the account")
	case Check, Rebuild:
		fs.StringVar(&a.Club, "club", "", "handle of the club; left out: every club")
	case Invite:
		fs.StringVar(&a.Club, "club", "", "handle of the club")
		fs.StringVar(&a.Member, "member", "", "name of a steward without an account")
		fs.StringVar(&a.Email, "email", "", "e-mail address of the steward's account")
	}
}

// Do runs a command. Errors: ErrUnknown, service.ErrAccountNotFound,
// service.ErrClubNotFound, ErrWrong, those of LetIn, the store's.
func (t Tools) Do(ctx context.Context, command string, about About) error {
	switch command {
	case ResetLink:
		return t.resetLink(ctx, about.Email)
	case Check:
		return t.check(ctx, about.Club)
	case Rebuild:
		return t.rebuild(ctx, about.Club)
	case Invite:
		return t.invite(ctx, about)
	case ListKeys:
		return t.listKeys(ctx)
	case RotateKeys:
		return t.rotateKeys(ctx)
	case FoundingCode:
		return t.foundingCode(ctx)
	}
	return ErrUnknown
}

// say prints. Errors: the writer's.
func (t Tools) say(format string, a ...any) error {
	_, err := fmt.Fprintf(t.Out, format, a...)
	return err
}

func (t Tools) resetLink(ctx context.Context, email string) error {
	code, expires, err := t.Service.Recoveries.Code(ctx, email)
	if err != nil {
		return err
	}
	return t.say(`Hand this code to the account's owner. It is good for one use until %s.

%s

It goes with the new passphrase to %s/v1/recoveries:

  {"code":"%[2]s","passphrase":"…"}
`, moment(expires), code, t.PublicURL)
}

func (t Tools) invite(ctx context.Context, about About) error {
	in, code, err := t.Service.Invitations.LetIn(ctx, about.Club, about.Member, about.Email)
	if err != nil {
		return err
	}
	return t.say(`Hand this code to %s. It is good for one use until %s, for the account with that e-mail address.

%s

It goes, by who has signed in to that account, to %s/v1/clubs/%s/invitations/accept:

  {"code":"%[3]s"}
`, in.Name, moment(in.ExpiresAt), code, t.PublicURL, about.Club)
}

func (t Tools) foundingCode(ctx context.Context) error {
	code, expires, err := t.Service.Clubs.FoundingCode(ctx)
	if err != nil {
		return err
	}
	err = t.say("Founding code, good for one club until %s, as founding_code in POST %s/v1/clubs:\n\n%s\n", moment(expires), t.PublicURL, code)
	if policy := t.Service.Founding; policy != service.FoundingInvited {
		err = errors.Join(err, t.say("\nNobody is asked for it yet: FOUNDING is %s, not %s.\n", policy, service.FoundingInvited))
	}
	return err
}

func (t Tools) rotateKeys(ctx context.Context) error {
	key, err := t.Gate.Rotate(ctx)
	if err != nil {
		return err
	}
	return t.say("New signing key %s. The old ones verify until the last tokens that they signed have expired.\n", key.ID)
}

func (t Tools) listKeys(ctx context.Context) error {
	keys, err := t.Gate.Keys(ctx)
	if err != nil {
		return err
	}
	for _, k := range keys {
		state := "signs"
		switch {
		case k.Spent(t.Now()):
			state = "retired " + moment(k.Retired)
		case !k.Retired.IsZero():
			state = "retired " + moment(k.Retired) + ", verifies"
		}
		if err := t.say("%s  made %s  %s\n", k.ID, moment(k.Created), state); err != nil {
			return err
		}
	}
	return nil
}

func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 UTC") }
