package service

import (
	"context"
	"strings"
	"time"
)

// Forgotten is an erasure as it is kept outside of the database, by ids alone: of a
// member of a club, or of an account.
type Forgotten struct {
	Club    ClubID
	Member  MemberID
	Account AccountID
	At      time.Time // of a member's
}

// Forgotten lists all erasures that the database knows of. Errors: the store's.
func (s *Service) Forgotten(ctx context.Context) ([]Forgotten, error) {
	clubs, err := s.clubs(ctx)
	if err != nil {
		return nil, err
	}
	var out []Forgotten
	for _, c := range clubs {
		var erased []Erasure
		err := s.Store.View(ctx, c.ID, func(tx Tx) (err error) {
			erased, err = tx.Erasures.List(Query{})
			return err
		})
		if err != nil {
			return nil, err
		}
		for _, e := range erased {
			out = append(out, Forgotten{Club: c.ID, Member: e.ID, At: e.At})
		}
	}
	err = s.Store.ViewShared(ctx, func(sh Shared) error {
		gone, err := sh.Accounts.Under(noMailDomain)
		for _, id := range gone {
			out = append(out, Forgotten{Account: id})
		}
		return err
	})
	return out, err
}

// ForgetAgain erases again what a restored copy has brought back, and returns how
// many members and accounts that were. Who isn't in the copy, or is erased in it,
// is passed over. A steward of each club takes over what is an erased member's;
// what nobody can take over any more is ErrLastSteward. Errors: that, the store's.
func (s *Service) ForgetAgain(ctx context.Context, again []Forgotten) (int, error) {
	done := 0
	clubs, err := s.clubs(ctx)
	if err != nil {
		return 0, err
	}
	for _, c := range clubs {
		err := s.Store.Update(ctx, c.ID, func(tx Tx) error {
			w := &work{Tx: tx, now: s.now(), zone: tx.Club.Zone(), desk: s.Desk}
			n, err := w.eraseAgain(again)
			done += n
			return err
		})
		if err != nil {
			return done, err
		}
	}
	for _, f := range again {
		erased, err := s.Accounts.eraseAgain(ctx, f.Account)
		if err != nil {
			return done, err
		}
		if erased {
			done++
		}
	}
	return done, nil
}

// eraseAgain erases the members of this club who are among the forgotten and
// aren't yet. Errors: ErrLastSteward where no steward would be left at all.
func (w *work) eraseAgain(again []Forgotten) (done int, err error) {
	gone := map[MemberID]bool{}
	for _, f := range again {
		gone[f.Member] = gone[f.Member] || f.Club == w.Club.ID
	}
	all, err := w.Members.List(Query{})
	if err != nil {
		return 0, err
	}
	w.audited().counted()
	for _, m := range all {
		before, err := w.erased(m.ID)
		if err != nil {
			return done, err
		}
		if !gone[m.ID] || before {
			continue
		}
		heir, err := heirOf(all, gone)
		if err != nil {
			return done, err
		}
		w.who = caller{Member: heir}
		m.Account = "" // a club may be left without a steward who signs in
		if m, err = w.putMember(m); err != nil {
			return done, err
		}
		if _, err := w.erase(m, heir.ID); err != nil {
			return done, err
		}
		done++
	}
	return done, w.keepTotals()
}

// heirOf is the steward who takes over from members that are gone: one with an
// account if there is one. Errors: ErrLastSteward.
func heirOf(all []Member, gone map[MemberID]bool) (heir Member, err error) {
	err = ErrLastSteward.With("every steward of the club is among those to erase again; nobody is left to take over")
	for _, m := range all {
		if m.Role != Steward || m.left() || gone[m.ID] || heir.Account != "" {
			continue
		}
		heir, err = m, nil
	}
	return heir, err
}

// eraseAgain blanks an account and takes it out of its clubs, and tells whether
// there was something to do. Errors: the store's.
func (s Accounts) eraseAgain(ctx context.Context, id AccountID) (bool, error) {
	var a Account
	var clubs []Club
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		if a, err = sh.Accounts.ByID(id); err == nil {
			clubs, err = sh.Clubs.Of(id)
		}
		return err
	})
	if KindOf(err) == NotFound || err == nil && strings.HasSuffix(a.Email, noMailDomain) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	for _, c := range clubs {
		if _, err := s.unlink(ctx, a, c.ID, (*work).unlinkAnyway); err != nil {
			return false, err
		}
	}
	_, err = s.blank(ctx, id)
	return true, err
}
