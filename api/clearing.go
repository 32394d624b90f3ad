package api

import (
	"time"

	"lumbricary.example/service"
)

// NewClearing is a clearing as a caller records it: of one bin, batch or receipt.
type NewClearing struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin     string `json:"bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Batch   string `json:"batch,omitempty" format:"uuid"`                                                         // castings, in place of a bin
	Receipt string `json:"receipt,omitempty" format:"uuid"`                                                       // feedstock or bedding that came in, in place of a bin
	At      string `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                           // RFC 3339 time, or a date in the club's time zone; left out: now
	How     string `json:"how" example:"emptied, scalded, dried for a week" maxLength:"2000" validate:"required"` // what was done
	Note    string `json:"note,omitempty" example:"no flatworms seen since" maxLength:"2000"`
}

func (n NewClearing) clearing() service.Clearing {
	return service.Clearing{
		ID: service.ClearingID(n.ID), Bin: service.BinID(n.Bin), Batch: service.BatchID(n.Batch), Receipt: service.ReceiptID(n.Receipt),
		At: service.Moment{Text: n.At}, How: n.How, Note: n.Note,
	}
}

// Clearing says that a place was cleared: from then on it isn't exposed, until
// something comes again out of a place that is.
type Clearing struct {
	ID        string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Bin       *string    `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"` // of the three one is told
	Batch     *string    `json:"batch" example:"01970000-0000-7000-8000-000000000040" format:"uuid" extensions:"x-nullable" validate:"required"`
	Receipt   *string    `json:"receipt" example:"01970000-0000-7000-8000-000000000050" format:"uuid" extensions:"x-nullable" validate:"required"`
	At        string     `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision string     `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	How       string     `json:"how" example:"emptied, scalded, dried for a week" validate:"required"`
	Note      *string    `json:"note" example:"no flatworms seen since" extensions:"x-nullable" validate:"required"`
	Recorded  Recorded   `json:"recorded" validate:"required"`
	VoidedAt  *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy  *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func clearingOf(c service.Clearing, zone *time.Location) Clearing {
	return Clearing{
		ID: string(c.ID), Bin: orNull(string(c.Bin)), Batch: orNull(string(c.Batch)), Receipt: orNull(string(c.Receipt)),
		At: c.At.In(zone), Precision: string(c.At.Precision), How: c.How, Note: orNull(c.Note),
		Recorded: recordedOf(c.Recorded), VoidedAt: timeOrNull(c.Voided.At), VoidedBy: orNull(string(c.Voided.By)),
	}
}

func (s *Server) clearings(r *request) noun[service.Clearing, service.ClearingID, NewClearing, Clearing] {
	return noun[service.Clearing, service.ClearingID, NewClearing, Clearing]{
		name: "clearing", shelf: s.Clearings, in: NewClearing.clearing, out: inZone(r, clearingOf),
		head:    func(v service.Clearing) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "batch", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addClearing records a clearing.
//
//	@Summary		Record a clearing
//	@Description	A bin, batch or receipt was cleared, and how: from then on it isn't exposed, until something comes again out of a place that is. A lot of worms stands in a bin, and is cleared with it.
//	@ID				addClearing
//	@Tags			clearings
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			clearing	body		NewClearing	true	"the clearing"
//	@Success		201				{object}	Clearing
//	@Header			201				{string}	Location	"the clearing"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/clearings [post]
func (s *Server) addClearing(r *request) (answer, error) { return s.clearings(r).add(r) }

// listClearings shows a page of the club's clearings.
//
//	@Summary		List clearings
//	@Description	In the order of their times.
//	@ID				listClearings
//	@Tags			clearings
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"clearings of that bin"	format(uuid)
//	@Param			batch			query		string	false	"clearings of that batch"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Clearing]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/clearings [get]
func (s *Server) listClearings(r *request) (answer, error) {
	return s.clearings(r).list(r)
}

// getClearing shows one clearing.
//
//	@Summary		Show a clearing
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getClearing
//	@Tags			clearings
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			clearing	path		string	true	"id of the clearing"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Clearing
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/clearings/{clearing} [get]
func (s *Server) getClearing(r *request) (answer, error) { return s.clearings(r).get(r) }

// changeClearing changes a clearing.
//
//	@Summary		Change a clearing
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its place: void it and record it of the other one.
//	@ID				changeClearing
//	@Tags			clearings
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			clearing	path		string	true	"id of the clearing"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch			body		NewClearing	true	"what changes"
//	@Success		200			{object}	Clearing
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/clearings/{clearing} [patch]
func (s *Server) changeClearing(r *request) (answer, error) {
	return s.clearings(r).change(r)
}

// voidClearing voids a clearing.
//
//	@Summary		Void a clearing
//	@Description	It stays, with voided_at: the place was never cleared.
//	@ID				voidClearing
//	@Tags			clearings
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			clearing	path		string	true	"id of the clearing"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	Clearing
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/clearings/{clearing} [delete]
func (s *Server) voidClearing(r *request) (answer, error) {
	return s.clearings(r).remove(r)
}
