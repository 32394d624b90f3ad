package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewMember is a member on paper: others record on their behalf until they join
// by an invitation.
type NewMember struct {
	ID   string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // made by the caller, or left to the service
	Name string `json:"name" example:"Ben Okoro" maxLength:"80" validate:"required"`
	Role string `json:"role" example:"keeper" enums:"steward,keeper,reader" validate:"required"`
}

func (n NewMember) member() service.Member {
	return service.Member{ID: service.MemberID(n.ID), Name: n.Name, Role: service.Role(n.Role)}
}

// Member is a person in a club.
type Member struct {
	ID         string     `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name       string     `json:"name" example:"Ben Okoro" validate:"required"`
	Role       string     `json:"role" example:"keeper" enums:"steward,keeper,reader" validate:"required"`
	PublicName *string    `json:"public_name" example:"Ben" extensions:"x-nullable" validate:"required"`                                            // by which the member agrees to be shown to everybody; null: under a pseudonym
	Account    *string    `json:"account" example:"01970000-0000-7000-8000-000000000001" format:"uuid" extensions:"x-nullable" validate:"required"` // null: a member on paper, or one who has left
	CreatedAt  time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	LeftAt     *time.Time `json:"left_at" example:"2026-09-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // null: belongs to the club
}

func memberOf(m service.Member) Member {
	return Member{ID: string(m.ID), Name: m.Name, PublicName: orNull(m.PublicName), Role: string(m.Role), Account: orNull(string(m.Account)), CreatedAt: m.CreatedAt, LeftAt: timeOrNull(m.LeftAt)}
}

func (s *Server) members(*request) noun[service.Member, service.MemberID, NewMember, Member] {
	return noun[service.Member, service.MemberID, NewMember, Member]{
		name: "member", shelf: s.Members, in: NewMember.member, out: memberOf,
		head: func(v service.Member) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addMember records a member.
//
//	@Summary		Add a member
//	@Description	Stewards add members on paper, who have no account until they join by an invitation.
//	@ID				addMember
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			member			body		NewMember	true	"the member"
//	@Success		201				{object}	Member
//	@Header			201				{string}	Location	"the member"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members [post]
func (s *Server) addMember(r *request) (answer, error) { return s.members(r).add(r) }

// listMembers shows a page of the club's members.
//
//	@Summary		List members
//	@Description	In the order of their ids.
//	@ID				listMembers
//	@Tags			members
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Member]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members [get]
func (s *Server) listMembers(r *request) (answer, error) { return s.members(r).list(r) }

// getMember shows one member.
//
//	@Summary		Show a member
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getMember
//	@Tags			members
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			path		string	true	"id of the member"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Member
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member} [get]
func (s *Server) getMember(r *request) (answer, error) { return s.members(r).get(r) }

// NewRole is what changing a member's role takes.
type NewRole struct {
	Role string `json:"role" example:"steward" enums:"steward,keeper,reader" validate:"required"`
}

// changeRole gives a member another role.
//
//	@Summary		Change a member's role
//	@Description	Stewards do, from the next call of the member on. The last steward with an account stays one.
//	@ID				changeRole
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member									path		string	true	"id of the member"	format(uuid)
//	@Param			Idempotency-Key							header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			role									body		NewRole	true	"the role"
//	@Success		200										{object}	Member
//	@Header			200										{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/role [post]
func (s *Server) changeRole(r *request) (answer, error) {
	in, err := decode[NewRole](r)
	if err != nil {
		return answer{}, err
	}
	m, err := s.ChangeRole(r.ctx, r.actor(), service.MemberID(r.param("member")), service.Role(in.Role))
	return answer{status: http.StatusOK, version: m.Version, body: memberOf(m)}, err
}

// NewPublicName is what showing oneself by name takes.
type NewPublicName struct {
	PublicName *string `json:"public_name" example:"Ben" maxLength:"80" extensions:"x-nullable"` // null or left out: under a pseudonym
}

// setPublicName says by which name a member agrees to be shown to everybody.
//
//	@Summary		Agree to be shown by name, or take that back
//	@Description	For the member alone; nobody else can, stewards neither. With a public name, what the club publishes says it in the place of the pseudonym, and shows the words of the member's offers. Null takes it back, and so do leaving and erasure.
//	@ID				setPublicName
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member									path		string	true	"id of the member"	format(uuid)
//	@Param			Idempotency-Key							header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			name									body		NewPublicName	true	"the name"
//	@Success		200										{object}	Member
//	@Header			200										{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/public-name [post]
func (s *Server) setPublicName(r *request) (answer, error) {
	in, err := decode[NewPublicName](r)
	if err != nil {
		return answer{}, err
	}
	name := ""
	if in.PublicName != nil {
		name = *in.PublicName
	}
	m, err := s.SetPublicName(r.ctx, r.actor(), service.MemberID(r.param("member")), name)
	return answer{status: http.StatusOK, version: m.Version, body: memberOf(m)}, err
}

// Removal is what removing a member takes.
type Removal struct {
	To string `json:"to" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"` // the steward who takes over bins and sites
}

// removeMember ends a membership.
//
//	@Summary		Remove a member, or leave
//	@Description	Ends the membership at once: a steward takes over the member's bins and sites, the member's API keys end, and so do open invitations that the member made or that are for the member. The name stays in the book. Stewards remove anybody, others themselves; the last steward with an account can't go. Who has left comes back by an invitation.
//	@ID				removeMember
//	@Tags			members
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member									path		string	true	"id of the member"	format(uuid)
//	@Param			Idempotency-Key							header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			removal									body		Removal	true	"who takes over"
//	@Success		200										{object}	Member
//	@Header			200										{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/removal [post]
func (s *Server) removeMember(r *request) (answer, error) {
	in, err := decode[Removal](r)
	if err != nil {
		return answer{}, err
	}
	m, err := s.RemoveMember(r.ctx, r.actor(), service.MemberID(r.param("member")), service.MemberID(in.To))
	return answer{status: http.StatusOK, version: m.Version, body: memberOf(m)}, err
}
