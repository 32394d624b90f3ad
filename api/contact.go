package api

import (
	"time"

	"lumbricary.example/service"
)

// NewBinContact is a contact of bins as a caller records it.
type NewBinContact struct {
	ID   string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"`                                    // made by the caller, or left to the service
	Bins []string `json:"bins" example:"01970000-0000-7000-8000-000000000010,01970000-0000-7000-8000-000000000011" validate:"required"` // 2 to 10, each once
	At   string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                                                  // RFC 3339 time, or a date in the club's time zone; left out: now
	What string   `json:"what" example:"tools" enums:"tools,bedding,other" validate:"required"`                                         // they shared
	Note string   `json:"note,omitempty" example:"the small fork" maxLength:"2000"`
}

func (n NewBinContact) contact() service.BinContact {
	c := service.BinContact{
		ID: service.BinContactID(n.ID), At: service.Moment{Text: n.At}, What: service.ContactWhat(n.What), Note: n.Note,
	}
	for _, bin := range n.Bins {
		c.Bins = append(c.Bins, service.BinID(bin))
	}
	return c
}

// BinContact is tools or bedding that bins shared at a time without a cleaning
// between.
type BinContact struct {
	ID        string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Bins      []string   `json:"bins" example:"01970000-0000-7000-8000-000000000010,01970000-0000-7000-8000-000000000011" validate:"required"`
	At        string     `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision string     `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	What      string     `json:"what" example:"tools" enums:"tools,bedding,other" validate:"required"`
	Note      *string    `json:"note" example:"the small fork" extensions:"x-nullable" validate:"required"`
	Recorded  Recorded   `json:"recorded" validate:"required"`
	VoidedAt  *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy  *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func contactOf(c service.BinContact, zone *time.Location) BinContact {
	out := BinContact{
		ID: string(c.ID), Bins: []string{}, At: c.At.In(zone), Precision: string(c.At.Precision), What: string(c.What), Note: orNull(c.Note),
		Recorded: recordedOf(c.Recorded), VoidedAt: timeOrNull(c.Voided.At), VoidedBy: orNull(string(c.Voided.By)),
	}
	for _, bin := range c.Bins {
		out.Bins = append(out.Bins, string(bin))
	}
	return out
}

func (s *Server) contacts(r *request) noun[service.BinContact, service.BinContactID, NewBinContact, BinContact] {
	return noun[service.BinContact, service.BinContactID, NewBinContact, BinContact]{
		name: "contact", shelf: s.Contacts, in: NewBinContact.contact, out: inZone(r, contactOf),
		head: func(v service.BinContact) head {
			return head{id: string(v.ID), version: v.Version, at: v.At.Time}
		},
		filters: []string{"bin", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addContact records a contact.
//
//	@Summary		Record a contact
//	@Description	Tools or bedding that 2 to 10 bins shared without a cleaning between: what was in one of them may be in all. Whoever may write one of the bins records it. It is in the timelines of all of them.
//	@ID				addContact
//	@Tags			contacts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			contact	body		NewBinContact	true	"the contact"
//	@Success		201				{object}	BinContact
//	@Header			201				{string}	Location	"the contact"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/contacts [post]
func (s *Server) addContact(r *request) (answer, error) { return s.contacts(r).add(r) }

// listContacts shows a page of the club's contacts.
//
//	@Summary		List contacts
//	@Description	In the order of their times.
//	@ID				listContacts
//	@Tags			contacts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"contacts of that bin"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[BinContact]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/contacts [get]
func (s *Server) listContacts(r *request) (answer, error) {
	return s.contacts(r).list(r)
}

// getContact shows one contact.
//
//	@Summary		Show a contact
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getContact
//	@Tags			contacts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			contact	path		string	true	"id of the contact"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BinContact
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/contacts/{contact} [get]
func (s *Server) getContact(r *request) (answer, error) { return s.contacts(r).get(r) }

// changeContact changes a contact.
//
//	@Summary		Change a contact
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its bins: void it and record it with the others.
//	@ID				changeContact
//	@Tags			contacts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			contact	path		string	true	"id of the contact"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch			body		NewBinContact	true	"what changes"
//	@Success		200			{object}	BinContact
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/contacts/{contact} [patch]
func (s *Server) changeContact(r *request) (answer, error) {
	return s.contacts(r).change(r)
}

// voidContact voids a contact.
//
//	@Summary		Void a contact
//	@Description	It stays, with voided_at, and exposes nothing.
//	@ID				voidContact
//	@Tags			contacts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			contact	path		string	true	"id of the contact"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	BinContact
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/contacts/{contact} [delete]
func (s *Server) voidContact(r *request) (answer, error) {
	return s.contacts(r).remove(r)
}
