package repo_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/service"
)

// The clock of the tests.
var at = time.Date(2026, 3, 4, 5, 6, 7, 123456000, time.UTC)

// north and south are two clubs whose records have the same ids.
const (
	north service.ClubID = "0190a000-0000-7000-8000-00000000000a"
	south service.ClubID = "0190a000-0000-7000-8000-00000000000b"
)

func id(n int) string { return fmt.Sprintf("0190b000-0000-7000-8000-%012d", n) }

func club(id service.ClubID, handle string) service.Club {
	return service.Club{
		ID: id, Handle: handle, Name: "Club " + handle, TimeZone: "Europe/London", Hemisphere: service.North,
		Units: service.Metric, Currency: "GBP", RetentionYears: 7, SeasonBy: service.BySeasons, PromiseDays: 21, CopyPct: 75, AllowedOrigins: []string{"https://" + handle + ".example"}, CreatedAt: at, Version: 1,
	}
}

func steward() service.Member {
	return service.Member{ID: service.MemberID(id(1)), Name: "Ann", Role: service.Steward, CreatedAt: at, Version: 1}
}

func site(n int, name string) service.Site {
	return service.Site{ID: service.SiteID(id(n)), Name: name, Owner: steward().ID, CreatedAt: at, Version: 1}
}

// twoClubs founds north and south with a steward and a site of the same ids.
func twoClubs(t *testing.T, s *repo.Store) {
	t.Helper()
	for c, handle := range map[service.ClubID]string{north: "north", south: "south"} {
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Clubs.Insert(club(c, handle), steward()) }))
		must(t, s.Update(t.Context(), c, func(tx service.Tx) error { return tx.Sites.Insert(site(2, "cellar of "+handle)) }))
	}
}

// siteOf reads the site that both clubs have under the same id.
func siteOf(t *testing.T, s *repo.Store, c service.ClubID) (v service.Site) {
	t.Helper()
	must(t, s.View(context.WithoutCancel(t.Context()), c, func(tx service.Tx) (err error) {
		v, err = tx.Sites.Get(service.SiteID(id(2)))
		return err
	}))
	return v
}

// addSite is a write for tests of the doors.
func addSite(n int, name string) func(service.Tx) error {
	return func(tx service.Tx) error { return tx.Sites.Insert(site(n, name)) }
}

// sites counts the sites of a club.
func sites(t *testing.T, s *repo.Store, c service.ClubID) (n int) {
	t.Helper()
	must(t, s.View(t.Context(), c, func(tx service.Tx) error {
		list, err := tx.Sites.List(service.Query{})
		n = len(list)
		return err
	}))
	return n
}
