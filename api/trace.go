package api

import (
	"context"
	"time"

	"lumbricary.example/service"
)

// UpstreamLot is a lot that another descends from.
type UpstreamLot struct {
	Lot      string     `json:"lot" example:"01970000-0000-7000-8000-000000000032" format:"uuid" validate:"required"`
	Depth    int        `json:"depth" example:"1" validate:"required"` // arrivals between the two, by the shortest way
	Bin      string     `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Member   string     `json:"member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`    // who kept the bin when the lot opened
	OpenedBy string     `json:"opened_by" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // movement
	OpenedAt time.Time  `json:"opened_at" example:"2026-04-20T11:00:00Z" format:"date-time" validate:"required"`
	EndedAt  *time.Time `json:"ended_at" example:"2026-05-01T07:30:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // null: it stands
	MassG    float64    `json:"mass_g" example:"500" validate:"required"`                                                               // when it opened
}

// DownstreamLot is a lot that descends from another.
type DownstreamLot struct {
	UpstreamLot
	Share    float64 `json:"share" example:"0.25" validate:"required"`    // of the lot that descends from the other, in at most 12 decimals
	StandsG  float64 `json:"stands_g" example:"400" validate:"required"`  // now; 0 once the lot has ended
	DescendG float64 `json:"descend_g" example:"100" validate:"required"` // of what stands: from the other
}

func upstreamLotOf(s service.TraceStep) UpstreamLot {
	l := s.Lot
	return UpstreamLot{
		Lot: l.ID, Depth: s.Depth, Bin: l.Place.Bin, Member: string(l.Member), OpenedBy: l.OpenedBy, OpenedAt: l.OpenedAt,
		EndedAt: timeOrNull(l.EndedAt), MassG: l.Mass.Grams(),
	}
}

func downstreamLotOf(s service.TraceStep) DownstreamLot {
	return DownstreamLot{upstreamLotOf(s), share(s.Parts), s.Stands.Grams(), s.Descends.Grams()}
}

// listUpstreamLots shows a page of the lots that a lot descends from.
//
//	@Summary		List what a lot descends from
//	@Description	Every lot once, the newest first.
//	@ID				listUpstreamLots
//	@Tags			lots
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[UpstreamLot]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/upstream [get]
func (s *Server) listUpstreamLots(r *request) (answer, error) {
	return traced(r, s.Reports.Upstream, upstreamLotOf)
}

// listDownstreamLots shows a page of the lots that descend from a lot.
//
//	@Summary		List what descends from a lot
//	@Description	Every lot once, the oldest first, with what stands there now and how much of that descends from the lot.
//	@ID				listDownstreamLots
//	@Tags			lots
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[DownstreamLot]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/downstream [get]
func (s *Server) listDownstreamLots(r *request) (answer, error) {
	return traced(r, s.Reports.Downstream, downstreamLotOf)
}

// tracing is a use-case that walks from a lot.
type tracing func(context.Context, service.Actor, service.LotID, service.Query) ([]service.TraceStep, error)

// traced answers with a page of a trace. Errors: those of query and of the
// use-case.
func traced[W any](r *request, trace tracing, out func(service.TraceStep) W) (answer, error) {
	q, err := r.query()
	if err != nil {
		return answer{}, err
	}
	more := q.Query
	more.Limit++ // one more tells whether there is a next page
	steps, err := trace(r.ctx, r.actor(), service.LotID(r.param("lot")), more)
	if err != nil {
		return answer{}, err
	}
	at := func(s service.TraceStep) head { return head{id: s.Lot.ID, at: s.Lot.OpenedAt} }
	a := page(r, q, steps, at, out)
	return a, r.err
}
