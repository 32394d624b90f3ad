package repo_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

var key = service.OnceKey{Account: "a", Route: "POST /sites", Key: "k", BodyHash: "h"}

func answer(n int) service.Answer {
	return service.Answer{Status: 201, Location: fmt.Sprint("/", n), ETag: `"1"`, Type: "application/json", Body: []byte(`{"n":"é"}`)}
}

func TestTwentyCallsAtOnceWithOneKeyHappenOnce(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		stores := make([]*repo.Store, 2) // two programs on PostgreSQL, one on SQLite
		for i := range stores {
			s, err := repo.Open(t.Context(), url, repo.Options{Connections: 10})
			must(t, err)
			t.Cleanup(func() { must(t, s.Close()) })
			stores[i] = s
			if !s.IsPostgres() {
				stores[1] = s
				break
			}
		}
		twoClubs(t, stores[0])
		var ran atomic.Int64
		var all sync.WaitGroup
		for i := range 20 {
			all.Go(func() {
				s := stores[i%2]
				got, err := s.Once(t.Context(), north, key, func(ctx context.Context) (service.Answer, error) {
					n := int(ran.Add(1))
					return answer(n), s.Update(ctx, north, addSite(100+n, fmt.Sprint("site ", n)))
				})
				if err != nil || !reflect.DeepEqual(got, answer(1)) {
					t.Errorf("call %d: %+v, %v", i, got, err)
				}
			})
		}
		all.Wait()
		if n := sites(t, stores[0], north); n != 2 || ran.Load() != 1 {
			t.Errorf("fn ran %d times, %d sites", ran.Load(), n)
		}
	})
}

func TestAKeyIsOneAccountsOnOneRouteInOneClub(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		other, route := key, key
		other.Account, route.Route = "b", "POST /bins"
		ran := 0
		for _, c := range []service.ClubID{north, south} {
			for _, k := range []service.OnceKey{key, other, route} {
				_, err := s.Once(t.Context(), c, k, func(context.Context) (service.Answer, error) { ran++; return answer(ran), nil })
				must(t, err)
			}
		}
		if ran != 6 {
			t.Errorf("fn ran %d times; want 6", ran)
		}
	})
}

func TestAKeyWithAnotherBodyIsRefused(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		first := func(context.Context) (service.Answer, error) { return answer(1), nil }
		_, err := s.Once(t.Context(), north, key, first)
		must(t, err)
		reused := key
		reused.BodyHash = "other"
		if _, err := s.Once(t.Context(), north, reused, first); !errors.Is(err, service.ErrKeyReused) {
			t.Errorf("err = %v", err)
		}
	})
}

func TestAFailureStoresNothingAndTheKeyMayBeUsedAgain(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		mine := errors.New("mine")
		_, err := s.Once(t.Context(), north, key, func(ctx context.Context) (service.Answer, error) {
			must(t, s.Update(ctx, north, addSite(9, "attic")))
			return answer(1), mine
		})
		if !errors.Is(err, mine) || sites(t, s, north) != 1 {
			t.Errorf("err = %v, %d sites", err, sites(t, s, north))
		}
		got, err := s.Once(t.Context(), north, key, func(context.Context) (service.Answer, error) { return answer(2), nil })
		if err != nil || got.Location != "/2" {
			t.Errorf("the second call: %+v, %v", got, err)
		}
	})
}

func TestDoorsOpenedWithOncesContextJoinItsTransaction(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		_, err := s.Once(t.Context(), north, key, func(ctx context.Context) (service.Answer, error) {
			must(t, s.Update(ctx, north, addSite(9, "attic")))
			must(t, s.Rehearse(ctx, north, addSite(10, "barn")))
			if err := s.Update(ctx, north, func(tx service.Tx) error {
				return errors.Join(addSite(11, "garage")(tx), addSite(9, "taken")(tx))
			}); !errors.Is(err, service.ErrIDTaken) {
				t.Errorf("a failing Update: %v", err)
			}
			must(t, s.View(ctx, north, func(tx service.Tx) error {
				list, err := tx.Sites.List(service.Query{})
				if len(list) != 2 {
					t.Errorf("%d sites inside; want the first and the attic", len(list))
				}
				return err
			}))
			if err := s.Update(ctx, south, addSite(9, "attic")); err == nil {
				t.Error("another club's door opened")
			}
			if err := s.Update(ctx, north, func(service.Tx) error { return s.Update(ctx, north, addSite(12, "loft")) }); !errors.Is(err, repo.ErrNested) {
				t.Errorf("a door in a joined door: %v", err)
			}
			must(t, s.UpdateShared(ctx, func(sh service.Shared) error {
				return sh.Clubs.Insert(club("0190a000-0000-7000-8000-00000000000c", "east"), steward())
			}))
			return answer(1), s.Update(ctx, north, addSite(13, "porch"))
		})
		must(t, err)
		if n := sites(t, s, north); n != 3 {
			t.Errorf("%d sites after; want 3", n)
		}
		if n := sites(t, s, south); n != 1 {
			t.Errorf("%d sites of the other club; want 1", n)
		}
	})
}

func TestAnAnswerIsForgottenAfterSevenDays(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		now := at
		s, err := repo.Open(t.Context(), url, repo.Options{Now: func() time.Time { return now }})
		must(t, err)
		t.Cleanup(func() { must(t, s.Close()) })
		twoClubs(t, s)
		ran := 0
		call := func(name string) {
			k := key
			k.Key = name
			_, err := s.Once(t.Context(), north, k, func(context.Context) (service.Answer, error) { ran++; return answer(ran), nil })
			must(t, err)
		}
		call("old")
		now = at.Add(6 * 24 * time.Hour)
		call("young")
		now = at.Add(7*24*time.Hour + time.Second)
		call("new")
		call("old")
		call("young")
		if ran != 4 {
			t.Errorf("fn ran %d times; want 4: three first calls, and the old one again", ran)
		}
	})
}

func TestASecondCallGivesUpWhileTheFirstRuns(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		first, err := repo.Open(t.Context(), url, repo.Options{})
		must(t, err)
		t.Cleanup(func() { must(t, first.Close()) })
		second := first
		if first.IsPostgres() { // another program: they meet in the database
			second, err = repo.Open(t.Context(), url, repo.Options{})
			must(t, err)
			t.Cleanup(func() { must(t, second.Close()) })
		}
		twoClubs(t, first)
		_, err = first.Once(t.Context(), north, key, func(context.Context) (service.Answer, error) {
			inner := make(chan error)
			go func() {
				_, err := second.Once(t.Context(), north, key, func(context.Context) (service.Answer, error) { return answer(2), nil })
				inner <- err
			}()
			if err := <-inner; !errors.Is(err, service.ErrKeyBusy) {
				t.Errorf("the second call: %v", err)
			}
			return answer(1), nil
		})
		must(t, err)
	})
}
