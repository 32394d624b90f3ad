package api

import (
	"context"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/exposure"
)

// Exposure is a page of a trace of what may have carried something along, worms
// or not: stock, castings, half-worked material, feedstock and bedding, and tools
// or bedding that bins shared.
type Exposure struct {
	Page[ExposedPlace]
	Start     ExposurePlace     `json:"start" validate:"required"`
	Direction string            `json:"direction" example:"forward" enums:"forward,back" validate:"required"`
	Since     time.Time         `json:"since" example:"2026-05-01T11:00:00Z" format:"date-time" validate:"required"`    // no record before that is traced
	Places    int               `json:"places" example:"7" format:"int32" validate:"required"`                          // in the whole trace, the start among them
	Exposed   *int              `json:"exposed" example:"5" format:"int32" extensions:"x-nullable" validate:"required"` // of them, those that no clearing ended; null: traced back
	Cautions  []ExposureCaution `json:"cautions" validate:"required"`
}

// ExposedPlace is a place that something may have reached, and by what way; of a
// trace back, that it may have come from.
type ExposedPlace struct {
	Place     ExposurePlace   `json:"place" validate:"required"`
	At        time.Time       `json:"at" example:"2026-04-20T11:00:00Z" format:"date-time" validate:"required"` // exposed since; of a trace back: when something last came from there
	By        *ExposurePlace  `json:"by" extensions:"x-nullable" validate:"required"`                           // out of that place; of a trace back: into it; null: the start
	Record    *ExposureRecord `json:"record" extensions:"x-nullable" validate:"required"`                       // that says so; null: the start
	Steps     int             `json:"steps" example:"2" format:"int32" validate:"required"`                     // from the start, by the way that is told
	ClearedAt *time.Time      `json:"cleared_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
	Keeper    *Named          `json:"keeper" extensions:"x-nullable" validate:"required"` // who keeps it now; null: nobody in the club, or the club's store
}

// ExposurePlace is where something stands, or is under way.
type ExposurePlace struct {
	Kind string `json:"kind" example:"bin" enums:"bin,batch,receipt,way,outside" validate:"required"`        // outside: somebody who isn't in the club
	ID   string `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"` // of the bin, batch or receipt; of a way its leg, of outside the movement
	Name string `json:"name" example:"Tote 3" validate:"required"`
}

