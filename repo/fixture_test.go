package repo_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// noon is when the records of the tests begin.
var noon = time.Date(2026, 5, 1, 12, 0, 0, 123456000, time.UTC)

// Two clubs whose records have the same ids, so that a query that forgets the
// club finds the other's.
const (
	harbour service.ClubID = "club-harbour"
	hillTop service.ClubID = "club-hill-top"
)

const (
	founder  service.MemberID  = "member-founder"
	keeper   service.MemberID  = "member-keeper"
	fetida   service.SpeciesID = "eisenia-fetida"
	eugeniae service.SpeciesID = "eudrilus-eugeniae"
)

// clubs makes the two clubs, with the members, places and movements that the
// records of the tests name.
func clubs(t *testing.T, s *repo.Store) {
	t.Helper()
	must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
		person := service.Account{ID: "account-founder", Email: "founder@example.org", Name: "Ada", PassphraseHash: "x", CreatedAt: noon}
		return sh.Accounts.Insert(person)
	}))
	for _, id := range []service.ClubID{harbour, hillTop} {
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return sh.Clubs.Insert(
				service.Club{
					ID: id, Handle: string(id), Name: string(id), TimeZone: "UTC", Hemisphere: service.North,
					Units: service.Metric, Currency: "EUR", RetentionYears: 5, SeasonBy: service.BySeasons, PromiseDays: 14, CopyPct: 80, CreatedAt: noon, Version: 1,
				},
				service.Member{ID: founder, Account: "account-founder", Name: "Ada", Role: service.Steward, CreatedAt: noon, Version: 1},
			)
		}))
		update(t, s, id, furnish)
	}
}

// furnish gives a club what its records name.
func furnish(tx service.Tx) error {
	err := errors.Join(
		tx.Members.Insert(service.Member{ID: keeper, Name: "Bert", Role: service.Keeper, CreatedAt: noon, Version: 1}),
		tx.Sites.Insert(service.Site{ID: "cellar", Name: "Cellar", Owner: founder, CreatedAt: noon, Version: 1}),
		tx.Materials.Insert(service.Material{ID: "cardboard", Name: "Cardboard", Kind: service.BeddingMaterial, CreatedAt: noon, Version: 1}),
		tx.Materials.Insert(service.Material{ID: "peelings", Name: "Peelings", Kind: service.FeedMaterial, CreatedAt: noon, Version: 1}),
		tx.Measures.Insert(service.Measure{ID: "bucket", Name: "Bucket", Volume: unit.Measure{Value: 10, Unit: "L"}, CreatedAt: noon, Version: 1}),
		tx.Cultures.Insert(service.Culture{ID: "red", Name: "Red", Species: fetida, CreatedAt: noon, Version: 1}),
		tx.Origins.Insert(service.Origin{ID: "fair", Name: "Fair", Kind: service.SupplierOrigin, Species: fetida, CreatedAt: noon, Version: 1}),
		tx.Batches.Insert(service.Batch{ID: "spring", LotNumber: "S-1", Product: service.Screened, CreatedAt: noon, Version: 1}),
	)
	for n := range 4 {
		err = errors.Join(err, tx.Bins.Insert(service.Bin{
			ID: bin(n), Name: string(bin(n)), Kind: service.Tote, Site: "cellar", Keeper: founder,
			Started: exactly(noon), CreatedAt: noon, Version: 1,
		}))
	}
	return err
}

func bin(n int) service.BinID { return service.BinID(fmt.Sprintf("bin-%d", n)) }

func exactly(at time.Time) service.Moment {
	return service.Moment{Time: at, Precision: service.ToTheInstant}
}

// recorded is the n-th record of a test.
func recorded(n int) service.Recorded {
	return service.Recorded{Seq: int64(1000 + n), At: noon.Add(time.Duration(n) * time.Minute), By: keeper}
}

// move returns the n-th movement: an hour after the one before, of a mass
// between two accounts.
func move(n int, from, to journal.Account, mass unit.Mass) service.Movement {
	return service.Movement{
		ID: service.MovementID(fmt.Sprintf("move-%03d", n)), Kind: journal.Split, Recorded: recorded(n),
		At:       exactly(noon.Add(time.Duration(n) * time.Hour)),
		Postings: journal.Move(from, to, journal.Worms(string(fetida)), mass),
	}
}

func outside() journal.Account { return journal.Account{Kind: journal.Outside} }

func inBin(n int) journal.Account { return journal.Bin(string(bin(n))) }

// update changes a club, and view reads one. What fails there ends the test.
func update(t *testing.T, s *repo.Store, club service.ClubID, fn func(service.Tx) error) {
	t.Helper()
	must(t, s.Update(t.Context(), club, fn))
}

func view(t *testing.T, s *repo.Store, club service.ClubID, fn func(service.Tx)) {
	t.Helper()
	must(t, s.View(t.Context(), club, func(tx service.Tx) error {
		fn(tx)
		return nil
	}))
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// ptr returns a pointer to v, for what may be missing.
func ptr[T any](v T) *T { return &v }
