package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewAccount is what signing up takes.
type NewAccount struct {
	Email      string `json:"email" example:"ana@example.org" format:"email" validate:"required"`
	Name       string `json:"name" example:"Ana Lima" maxLength:"80" validate:"required"`
	Passphrase string `json:"passphrase" example:"rhubarb under seven lids" format:"password" minLength:"15" maxLength:"256" validate:"required"`
}

// Account is a person who can sign in.
type Account struct {
	ID        string    `json:"id" example:"01970000-0000-7000-8000-000000000001" format:"uuid" validate:"required"`
	Email     string    `json:"email" example:"ana@example.org" format:"email" validate:"required"`
	Name      string    `json:"name" example:"Ana Lima" validate:"required"`
	CreatedAt time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func accountOf(a service.Account) Account {
	return Account{ID: string(a.ID), Email: a.Email, Name: a.Name, CreatedAt: a.CreatedAt}
}

// signUp opens an account.
//
//	@Summary		Sign up
//	@Description	Opens an account: an e-mail address and a passphrase of 15 to 256 characters.
//	@ID				signUp
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			account					body		NewAccount	true	"the account"
//	@Success		201						{object}	Account
//	@Header			201						{string}	Location	"/v1/me"
//	@Failure		400,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/accounts [post]
func (s *Server) signUp(r *request) (answer, error) {
	in, err := decode[NewAccount](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(in.Email); err != nil {
		return answer{}, err
	}
	a, err := s.Accounts.SignUp(r.ctx, in.Email, in.Name, in.Passphrase)
	return answer{status: http.StatusCreated, location: "/v1/me", body: accountOf(a)}, err
}

// Me is the account that calls, with its memberships.
type Me struct {
	Account
	Memberships []Membership `json:"memberships" validate:"required"` // by the clubs' handles
}

// getMe shows the account that calls.
//
//	@Summary		Show my account and memberships
//	@Description	The account that the access token names, the clubs it is a member of, and who it is there.
//	@ID				getMe
//	@Tags			accounts
//	@Produce		json
//	@Security		bearer
//	@Success		200			{object}	Me
//	@Failure		401,500,503	{object}	Problem
//	@Router			/v1/me [get]
func (s *Server) getMe(r *request) (answer, error) {
	a, in, err := s.Accounts.Me(r.ctx, r.account)
	if err != nil {
		return answer{}, err
	}
	me := Me{Account: accountOf(a), Memberships: make([]Membership, 0, len(in))}
	for _, m := range in {
		me.Memberships = append(me.Memberships, Membership{clubOf(m.Club), memberOf(m.Member)})
	}
	return answer{status: http.StatusOK, body: me}, nil
}
