package repo_test

import (
	"context"
	"errors"
	"reflect"
	"sync"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"

	"github.com/jackc/pgx/v5/pgconn"
)

func TestAClubSeesItsOwnRowsOfTwoWithTheSameIDs(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		if got := siteOf(t, s, north).Name; got != "cellar of north" {
			t.Errorf("north's site is %q", got)
		}
		must(t, s.Update(t.Context(), south, func(tx service.Tx) error {
			v, err := tx.Sites.Get(service.SiteID(id(2)))
			if err != nil {
				return err
			}
			v.Name = "shed"
			return tx.Sites.Update(v)
		}))
		if a, b := siteOf(t, s, north), siteOf(t, s, south); a.Name != "cellar of north" || a.Version != 1 || b.Name != "shed" || b.Version != 2 {
			t.Errorf("after south's update: north %+v, south %+v", a, b)
		}
	})
}

func TestADoorGivesItsClubAndAnUnknownClubHasNone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		must(t, s.View(t.Context(), south, func(tx service.Tx) error {
			if !reflect.DeepEqual(tx.Club, club(south, "south")) {
				t.Errorf("Club = %+v", tx.Club)
			}
			return nil
		}))
		for _, c := range []service.ClubID{"", "0190a000-0000-7000-8000-0000000000ff"} {
			never := func(service.Tx) error { t.Error("fn ran"); return nil }
			if err := s.View(t.Context(), c, never); !errors.Is(err, service.ErrClubNotFound) {
				t.Errorf("View(%q): %v", c, err)
			}
			if err := s.Update(t.Context(), c, never); !errors.Is(err, service.ErrClubNotFound) {
				t.Errorf("Update(%q): %v", c, err)
			}
		}
	})
}

func TestViewCannotWrite(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		if err := s.View(t.Context(), north, addSite(9, "attic")); !errors.Is(err, repo.ErrGuard) {
			t.Errorf("insert in View: %v", err)
		}
		if err := s.View(t.Context(), north, func(tx service.Tx) error { _, err := tx.Movements.NextSeq(); return err }); !errors.Is(err, repo.ErrGuard) {
			t.Errorf("next number in View: %v", err)
		}
	})
}

func TestTheConnectionsThatReadSQLiteCannotWrite(t *testing.T) {
	t.Parallel()
	s := repotest.SQLite(t)
	twoClubs(t, s)
	if _, err := s.ReadSQL().ExecContext(t.Context(), "DELETE FROM sites"); err == nil {
		t.Error("the read pool deleted rows")
	}
}

func TestViewReadsOneSnapshot(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		wrote := make(chan error)
		must(t, s.View(t.Context(), north, func(tx service.Tx) error {
			before, err := tx.Sites.List(service.Query{})
			if err != nil {
				return err
			}
			go func() { wrote <- s.Update(t.Context(), north, addSite(9, "attic")) }()
			if err := <-wrote; err != nil {
				return err
			}
			after, err := tx.Sites.List(service.Query{})
			if len(before) != len(after) {
				t.Errorf("%d sites before another's write, %d after", len(before), len(after))
			}
			return err
		}))
		if n := sites(t, s, north); n != 2 {
			t.Errorf("%d sites in the next View; want 2", n)
		}
	})
}

func TestAnErrorOrPanicRollsBackAndComesOutAsItIs(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		mine := errors.New("mine")
		err := s.Update(t.Context(), north, func(tx service.Tx) error { return errors.Join(addSite(9, "attic")(tx), mine) })
		if !errors.Is(err, mine) {
			t.Errorf("err = %v", err)
		}
		func() {
			defer func() { _ = recover() }()
			_ = s.Update(t.Context(), north, func(tx service.Tx) error { must(t, addSite(9, "attic")(tx)); panic("mine") })
		}()
		if n := sites(t, s, north); n != 1 {
			t.Errorf("%d sites; want 1", n)
		}
		must(t, s.Update(t.Context(), north, addSite(9, "attic")))
	})
}

func TestARehearsalLeavesNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		must(t, s.Rehearse(t.Context(), north, addSite(9, "attic")))
		if err := s.Rehearse(t.Context(), north, addSite(2, "attic")); !errors.Is(err, service.ErrIDTaken) {
			t.Errorf("a rehearsal that fails: %v", err)
		}
		if n := sites(t, s, north); n != 1 {
			t.Errorf("%d sites; want 1", n)
		}
	})
}

func TestADoorInsideADoorIsRefusedAtOnce(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		ctx := t.Context()
		nothing := func(service.Tx) error { return nil }
		inner := map[string]func() error{
			"View":         func() error { return s.View(ctx, south, nothing) },
			"Update":       func() error { return s.Update(ctx, north, nothing) },
			"Rehearse":     func() error { return s.Rehearse(ctx, north, nothing) },
			"UpdateShared": func() error { return s.UpdateShared(ctx, func(service.Shared) error { return nil }) },
			"Once":         func() error { _, err := s.Once(ctx, north, service.OnceKey{Key: "k"}, nil); return err },
		}
		for name, open := range inner {
			err := s.Update(ctx, north, func(service.Tx) error { return open() })
			if !errors.Is(err, repo.ErrNested) {
				t.Errorf("%s in Update: %v", name, err)
			}
			err = s.ViewShared(ctx, func(service.Shared) error { return open() })
			if !errors.Is(err, repo.ErrNested) {
				t.Errorf("%s in ViewShared: %v", name, err)
			}
			_, err = s.Once(ctx, north, service.OnceKey{Key: name}, func(context.Context) (service.Answer, error) {
				return service.Answer{}, open() // not with the ctx that Once gives
			})
			if !errors.Is(err, repo.ErrNested) {
				t.Errorf("%s in Once: %v", name, err)
			}
		}
	})
}

