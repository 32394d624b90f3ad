package repotest_test

import (
	"os"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

func TestEachStoreIsFreshAndReady(t *testing.T) {
	t.Parallel()
	for range 2 {
		repotest.Each(t, func(t *testing.T, s *repo.Store) {
			err := s.UpdateShared(t.Context(), func(sh service.Shared) error {
				n, err := sh.Accounts.Count()
				if n != 0 {
					t.Errorf("%d accounts in a fresh database", n)
				}
				if err != nil {
					return err
				}
				return sh.Accounts.Insert(service.Account{ID: "a", Email: "a@example.org"})
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
}
