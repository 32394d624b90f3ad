package service

import (
	"context"
	"slices"
	"time"
)

// Member is a person in a club. One without an account is kept on paper: others
// record on their behalf.
type Member struct {
	ID         MemberID
	Account    AccountID // empty: has not joined with an account, or has left
	Name       string
	PublicName string // by which the member agrees to be shown to everybody; empty: under a pseudonym
	Role       Role
	CreatedAt  time.Time
	LeftAt     time.Time // zero: belongs to the club
	Version    int64
}

// addMember adds a member on paper. Errors: ErrForbidden, ErrInvalid,
// ErrMemberNameTaken.
func (w *work) addMember(m Member) (Member, error) {
	if err := w.may(AddMember); err != nil {
		return Member{}, err
	}
	var faults Faults
	m.ID = MemberID(w.id(string(m.ID), &faults))
	checkName(&faults, "/name", m.Name)
	checkWord(&faults, "/role", m.Role, Steward, Keeper, Reader)
	if err := faults.Err(); err != nil {
		return Member{}, err
	}
	m.Account, m.PublicName, m.CreatedAt, m.Version = "", "", w.now, 1
	return m, w.Members.Insert(m)
}

// checkMember notes a fault unless the club has that member, who hasn't left.
func (w *work) checkMember(faults *Faults, pointer string, id MemberID) {
	m, err := w.Members.Get(id)
	if err == nil && m.left() {
		err = ErrMemberLeft
	}
	checkRef(faults, pointer, err)
}

// left tells whether the member is one of the past.
func (m Member) left() bool { return !m.LeftAt.IsZero() }

// ChangeRole gives a member another role. Errors: ErrClubNotFound, ErrForbidden
// for all but stewards, ErrMemberNotFound, ErrMemberLeft, ErrInvalid,
// ErrLastSteward.
func (s *Service) ChangeRole(ctx context.Context, a Actor, id MemberID, role Role) (Member, error) {
	return write(ctx, s.Desk, a, func(w *work) (Member, error) {
		if err := w.may(ChangeRole); err != nil {
			return Member{}, err
		}
		return w.changeRole(id, role)
	})
}

func (w *work) changeRole(id MemberID, role Role) (Member, error) {
	m, err := w.Members.Get(id)
	if err != nil {
		return Member{}, err
	}
	var faults Faults
	checkWord(&faults, "/role", role, Steward, Keeper, Reader)
	if stands, err := w.standsInForKey(id); err != nil {
		return Member{}, err
	} else if stands {
		faults.Add("/role", "of-key", "a club's key fixes that role; make another key")
	}
	if err := faults.Err(); err != nil {
		return Member{}, err
	}
	if m.left() {
		return Member{}, ErrMemberLeft
	}
	if role != Steward {
		if err := w.keepSteward(m); err != nil {
			return Member{}, err
		}
	}
	m.Role = role
	return w.putMember(m)
}

// SetPublicName says by which name a member agrees to be shown to everybody, with
// the words of the member's offers; the empty one takes that back. Nobody does it
// for another. Errors: ErrClubNotFound, ErrForbidden for all but the member,
// ErrMemberNotFound, ErrInvalid.
func (s *Service) SetPublicName(ctx context.Context, a Actor, id MemberID, name string) (Member, error) {
	return write(ctx, s.Desk, a, func(w *work) (Member, error) {
		if err := w.may(SetPublicName, id); err != nil {
			return Member{}, err
		}
		if name != "" {
			var faults Faults
			if checkName(&faults, "/public_name", name); len(faults) > 0 {
				return Member{}, faults.Err()
			}
		}
		m, err := w.Members.Get(id)
		if err != nil || m.PublicName == name {
			return m, err
		}
		m.PublicName = name
		return w.putMember(m)
	})
}

func (w *work) putMember(m Member) (Member, error) {
	if err := w.Members.Update(m); err != nil {
		return Member{}, err
	}
	m.Version++
	return m, nil
}

// keepSteward makes sure that the club has a steward with an account besides m,
// if m is one. Errors: ErrLastSteward.
func (w *work) keepSteward(m Member) error {
	if m.Role != Steward || m.Account == "" {
		return nil
	}
	stewards, err := w.Members.List(Query{Kind: string(Steward)})
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(stewards, func(s Member) bool { return s.ID != m.ID && s.Account != "" }) {
		return ErrLastSteward
	}
	return nil
}

