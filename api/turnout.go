package api

import (
	"time"

	"lumbricary.example/service"
)

// NewTurnout is how many took part, as a caller records it: one of both, or
// both.
type NewTurnout struct {
	ID             string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"`           // made by the caller, or left to the service
	At             string   `json:"at,omitempty" example:"2026-05-01"`                                                   // RFC 3339 time, or a date in the club's time zone; left out: now
	Households     *float64 `json:"households" example:"38" minimum:"0" maximum:"1000000" extensions:"x-nullable"`       // whose scraps the club has on that day
	VolunteerHours *float64 `json:"volunteer_hours" example:"12.5" minimum:"0" maximum:"100000" extensions:"x-nullable"` // given up to then, and in no other turnout
}

func (n NewTurnout) turnout() service.Turnout {
	return service.Turnout{ID: service.TurnoutID(n.ID), At: service.Moment{Text: n.At}, Households: n.Households, Hours: n.VolunteerHours}
}

// Turnout is how many took part. A season has the households of its latest
// turnout, and the hours of all its turnouts together.
type Turnout struct {
	ID             string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	At             string     `json:"at" example:"2026-05-01" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision      string     `json:"precision" example:"day" enums:"instant,day" validate:"required"`
	Households     *float64   `json:"households" example:"38" extensions:"x-nullable" validate:"required"`
	VolunteerHours *float64   `json:"volunteer_hours" example:"12.5" extensions:"x-nullable" validate:"required"`
	Recorded       Recorded   `json:"recorded" validate:"required"`
	VoidedAt       *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy       *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func turnoutOf(t service.Turnout, zone *time.Location) Turnout {
	return Turnout{
		ID: string(t.ID), At: t.At.In(zone), Precision: string(t.At.Precision), Households: t.Households, VolunteerHours: t.Hours,
		Recorded: recordedOf(t.Recorded), VoidedAt: timeOrNull(t.Voided.At), VoidedBy: orNull(string(t.Voided.By)),
	}
}

func (s *Server) turnouts(r *request) noun[service.Turnout, service.TurnoutID, NewTurnout, Turnout] {
	return noun[service.Turnout, service.TurnoutID, NewTurnout, Turnout]{
		name: "turnout", shelf: s.Turnouts, in: NewTurnout.turnout, out: inZone(r, turnoutOf),
		head:    func(v service.Turnout) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addTurnout records a turnout.
//
//	@Summary		Record a turnout
//	@Description	How many households take part on that day, how many hours volunteers gave up to then, or both. Season reports tell the latest households and the sum of the hours. Keepers and stewards record.
//	@ID				addTurnout
//	@Tags			turnouts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			turnout			body		NewTurnout	true	"the turnout"
//	@Success		201				{object}	Turnout
//	@Header			201				{string}	Location	"the turnout"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/turnouts [post]
func (s *Server) addTurnout(r *request) (answer, error) { return s.turnouts(r).add(r) }

// listTurnouts shows a page of the club's turnouts.
//
//	@Summary		List turnouts
//	@Description	In the order of their times.
//	@ID				listTurnouts
//	@Tags			turnouts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Turnout]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/turnouts [get]
func (s *Server) listTurnouts(r *request) (answer, error) { return s.turnouts(r).list(r) }

// getTurnout shows one turnout.
//
//	@Summary		Show a turnout
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getTurnout
//	@Tags			turnouts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			turnout			path		string	true	"id of the turnout"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Turnout
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/turnouts/{turnout} [get]
func (s *Server) getTurnout(r *request) (answer, error) { return s.turnouts(r).get(r) }

// changeTurnout changes a turnout.
//
//	@Summary		Change a turnout
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. Keepers change what they recorded.
//	@ID				changeTurnout
//	@Tags			turnouts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			turnout		path		string	true	"id of the turnout"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewTurnout	true	"what changes"
//	@Success		200			{object}	Turnout
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/turnouts/{turnout} [patch]
func (s *Server) changeTurnout(r *request) (answer, error) { return s.turnouts(r).change(r) }

// voidTurnout voids a turnout.
//
//	@Summary		Void a turnout
//	@Description	It stays, with voided_at, and counts for nothing.
//	@ID				voidTurnout
//	@Tags			turnouts
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			turnout		path		string	true	"id of the turnout"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200				{object}	Turnout
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/turnouts/{turnout} [delete]
func (s *Server) voidTurnout(r *request) (answer, error) { return s.turnouts(r).remove(r) }
