package service_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/reference"
	"lumbricary.example/service/unit"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

const fetida = "eisenia-fetida"

// house is a service on a fresh database with one club, its steward Ana, and
// two keepers on paper.
type house struct {
	*testing.T
	*service.Service
	store  *repo.Store
	ana    service.Actor
	club   service.Club
	now    time.Time
	ids    *atomic.Int64
	cellar service.Site
	bo, cy service.Member
}

func newHouse(t *testing.T, store *repo.Store) *house {
	t.Helper()
	return newHouseOf(t, store, 0)
}

// newHouseOf is newHouse for one of several clubs on a database.
func newHouseOf(t *testing.T, store *repo.Store, n int) *house {
	t.Helper()
	h := emptyHouseOf(t, store, n)
	h.cellar = h.add(service.Site{Name: "cellar"})
	h.bo = must(h.Members.Add(t.Context(), h.ana, service.Member{Name: "Bo", Role: service.Keeper}))(t)
	h.cy = must(h.Members.Add(t.Context(), h.ana, service.Member{Name: "Cy", Role: service.Keeper}))(t)
	return h
}

// emptyHouse is a house whose club has its steward and nothing else.
func emptyHouse(t *testing.T, store *repo.Store) *house {
	t.Helper()
	return emptyHouseOf(t, store, 0)
}

func emptyHouseOf(t *testing.T, store *repo.Store, n int) *house {
	t.Helper()
	tables, err := reference.Load()
	if err != nil {
		t.Fatal(err)
	}
	h := &house{T: t, store: store, now: time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC), ids: new(atomic.Int64)}
	h.Service = service.New(&service.Desk{
		Store: store, Reference: tables,
		Now: func() time.Time { return h.now },
		NewID: func() string {
			n := h.ids.Add(1)
			return fmt.Sprintf("00000000-0000-7000-8000-%012d", n)
		},
	}, nil)
	handle := "harbour"
	if n > 0 {
		h.ids.Store(int64(n) * 1_000_000)
		handle = fmt.Sprint("harbour-", n)
	}
	h.ana = h.found(handle, "Ana")
	h.club = must(h.Clubs.Get(t.Context(), h.ana))(t)
	return h
}

// found opens an account and starts a club of it.
func (h *house) found(handle, name string) service.Actor {
	h.Helper()
	a := service.Account{ID: service.AccountID(h.NewID()), Email: name + "@" + handle + ".example", Name: name, PassphraseHash: "-", CreatedAt: h.now}
	if err := h.store.UpdateShared(h.Context(), func(s service.Shared) error { return s.Accounts.Insert(a) }); err != nil {
		h.Fatal(err)
	}
	c, _, err := h.Clubs.Found(h.Context(), a, service.Club{Handle: handle, Name: handle, TimeZone: "Europe/Lisbon", Currency: "EUR"})
	if err != nil {
		h.Fatal(err)
	}
	return service.Actor{Account: a.ID, Club: string(c.ID)}
}

func (h *house) add(s service.Site) service.Site {
	h.Helper()
	return must(h.Sites.Add(h.Context(), h.ana, s))(h.T)
}

// bin adds a bin that has stood for a year.
func (h *house) bin(name string, keeper service.MemberID) service.BinID {
	h.Helper()
	return must(h.Bins.Add(h.Context(), h.ana, service.Bin{
		Name: name, Kind: service.Tote, Site: h.cellar.ID, Keeper: keeper, Surface: 0.5, Started: service.Moment{Text: "2025-05-01"},
	}))(h.T).ID
}

func (h *house) origin(name string) service.OriginID {
	h.Helper()
	return must(h.Origins.Add(h.Context(), h.ana, service.Origin{Name: name, Kind: service.SupplierOrigin, Species: fetida}))(h.T).ID
}

func (h *house) move(m service.Movement) service.Movement {
	h.Helper()
	return must(h.Movements.Add(h.Context(), h.ana, m))(h.T)
}

func (h *house) stock(bin service.BinID, origin service.OriginID, kg float64, at string) service.Movement {
	h.Helper()
	return h.move(service.Movement{
		Kind: journal.Stocking, At: service.Moment{Text: at}, ToBin: bin,
		Lines: []service.Line{{Origin: origin, Species: fetida, Typed: unit.Measure{Value: kg, Unit: "kg"}}},
	})
}

func split(from, to service.BinID, value float64, u, at string) service.Movement {
	return service.Movement{
		Kind: journal.Split, At: service.Moment{Text: at}, ToBin: to,
		Lines: []service.Line{{FromBin: from, Typed: unit.Measure{Value: value, Unit: u}}},
	}
}

func loss(from service.BinID, value float64, u, at string) service.Movement {
	return service.Movement{
		Kind: journal.Loss, At: service.Moment{Text: at}, Cause: service.SeenDead,
		Lines: []service.Line{{FromBin: from, Typed: unit.Measure{Value: value, Unit: u}}},
	}
}

// book returns what the book holds of red worms in the bin.
func (h *house) book(bin service.BinID) unit.Mass {
	h.Helper()
	for _, s := range must(h.Reports.Stock(h.Context(), h.ana, bin))(h.T).Stands {
		if s.Species == fetida {
			return s.Book
		}
	}
	return 0
}

// lot returns the lot that stands in the bin.
func (h *house) lot(bin service.BinID) service.LotID {
	h.Helper()
	stock := must(h.Reports.Stock(h.Context(), h.ana, bin))(h.T).Stands
	if len(stock) != 1 {
		h.Fatalf("%d species stand in the bin; want one", len(stock))
	}
	return stock[0].Lot
}

func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			if e, ok := errors.AsType[*service.Error](err); ok {
				t.Fatalf("%v %+v", err, e.Fields)
			}
			t.Fatal(err)
		}
		return v
	}
}

// wantError fails unless err is that of the catalogue, itself or among the
// faults of the request.
func wantError(t *testing.T, err error, want *service.Error) {
	t.Helper()
	if errors.Is(err, want) {
		return
	}
	if e, ok := errors.AsType[*service.Error](err); ok {
		for _, f := range e.Fields {
			if f.Code == want.Code {
				return
			}
		}
		t.Fatalf("error %v %+v; want %s", err, e.Fields, want.Code)
	}
	t.Fatalf("error %v; want %s", err, want.Code)
}

// consistent checks the journal's invariants on the whole club: every entry and
// the club sum to zero, no bin is ever short, and the lots, censuses and monthly
// totals are what deriving them again gives.
func (h *house) consistent(ctx context.Context) error {
	err := h.store.View(ctx, h.club.ID, func(tx service.Tx) error {
		entries, err := tx.Movements.Entries()
		if err != nil {
			return err
		}
		return errors.Join(balanced(entries), lotsMatch(tx, entries), censusesHold(tx, entries))
	})
	return errors.Join(err, h.totalsHold(ctx))
}

// sequences is how many random sequences to try on each database; the build
// server raises it.
func sequences() int {
	n, err := strconv.Atoi(os.Getenv("JOURNAL_SEQUENCES"))
	if err != nil {
		return 8
	}
	return n
}
