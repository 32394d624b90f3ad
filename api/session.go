package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewSession is what signing in takes.
type NewSession struct {
	Email      string `json:"email" example:"ana@example.org" format:"email" validate:"required"`
	Passphrase string `json:"passphrase" example:"rhubarb under seven lids" format:"password" validate:"required"`
}

// Tokens are an access token, to be sent as Authorization: Bearer, and the
// refresh token that gets the next ones.
type Tokens struct {
	AccessToken      string    `json:"access_token" example:"eyJhbGciOiJFZERTQSIsInR5cCI6ImF0K2p3dCJ9.e30.c2ln" validate:"required"`
	TokenType        string    `json:"token_type" example:"Bearer" enums:"Bearer" validate:"required"`
	ExpiresAt        time.Time `json:"expires_at" example:"2026-05-01T08:15:00Z" format:"date-time" validate:"required"` // of the access token
	RefreshToken     string    `json:"refresh_token" example:"lbr_05SG0000000E00200000000000000005" validate:"required"` // good for one use
	RefreshExpiresAt time.Time `json:"refresh_expires_at" example:"2026-05-31T08:00:00Z" format:"date-time" validate:"required"`
}

func tokensOf(t service.Tokens) Tokens {
	return Tokens{
		AccessToken: t.Access, TokenType: "Bearer", ExpiresAt: t.Expires.UTC(),
		RefreshToken: t.Refresh, RefreshExpiresAt: t.Session.ExpiresAt,
	}
}

// signIn trades e-mail address and passphrase for tokens.
//
//	@Summary		Sign in
//	@Description	Begins a session: an access token for 15 minutes and a refresh token. A session lasts 30 days from its last refresh, 180 days at most. An unknown address gets the same answer as a wrong passphrase.
//	@ID				signIn
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			session						body		NewSession	true	"who signs in"
//	@Success		201							{object}	Tokens
//	@Failure		400,401,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sessions [post]
func (s *Server) signIn(r *request) (answer, error) {
	in, err := decode[NewSession](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(in.Email); err != nil {
		return answer{}, err
	}
	given, err := s.Sessions.SignIn(r.ctx, in.Email, in.Passphrase)
	return answer{status: http.StatusCreated, body: tokensOf(given)}, err
}

// RefreshToken is what refreshing and signing out take.
type RefreshToken struct {
	RefreshToken string `json:"refresh_token" example:"lbr_05SG0000000E00200000000000000005" validate:"required"`
}

// refreshSession trades a refresh token for new tokens.
//
//	@Summary		Refresh a session
//	@Description	Gives a new access token and the next refresh token. Where the answer got lost, the same call gives the same refresh token again for 10 seconds; used later, an old token ends the session, because two have it.
//	@ID				refreshSession
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			token							body		RefreshToken	true	"the newest refresh token of the session"
//	@Success		200								{object}	Tokens
//	@Failure		400,401,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sessions/refresh [post]
func (s *Server) refreshSession(r *request) (answer, error) {
	in, err := decode[RefreshToken](r)
	if err != nil {
		return answer{}, err
	}
	given, err := s.Sessions.Refresh(r.ctx, in.RefreshToken)
	return answer{status: http.StatusOK, body: tokensOf(given)}, err
}

// Session is a sign-in that lasts.
type Session struct {
	ID         string    `json:"id" example:"01970000-0000-7000-8000-000000000004" format:"uuid" validate:"required"`
	CreatedAt  time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	LastUsedAt time.Time `json:"last_used_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"` // when it was last refreshed
	ExpiresAt  time.Time `json:"expires_at" example:"2026-05-31T08:00:00Z" format:"date-time" validate:"required"`   // unless it is refreshed
	Current    bool      `json:"current" example:"true" validate:"required"`                                         // the one that calls
}

func sessionOf(v service.Session, who service.Bearer) Session {
	return Session{ID: string(v.ID), CreatedAt: v.CreatedAt, LastUsedAt: v.RotatedAt, ExpiresAt: v.ExpiresAt, Current: v.ID == who.Session}
}

// listSessions lists the caller's sessions.
//
//	@Summary		List my sessions
//	@Description	Where the account is signed in, the session used last first; at most 100, on one page.
//	@ID				listSessions
//	@Tags			accounts
//	@Produce		json
//	@Security		bearer
//	@Success		200				{object}	Page[Session]
//	@Failure		401,429,500,503	{object}	Problem
//	@Router			/v1/sessions [get]
func (s *Server) listSessions(r *request) (answer, error) {
	mine, err := s.Sessions.Mine(r.ctx, r.account)
	if err != nil {
		return answer{}, err
	}
	p := Page[Session]{Items: make([]Session, 0, len(mine))}
	for _, v := range mine {
		p.Items = append(p.Items, sessionOf(v, r.bearer()))
	}
	return answer{status: http.StatusOK, body: p}, nil
}

// EndedSessions says how many sessions a call ended.
type EndedSessions struct {
	Ended int `json:"ended" example:"1" format:"int32" minimum:"0" validate:"required"`
}

// endSession signs out.
//
//	@Summary		Sign out
//	@Description	Ends the session that the refresh token is of, and at once the access tokens that came from it. A token of no session ends none.
//	@ID				endSession
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Param			token						body		RefreshToken	true	"a refresh token of the session"
//	@Success		200							{object}	EndedSessions
//	@Failure		400,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/sessions/end [post]
func (s *Server) endSession(r *request) (answer, error) {
	in, err := decode[RefreshToken](r)
	if err != nil {
		return answer{}, err
	}
	n, err := s.Sessions.End(r.ctx, in.RefreshToken)
	return answer{status: http.StatusOK, body: EndedSessions{n}}, err
}

// endSessions signs out everywhere.
//
//	@Summary		Sign out everywhere
//	@Description	Ends every session of the account, the one that calls too, and at once the access tokens that came from them.
//	@ID				endSessions
//	@Tags			accounts
//	@Produce		json
//	@Security		bearer
//	@Success		200				{object}	EndedSessions
//	@Failure		401,429,500,503	{object}	Problem
//	@Router			/v1/sessions/end-all [post]
func (s *Server) endSessions(r *request) (answer, error) {
	n, err := s.Sessions.EndAll(r.ctx, r.account)
	return answer{status: http.StatusOK, body: EndedSessions{n}}, err
}

// bearer is whom the access token names.
func (r *request) bearer() service.Bearer {
	return service.Bearer{Account: r.account, Session: r.session}
}
