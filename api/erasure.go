package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewErasure is what erasing a member takes.
type NewErasure struct {
	To      string `json:"to" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"` // the steward who takes over bins and sites
	Confirm string `json:"confirm" example:"Ben Okoro" maxLength:"80" validate:"required"`                      // the member's name
}

// ErasedMember is a member without personal values, and where free texts name
// the person.
type ErasedMember struct {
	Member   Member    `json:"member" validate:"required"`
	Mentions []Mention `json:"mentions" validate:"required"`
}

// Mention is a record whose free texts name a person.
type Mention struct {
	Noun    string   `json:"noun" example:"feeding" validate:"required"`
	ID      string   `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Members []string `json:"members" example:"note" validate:"required"` // that name the person
	Fixed   bool     `json:"fixed" example:"false" validate:"required"`  // the text is append-only and stays; else it can be patched
}

func erasedMemberOf(e service.Erased) ErasedMember {
	return ErasedMember{memberOf(e.Member), rowsOf(e.Mentions, func(m service.Mention) Mention {
		return Mention{m.Noun, m.Record, m.Members, m.Fixed}
	})}
}

// eraseMember erases a member.
//
//	@Summary		Erase a member
//	@Description	Removes the member as a removal does, and blanks what is personal for good: the name becomes a pseudonym, and the invitations' names and addresses, the names of the member's API keys and the addresses of the member's sites go. Records, totals and lineage stay, under the member's id. Free texts stay as they are: the answer lists those with the name, an address or the e-mail address in them, for a steward to look at.
//	@ID				eraseMember
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member									path		string	true	"id of the member"	format(uuid)
//	@Param			Idempotency-Key							header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			erasure									body		NewErasure	true	"who takes over, and the member's name"
//	@Success		200										{object}	ErasedMember
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/erasure [post]
func (s *Server) eraseMember(r *request) (answer, error) {
	in, err := decode[NewErasure](r)
	if err != nil {
		return answer{}, err
	}
	e, err := s.EraseMember(r.ctx, r.actor(), service.MemberID(r.param("member")), service.MemberID(in.To), in.Confirm)
	return answer{status: http.StatusOK, body: erasedMemberOf(e)}, err
}

// Erasure says that a member was erased.
type Erasure struct {
	Member   string    `json:"member" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	ErasedAt time.Time `json:"erased_at" example:"2026-09-01T08:00:00Z" format:"date-time" validate:"required"`
	ErasedBy string    `json:"erased_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"` // member
}

func erasureOf(e service.Erasure) Erasure {
	return Erasure{Member: string(e.ID), ErasedAt: e.At, ErasedBy: string(e.By)}
}

// listErasures shows a page of who was erased.
//
//	@Summary		List erasures
//	@Description	For stewards, in the order of the members' ids. Keep the list outside of the database: after an older copy was put back, it says whom to erase again.
//	@ID				listErasures
//	@Tags			members
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Erasure]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/erasures [get]
func (s *Server) listErasures(r *request) (answer, error) {
	return noun[service.Erasure, service.MemberID, struct{}, Erasure]{
		shelf: s.Erasures, out: erasureOf, head: func(e service.Erasure) head { return head{id: string(e.ID), version: 1} },
	}.list(r)
}

// NewReapplication is what erasing again takes.
type NewReapplication struct {
	Members []string `json:"members" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"` // 1 to 1000 ids
}

// Reapplication is the members that are erased now.
type Reapplication struct {
	Erased []ErasedMember `json:"erased" validate:"required"` // in the order of the call
}

// reapplyErasures erases members again.
//
//	@Summary		Erase again after a restore
//	@Description	For stewards: erases the members of a list that was kept before an older copy of the database was put back. The steward who calls takes over what is theirs again. Who is erased stays as they are, so that the call can be repeated.
//	@ID				reapplyErasures
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key							header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			reapplication							body		NewReapplication	true	"whom to erase again"
//	@Success		200										{object}	Reapplication
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/erasures [post]
func (s *Server) reapplyErasures(r *request) (answer, error) {
	in, err := decode[NewReapplication](r)
	if err != nil {
		return answer{}, err
	}
	again, err := s.Reapply(r.ctx, r.actor(), rowsOf(in.Members, func(id string) service.MemberID { return service.MemberID(id) }))
	return answer{status: http.StatusOK, body: Reapplication{rowsOf(again, erasedMemberOf)}}, err
}

// NewAccountErasure is what erasing an account takes.
type NewAccountErasure struct {
	Passphrase string `json:"passphrase" example:"rhubarb under seven lids" format:"password" validate:"required"`
}

// AccountErasure says what the erasure of an account ended.
type AccountErasure struct {
	Sessions    int `json:"sessions" example:"2" format:"int32" minimum:"0" validate:"required"`
	Memberships int `json:"memberships" example:"1" format:"int32" minimum:"0" validate:"required"`
}

// eraseAccount erases the account that calls.
//
//	@Summary		Erase my account
//	@Description	For good: the e-mail address, name and passphrase go, all sessions end, and so do the API keys that act as the account's members. In each club the account stays a member on paper, by the name it has there, until a steward erases that member. Refused while a club has no other steward with an account. The e-mail address can be used for a new account.
//	@ID				eraseAccount
//	@Tags			accounts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			erasure								body		NewAccountErasure	true	"the passphrase"
//	@Success		200									{object}	AccountErasure
//	@Failure		400,401,409,413,415,422,429,500,503	{object}	Problem
//	@Router			/v1/me/erasure [post]
func (s *Server) eraseAccount(r *request) (answer, error) {
	in, err := decode[NewAccountErasure](r)
	if err != nil {
		return answer{}, err
	}
	if err := r.knock(string(r.account)); err != nil {
		return answer{}, err
	}
	done, err := s.Accounts.Erase(r.ctx, r.bearer(), in.Passphrase)
	return answer{status: http.StatusOK, body: AccountErasure{done.Sessions, done.Memberships}}, err
}
