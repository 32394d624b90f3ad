package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// NewRework is batches that become others, as a caller records it.
type NewRework struct {
	ID   string          `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Kind string          `json:"kind" example:"screening" enums:"screening,blending" validate:"required"`
	At   string          `json:"at,omitempty" example:"2026-05-01T07:30:00Z"` // RFC 3339 time, or a date in the club's time zone; left out: now
	From []NewReworkPart `json:"from" validate:"required"`                    // a screening is of one batch, a blending of 2 to 20
	Into []NewReworkPart `json:"into" validate:"required"`                    // a screening gives 1 to 20 batches, a blending one
	Note string          `json:"note,omitempty" example:"6 mm screen" maxLength:"2000"`
}

// NewReworkPart is what goes in of a batch, or comes out into one.
type NewReworkPart struct {
	Batch       string    `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" validate:"required"`
	Quantity    *Quantity `json:"quantity" units:"mass" extensions:"x-nullable"`                                // wet; left out: all that the batch holds, or the rest of what went in
	MoisturePct *float64  `json:"moisture_pct" example:"60" minimum:"0" maximum:"99.9" extensions:"x-nullable"` // measured; left out: as the batch was, or as what went in
}

func (n NewRework) rework() service.Rework {
	return service.Rework{
		ID: service.ReworkID(n.ID), Kind: service.ReworkKind(n.Kind), At: service.Moment{Text: n.At},
		From: partsOf(n.From), Into: partsOf(n.Into), Note: n.Note,
	}
}

func partsOf(all []NewReworkPart) []service.ReworkPart {
	var out []service.ReworkPart
	for _, p := range all {
		out = append(out, service.ReworkPart{Batch: service.BatchID(p.Batch), Typed: typedOrNone(p.Quantity), Moisture: (*unit.Percent)(p.MoisturePct)})
	}
	return out
}

// Rework is batches that became others.
type Rework struct {
	ID        string       `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // also the id of its movement, by which it is reversed
	Kind      string       `json:"kind" example:"screening" enums:"screening,blending" validate:"required"`
	At        string       `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision string       `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	From      []ReworkPart `json:"from" validate:"required"`
	Into      []ReworkPart `json:"into" validate:"required"`
	LostDryG  float64      `json:"lost_dry_g" example:"120" validate:"required"` // dry matter that went in and didn't come out, as dust
	Note      *string      `json:"note" example:"6 mm screen" extensions:"x-nullable" validate:"required"`
	Recorded  Recorded     `json:"recorded" validate:"required"`
	Explained
}

// ReworkPart is what went in of a batch, or came out into one.
type ReworkPart struct {
	Batch       string    `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" validate:"required"`
	Quantity    *Quantity `json:"quantity" extensions:"x-nullable" validate:"required"`                  // as typed; null: all, or the rest
	MoisturePct *float64  `json:"moisture_pct" example:"60" extensions:"x-nullable" validate:"required"` // null: not measured
	WetG        float64   `json:"wet_g" example:"12000" validate:"required"`
	DryG        float64   `json:"dry_g" example:"4800" validate:"required"`    // as booked
	Assumed     bool      `json:"assumed" example:"false" validate:"required"` // wet_g, or dry_g, rests on a moisture that nobody measured
}

func reworkOf(r service.Rework, zone *time.Location) Rework {
	part := func(p service.ReworkPart) ReworkPart {
		return ReworkPart{string(p.Batch), typedOrNull(p.Typed), (*float64)(p.Moisture), p.Wet.Grams(), p.Dry.Grams(), p.Assumed}
	}
	return Rework{
		ID: string(r.ID), Kind: string(r.Kind), At: r.At.In(zone), Precision: string(r.At.Precision),
		From: rowsOf(r.From, part), Into: rowsOf(r.Into, part), LostDryG: r.Lost.Grams(), Note: orNull(r.Note), Recorded: recordedOf(r.Recorded),
	}
}

func (s *Server) reworks(r *request) noun[service.Rework, service.ReworkID, NewRework, Rework] {
	return noun[service.Rework, service.ReworkID, NewRework, Rework]{
		explain: func(v service.Rework) ([]working.Figure, error) { return s.Reports.ExplainRework(r.ctx, r.actor(), v) },
		name:    "rework", shelf: s.Reworks, in: NewRework.rework, out: inZone(r, reworkOf),
		head:    func(v service.Rework) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"batch", "kind", "member", "from", "to", "order"},
	}
}

// addRework records a rework.
//
//	@Summary		Record a rework
//	@Description	A screening, of one batch into several, as fine and oversize; or a blending, of several into one. Dry matter moves; what goes in and doesn't come out is lost, as dust. It is taken back by a reversal of the movement with its id.
//	@ID				addRework
//	@Tags			batches
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			rework			body		NewRework	true	"the rework"
//	@Success		201				{object}	Rework
//	@Header			201				{string}	Location	"the rework"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reworks [post]
func (s *Server) addRework(r *request) (answer, error) { return s.reworks(r).add(r) }

// listReworks shows a page of the club's reworks.
//
//	@Summary		List reworks
//	@Description	In the order of their times.
//	@ID				listReworks
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			query		string	false	"reworks from or into that batch"	format(uuid)
//	@Param			kind			query		string	false	"reworks of that kind"	Enums(screening, blending)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Rework]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reworks [get]
func (s *Server) listReworks(r *request) (answer, error) { return s.reworks(r).list(r) }

// getRework shows one rework.
//
//	@Summary		Show a rework
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getRework
//	@Tags			batches
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			rework			path		string	true	"id of the rework"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Rework
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reworks/{rework} [get]
func (s *Server) getRework(r *request) (answer, error) { return s.reworks(r).get(r) }
