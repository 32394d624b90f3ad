package repo_test

import (
	"bytes"
	"errors"
	"reflect"
	"sync"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func TestAnAccountIsFoundByIDAndByEmail(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		want := service.Account{ID: "p", Email: "p@example.org", Name: "Pat", PassphraseHash: "$argon2id$", CreatedAt: at}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return errors.Join(sh.Accounts.Insert(want), sh.Accounts.Insert(service.Account{ID: "q", Email: "q@example.org"}))
		}))
		must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
			byID, err := sh.Accounts.ByID("p")
			must(t, err)
			byEmail, err := sh.Accounts.ByEmail("p@example.org")
			must(t, err)
			if byID != want || byEmail != want {
				t.Errorf("%+v, %+v", byID, byEmail)
			}
			other, err := sh.Accounts.ByID("q")
			must(t, err)
			if !other.CreatedAt.IsZero() {
				t.Errorf("a time nobody gave: %v", other.CreatedAt)
			}
			if _, err := sh.Accounts.ByID("r"); !errors.Is(err, service.ErrAccountNotFound) {
				t.Errorf("an unknown id: %v", err)
			}
			if _, err := sh.Accounts.ByEmail("P@example.org"); !errors.Is(err, service.ErrAccountNotFound) {
				t.Errorf("another spelling: %v", err)
			}
			n, err := sh.Accounts.Count()
			if n != 2 {
				t.Errorf("%d accounts", n)
			}
			return err
		}))
	})
}

func TestAClubIsFoundByIDBeforeHandleAndByItsMembers(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		founder := steward()
		founder.Account = "p"
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return errors.Join(
				sh.Accounts.Insert(service.Account{ID: "p", Email: "p@example.org"}),
				sh.Clubs.Insert(club(south, "south"), founder),
				sh.Clubs.Insert(club(north, "north"), founder),
				sh.Clubs.Insert(club("third", string(north)), steward()), // a handle that is another's id
				sh.Clubs.Join(north, "p"),                                // again
			)
		}))
		must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
			for _, ref := range []string{"north", string(north)} {
				if c, err := sh.Clubs.ByRef(ref); err != nil || !reflect.DeepEqual(c, club(north, "north")) {
					t.Errorf("%s: %+v, %v", ref, c, err)
				}
			}
			if _, err := sh.Clubs.ByRef("east"); !errors.Is(err, service.ErrClubNotFound) {
				t.Errorf("an unknown handle: %v", err)
			}
			mine, err := sh.Clubs.Of("p")
			if want := []service.Club{club(north, "north"), club(south, "south")}; !reflect.DeepEqual(mine, want) {
				t.Errorf("the account's clubs: %+v", mine)
			}
			return err
		}))
		must(t, s.View(t.Context(), north, func(tx service.Tx) error {
			got, err := tx.Members.ByAccount("p")
			if got != founder {
				t.Errorf("the founder: %+v", got)
			}
			return err
		}))
	})
}

func TestAFoundingThatFailsLeavesNoClub(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		odd := steward()
		odd.Role = "king"
		if err := s.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Clubs.Insert(club(north, "north"), odd) }); err == nil {
			t.Error("a club with a king")
		}
		if err := s.View(t.Context(), north, func(service.Tx) error { return nil }); !errors.Is(err, service.ErrClubNotFound) {
			t.Errorf("err = %v", err)
		}
	})
}

func TestSigningKeysAreListedNewestFirst(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		older := service.SigningKey{ID: "a", PEM: "pem a", Created: at, Retired: at.Add(time.Hour)}
		newer := service.SigningKey{ID: "b", PEM: "pem b", Created: at.Add(time.Hour)}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error { return errors.Join(sh.Keys.Insert(older), sh.Keys.Insert(newer)) }))
		must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
			got, err := sh.Keys.All()
			if !reflect.DeepEqual(got, []service.SigningKey{newer, older}) {
				t.Errorf("%+v", got)
			}
			return err
		}))
	})
}

func TestASecretIsMadeOnceHoweverManyAsk(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		got := make([][]byte, 8)
		var all sync.WaitGroup
		for i := range got {
			all.Go(func() {
				if err := s.UpdateShared(t.Context(), func(sh service.Shared) (err error) {
					got[i], err = sh.Keys.Secret("cursor", func() ([]byte, error) { return []byte{0, byte(i), 255}, nil })
					return err
				}); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		for _, secret := range got {
			if len(secret) != 3 || !bytes.Equal(secret, got[0]) {
				t.Errorf("%v and %v", secret, got[0])
			}
		}
	})
}
