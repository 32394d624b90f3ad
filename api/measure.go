package api

import (
	"time"

	"lumbricary.example/service"
)

// NewMeasure is a measure as a caller adds it.
type NewMeasure struct {
	ID     string    `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000014" format:"uuid"` // made by the caller, or left to the service
	Name   string    `json:"name" example:"Blue bucket" maxLength:"80" validate:"required"`
	Volume *Quantity `json:"volume" units:"volume" extensions:"x-nullable"` // what it holds when full
	Tare   *Quantity `json:"tare" units:"mass" extensions:"x-nullable"`     // what it weighs when empty
	Note   string    `json:"note,omitempty" example:"by the back door" maxLength:"2000"`
}

func (n NewMeasure) measure() service.Measure {
	return service.Measure{
		ID: service.MeasureID(n.ID), Name: n.Name, Volume: typedOrNone(n.Volume), Tare: typedOrNone(n.Tare), Note: n.Note,
	}
}

// Measure is a vessel that a club measures its feed with: as it was typed, and
// in litres and grams.
type Measure struct {
	ID        string    `json:"id" example:"01970000-0000-7000-8000-000000000014" format:"uuid" validate:"required"`
	Name      string    `json:"name" example:"Blue bucket" validate:"required"`
	Volume    *Quantity `json:"volume" extensions:"x-nullable" validate:"required"` // what it holds when full; null: not known
	VolumeL   *float64  `json:"volume_l" example:"10" extensions:"x-nullable" validate:"required"`
	Tare      *Quantity `json:"tare" extensions:"x-nullable" validate:"required"` // what it weighs when empty; null: not known
	TareG     *float64  `json:"tare_g" example:"450" extensions:"x-nullable" validate:"required"`
	Note      *string   `json:"note" example:"by the back door" extensions:"x-nullable" validate:"required"`
	CreatedAt time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func measureOf(m service.Measure) Measure {
	out := Measure{
		ID: string(m.ID), Name: m.Name, Volume: typedOrNull(m.Volume), Tare: typedOrNull(m.Tare), Note: orNull(m.Note), CreatedAt: m.CreatedAt,
	}
	if l, err := m.Volume.Volume(); err == nil {
		out.VolumeL = (*float64)(&l)
	}
	if tare, err := m.Tare.Mass(); err == nil {
		g := tare.Grams()
		out.TareG = &g
	}
	return out
}

func (s *Server) measures(*request) noun[service.Measure, service.MeasureID, NewMeasure, Measure] {
	return noun[service.Measure, service.MeasureID, NewMeasure, Measure]{
		name: "measure", shelf: s.Measures, in: NewMeasure.measure, out: measureOf,
		head: func(v service.Measure) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addMeasure records a measure.
//
//	@Summary		Add a measure
//	@Description	A vessel that feed is measured with, as a bucket: what it holds, what it weighs empty, or both.
//	@ID				addMeasure
//	@Tags			measures
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			measure			body		NewMeasure	true	"the measure"
//	@Success		201				{object}	Measure
//	@Header			201				{string}	Location	"the measure"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/measures [post]
func (s *Server) addMeasure(r *request) (answer, error) { return s.measures(r).add(r) }

// listMeasures shows a page of the club's measures.
//
//	@Summary		List measures
//	@Description	In the order of their ids.
//	@ID				listMeasures
//	@Tags			measures
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Measure]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/measures [get]
func (s *Server) listMeasures(r *request) (answer, error) { return s.measures(r).list(r) }

// getMeasure shows one measure.
//
//	@Summary		Show a measure
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getMeasure
//	@Tags			measures
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			measure			path		string	true	"id of the measure"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Measure
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/measures/{measure} [get]
func (s *Server) getMeasure(r *request) (answer, error) { return s.measures(r).get(r) }

// changeMeasure changes a measure.
//
//	@Summary		Change a measure
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. What was fed with it keeps the mass that it was booked with.
//	@ID				changeMeasure
//	@Tags			measures
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			measure		path		string	true	"id of the measure"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewMeasure	true	"what changes"
//	@Success		200			{object}	Measure
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/measures/{measure} [patch]
func (s *Server) changeMeasure(r *request) (answer, error) { return s.measures(r).change(r) }

// removeMeasure removes a measure.
//
//	@Summary		Remove a measure
//	@Description	Only a measure that nothing was fed with.
//	@ID				removeMeasure
//	@Tags			measures
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			measure		path		string	true	"id of the measure"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/measures/{measure} [delete]
func (s *Server) removeMeasure(r *request) (answer, error) { return s.measures(r).remove(r) }
