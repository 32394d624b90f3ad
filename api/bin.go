package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// NewBin is a bin as a caller adds it.
type NewBin struct {
	ID         string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // made by the caller, or left to the service
	Name       string   `json:"name" example:"Tote 3" maxLength:"80" validate:"required"`
	Kind       string   `json:"kind" example:"tote" enums:"tote,bag,tray-stack,wedge,windrow,flow-through,other" validate:"required"`
	Site       string   `json:"site" example:"01970000-0000-7000-8000-000000000011" format:"uuid" validate:"required"`
	Keeper     string   `json:"keeper,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // the member who answers for it; left out: the caller
	StandIns   []string `json:"stand_ins,omitempty" example:"01970000-0000-7000-8000-000000000004"`            // members who may write it too
	SurfaceM2  float64  `json:"surface_m2,omitempty" example:"0.25" minimum:"0" maximum:"100000"`
	DepthCM    float64  `json:"depth_cm,omitempty" example:"30" minimum:"0" maximum:"1000"`
	Started    string   `json:"started,omitempty" example:"2026-04-20"` // RFC 3339 time or a date in the club's time zone; left out: now
	Retired    string   `json:"retired,omitempty" example:"2026-05-01"`
	RetiredWhy string   `json:"retired_why,omitempty" example:"cracked" maxLength:"2000"`
	Note       string   `json:"note,omitempty" example:"under the stairs" maxLength:"2000"`
}

func (n NewBin) bin() service.Bin {
	b := service.Bin{
		ID: service.BinID(n.ID), Name: n.Name, Kind: service.BinKind(n.Kind), Site: service.SiteID(n.Site), Keeper: service.MemberID(n.Keeper),
		Surface: unit.Area(n.SurfaceM2), DepthCM: n.DepthCM, Note: n.Note, RetiredWhy: n.RetiredWhy,
		Started: service.Moment{Text: n.Started}, Retired: service.Moment{Text: n.Retired},
	}
	for _, m := range n.StandIns {
		b.StandIns = append(b.StandIns, service.MemberID(m))
	}
	return b
}

// Bin is a container, bag or bed of worms.
type Bin struct {
	ID               string          `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name             string          `json:"name" example:"Tote 3" validate:"required"`
	Kind             string          `json:"kind" example:"tote" enums:"tote,bag,tray-stack,wedge,windrow,flow-through,other" validate:"required"`
	Site             string          `json:"site" example:"01970000-0000-7000-8000-000000000011" format:"uuid" validate:"required"`
	Keeper           string          `json:"keeper" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	StandIns         []string        `json:"stand_ins" example:"01970000-0000-7000-8000-000000000004" validate:"required"`
	SurfaceM2        *float64        `json:"surface_m2" example:"0.25" extensions:"x-nullable" validate:"required"` // null: not told
	DepthCM          *float64        `json:"depth_cm" example:"30" extensions:"x-nullable" validate:"required"`     // null: not told
	Started          string          `json:"started" example:"2026-04-20" validate:"required"`                      // RFC 3339 time, or a date in the club's time zone
	StartedPrecision string          `json:"started_precision" example:"day" enums:"instant,day" validate:"required"`
	Retired          *string         `json:"retired" example:"2026-05-01" extensions:"x-nullable" validate:"required"` // null: in use
	RetiredPrecision *string         `json:"retired_precision" example:"day" enums:"instant,day" extensions:"x-nullable" validate:"required"`
	RetiredWhy       *string         `json:"retired_why" example:"cracked" extensions:"x-nullable" validate:"required"`
	Note             *string         `json:"note" example:"under the stairs" extensions:"x-nullable" validate:"required"`
	Quarantine       *OpenQuarantine `json:"quarantine" extensions:"x-nullable" validate:"required"` // that it is in; null: in none
	CreatedAt        time.Time       `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func binOf(b service.Bin, zone *time.Location) Bin {
	out := Bin{
		ID: string(b.ID), Name: b.Name, Kind: string(b.Kind), Site: string(b.Site), Keeper: string(b.Keeper), StandIns: []string{},
		SurfaceM2: orNull(float64(b.Surface)), DepthCM: orNull(b.DepthCM),
		Started: b.Started.In(zone), StartedPrecision: string(b.Started.Precision),
		RetiredWhy: orNull(b.RetiredWhy), Note: orNull(b.Note), Quarantine: openQuarantineOf(b.Quarantine, zone), CreatedAt: b.CreatedAt,
	}
	if !b.Retired.Time.IsZero() {
		out.Retired, out.RetiredPrecision = orNull(b.Retired.In(zone)), orNull(string(b.Retired.Precision))
	}
	for _, m := range b.StandIns {
		out.StandIns = append(out.StandIns, string(m))
	}
	return out
}

func (s *Server) bins(r *request) noun[service.Bin, service.BinID, NewBin, Bin] {
	return noun[service.Bin, service.BinID, NewBin, Bin]{
		name: "bin", shelf: s.Bins, in: NewBin.bin, out: inZone(r, binOf),
		head: func(v service.Bin) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addBin records a bin.
//
//	@Summary		Add a bin
//	@Description	Keepers add bins that they keep, stewards all.
//	@ID				addBin
//	@Tags			bins
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			bin			body		NewBin	true	"the bin"
//	@Success		201				{object}	Bin
//	@Header			201				{string}	Location	"the bin"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins [post]
func (s *Server) addBin(r *request) (answer, error) { return s.bins(r).add(r) }

// listBins shows a page of the club's bins.
//
//	@Summary		List bins
//	@Description	In the order of their ids.
//	@ID				listBins
//	@Tags			bins
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Bin]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins [get]
func (s *Server) listBins(r *request) (answer, error) { return s.bins(r).list(r) }

// getBin shows one bin.
//
//	@Summary		Show a bin
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getBin
//	@Tags			bins
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Bin
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin} [get]
func (s *Server) getBin(r *request) (answer, error) { return s.bins(r).get(r) }

// changeBin changes a bin.
//
//	@Summary		Change a bin
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. Moves it to another site, or retires it: retired takes a time or a date, once the book of the bin is 0; null takes it into use again. Only stewards give it to another keeper.
//	@ID				changeBin
//	@Tags			bins
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin		path		string	true	"id of the bin"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewBin	true	"what changes"
//	@Success		200			{object}	Bin
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin} [patch]
func (s *Server) changeBin(r *request) (answer, error) { return s.bins(r).change(r) }

// removeBin removes a bin.
//
//	@Summary		Remove a bin
//	@Description	Only a bin without records; any other is retired.
//	@ID				removeBin
//	@Tags			bins
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin		path		string	true	"id of the bin"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin} [delete]
func (s *Server) removeBin(r *request) (answer, error) { return s.bins(r).remove(r) }