// ExposureRecord is the record by which a place was reached.
type ExposureRecord struct {
	Kind string `json:"kind" example:"split" enums:"stocking,split,combine,hand-over,dispatch,arrival,use,harvest,rework,feeding,contact" validate:"required"`
	ID   string `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
}

// ExposureCaution is what a reader of a trace is to keep in mind.
type ExposureCaution struct {
	Code string `json:"code" example:"possible" validate:"required"`
	Text string `json:"text" example:"A trace tells what may have been carried along." validate:"required"`
}

func exposureOf(e service.Exposure) Exposure {
	out := Exposure{
		Start: exposurePlaceOf(e.Start.Place, e.Start.Name), Direction: "forward", Since: e.Since, Places: e.Traced, Exposed: &e.Exposed,
		Cautions: []ExposureCaution{},
	}
	if e.Back {
		out.Direction, out.Exposed = "back", nil
	}
	for _, c := range e.Cautions {
		out.Cautions = append(out.Cautions, ExposureCaution(c))
	}
	return out
}

func exposurePlaceOf(p exposure.Place, name string) ExposurePlace {
	return ExposurePlace{string(p.Kind), p.Ref, name}
}

func exposedPlaceOf(p service.ExposedPlace) ExposedPlace {
	out := ExposedPlace{
		Place: exposurePlaceOf(p.Place, p.Name), At: p.Reached.At, Steps: p.Steps, ClearedAt: timeOrNull(p.Cleared),
	}
	if p.Record != "" {
		by := exposurePlaceOf(p.By, p.ByName)
		out.By, out.Record = &by, &ExposureRecord{p.Why, p.Record}
	}
	if p.Keeper != "" {
		out.Keeper = &Named{string(p.Keeper), p.KeeperName}
	}
	return out
}

// getBinExposure traces what may have been carried along from a bin, or into it.
//
//	@Summary		Trace exposure from a bin
//	@Description	Forward: every place that something in the bin may have reached since, with the stock, castings, half-worked material, or by tools or bedding that bins shared: since when, by which record, in how many steps, who keeps it now. A place is exposed from the first arrival or contact out of a place that is exposed at that moment, until a clearing. Back: every place from which something in the bin may have come, the latest first. Shares play no part: see the lots downstream and upstream. As plain text for Accept: text/plain.
//	@ID				getBinExposure
//	@Tags			clearings
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				path		string	true	"id of the bin"
//	@Param			since			query		string	false	"no further back than that time, or that day in the club's time zone; left out: the day six months before now"	example(2026-04-01)
//	@Param			direction		query		string	false	"forward: where it may be; back: where it may come from"	Enums(forward, back)	default(forward)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Exposure
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/exposure [get]
func (s *Server) getBinExposure(r *request) (answer, error) {
	return exposedFrom(r, service.BinID(r.param("bin")), s.Reports.BinExposure)
}

// getBatchExposure traces what may have been carried along from a batch, or into it.
//
//	@Summary		Trace exposure from a batch
//	@Description	As from a bin: where castings of the batch may have gone, or with what they may have come.
//	@ID				getBatchExposure
//	@Tags			clearings
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"
//	@Param			since			query		string	false	"no further back than that time, or that day in the club's time zone; left out: the day six months before now"	example(2026-04-01)
//	@Param			direction		query		string	false	"forward: where it may be; back: where it may come from"	Enums(forward, back)	default(forward)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Exposure
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch}/exposure [get]
func (s *Server) getBatchExposure(r *request) (answer, error) {
	return exposedFrom(r, service.BatchID(r.param("batch")), s.Reports.BatchExposure)
}

// getLotExposure traces what may have been carried along from a lot, or into it.
//
//	@Summary		Trace exposure from a lot
//	@Description	As from a bin: from that in which the lot stands or stood, forward from when the lot opened, back from when it ended.
//	@ID				getLotExposure
//	@Tags			clearings
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot				path		string	true	"id of the lot"
//	@Param			since			query		string	false	"no further back than that time, or that day in the club's time zone; left out: the day six months before now"	example(2026-04-01)
//	@Param			direction		query		string	false	"forward: where it may be; back: where it may come from"	Enums(forward, back)	default(forward)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Exposure
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/exposure [get]
func (s *Server) getLotExposure(r *request) (answer, error) {
	return exposedFrom(r, service.LotID(r.param("lot")), s.Reports.LotExposure)
}

// getReceiptExposure traces what may have been carried along from a receipt, or into it.
//
//	@Summary		Trace exposure from a receipt
//	@Description	As from a bin: which bins were fed of what came in, and where it may have gone from there.
//	@ID				getReceiptExposure
//	@Tags			clearings
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			receipt			path		string	true	"id of the receipt"
//	@Param			since			query		string	false	"no further back than that time, or that day in the club's time zone; left out: the day six months before now"	example(2026-04-01)
//	@Param			direction		query		string	false	"forward: where it may be; back: where it may come from"	Enums(forward, back)	default(forward)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Exposure
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts/{receipt}/exposure [get]
func (s *Server) getReceiptExposure(r *request) (answer, error) {
	return exposedFrom(r, service.ReceiptID(r.param("receipt")), s.Reports.ReceiptExposure)
}

// exposedFrom answers with a page of a trace from a place. Errors: those of query
// and of the use-case.
func exposedFrom[K ~string](r *request, id K, trace func(context.Context, service.Actor, K, service.Query) (service.Exposure, error)) (answer, error) {
	q, err := r.query("since", "direction")
	if err != nil {
		return answer{}, err
	}
	if q.From.After(r.server.Now()) {
		return answer{}, unreadable(service.Faults{{Pointer: "?since", Code: "range", Detail: "that lies in the future"}})
	}
	more := q.Query
	more.Limit++ // one more tells whether there is a next page
	e, err := trace(r.ctx, r.actor(), id, more)
	if err != nil {
		return answer{}, err
	}
	at := func(p service.ExposedPlace) head { return head{id: p.At().ID, at: p.At().At} }
	a := page(r, q, e.Places, at, exposedPlaceOf)
	if r.wantsText() {
		e.Places = e.Places[:min(len(e.Places), q.Limit)]
		text := textAnswer(ExposureText(e))
		text.link = a.link
		return text, r.err
	}
	if places, ok := a.body.(Page[ExposedPlace]); ok {
		out := exposureOf(e)
		out.Page = places
		a.body = out
	}
	return a, r.err
}
