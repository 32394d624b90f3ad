package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// NewCensus is a census as a caller records it: samples, or an estimate with the
// limits between which the keeper is 95 % sure.
type NewCensus struct {
	ID       string      `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin      string      `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Species  string      `json:"species" example:"eisenia-fetida" validate:"required"` // id in the species table
	At       string      `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`          // RFC 3339 time, or a date in the club's time zone; left out: now
	Samples  []NewSample `json:"samples,omitempty"`                                    // at most 200; the bin's surface must be known
	Estimate *Quantity   `json:"estimate" units:"mass" extensions:"x-nullable"`
	Low      *Quantity   `json:"low" units:"mass" extensions:"x-nullable"`
	High     *Quantity   `json:"high" units:"mass" extensions:"x-nullable"`
	Apply    bool        `json:"apply,omitempty" example:"false"` // bring the book to the estimate even where it lies inside the interval
	Note     string      `json:"note,omitempty" example:"six samples of a hand" maxLength:"2000"`
}

// NewSample is one counted sample of a census.
type NewSample struct {
	Stratum   string    `json:"stratum,omitempty" example:"feed-zone"`                      // feed-zone, elsewhere, under-cover or another word; left out: anywhere
	Area      Quantity  `json:"area" units:"area" validate:"required"`                      // surface of the sample, as 100 cm2
	Worms     int64     `json:"worms" example:"24" minimum:"0" validate:"required"`         // without cocoons
	Mass      *Quantity `json:"mass" units:"mass" extensions:"x-nullable"`                  // of the counted worms; left out: not weighed
	Adults    *int64    `json:"adults" example:"10" minimum:"0" extensions:"x-nullable"`    // of worms
	Juveniles *int64    `json:"juveniles" example:"14" minimum:"0" extensions:"x-nullable"` // of worms
	Cocoons   *int64    `json:"cocoons" example:"3" minimum:"0" extensions:"x-nullable"`
}

func (n NewCensus) census() service.Census {
	c := service.Census{
		ID: service.CensusID(n.ID), Bin: service.BinID(n.Bin), Species: service.SpeciesID(n.Species), At: service.Moment{Text: n.At},
		Typed: service.CensusText{Estimate: typedOrNone(n.Estimate), Low: typedOrNone(n.Low), High: typedOrNone(n.High)},
		Apply: n.Apply, Note: n.Note,
	}
	for _, s := range n.Samples {
		c.Samples = append(c.Samples, service.Sample{
			Stratum: s.Stratum, Area: asRead(s.Area.measure().Area()), Worms: unit.Count(s.Worms), Mass: massOrNone(s.Mass),
			Adults: (*unit.Count)(s.Adults), Juveniles: (*unit.Count)(s.Juveniles), Cocoons: (*unit.Count)(s.Cocoons),
		})
	}
	return c
}

// Census is an estimate of the stock of one species in a bin, and what it did to
// the book.
type Census struct {
	ID        string        `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // by which it is reversed
	Bin       string        `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Species   string        `json:"species" example:"eisenia-fetida" validate:"required"`
	At        string        `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision string        `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Samples   []Sample      `json:"samples" validate:"required"`
	Movement  string        `json:"movement" example:"0199c1de-0000-7000-8000-000000000081" format:"uuid" validate:"required"` // that posts for it now
	Typed     *CensusFigure `json:"typed" extensions:"x-nullable" validate:"required"`                                         // a keeper's figure as typed; null: from samples
	Apply     bool          `json:"apply" example:"false" validate:"required"`
	Estimate  Figure        `json:"estimate" validate:"required"`                                      // live worms in g, with its 95 % interval
	Worms     *int64        `json:"worms" example:"2400" extensions:"x-nullable" validate:"required"`  // how many, where they were counted
	MeanMg    *float64      `json:"mean_mg" example:"410" extensions:"x-nullable" validate:"required"` // mass of a worm, where samples were weighed
	BookG     float64       `json:"book_g" example:"900" validate:"required"`                          // before
	PostedG   float64       `json:"posted_g" example:"84" validate:"required"`                         // what was added to the book; 0: it stands
	Warnings  []string      `json:"warnings" example:"few_samples" validate:"required"`
	Note      *string       `json:"note" example:"six samples of a hand" extensions:"x-nullable" validate:"required"`
	Recorded  Recorded      `json:"recorded" validate:"required"`
	Explained
}

