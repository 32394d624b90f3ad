package repo_test

import (
	"errors"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func TestAMemberIsFoundByAccountInItsClubAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		cleo := memberNoun().made(1)
		update(t, s, harbour, func(tx service.Tx) error { return tx.Members.Insert(cleo) })
		view(t, s, harbour, func(tx service.Tx) {
			if got, err := tx.Members.ByAccount(cleo.Account); err != nil || got != cleo {
				t.Errorf("ByAccount = %+v, %v; want %+v", got, err, cleo)
			}
			if _, err := tx.Members.ByAccount(""); !errors.Is(err, service.ErrMemberNotFound) {
				t.Errorf("ByAccount of no account finds a member on paper: %v", err)
			}
		})
		view(t, s, hillTop, func(tx service.Tx) {
			if _, err := tx.Members.ByAccount(cleo.Account); !errors.Is(err, service.ErrMemberNotFound) {
				t.Errorf("another club's ByAccount: %v; want ErrMemberNotFound", err)
			}
		})
	})
}

func TestAnInvitationIsFoundByItsCodeInItsClubAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		in := invitationNoun().made(1)
		update(t, s, harbour, func(tx service.Tx) error { return tx.Invitations.Insert(in) })
		view(t, s, harbour, func(tx service.Tx) {
			if got, err := tx.Invitations.ByCode(in.CodeHash); err != nil || got != in {
				t.Errorf("ByCode = %+v, %v; want %+v", got, err, in)
			}
			if _, err := tx.Invitations.ByCode("guessed"); !errors.Is(err, service.ErrInvitationNotFound) {
				t.Errorf("ByCode of another code: %v; want ErrInvitationNotFound", err)
			}
		})
		view(t, s, hillTop, func(tx service.Tx) {
			if _, err := tx.Invitations.ByCode(in.CodeHash); !errors.Is(err, service.ErrInvitationNotFound) {
				t.Errorf("another club's ByCode: %v; want ErrInvitationNotFound", err)
			}
		})
	})
}

func TestANameThatIsTakenSaysWhichNounHasIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		for want, insert := range map[*service.Error]func(service.Tx) error{
			service.ErrMemberNameTaken: func(tx service.Tx) error { return tx.Members.Insert(with(memberNoun().made(1), "Name", "Bert")) },
			service.ErrMemberTaken: func(tx service.Tx) error {
				return tx.Members.Insert(with(memberNoun().made(1), "Account", "account-founder"))
			},
			service.ErrSiteNameTaken: func(tx service.Tx) error { return tx.Sites.Insert(with(siteNoun().made(1), "Name", "Cellar")) },
			service.ErrBinNameTaken:  func(tx service.Tx) error { return tx.Bins.Insert(with(binNoun().made(1), "Name", "bin-0")) },
			service.ErrMaterialNameTaken: func(tx service.Tx) error {
				return tx.Materials.Insert(with(materialNoun().made(1), "Name", "Peelings"))
			},
			service.ErrCultureNameTaken: func(tx service.Tx) error { return tx.Cultures.Insert(with(cultureNoun().made(1), "Name", "Red")) },
			service.ErrOriginNameTaken:  func(tx service.Tx) error { return tx.Origins.Insert(with(originNoun().made(1), "Name", "Fair")) },
			service.ErrLotNumberTaken:   func(tx service.Tx) error { return tx.Batches.Insert(with(batchNoun().made(1), "LotNumber", "S-1")) },
		} {
			if err := s.Update(t.Context(), harbour, insert); !errors.Is(err, want) {
				t.Errorf("%v; want %v", err, want)
			}
		}
	})
}
