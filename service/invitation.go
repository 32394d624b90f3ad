package service

import (
	"context"
	"slices"
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
	UsedAt    time.Time // zero: not accepted
	RevokedAt time.Time // zero: not revoked
	Version   int64
}

// invitationLasts is how long a code can be accepted.
const invitationLasts = 7 * 24 * time.Hour

// Invitations are the use-cases on invitations.
type Invitations struct {
	*Desk
	gate                            Gate
	Shelf[Invitation, InvitationID] // to look at them; Invite adds one
}

// open tells whether the invitation can be accepted at that moment.
func (i Invitation) open(now time.Time) bool {
	return i.UsedAt.IsZero() && i.RevokedAt.IsZero() && !now.After(i.ExpiresAt)
}

// invitationsSeen are the invitations, for those who may see them.
type invitationsSeen struct{ *work }

// Get returns one. Errors: ErrForbidden, ErrInvitationNotFound.
func (s invitationsSeen) Get(id InvitationID) (Invitation, error) {
	if err := s.may(SeeInvitations); err != nil {
		return Invitation{}, err
	}
	return s.Invitations.Get(id)
}

// List returns a page in the order of q. Errors: ErrForbidden.
func (s invitationsSeen) List(q Query) ([]Invitation, error) {
	if err := s.may(SeeInvitations); err != nil {
		return nil, err
	}
	return s.Invitations.List(q)
}

// Revoke ends an invitation that hasn't been accepted, at once; doing so again
// changes nothing. Errors: ErrClubNotFound, ErrForbidden, ErrInvitationNotFound,
// ErrInvitationClosed.
func (s Invitations) Revoke(ctx context.Context, a Actor, id InvitationID) (Invitation, error) {
	return write(ctx, s.Desk, a, func(w *work) (Invitation, error) {
		if err := w.may(AddMember); err != nil {
			return Invitation{}, err
		}
		in, err := w.Invitations.Get(id)
		if err != nil {
			return Invitation{}, err
		}
		if !in.UsedAt.IsZero() {
			return Invitation{}, ErrInvitationClosed
		}
		return w.revokeInvitation(in)
	})
}

func (w *work) revokeInvitation(in Invitation) (Invitation, error) {
	if !in.RevokedAt.IsZero() {
		return in, nil
	}
	in.RevokedAt = w.now
	if err := w.Invitations.Update(in); err != nil {
		return Invitation{}, err
	}
	in.Version++
	return in, nil
}

// Invite makes an invitation and the code to hand over, which is shown once.
// The answer says nothing about whether the address has an account. Errors:
// ErrForbidden, ErrInvalid, ErrMemberNotFound, ErrMemberTaken; ErrMemberLeft for
// one who was erased.
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
		if gone, err := w.erased(m.ID); err != nil || gone {
			return Invitation{}, ErrMemberLeft.Because(err)
		}
		if stands, err := w.standsInForKey(m.ID); err != nil || stands || m.Account != "" {
			return Invitation{}, ErrMemberTaken.Because(err)
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

// LetIn is Invite by the operator, of a steward without an account, by name or id:
// so that a club has somebody again who can invite the others. Errors:
// ErrClubNotFound, ErrMemberNotFound where there is no such steward, those of
// Invite.
func (s Invitations) LetIn(ctx context.Context, club, member, email string) (in Invitation, code string, err error) {
	c, err := s.club(ctx, club)
	if err != nil {
		return in, "", err
	}
	code, hash, err := s.gate.NewCode()
	if err != nil {
		return in, "", err
	}
	err = s.Store.Update(ctx, c.ID, func(tx Tx) error {
		w := (&work{Tx: tx, now: s.now(), zone: tx.Club.Zone(), desk: s.Desk}).audited()
		stewards, err := w.Members.List(Query{Kind: string(Steward)})
		if err != nil {
			return err
		}
		i := slices.IndexFunc(stewards, func(m Member) bool { return string(m.ID) == member || m.Name == member })
		if i < 0 {
			return ErrMemberNotFound.With("the club has no steward of that name")
		}
		w.who = caller{Member: stewards[i]}
		in, err = w.addInvitation(Invitation{Member: stewards[i].ID, Email: email}, hash)
		return err
	})
	return in, code, err
}

// Accept makes the account a member by the code of an invitation to its e-mail
// address. Errors: ErrInvitationNotFound for a club that isn't there and for a
// code that is wrong, used, revoked, expired or another address's; ErrSignIn for an
// API key, which is no account's; ErrMemberTaken, ErrMemberNameTaken.
func (s Invitations) Accept(ctx context.Context, a Actor, code string) (m Member, err error) {
	if a.Account == "" {
		return Member{}, ErrSignIn
	}
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
		w := &work{Tx: tx, now: s.Now().Truncate(time.Microsecond), zone: tx.Club.Zone(), desk: s.Desk}
		m, err = w.audited().accept(account, hash)
		return err
	})
	return m, err
}

func (w *work) accept(account Account, hash string) (Member, error) {
	in, err := w.Invitations.ByCode(hash)
	if err != nil || in.Email != account.Email || !in.open(w.now) {
		return Member{}, ErrInvitationNotFound.Because(err)
	}
	m := Member{ID: MemberID(w.desk.NewID()), Account: account.ID, Name: in.Name, Role: in.Role, CreatedAt: w.now, Version: 1}
	write := w.Members.Insert
	if in.Member != "" {
		if m, err = w.Members.Get(in.Member); err != nil {
			return Member{}, err
		}
		m.Account, m.LeftAt = account.ID, time.Time{}
		write = w.Members.Update
	}
	w.who = caller{Member: m} // who joins is who does it
	if err := write(m); err != nil {
		return Member{}, err
	}
	in.UsedAt = w.now
	return m, w.Invitations.Update(in)
}
