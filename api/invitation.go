package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewInvitation is what inviting takes: a member on paper who shall join, or
// the name and role of a new one.
type NewInvitation struct {
	Email  string `json:"email" example:"ben@example.org" format:"email" validate:"required"`            // whose account may accept
	Member string `json:"member,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // left out: a new member
	Name   string `json:"name,omitempty" example:"Ben Okoro" maxLength:"80"`                             // of a new member
	Role   string `json:"role,omitempty" example:"keeper" enums:"steward,keeper,reader"`                 // of a new member
}

func (n NewInvitation) invitation() service.Invitation {
	return service.Invitation{Email: n.Email, Member: service.MemberID(n.Member), Name: n.Name, Role: service.Role(n.Role)}
}

// Invitation lets the account of an e-mail address join a club by a one-use
// code.
type Invitation struct {
	ID        string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Email     string     `json:"email" example:"ben@example.org" format:"email" validate:"required"`
	Member    *string    `json:"member" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"` // null: a new one
	Name      string     `json:"name" example:"Ben Okoro" validate:"required"`
	Role      string     `json:"role" example:"keeper" enums:"steward,keeper,reader" validate:"required"`
	InvitedBy string     `json:"invited_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	CreatedAt time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	ExpiresAt time.Time  `json:"expires_at" example:"2026-05-08T08:00:00Z" format:"date-time" validate:"required"`
	UsedAt    *time.Time `json:"used_at" example:"2026-05-02T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`                 // null: not accepted
	RevokedAt *time.Time `json:"revoked_at" example:"2026-05-03T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`              // null: not revoked
	Code      *string    `json:"code" example:"0123456789ABCDEFGHJKMNPQRSTVWXYZ0123456789ABCDEFGHJKMNPQRS" extensions:"x-nullable" validate:"required"` // shown once, when it is made
}

func invitationOf(i service.Invitation, code string) Invitation {
	return Invitation{
		ID: string(i.ID), Email: i.Email, Member: orNull(string(i.Member)), Name: i.Name, Role: string(i.Role),
		InvitedBy: string(i.InvitedBy), CreatedAt: i.CreatedAt, ExpiresAt: i.ExpiresAt,
		UsedAt: timeOrNull(i.UsedAt), RevokedAt: timeOrNull(i.RevokedAt), Code: orNull(code),
	}
}

// invite makes an invitation.
//
//	@Summary		Invite somebody
//	@Description	Gives a code to hand over, good for 7 days and for the account of that e-mail address. It is shown once: a replay by Idempotency-Key shows null in its place; make another invitation then.
//	@ID				addInvitation
//	@Tags			invitations
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string			true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key							header		string			false	"makes the call happen once; kept for 7 days"
//	@Param			invitation								body		NewInvitation	true	"who is invited"
//	@Success		201										{object}	Invitation
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/invitations [post]
func (s *Server) invite(r *request) (answer, error) {
	in, err := decode[NewInvitation](r)
	if err != nil {
		return answer{}, err
	}
	made, code, err := s.Invitations.Invite(r.ctx, r.actor(), in.invitation())
	return answer{status: http.StatusCreated, body: invitationOf(made, code), kept: invitationOf(made, "")}, err
}

func (s *Server) invitations(*request) noun[service.Invitation, service.InvitationID, NewInvitation, Invitation] {
	return noun[service.Invitation, service.InvitationID, NewInvitation, Invitation]{
		name: "invitation", shelf: s.Invitations.Shelf,
		out:  func(i service.Invitation) Invitation { return invitationOf(i, "") },
		head: func(i service.Invitation) head { return head{id: string(i.ID), version: i.Version} },
	}
}

// listInvitations shows a page of the club's invitations.
//
//	@Summary		List invitations
//	@Description	For stewards: open, accepted, revoked and expired ones in the order of their ids, without their codes.
//	@ID				listInvitations
//	@Tags			invitations
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Invitation]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/invitations [get]
func (s *Server) listInvitations(r *request) (answer, error) { return s.invitations(r).list(r) }

// revokeInvitation ends an invitation that hasn't been accepted.
//
//	@Summary		Revoke an invitation
//	@Description	Its code is good for nothing from then on. One that has been accepted can't be revoked: remove the member.
//	@ID				revokeInvitation
//	@Tags			invitations
//	@Produce		json
//	@Security		bearer
//	@Param			club						path		string	true	"handle or id of the club"	example(harbour)
//	@Param			invitation					path		string	true	"id of the invitation"	format(uuid)
//	@Param			Idempotency-Key				header		string	false	"makes the call happen once; kept for 7 days"
//	@Success		200							{object}	Invitation
//	@Header			200							{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/invitations/{invitation}/revocation [post]
func (s *Server) revokeInvitation(r *request) (answer, error) {
	in, err := s.Invitations.Revoke(r.ctx, r.actor(), service.InvitationID(r.param("invitation")))
	return answer{status: http.StatusOK, version: in.Version, body: invitationOf(in, "")}, err
}

// Acceptance is what accepting an invitation takes.
type Acceptance struct {
	Code string `json:"code" example:"0123456789ABCDEFGHJKMNPQRSTVWXYZ0123456789ABCDEFGHJKMNPQRS" validate:"required"` // spaces, hyphens and case don't matter
}

// acceptInvitation makes the caller a member.
//
//	@Summary		Accept an invitation
//	@Description	Makes the calling account a member of the club. A code is good once, so the call needs no Idempotency-Key.
//	@ID				acceptInvitation
//	@Tags			invitations
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club								path		string		true	"handle or id of the club"	example(harbour)
//	@Param			acceptance							body		Acceptance	true	"the code"
//	@Success		200									{object}	Member
//	@Failure		400,401,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/invitations/accept [post]
func (s *Server) acceptInvitation(r *request) (answer, error) {
	in, err := decode[Acceptance](r)
	if err != nil {
		return answer{}, err
	}
	m, err := s.Invitations.Accept(r.ctx, r.actor(), in.Code)
	return answer{status: http.StatusOK, version: m.Version, body: memberOf(m)}, err
}