// RemoveMember ends a membership at once: the steward to takes over the
// member's bins and sites; the member's account, keys and open invitations go. The
// member stays as a name in the book, and may come back by an invitation. Everybody
// may leave, stewards may remove others. Errors: ErrClubNotFound, ErrForbidden,
// ErrMemberNotFound, ErrInvalid, ErrLastSteward.
func (s *Service) RemoveMember(ctx context.Context, a Actor, id, to MemberID) (Member, error) {
	return write(ctx, s.Desk, a, func(w *work) (Member, error) {
		if err := w.may(RemoveMember, id); err != nil {
			return Member{}, err
		}
		return w.removeMember(id, to)
	})
}

func (w *work) removeMember(id, to MemberID) (Member, error) {
	m, err := w.Members.Get(id)
	if err != nil {
		return Member{}, err
	}
	if err := w.maySucceed(m, to); err != nil {
		return Member{}, err
	}
	gone, err := w.release(m, to)
	if err != nil {
		return Member{}, err
	}
	return w.putMember(gone)
}

// maySucceed checks that m may go and that the member to may take over. Errors:
// ErrLastSteward, ErrInvalid.
func (w *work) maySucceed(m Member, to MemberID) error {
	if err := w.keepSteward(m); err != nil {
		return err
	}
	var faults Faults
	heir, err := w.Members.Get(to)
	checkRef(&faults, "/to", err)
	if err == nil && (heir.ID == m.ID || heir.left() || heir.Role != Steward) {
		faults.Add("/to", "steward", "name another member who is a steward")
	}
	return faults.Err()
}

// release hands over what is m's and ends what m can do; it returns m as one of
// the past, to be written. Errors: the store's.
func (w *work) release(m Member, to MemberID) (Member, error) {
	for _, step := range []func() error{
		func() error { return w.handBins(m.ID, to) },
		func() error { return w.handSites(m.ID, to) },
		func() error { return w.endKeys(m.ID) },
		func() error { return w.endCalendars(m.ID) },
		func() error { return w.endInvitations(m.ID) },
		func() error { return w.endTransfers(m.ID) },
		func() error { return w.endOffers(m.ID) },
	} {
		if err := step(); err != nil {
			return Member{}, err
		}
	}
	m.Account, m.PublicName = "", ""
	if !m.left() {
		m.LeftAt = w.now
	}
	return m, nil
}

// handBins makes to the keeper of the member's bins, and ends the member's
// standing in for others.
func (w *work) handBins(from, to MemberID) error {
	bins, err := w.Bins.List(Query{})
	if err != nil {
		return err
	}
	for _, b := range bins {
		if !slices.Contains(b.Owners(), from) {
			continue
		}
		if b.Keeper == from {
			b.Keeper = to
		}
		b.StandIns = slices.DeleteFunc(slices.Clone(b.StandIns), func(m MemberID) bool { return m == from || m == b.Keeper })
		if err := w.Bins.Update(b); err != nil {
			return err
		}
	}
	return nil
}

func (w *work) handSites(from, to MemberID) error {
	sites, err := w.Sites.List(Query{Member: from})
	if err != nil {
		return err
	}
	for _, s := range sites {
		s.Owner = to
		if err := w.Sites.Update(s); err != nil {
			return err
		}
	}
	return nil
}

func (w *work) endKeys(of MemberID) error {
	keys, err := w.APIKeys.List(Query{Member: of})
	if err != nil {
		return err
	}
	for _, k := range keys {
		if _, err := w.revoke(k); err != nil {
			return err
		}
	}
	return nil
}

// endInvitations revokes the open invitations that the member made, and those
// by which others could step into the member's place.
func (w *work) endInvitations(of MemberID) error {
	all, err := w.Invitations.List(Query{})
	if err != nil {
		return err
	}
	for _, in := range all {
		if !in.open(w.now) || in.InvitedBy != of && in.Member != of {
			continue
		}
		if _, err := w.revokeInvitation(in); err != nil {
			return err
		}
	}
	return nil
}
