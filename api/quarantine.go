package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewQuarantine is a quarantine as a caller records it.
type NewQuarantine struct {
	ID           string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin          string `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At           string `json:"at,omitempty" example:"2026-05-01"`                     // when it began: RFC 3339 time, or a date in the club's time zone; left out: now
	Until        string `json:"until,omitempty" example:"2026-05-22" maxLength:"10"`   // planned, a date; left out: by the club's quarantine_days
	Reason       string `json:"reason,omitempty" example:"new stock" maxLength:"2000"` // why
	Released     string `json:"released,omitempty" example:"2026-05-21"`               // when it ended; left out: it is open
	Outcome      string `json:"outcome,omitempty" example:"sound" enums:"sound,treated,disposed"`
	ReleasedNote string `json:"released_note,omitempty" example:"no mites seen" maxLength:"2000"`
	Note         string `json:"note,omitempty" example:"in the shed" maxLength:"2000"`
}

func (n NewQuarantine) quarantine() service.Quarantine {
	return service.Quarantine{
		ID: service.QuarantineID(n.ID), Bin: service.BinID(n.Bin), At: service.Moment{Text: n.At}, Until: service.Day(n.Until), Reason: n.Reason,
		Released: service.Moment{Text: n.Released}, Outcome: service.QuarantineOutcome(n.Outcome), ReleasedNote: n.ReleasedNote, Note: n.Note,
	}
}

// Quarantine is the time that an arrival spends in a bin of its own. While it
// lasts nothing leaves the bin.
type Quarantine struct {
	ID                string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Bin               string     `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At                string     `json:"at" example:"2026-05-01" validate:"required"` // when it began: RFC 3339 time, or a date in the club's time zone
	Precision         string     `json:"precision" example:"day" enums:"instant,day" validate:"required"`
	Until             *string    `json:"until" example:"2026-05-22" extensions:"x-nullable" validate:"required"` // planned
	Reason            *string    `json:"reason" example:"new stock" extensions:"x-nullable" validate:"required"`
	Released          *string    `json:"released" example:"2026-05-21" extensions:"x-nullable" validate:"required"` // null: it is open
	ReleasedPrecision *string    `json:"released_precision" example:"day" enums:"instant,day" extensions:"x-nullable" validate:"required"`
	ReleasedBy        *string    `json:"released_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
	Outcome           *string    `json:"outcome" example:"sound" enums:"sound,treated,disposed" extensions:"x-nullable" validate:"required"`
	ReleasedNote      *string    `json:"released_note" example:"no mites seen" extensions:"x-nullable" validate:"required"`
	Note              *string    `json:"note" example:"in the shed" extensions:"x-nullable" validate:"required"`
	Recorded          Recorded   `json:"recorded" validate:"required"`
	VoidedAt          *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy          *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func quarantineOf(q service.Quarantine, zone *time.Location) Quarantine {
	out := Quarantine{
		ID: string(q.ID), Bin: string(q.Bin), At: q.At.In(zone), Precision: string(q.At.Precision), Until: orNull(string(q.Until)),
		Reason: orNull(q.Reason), ReleasedBy: orNull(string(q.ReleasedBy)), Outcome: orNull(string(q.Outcome)),
		ReleasedNote: orNull(q.ReleasedNote), Note: orNull(q.Note), Recorded: recordedOf(q.Recorded),
		VoidedAt: timeOrNull(q.Voided.At), VoidedBy: orNull(string(q.Voided.By)),
	}
	if !q.Released.Time.IsZero() {
		out.Released, out.ReleasedPrecision = orNull(q.Released.In(zone)), orNull(string(q.Released.Precision))
	}
	return out
}

// OpenQuarantine is the quarantine that a bin is in.
type OpenQuarantine struct {
	ID    string  `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Since string  `json:"since" example:"2026-05-01" validate:"required"`                         // RFC 3339 time, or a date in the club's time zone
	Until *string `json:"until" example:"2026-05-22" extensions:"x-nullable" validate:"required"` // planned
}

func openQuarantineOf(q *service.Quarantine, zone *time.Location) *OpenQuarantine {
	if q == nil {
		return nil
	}
	return &OpenQuarantine{string(q.ID), q.At.In(zone), orNull(string(q.Until))}
}

