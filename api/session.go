package api

import (
	"net/http"
	"time"
)

// NewSession is what signing in takes.
type NewSession struct {
	Email      string `json:"email" example:"ana@example.org" format:"email" validate:"required"`
	Passphrase string `json:"passphrase" example:"rhubarb under seven lids" format:"password" validate:"required"`
}

// Session is an access token, to be sent as Authorization: Bearer.
type Session struct {
	Token     string    `json:"token" example:"eyJhbGciOiJFZERTQSIsInR5cCI6ImF0K2p3dCJ9.e30.c2ln" validate:"required"`
	TokenType string    `json:"token_type" example:"Bearer" enums:"Bearer" validate:"required"`
	ExpiresAt time.Time `json:"expires_at" example:"2026-05-01T08:15:00Z" format:"date-time" validate:"required"`
}

// signIn trades e-mail address and passphrase for an access token.
//
//	@Summary		Sign in
//	@Description	Gives an access token for 15 minutes. An unknown address gets the same answer as a wrong passphrase.
//	@ID				signIn
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			session						body		NewSession	true	"who signs in"
//	@Success		201							{object}	Session
//	@Failure		400,401,413,415,422,500,503	{object}	Problem
//	@Router			/v1/sessions [post]
func (s *Server) signIn(r *request) (answer, error) {
	in, err := decode[NewSession](r)
	if err != nil {
		return answer{}, err
	}
	given, err := s.Accounts.SignIn(r.ctx, in.Email, in.Passphrase)
	return answer{status: http.StatusCreated, body: Session{given.Token, "Bearer", given.Expires.UTC()}}, err
}