// CensusFigure is a keeper's figure as typed.
type CensusFigure struct {
	Estimate Quantity `json:"estimate" validate:"required"`
	Low      Quantity `json:"low" validate:"required"`
	High     Quantity `json:"high" validate:"required"`
}

// Sample is one counted sample of a census.
type Sample struct {
	Stratum   *string  `json:"stratum" example:"feed-zone" extensions:"x-nullable" validate:"required"`
	AreaM2    float64  `json:"area_m2" example:"0.01" validate:"required"`
	Worms     int64    `json:"worms" example:"24" validate:"required"`
	MassG     *float64 `json:"mass_g" example:"9.8" extensions:"x-nullable" validate:"required"` // null: not weighed
	Adults    *int64   `json:"adults" example:"10" extensions:"x-nullable" validate:"required"`
	Juveniles *int64   `json:"juveniles" example:"14" extensions:"x-nullable" validate:"required"`
	Cocoons   *int64   `json:"cocoons" example:"3" extensions:"x-nullable" validate:"required"`
}

func censusOf(c service.Census, zone *time.Location, in unit.System) Census {
	out := Census{
		ID: string(c.ID), Movement: string(c.Movement), Bin: string(c.Bin), Species: string(c.Species), At: c.At.In(zone), Precision: string(c.At.Precision),
		Samples: []Sample{}, Apply: c.Apply, Estimate: censusFigure(c, in),
		Worms: (*int64)(c.Worms), MeanMg: c.MeanMg, BookG: c.Book.Grams(), PostedG: c.Posted.Grams(),
		Warnings: append([]string{}, c.Warnings...), Note: orNull(c.Note), Recorded: recordedOf(c.Recorded),
	}
	if t := c.Typed; t.Estimate.Unit != "" {
		out.Typed = &CensusFigure{quantityOf(t.Estimate), quantityOf(t.Low), quantityOf(t.High)}
	}
	for _, s := range c.Samples {
		out.Samples = append(out.Samples, Sample{
			Stratum: orNull(s.Stratum), AreaM2: float64(s.Area), Worms: int64(s.Worms), MassG: gramsOrNull(s.Mass),
			Adults: (*int64)(s.Adults), Juveniles: (*int64)(s.Juveniles), Cocoons: (*int64)(s.Cocoons),
		})
	}
	return out
}

func (s *Server) censuses(r *request) noun[service.Census, service.CensusID, NewCensus, Census] {
	return noun[service.Census, service.CensusID, NewCensus, Census]{
		explain: func(v service.Census) ([]working.Figure, error) { return s.Reports.ExplainCensus(r.ctx, r.actor(), v) },
		name:    "census", shelf: s.Censuses, in: NewCensus.census,
		out:     func(c service.Census) Census { return censusOf(c, r.zone(), r.units()) },
		head:    func(v service.Census) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "species", "member", "from", "to", "order"},
	}
}

// addCensus records a census.
//
//	@Summary		Record a census
//	@Description	An estimate of the stock of one species in a bin. It brings the book to the estimate where the book lies outside the interval, or with apply.
//	@ID				addCensus
//	@Tags			censuses
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			census			body		NewCensus	true	"the census"
//	@Success		201				{object}	Census
//	@Header			201				{string}	Location	"the census"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/censuses [post]
func (s *Server) addCensus(r *request) (answer, error) { return s.censuses(r).add(r) }

// listCensuses shows a page of the club's censuses.
//
//	@Summary		List censuses
//	@Description	In the order of their times.
//	@ID				listCensuses
//	@Tags			censuses
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"censuses of that bin"	format(uuid)
//	@Param			species			query		string	false	"censuses of that species"	example(eisenia-fetida)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Census]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/censuses [get]
func (s *Server) listCensuses(r *request) (answer, error) { return s.censuses(r).list(r) }

// getCensus shows one census.
//
//	@Summary		Show a census
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getCensus
//	@Tags			censuses
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			census			path		string	true	"id of the census"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Census
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/censuses/{census} [get]
func (s *Server) getCensus(r *request) (answer, error) { return s.censuses(r).get(r) }
