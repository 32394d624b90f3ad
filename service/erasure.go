package service

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// What stands in the place of personal values.
const (
	formerMember = "former member "
	noAddress    = "erased"
	noMailDomain = "@erased.invalid" // a domain that never is one (RFC 2606)
	noEmail      = "nobody" + noMailDomain
)

// Erasure says that a member was erased, so that it can be done again after an
// older copy of the database was put back.
type Erasure struct {
	ID MemberID
	At time.Time
	By MemberID
}

// Erased is a member without personal values, and the records whose free texts
// name the person.
type Erased struct {
	Member   Member
	Mentions []Mention
}

// erasuresSeen are the erasures, for those who may see them.
type erasuresSeen struct{ *work }

// Get is not to be had: erasures come in lists. Errors: ErrForbidden.
func (s erasuresSeen) Get(MemberID) (Erasure, error) { return Erasure{}, ErrForbidden }

// List returns a page in the order of q. Errors: ErrForbidden.
func (s erasuresSeen) List(q Query) ([]Erasure, error) {
	if err := s.may(ReviewErasures); err != nil {
		return nil, err
	}
	return s.Erasures.List(q)
}

// EraseMember removes a member as RemoveMember does, and blanks what is personal:
// the name, invitations, addresses of sites that were the member's. Ids, totals
// and lineage stay. Everybody may have themselves erased, stewards anybody;
// confirm is the member's name. Errors: ErrClubNotFound, ErrForbidden,
// ErrMemberNotFound, ErrInvalid, ErrLastSteward.
func (s *Service) EraseMember(ctx context.Context, a Actor, id, to MemberID, confirm string) (Erased, error) {
	return write(ctx, s.Desk, a, func(w *work) (Erased, error) {
		if err := w.may(EraseMember, id); err != nil {
			return Erased{}, err
		}
		m, err := w.Members.Get(id)
		if err != nil {
			return Erased{}, err
		}
		if confirm != m.Name {
			var faults Faults
			faults.Add("/confirm", "wrong", "give the member's name as the club has it")
			return Erased{}, faults.Err()
		}
		return w.erase(m, to)
	})
}

// maxReapplied is how many erasures one call does again.
const maxReapplied = 1000

// Reapply erases members again whose names a restored copy has brought back; the
// steward who calls takes over what is theirs again. What is erased stays as it
// is. Errors: ErrClubNotFound, ErrForbidden, ErrInvalid, ErrLastSteward.
func (s *Service) Reapply(ctx context.Context, a Actor, ids []MemberID) ([]Erased, error) {
	return write(ctx, s.Desk, a, func(w *work) ([]Erased, error) {
		if err := w.may(ReviewErasures); err != nil {
			return nil, err
		}
		return w.reapply(ids)
	})
}