func TestADoorOpenedInAnotherGoroutineOfADoorFailsInTime(t *testing.T) {
	t.Parallel()
	s, err := repo.Open(t.Context(), repotest.SQLiteURL(t), repo.Options{Patience: 20 * time.Millisecond})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	twoClubs(t, s)
	err = s.Update(t.Context(), north, func(service.Tx) error {
		inner := make(chan error)
		go func() { inner <- s.Update(t.Context(), north, addSite(9, "attic")) }()
		return <-inner
	})
	if !errors.Is(err, service.ErrBusy) {
		t.Errorf("err = %v; want ErrBusy", err)
	}
}

func TestASerialisationFailureIsTriedSixTimesAndAnyOtherOnce(t *testing.T) {
	t.Parallel()
	s := repotest.SQLite(t)
	tries := 0
	fail := func(err error, times int) func() error {
		tries = 0
		return func() error {
			if tries++; tries > times {
				return nil
			}
			return err
		}
	}
	deadlock := &pgconn.PgError{Code: "40P01"}
	if err := s.Retry(t.Context(), fail(deadlock, 5)); err != nil || tries != 6 {
		t.Errorf("five failures: %v after %d tries", err, tries)
	}
	if err := s.Retry(t.Context(), fail(deadlock, 6)); !errors.Is(err, service.ErrBusy) || tries != 6 {
		t.Errorf("six failures: %v after %d tries", err, tries)
	}
	if err := s.Retry(t.Context(), fail(service.ErrStale, 6)); !errors.Is(err, service.ErrStale) || tries != 1 {
		t.Errorf("a refusal: %v after %d tries", err, tries)
	}
}

func TestTwoUpdatesThatLockEachOtherBothSucceed(t *testing.T) {
	t.Parallel()
	s := repotest.Postgres(t)
	accounts := []service.AccountID{service.AccountID(id(1)), service.AccountID(id(2))}
	must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
		return errors.Join(sh.Accounts.Insert(service.Account{ID: accounts[0], Email: "ana@harbour.example"}), sh.Accounts.Insert(service.Account{ID: accounts[1], Email: "bo@harbour.example"}))
	}))
	var held sync.WaitGroup
	held.Add(2)
	touch := func(first, second service.AccountID) error {
		met := false
		return s.UpdateShared(t.Context(), func(sh service.Shared) error {
			for i, n := range []service.AccountID{first, second} {
				a, err := sh.Accounts.Lock(n)
				if err != nil {
					return err
				}
				if err := sh.Accounts.SetPassphrase(n, a.PassphraseHash+"x"); err != nil {
					return err
				}
				if i == 0 && !met { // the first time, let both hold one row
					met = true
					held.Done()
					held.Wait()
				}
			}
			return nil
		})
	}
	other := make(chan error)
	go func() { other <- touch(accounts[1], accounts[0]) }()
	if err := errors.Join(touch(accounts[0], accounts[1]), <-other); err != nil {
		t.Error(err)
	}
	must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
		a, err := sh.Accounts.ByID(accounts[0])
		if a.PassphraseHash != "xx" {
			t.Errorf("changed to %q; want both changes", a.PassphraseHash)
		}
		return err
	}))
}

func TestOneTransactionAtATimeWritesToAClub(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s, err := repo.Open(t.Context(), url, repo.Options{Patience: 50 * time.Millisecond})
		must(t, err)
		t.Cleanup(func() { must(t, s.Close()) })
		twoClubs(t, s)
		other := func(c service.ClubID) error {
			done := make(chan error)
			go func() { done <- s.Update(t.Context(), c, func(service.Tx) error { return nil }) }()
			return <-done
		}
		must(t, s.Update(t.Context(), north, func(service.Tx) error {
			if err := other(north); !errors.Is(err, service.ErrBusy) {
				t.Errorf("a second writer: %v", err)
			}
			if err := other(south); s.IsPostgres() && err != nil {
				t.Errorf("another club's writer: %v", err)
			}
			return nil
		}))
		must(t, other(north))
	})
}

func TestNumbersRiseAcrossClubs(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		last := int64(0)
		for i, c := range []service.ClubID{north, south, south, north} {
			must(t, s.Update(t.Context(), c, func(tx service.Tx) error {
				n, err := tx.Movements.NextSeq()
				if n <= last {
					t.Errorf("number %d is %d after %d", i, n, last)
				}
				last = n
				return err
			}))
		}
	})
}

func TestACallerWhoGivesUpIsToldSo(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		ctx, cancel := context.WithCancel(t.Context())
		err := s.Update(ctx, north, func(tx service.Tx) error {
			cancel()
			return addSite(9, "attic")(tx)
		})
		if err == nil || errors.Is(err, service.ErrNotReady) || sites(t, s, north) != 1 {
			t.Errorf("given up inside: %v", err)
		}
		if err := s.View(ctx, north, func(service.Tx) error { return nil }); !errors.Is(err, context.Canceled) {
			t.Errorf("given up before: %v", err)
		}
	})
}

func TestReadyAsksForTheProgramsSchema(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		must(t, s.Ready(t.Context()))
		if s.IsPostgres() {
			return // the program can't write the version there
		}
		if _, err := s.SQL().ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)"); err != nil {
			t.Fatal(err)
		}
		if err := s.Ready(t.Context()); !errors.Is(err, service.ErrNotReady) {
			t.Errorf("with another schema: %v", err)
		}
	})
}

func TestAClosedDatabaseIsNotReady(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s, err := repo.Open(t.Context(), url, repo.Options{})
		must(t, err)
		must(t, s.Close())
		if err := s.Ready(t.Context()); !errors.Is(err, service.ErrNotReady) {
			t.Errorf("err = %v", err)
		}
	})
}
