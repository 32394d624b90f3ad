package service

import (
	"context"
	"time"
)

// Invitation is a one-use code by which a person with an account joins a club.
// Only the hash of the code is kept.
type Invitation struct {
	ID        InvitationID
	Member    MemberID // the member on paper who joins; empty: a new one
	Email     string   // lower case; whose account may accept it
	Name      string
	Role      Role
	CodeHash  string
	InvitedBy MemberID
	CreatedAt time.Time
	ExpiresAt time.Time
	UsedAt    time.Time // zero: open
	Version   int64
}

// invitationLasts is how long a code can be accepted.
const invitationLasts = 7 * 24 * time.Hour

// Invitations are the use-cases on invitations.
type Invitations struct {
	*Desk
	gate Gate
}

// Invite makes an invitation and the code to hand over, which is shown once.
// The answer says nothing about whether the address has an account. Errors:
// ErrForbidden, ErrInvalid, ErrMemberNotFound, ErrMemberTaken.
func (s Invitations) Invite(ctx context.Context, a Actor, in Invitation) (Invitation, string, error) {
	code, hash, err := s.gate.NewCode()
	if err != nil {
		return Invitation{}, "", err
	}
	out, err := write(ctx, s.Desk, a, func(w *work) (Invitation, error) { return w.addInvitation(in, hash) })
	return out, code, err
}

func (w *work) addInvitation(in Invitation, hash string) (Invitation, error) {
	if err := w.may(AddMember); err != nil {
		return Invitation{}, err
	}
	if in.Member != "" {
		m, err := w.Members.Get(in.Member)
		if err != nil {
			return Invitation{}, err
		}
		if m.Account != "" {
			return Invitation{}, ErrMemberTaken
		}
		in.Name, in.Role = m.Name, m.Role
	}
	var faults Faults
	email, ok := normalEmail(in.Email)
	if !ok {
		faults.Add("/email", "format", "give an e-mail address")
	}
	checkName(&faults, "/name", in.Name)
	checkWord(&faults, "/role", in.Role, Steward, Keeper, Reader)
	if err := faults.Err(); err != nil {
		return Invitation{}, err
	}
	in.ID, in.Email, in.CodeHash, in.InvitedBy = InvitationID(w.desk.NewID()), email, hash, w.who.ID
	in.CreatedAt, in.ExpiresAt, in.Version = w.now, w.now.Add(invitationLasts), 1
	return in, w.Invitations.Insert(in)
}

// Accept makes the account a member by the code of an invitation to its e-mail
// address. Errors: ErrInvitationNotFound for a club that isn't there and for a
// code that is wrong, used, expired or another address's; ErrMemberTaken,
// ErrMemberNameTaken.
func (s Invitations) Accept(ctx context.Context, a Actor, code string) (m Member, err error) {
	club, err := s.club(ctx, a.Club)
	if err != nil {
		return Member{}, ErrInvitationNotFound.Because(err)
	}
	hash := s.gate.HashCode(code)
	var account Account
	err = s.Store.UpdateShared(ctx, func(sh Shared) error {
		if account, err = sh.Accounts.ByID(a.Account); err != nil {
			return ErrSignIn.Because(err)
		}
		// The index of memberships may name a club too many, never one too few:
		// Me looks into each.
		return sh.Clubs.Join(club.ID, account.ID)
	})
	if err != nil {
		return Member{}, err
	}
	err = s.Store.Update(ctx, club.ID, func(tx Tx) error {
		m, err = accept(tx, account, hash, s.Now().Truncate(time.Microsecond), s.NewID)
		return err
	})
	return m, err
}

func accept(tx Tx, account Account, hash string, now time.Time, newID func() string) (Member, error) {
	in, err := tx.Invitations.ByCode(hash)
	if err != nil || in.Email != account.Email || !in.UsedAt.IsZero() || now.After(in.ExpiresAt) {
		return Member{}, ErrInvitationNotFound.Because(err)
	}
	in.UsedAt = now
	if err := tx.Invitations.Update(in); err != nil {
		return Member{}, err
	}
	if in.Member != "" {
		m, err := tx.Members.Get(in.Member)
		if err != nil {
			return Member{}, err
		}
		m.Account = account.ID
		return m, tx.Members.Update(m)
	}
	m := Member{ID: MemberID(newID()), Account: account.ID, Name: in.Name, Role: in.Role, CreatedAt: now, Version: 1}
	return m, tx.Members.Insert(m)
}
