package repo_test

import (
	"errors"
	"reflect"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// withAccounts adds two accounts, p and q.
func withAccounts(t *testing.T, s *repo.Store) {
	t.Helper()
	must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
		return errors.Join(sh.Accounts.Insert(service.Account{ID: "p", Email: "p@example.org"}), sh.Accounts.Insert(service.Account{ID: "q", Email: "q@example.org"}))
	}))
}

func TestSessionsAreKeptUntilTheyAreSwept(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		withAccounts(t, s)
		session := func(id service.SessionID, account service.AccountID, rotated, expires time.Duration) service.Session {
			return service.Session{ID: id, Account: account, Generation: 3, CreatedAt: at, RotatedAt: at.Add(rotated), ExpiresAt: at.Add(expires)}
		}
		early, late := session("early", "p", 0, time.Hour), session("late", "p", time.Minute, time.Hour)
		over, others := session("over", "p", time.Minute, time.Minute), session("others", "q", 0, time.Minute)
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return errors.Join(sh.Sessions.Insert(early), sh.Sessions.Insert(late), sh.Sessions.Insert(over), sh.Sessions.Insert(others))
		}))
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			now := at.Add(time.Minute)
			mine, err := sh.Sessions.Of("p", now)
			must(t, err)
			if !reflect.DeepEqual(mine, []service.Session{late, early}) {
				t.Errorf("%+v", mine)
			}
			early.EndedAt, early.Why = now, service.SignedOut
			must(t, sh.Sessions.Update(early))
			if got, err := sh.Sessions.Lock("early"); err != nil || got != early {
				t.Errorf("%+v, %v", got, err)
			}
			must(t, sh.Sessions.Sweep("p", now))
			_, gone := sh.Sessions.Get("over")
			other, err := sh.Sessions.Get("others")
			if !errors.Is(gone, service.ErrSessionEnded) || err != nil || other != others {
				t.Errorf("after the sweep: %v; %+v, %v", gone, other, err)
			}
			if err := sh.Sessions.Update(over); !errors.Is(err, service.ErrSessionEnded) {
				t.Errorf("a session that is gone: %v", err)
			}
			return nil
		}))
	})
}

func TestACodeIsTakenOnceHoweverManyTry(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		withAccounts(t, s)
		want := service.Code{Hash: "h", Purpose: service.ForRecovery, Account: "p", CreatedAt: at, ExpiresAt: at.Add(time.Hour)}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Codes.Insert(want) }))
		var taken atomic.Int64
		var all sync.WaitGroup
		for range 8 {
			all.Go(func() {
				var got service.Code
				err := s.UpdateShared(t.Context(), func(sh service.Shared) (err error) {
					got, err = sh.Codes.Take("h", service.ForRecovery, at)
					return err
				})
				switch {
				case err == nil && got == want:
					taken.Add(1)
				case !errors.Is(err, service.ErrCodeNotFound):
					t.Errorf("%+v, %v", got, err)
				}
			})
		}
		all.Wait()
		if taken.Load() != 1 {
			t.Errorf("taken %d times", taken.Load())
		}
	})
}

func TestACodeIsFoundForItsPurposeUntilItExpires(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		withAccounts(t, s)
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return errors.Join(
				sh.Codes.Insert(service.Code{Hash: "p", Purpose: service.ForRecovery, Account: "p", CreatedAt: at, ExpiresAt: at.Add(time.Hour)}),
				sh.Codes.Insert(service.Code{Hash: "f", Purpose: service.ForFounding, CreatedAt: at, ExpiresAt: at.Add(2 * time.Hour)}),
			)
		}))
		found := func(hash string, p service.Purpose, now time.Time) (ok bool) {
			must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
				_, err := sh.Codes.Find(hash, p, now)
				ok = err == nil
				if !ok && !errors.Is(err, service.ErrCodeNotFound) {
					return err
				}
				return nil
			}))
			return ok
		}
		if !found("p", service.ForRecovery, at) || found("p", service.ForFounding, at) || found("", service.ForRecovery, at) ||
			found("p", service.ForRecovery, at.Add(time.Hour)) {
			t.Error("a code opens what it isn't for, or not what it is")
		}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Codes.Forget("p") }))
		if found("p", service.ForRecovery, at) || !found("f", service.ForFounding, at) {
			t.Error("forgot the wrong codes")
		}
		late := service.Code{Hash: "g", Purpose: service.ForFounding, CreatedAt: at.Add(2 * time.Hour), ExpiresAt: at.Add(3 * time.Hour)}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Codes.Insert(late) }))
		if found("f", service.ForFounding, at) {
			t.Error("an expired code is still kept")
		}
	})
}

func TestRetiringLeavesOneKeyInUse(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		gone := service.SigningKey{ID: "a", PEM: "pem a", Created: at, Retired: at}
		old, young := service.SigningKey{ID: "b", PEM: "pem b", Created: at}, service.SigningKey{ID: "c", PEM: "pem c", Created: at.Add(time.Hour)}
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			return errors.Join(sh.Keys.Insert(gone), sh.Keys.Insert(old), sh.Keys.Insert(young), sh.Keys.Retire("c", at.Add(time.Hour)))
		}))
		old.Retired = at.Add(time.Hour)
		must(t, s.ViewShared(t.Context(), func(sh service.Shared) error {
			got, err := sh.Keys.All()
			if !reflect.DeepEqual(got, []service.SigningKey{young, gone, old}) {
				t.Errorf("%+v", got)
			}
			return err
		}))
	})
}

func TestAPassphraseIsReplaced(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		withAccounts(t, s)
		must(t, s.UpdateShared(t.Context(), func(sh service.Shared) error {
			must(t, sh.Accounts.SetPassphrase("p", "new"))
			p, err := sh.Accounts.Lock("p")
			must(t, err)
			q, err := sh.Accounts.Lock("q")
			if p.PassphraseHash != "new" || q.PassphraseHash != "" {
				t.Errorf("%+v, %+v", p, q)
			}
			if err := sh.Accounts.SetPassphrase("r", "new"); !errors.Is(err, service.ErrAccountNotFound) {
				t.Errorf("nobody's: %v", err)
			}
			return err
		}))
	})
}