func (w *work) reapply(ids []MemberID) ([]Erased, error) {
	var faults Faults
	if len(ids) == 0 || len(ids) > maxReapplied {
		faults.Add("/members", "range", "give 1 to %d members", maxReapplied)
		return nil, faults.Err()
	}
	members := make([]Member, len(ids))
	for i, id := range ids {
		at := "/members/" + strconv.Itoa(i)
		var err error
		if members[i], err = w.Members.Get(id); err != nil {
			checkRef(&faults, at, err)
		}
		if id == w.who.ID {
			faults.Add(at, "self", "another steward has to do that")
		}
		if slices.Contains(ids[:i], id) {
			faults.Add(at, "repeated", "give each member once")
		}
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	out := make([]Erased, len(ids))
	for i, m := range members {
		var err error
		if out[i], err = w.erase(m, w.who.ID); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// erase ends m's membership and blanks what is personal. Done again, it changes
// nothing. Errors: ErrLastSteward, ErrInvalid.
func (w *work) erase(m Member, to MemberID) (Erased, error) {
	if err := w.maySucceed(m, to); err != nil {
		return Erased{}, err
	}
	name, err := w.pseudonym(m)
	if err != nil {
		return Erased{}, err
	}
	var known personal
	known.add(m.Name, name)
	known.add(m.PublicName, name)
	for _, blank := range []func() error{
		func() error { return w.blankSites(m.ID, to, &known) },
		func() error { return w.blankInvitations(m, name, &known) },
		func() error { return w.blankKeys(m.ID, name) },
		func() error { return w.blankCalendars(m.ID, name) },
	} {
		if err := blank(); err != nil {
			return Erased{}, err
		}
	}
	gone, err := w.release(m, to)
	if err != nil {
		return Erased{}, err
	}
	if gone.Name = name; gone != m {
		if gone, err = w.putMember(gone); err != nil {
			return Erased{}, err
		}
	}
	if err := w.noteErasure(m.ID); err != nil {
		return Erased{}, err
	}
	if err := w.Answers.Rewrite(known.redacted); err != nil {
		return Erased{}, err
	}
	mentions, err := w.mentions(known)
	return Erased{gone, mentions}, err
}

// erased tells whether the member was erased.
func (w *work) erased(id MemberID) (bool, error) {
	_, err := w.Erasures.Get(id)
	if KindOf(err) == NotFound {
		return false, nil
	}
	return err == nil, err
}

// noteErasure notes that the member was erased, once.
func (w *work) noteErasure(id MemberID) error {
	if before, err := w.erased(id); err != nil || before {
		return err
	}
	return w.Erasures.Insert(Erasure{ID: id, At: w.now, By: w.who.ID})
}

// pseudonym is the name that an erased member has: the one it has already, or
// the first of the club's that is free.
func (w *work) pseudonym(m Member) (string, error) {
	before, err := w.erased(m.ID)
	if err != nil || before && strings.HasPrefix(m.Name, formerMember) {
		return m.Name, err
	}
	all, err := w.Members.List(Query{})
	for n := 1; ; n++ {
		name := fmt.Sprint(formerMember, n)
		if !slices.ContainsFunc(all, func(m Member) bool { return m.Name == name }) {
			return name, err
		}
	}
}

// blankSites hands over the member's sites without their addresses, and blanks
// those that the member has handed on before, unless the address was changed
// since.
func (w *work) blankSites(of, to MemberID, known *personal) error {
	held, err := w.held(of)
	if err != nil {
		return err
	}
	sites, err := w.Sites.List(Query{})
	if err != nil {
		return err
	}
	for _, s := range sites {
		before := s
		if s.Owner != of && !held[s.ID] {
			continue
		}
		if s.Owner == of {
			s.Owner = to
		}
		known.add(s.Address, noAddress)
		if s.Address = ""; s == before {
			continue
		}
		if err := w.Sites.Update(s); err != nil {
			return err
		}
	}
	return nil
}

// held finds in the audit the sites that the member owned and whose address was
// not changed by a later owner.
func (w *work) held(by MemberID) (map[SiteID]bool, error) {
	entries, err := w.Audit.List(Query{Kind: "site"})
	held := map[SiteID]bool{}
	for _, e := range entries {
		switch {
		case ownerIn(e.Before) == by || ownerIn(e.After) == by:
			held[SiteID(e.Record)] = true
		case slices.Contains(e.Changed, "address"):
			delete(held, SiteID(e.Record))
		}
	}
	return held, err
}

// ownerIn is the owner of the site that an audit entry tells of.
func ownerIn(testimony string) MemberID {
	var site struct{ Owner MemberID }
	if err := json.Unmarshal([]byte(testimony), &site); err != nil {
		return "" // there was none
	}
	return site.Owner
}

// blankInvitations revokes the invitations by which the member came or could
// come, and blanks their names and addresses.
func (w *work) blankInvitations(m Member, name string, known *personal) error {
	mine, err := w.invitationsOf(m)
	if err != nil {
		return err
	}
	for _, in := range mine {
		before := in
		known.add(in.Email, noEmail)
		known.add(in.Name, name)
		in.Email, in.Name = noEmail, name
		if in.open(w.now) {
			in.RevokedAt = w.now
		}
		if in == before {
			continue
		}
		if err := w.Invitations.Update(in); err != nil {
			return err
		}
	}
	return nil
}

// invitationsOf lists the invitations that are the member's: those for the
// member, the one by which the member came, and all to the same addresses.
func (w *work) invitationsOf(m Member) ([]Invitation, error) {
	all, err := w.Invitations.List(Query{})
	if err != nil {
		return nil, err
	}
	emails := map[string]bool{}
	for _, in := range all {
		if in.brought(m) && in.Email != noEmail {
			emails[in.Email] = true
		}
	}
	return slices.DeleteFunc(all, func(in Invitation) bool { return !in.brought(m) && !emails[in.Email] }), nil
}

// brought tells whether the invitation is for m, or m came by it.
func (i Invitation) brought(m Member) bool {
	return i.Member == m.ID || i.Member == "" && i.UsedAt.Equal(m.CreatedAt) && i.Name == m.Name
}

// blankKeys revokes the member's own API keys, and blanks what they were called.
func (w *work) blankKeys(of MemberID, name string) error {
	keys, err := w.APIKeys.List(Query{Member: of})
	if err != nil {
		return err
	}
	for _, k := range keys {
		if k.ofClub() || k.Name == name {
			continue
		}
		if k.Name = name; k.RevokedAt.IsZero() {
			k.RevokedAt = w.now
		}
		if err := w.APIKeys.Update(k); err != nil {
			return err
		}
	}
	return nil
}
