package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewAPIKey is what making an API key takes.
type NewAPIKey struct {
	Name          string   `json:"name" example:"Cellar thermometer" maxLength:"80" validate:"required"`
	Owner         string   `json:"owner,omitempty" example:"member" enums:"member,club" default:"member"`                        // member: it acts as the caller; club: as a member on paper of its name, and only stewards make one
	Role          string   `json:"role,omitempty" example:"keeper" enums:"keeper,reader"`                                        // of a club's key
	Scopes        []string `json:"scopes" example:"read,record" enums:"figures,read,record,transfer" validate:"required"`        // what it is for
	ExpiresInDays int      `json:"expires_in_days,omitempty" example:"90" minimum:"1" maximum:"366" default:"90" format:"int32"` // how long it is good for
}

// newKey turns it into what the use-case takes. Errors: ErrInvalid for an owner
// that is none.
func (n NewAPIKey) newKey() (service.NewAPIKey, error) {
	var faults service.Faults
	switch n.Owner {
	case "", "member", "club":
	default:
		faults.Add("/owner", "unknown", "use one of member, club")
	}
	out := service.NewAPIKey{Name: n.Name, OfClub: n.Owner == "club", Role: service.Role(n.Role), Days: n.ExpiresInDays}
	for _, scope := range n.Scopes {
		out.Scopes = append(out.Scopes, service.Scope(scope))
	}
	return out, faults.Err()
}

// APIKey lets a program call for one member of one club, as far as its scopes
// and the member's role both allow.
type APIKey struct {
	ID         string     `json:"id" example:"01970000-0000-7000-8000-000000000021" format:"uuid" validate:"required"`
	Name       string     `json:"name" example:"Cellar thermometer" validate:"required"`
	Owner      string     `json:"owner" example:"member" enums:"member,club" validate:"required"`
	Member     string     `json:"member" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"` // as whom it acts
	Role       *string    `json:"role" example:"keeper" enums:"keeper,reader" extensions:"x-nullable" validate:"required"` // of a club's key; null: the member's, as it is at each call
	Scopes     []string   `json:"scopes" example:"read,record" enums:"figures,read,record,transfer" validate:"required"`
	MadeBy     string     `json:"made_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	CreatedAt  time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	ExpiresAt  time.Time  `json:"expires_at" example:"2026-07-30T08:00:00Z" format:"date-time" validate:"required"`
	LastUsedAt *time.Time `json:"last_used_at" example:"2026-05-02T06:15:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // to the minute; null: never
	RevokedAt  *time.Time `json:"revoked_at" example:"2026-06-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
	Key        *string    `json:"key" example:"lbk_0123456789ABCDEFGHJKMNPQRSTVWXYZ0123456789ABCDEFGHJKMNPQRS" extensions:"x-nullable" validate:"required"` // shown once, when it is made
}

func apiKeyOf(k service.APIKey, key string) APIKey {
	out := APIKey{
		ID: string(k.ID), Name: k.Name, Owner: "member", Member: string(k.Member), Role: orNull(string(k.Role)),
		Scopes: []string{}, MadeBy: string(k.MadeBy), CreatedAt: k.CreatedAt, ExpiresAt: k.ExpiresAt,
		LastUsedAt: timeOrNull(k.LastUsedAt), RevokedAt: timeOrNull(k.RevokedAt), Key: orNull(key),
	}
	if k.Role != "" {
		out.Owner = "club"
	}
	for _, scope := range k.Scopes {
		out.Scopes = append(out.Scopes, string(scope))
	}
	return out
}

func (s *Server) apiKeys(*request) noun[service.APIKey, service.APIKeyID, NewAPIKey, APIKey] {
	return noun[service.APIKey, service.APIKeyID, NewAPIKey, APIKey]{
		name: "api_key", shelf: s.APIKeys.Shelf, voids: true,
		out:  func(k service.APIKey) APIKey { return apiKeyOf(k, "") },
		head: func(k service.APIKey) head { return head{id: string(k.ID), version: k.Version} },
	}
}

// addAPIKey makes an API key.
//
//	@Summary		Make an API key
//	@Description	Gives a key to be sent as Authorization: Bearer. It works under this club's address only, and does what both its scopes and the role of its member allow: figures, and nothing personal; read the book; record; transfer, which hand-overs and prices need besides. No key invites, changes roles, makes keys, imports, exports, or sees addresses. It is shown once: a replay by Idempotency-Key shows null in its place. A member's key ends with the membership.
//	@ID				addAPIKey
//	@Tags			api-keys
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string		true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key							header		string		false	"makes the call happen once; kept for 7 days"
//	@Param			api_key									body		NewAPIKey	true	"the key"
//	@Success		201										{object}	APIKey
//	@Header			201										{string}	Location	"the key, but for its secret"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/api-keys [post]
func (s *Server) addAPIKey(r *request) (answer, error) {
	in, err := decode[NewAPIKey](r)
	if err != nil {
		return answer{}, err
	}
	wanted, err := in.newKey()
	if err != nil {
		return answer{}, err
	}
	made, key, err := s.APIKeys.Make(r.ctx, r.actor(), wanted)
	return answer{
		status: http.StatusCreated, location: r.path() + "/" + string(made.ID), body: apiKeyOf(made, key), kept: apiKeyOf(made, ""),
	}, err
}

// listAPIKeys shows a page of the keys that the caller may see.
//
//	@Summary		List API keys
//	@Description	Members see their own, stewards all; in the order of their ids, past ones too.
//	@ID				listAPIKeys
//	@Tags			api-keys
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[APIKey]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/api-keys [get]
func (s *Server) listAPIKeys(r *request) (answer, error) { return s.apiKeys(r).list(r) }

// getAPIKey shows one key, but for its secret.
//
//	@Summary		Show an API key
//	@Description	One that isn't there, or isn't the caller's to see, answers 404.
//	@ID				getAPIKey
//	@Tags			api-keys
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			api_key			path		string	true	"id of the key"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	APIKey
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/api-keys/{api_key} [get]
func (s *Server) getAPIKey(r *request) (answer, error) { return s.apiKeys(r).get(r) }

// revokeAPIKey ends a key.
//
//	@Summary		Revoke an API key
//	@Description	The key is good for nothing from then on; it stays on the list. If-Match: * revokes it whatever has changed, as when it was used meanwhile.
//	@ID				revokeAPIKey
//	@Tags			api-keys
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			api_key		path		string	true	"id of the key"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read"
//	@Success		200			{object}	APIKey
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		401,403,404,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/api-keys/{api_key} [delete]
func (s *Server) revokeAPIKey(r *request) (answer, error) { return s.apiKeys(r).remove(r) }
