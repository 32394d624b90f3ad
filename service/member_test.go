package service_test

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// join gives a member on paper an account.
func (h *house) join(m service.Member) service.Actor {
	h.Helper()
	a := service.Account{ID: service.AccountID(h.NewID()), Email: m.Name + "@example.org", Name: m.Name, PassphraseHash: "-", CreatedAt: h.now}
	err := errors.Join(
		h.store.UpdateShared(h.Context(), func(s service.Shared) error { return s.Accounts.Insert(a) }),
		h.store.Update(h.Context(), h.club.ID, func(tx service.Tx) error {
			m.Account = a.ID
			return tx.Members.Update(m)
		}))
	if err != nil {
		h.Fatal(err)
	}
	return service.Actor{Account: a.ID, Club: string(h.club.ID)}
}

func TestARemovalHandsOverAllThatTheMemberKept(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		h := newHouse(t, s)
		ana := must(h.Members.List(t.Context(), h.ana, service.Query{Kind: string(service.Steward)}))(t)[0]
		bo := h.join(h.bo)
		kept := h.bin("Bo's", h.bo.ID)
		shared := must(h.Bins.Add(t.Context(), h.ana, service.Bin{
			Name: "Cy's", Kind: service.Tote, Site: h.cellar.ID, Keeper: h.cy.ID, StandIns: []service.MemberID{h.bo.ID, ana.ID},
		}))(t).ID
		left := must(h.RemoveMember(t.Context(), h.ana, h.bo.ID, ana.ID))(t)
		if left.Account != "" || !left.LeftAt.Equal(h.now) {
			t.Errorf("removed: %+v", left)
		}
		if b := must(h.Bins.Get(t.Context(), h.ana, kept))(t); b.Keeper != ana.ID {
			t.Errorf("the bin is kept by %s", b.Keeper)
		}
		if b := must(h.Bins.Get(t.Context(), h.ana, shared))(t); b.Keeper != h.cy.ID || !slices.Equal(b.StandIns, []service.MemberID{ana.ID}) {
			t.Errorf("for %s stand in %v", b.Keeper, b.StandIns)
		}
		_, err := h.Bins.List(t.Context(), bo, service.Query{})
		wantError(t, err, service.ErrClubNotFound)
		_, err = h.Bins.Add(t.Context(), h.ana, service.Bin{Name: "new", Kind: service.Tote, Site: h.cellar.ID, Keeper: h.bo.ID})
		wantError(t, err, service.ErrMemberLeft)
	})
}

func TestARemovalThatFailsHandsOverNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		h := newHouse(t, s)
		kept := h.bin("Bo's", h.bo.ID)
		_, err := h.RemoveMember(t.Context(), h.ana, h.bo.ID, h.cy.ID) // who is no steward
		wantError(t, err, service.ErrInvalid)
		if b := must(h.Bins.Get(t.Context(), h.ana, kept))(t); b.Keeper != h.bo.ID {
			t.Errorf("the bin is kept by %s", b.Keeper)
		}
	})
}

func TestTwoStewardsWhoPutEachOtherDownAtOnceLeaveOne(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		h := newHouse(t, s)
		ana := must(h.Members.List(t.Context(), h.ana, service.Query{Kind: string(service.Steward)}))(t)[0]
		must(h.ChangeRole(t.Context(), h.ana, h.bo.ID, service.Steward))(t)
		bo := h.join(must(h.Members.Get(t.Context(), h.ana, h.bo.ID))(t))
		var both sync.WaitGroup
		errs := make([]error, 2)
		both.Go(func() { _, errs[0] = h.ChangeRole(t.Context(), h.ana, h.bo.ID, service.Reader) })
		both.Go(func() { _, errs[1] = h.ChangeRole(t.Context(), bo, ana.ID, service.Reader) })
		both.Wait()
		stewards := must(h.Members.List(t.Context(), h.ana, service.Query{Kind: string(service.Steward)}))(t)
		if len(stewards) != 1 || (errs[0] == nil) == (errs[1] == nil) {
			t.Errorf("stewards %+v; errors %v", stewards, errs)
		}
	})
}

func TestAClubsSettingsAreChecked(t *testing.T) {
	t.Parallel()
	h := newHouse(t, repotest.SQLite(t))
	for origin, good := range map[string]bool{
		"https://club.example": true, "https://club.example:8443": true, "http://localhost:3000": true, "http://127.0.0.1": true,
		"https://club.example/": false, "https://club.example/page": false, "http://club.example": false, "HTTPS://club.example": false,
		"https://Club.example": false, "https://club.example:443": false, "https://*.example": false, "*": false, "null": false, "": false,
		"https://club.example https://evil.example": false, "https://club.example\n": false, "https://me@club.example": false,
	} {
		c := must(h.Clubs.Get(t.Context(), h.ana))(t)
		c.AllowedOrigins = []string{origin}
		changed, err := h.Clubs.Change(t.Context(), h.ana, c.Version, c)
		if (err == nil) != good {
			t.Errorf("origin %q: %v", origin, err)
		}
		if good && (changed.Version != c.Version+1 || fmt.Sprint(changed.AllowedOrigins) != fmt.Sprint(c.AllowedOrigins)) {
			t.Errorf("origin %q: %+v", origin, changed)
		}
	}
	c := must(h.Clubs.Get(t.Context(), h.ana))(t)
	c.AllowedOrigins, c.SeasonBy, c.Name = []string{"https://a.example", "https://a.example"}, "moons", ""
	_, err := h.Clubs.Change(t.Context(), h.ana, c.Version, c)
	wantError(t, err, service.ErrInvalid)
	e, _ := errors.AsType[*service.Error](err)
	for _, at := range []string{"/allowed_origins/1", "/season_by", "/name"} {
		if !slices.ContainsFunc(e.Fields, func(f service.FieldError) bool { return f.Pointer == at }) {
			t.Errorf("no fault at %s: %+v", at, e.Fields)
		}
	}
}
