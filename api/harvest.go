package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// NewHarvest is a harvest as a caller records it: castings into a batch, worms
// into another bin, or both.
type NewHarvest struct {
	ID          string     `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin         string     `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At          string     `json:"at,omitempty" example:"2026-05-01T07:30:00Z"` // RFC 3339 time, or a date in the club's time zone; left out: now
	Full        bool       `json:"full,omitempty" example:"true"`               // emptied the bin of castings, and so closes a window of yield
	Method      string     `json:"method,omitempty" example:"light" enums:"light,side-migration,screen,tray,bottom,hand"`
	MeshMM      float64    `json:"mesh_mm,omitempty" example:"4" minimum:"0" maximum:"1000"`
	Castings    *Quantity  `json:"castings" units:"mass" extensions:"x-nullable"`                                   // wet; left out: none taken
	MoisturePct *float64   `json:"moisture_pct" example:"65" minimum:"0" maximum:"99.9" extensions:"x-nullable"`    // measured; left out: 65 % is booked
	Batch       string     `json:"batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"`    // where the castings go
	PutBack     *Quantity  `json:"put_back" units:"mass" extensions:"x-nullable"`                                   // wet, returned to the bin
	WormsTo     string     `json:"worms_to,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"` // the bin where the worms go
	Worms       []NewWorms `json:"worms,omitempty"`
	Note        string     `json:"note,omitempty" example:"screened twice" maxLength:"2000"`
}

func (n NewHarvest) harvest() service.Harvest {
	h := service.Harvest{
		ID: service.HarvestID(n.ID), Bin: service.BinID(n.Bin), At: service.Moment{Text: n.At}, Full: n.Full,
		Method: service.HarvestMethod(n.Method), MeshMM: n.MeshMM, Typed: typedOrNone(n.Castings), Moisture: (*unit.Percent)(n.MoisturePct),
		Batch: service.BatchID(n.Batch), PutBack: massOrNone(n.PutBack), WormsTo: service.BinID(n.WormsTo), Note: n.Note,
	}
	for _, l := range n.Worms {
		h.Worms = append(h.Worms, l.line())
	}
	return h
}

// Harvest is what was taken out of a bin.
type Harvest struct {
	ID          string    `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // also the id of its movement, by which it is reversed
	Bin         string    `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At          string    `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision   string    `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Full        bool      `json:"full" example:"true" validate:"required"`
	Method      *string   `json:"method" example:"light" enums:"light,side-migration,screen,tray,bottom,hand" extensions:"x-nullable" validate:"required"`
	MeshMM      *float64  `json:"mesh_mm" example:"4" extensions:"x-nullable" validate:"required"`
	Castings    *Quantity `json:"castings" extensions:"x-nullable" validate:"required"` // as typed; null: none taken
	WetG        float64   `json:"wet_g" example:"12000" validate:"required"`
	DryG        float64   `json:"dry_g" example:"4200" validate:"required"`                              // as booked
	MoisturePct *float64  `json:"moisture_pct" example:"65" extensions:"x-nullable" validate:"required"` // null: not measured, 65 % was booked
	Batch       *string   `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"`
	PutBackG    *float64  `json:"put_back_g" example:"1500" extensions:"x-nullable" validate:"required"`
	WormsTo     *string   `json:"worms_to" example:"01970000-0000-7000-8000-000000000011" format:"uuid" extensions:"x-nullable" validate:"required"`
	Worms       []Line    `json:"worms" validate:"required"`
	Note        *string   `json:"note" example:"screened twice" extensions:"x-nullable" validate:"required"`
	Recorded    Recorded  `json:"recorded" validate:"required"`
	Explained
}

func harvestOf(h service.Harvest, zone *time.Location) Harvest {
	return Harvest{
		ID: string(h.ID), Bin: string(h.Bin), At: h.At.In(zone), Precision: string(h.At.Precision), Full: h.Full,
		Method: orNull(string(h.Method)), MeshMM: orNull(h.MeshMM), Castings: typedOrNull(h.Typed), WetG: h.Wet.Grams(), DryG: h.Dry.Grams(),
		MoisturePct: (*float64)(h.Moisture), Batch: orNull(string(h.Batch)), PutBackG: gramsOrNull(h.PutBack),
		WormsTo: orNull(string(h.WormsTo)), Worms: linesOf(h.Worms), Note: orNull(h.Note), Recorded: recordedOf(h.Recorded),
	}
}

func (s *Server) harvests(r *request) noun[service.Harvest, service.HarvestID, NewHarvest, Harvest] {
	return noun[service.Harvest, service.HarvestID, NewHarvest, Harvest]{
		explain: func(v service.Harvest) ([]working.Figure, error) {
			return s.Reports.ExplainHarvest(r.ctx, r.actor(), v)
		},
		name: "harvest", shelf: s.Harvests, in: NewHarvest.harvest, out: inZone(r, harvestOf),
		head:    func(v service.Harvest) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "batch", "member", "from", "to", "order"},
		named:   map[string]string{"/put_back_g": "/put_back"},
	}
}

// addHarvest records a harvest.
//
//	@Summary		Record a harvest
//	@Description	What is taken out of a bin: castings into a batch, worms into another bin, or both. A full harvest closes a window of yield.
//	@ID				addHarvest
//	@Tags			harvests
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			harvest			body		NewHarvest	true	"the harvest"
//	@Success		201				{object}	Harvest
//	@Header			201				{string}	Location	"the harvest"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/harvests [post]
func (s *Server) addHarvest(r *request) (answer, error) { return s.harvests(r).add(r) }

// listHarvests shows a page of the club's harvests.
//
//	@Summary		List harvests
//	@Description	In the order of their times.
//	@ID				listHarvests
//	@Tags			harvests
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"harvests of that bin"	format(uuid)
//	@Param			batch			query		string	false	"harvests into that batch"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Harvest]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/harvests [get]
func (s *Server) listHarvests(r *request) (answer, error) { return s.harvests(r).list(r) }

// getHarvest shows one harvest.
//
//	@Summary		Show a harvest
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getHarvest
//	@Tags			harvests
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			harvest			path		string	true	"id of the harvest"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Harvest
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/harvests/{harvest} [get]
func (s *Server) getHarvest(r *request) (answer, error) { return s.harvests(r).get(r) }