func (s *Server) quarantines(r *request) noun[service.Quarantine, service.QuarantineID, NewQuarantine, Quarantine] {
	return noun[service.Quarantine, service.QuarantineID, NewQuarantine, Quarantine]{
		name: "quarantine", shelf: s.Quarantines, in: NewQuarantine.quarantine, out: inZone(r, quarantineOf),
		head:    func(v service.Quarantine) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addQuarantine records a quarantine.
//
//	@Summary		Begin a quarantine
//	@Description	A bin in which an arrival stands alone. From then until it is released no worms, castings or material leave the bin: splits, combines, hand-overs and harvests out of it are refused (409 in-quarantine), entries that are told later too. Losses, censuses, feedings, checks and arrivals go on. One that is told afterwards may come with its release. What left the bin before the quarantine was recorded stays.
//	@ID				addQuarantine
//	@Tags			quarantines
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			quarantine		body		NewQuarantine	true	"the quarantine"
//	@Success		201				{object}	Quarantine
//	@Header			201				{string}	Location	"the quarantine"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines [post]
func (s *Server) addQuarantine(r *request) (answer, error) { return s.quarantines(r).add(r) }

// listQuarantines shows a page of the club's quarantines.
//
//	@Summary		List quarantines
//	@Description	In the order in which they began.
//	@ID				listQuarantines
//	@Tags			quarantines
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"quarantines of that bin"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Quarantine]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines [get]
func (s *Server) listQuarantines(r *request) (answer, error) { return s.quarantines(r).list(r) }

// getQuarantine shows one quarantine.
//
//	@Summary		Show a quarantine
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getQuarantine
//	@Tags			quarantines
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			quarantine		path		string	true	"id of the quarantine"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Quarantine
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines/{quarantine} [get]
func (s *Server) getQuarantine(r *request) (answer, error) { return s.quarantines(r).get(r) }

// changeQuarantine changes a quarantine.
//
//	@Summary		Change a quarantine
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its bin. Null for released opens it again.
//	@ID				changeQuarantine
//	@Tags			quarantines
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			quarantine	path		string	true	"id of the quarantine"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch		body		NewQuarantine	true	"what changes"
//	@Success		200			{object}	Quarantine
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines/{quarantine} [patch]
func (s *Server) changeQuarantine(r *request) (answer, error) { return s.quarantines(r).change(r) }

// voidQuarantine voids a quarantine.
//
//	@Summary		Void a quarantine
//	@Description	There never was one: it stays, with voided_at, and holds nothing.
//	@ID				voidQuarantine
//	@Tags			quarantines
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			quarantine	path		string	true	"id of the quarantine"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	Quarantine
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines/{quarantine} [delete]
func (s *Server) voidQuarantine(r *request) (answer, error) { return s.quarantines(r).remove(r) }

// NewRelease ends a quarantine.
type NewRelease struct {
	At      string `json:"at,omitempty" example:"2026-05-21"` // RFC 3339 time, or a date in the club's time zone; left out: now
	Outcome string `json:"outcome" example:"sound" enums:"sound,treated,disposed" validate:"required"`
	Note    string `json:"note,omitempty" example:"no mites seen" maxLength:"2000"`
}

// releaseQuarantine ends a quarantine.
//
//	@Summary		Release a quarantine
//	@Description	From that moment on what stands in the bin may leave it.
//	@ID				releaseQuarantine
//	@Tags			quarantines
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			quarantine		path		string	true	"id of the quarantine"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			release			body		NewRelease	true	"when, and how it came out"
//	@Success		200				{object}	Quarantine
//	@Header			200				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/quarantines/{quarantine}/release [post]
func (s *Server) releaseQuarantine(r *request) (answer, error) {
	n, err := decode[NewRelease](r)
	if err != nil {
		return answer{}, err
	}
	id := service.QuarantineID(r.param("quarantine"))
	q, err := s.Release(r.ctx, r.actor(), id, service.Release{At: service.Moment{Text: n.At}, Outcome: service.QuarantineOutcome(n.Outcome), Note: n.Note})
	if err != nil {
		return answer{}, repointed(err, map[string]string{"/released": "/at", "/released_note": "/note"})
	}
	return answer{status: http.StatusOK, version: q.Version, body: quarantineOf(q, r.zone())}, r.err
}
