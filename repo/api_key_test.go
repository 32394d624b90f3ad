package repo_test

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func apiKeyNoun() noun[service.APIKey, service.APIKeyID] {
	return noun[service.APIKey, service.APIKeyID]{
		of: func(tx service.Tx) service.Records[service.APIKey, service.APIKeyID] { return tx.APIKeys },
		made: func(n int) service.APIKey {
			return service.APIKey{
				ID: service.APIKeyID(number("key", n)), Name: "thermometer", Member: keeper, Role: service.Reader,
				Scopes: []service.Scope{service.ScopeRead, service.ScopeRecord}, Hash: number("hash", n), MadeBy: founder,
				CreatedAt: noon, ExpiresAt: noon.Add(time.Hour), Version: 1,
			}
		},
		edited: func(k service.APIKey) service.APIKey {
			k.RevokedAt, k.LastUsedAt, k.Role = noon.Add(time.Minute), noon, ""
			return k
		},
		missing: service.ErrAPIKeyNotFound,
	}
}

func TestAnAPIKeyIsFoundByItsHashInItsClubAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		k := apiKeyNoun().made(1)
		update(t, s, harbour, func(tx service.Tx) error { return tx.APIKeys.Insert(k) })
		view(t, s, harbour, func(tx service.Tx) {
			if got, err := tx.APIKeys.ByHash(k.Hash); err != nil || !reflect.DeepEqual(got, k) {
				t.Errorf("ByHash = %+v, %v; want %+v", got, err, k)
			}
		})
		view(t, s, hillTop, func(tx service.Tx) {
			if _, err := tx.APIKeys.ByHash(k.Hash); !errors.Is(err, service.ErrAPIKeyNotFound) {
				t.Errorf("another club's ByHash: %v; want ErrAPIKeyNotFound", err)
			}
		})
	})
}

func TestTheUseOfAKeyIsNotedForwardsOnlyAndLeavesItsVersion(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		k := apiKeyNoun().made(1)
		for _, c := range []service.ClubID{harbour, hillTop} {
			update(t, s, c, func(tx service.Tx) error { return tx.APIKeys.Insert(k) })
		}
		use := func(at time.Time) {
			update(t, s, harbour, func(tx service.Tx) error {
				return tx.APIKeys.Used(map[service.APIKeyID]time.Time{k.ID: at, "nobody's": at})
			})
		}
		use(noon.Add(2 * time.Minute))
		use(noon.Add(time.Minute))
		for c, want := range map[service.ClubID]time.Time{harbour: noon.Add(2 * time.Minute), hillTop: {}} {
			view(t, s, c, func(tx service.Tx) {
				if got, err := tx.APIKeys.Get(k.ID); err != nil || !got.LastUsedAt.Equal(want) || got.Version != 1 {
					t.Errorf("%s: last used %v, version %d, %v; want %v", c, got.LastUsedAt, got.Version, err, want)
				}
			})
		}
	})
}

func TestAClubChangesItsOwnSettingsAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		changed := club(north, "another handle")
		changed.Name, changed.SeasonBy, changed.AllowedOrigins = "Moles", service.ByQuarters, nil
		changed.ID, changed.CreatedAt = south, time.Time{} // neither goes anywhere
		must(t, s.Update(t.Context(), north, func(tx service.Tx) error { return tx.Settings.Update(changed) }))
		want := changed
		want.ID, want.Handle, want.CreatedAt, want.Version = north, "north", at, 2
		for c, want := range map[service.ClubID]service.Club{north: want, south: club(south, "south")} {
			must(t, s.View(t.Context(), c, func(tx service.Tx) error {
				if !reflect.DeepEqual(tx.Club, want) {
					t.Errorf("%+v; want %+v", tx.Club, want)
				}
				return nil
			}))
		}
		err := s.Update(t.Context(), north, func(tx service.Tx) error { return tx.Settings.Update(changed) })
		if !errors.Is(err, service.ErrStale) {
			t.Errorf("an old version: %v", err)
		}
		if err := s.View(t.Context(), north, func(tx service.Tx) error { return tx.Settings.Update(want) }); !errors.Is(err, repo.ErrGuard) {
			t.Errorf("in a view: %v", err)
		}
	})
}
