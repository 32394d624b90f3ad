package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/working"
)

// Lot is the traceable unit of stock: one species in one bin between two
// arrivals. It is derived from the journal.
type Lot struct {
	ID           string        `json:"id" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Bin          string        `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Species      string        `json:"species" example:"eisenia-fetida" validate:"required"`
	IdentifiedAs *IdentifiedAs `json:"identified_as" extensions:"x-nullable" validate:"required"`                                  // null: nobody looked, and species is as booked
	Member       string        `json:"member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`    // who kept the bin when the lot opened
	OpenedBy     string        `json:"opened_by" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // movement
	OpenedAt     time.Time     `json:"opened_at" example:"2026-04-20T11:00:00Z" format:"date-time" validate:"required"`
	MassG        float64       `json:"mass_g" example:"750" validate:"required"`                                                                          // when it opened
	EndedBy      *string       `json:"ended_by" example:"01970000-0000-7000-8000-000000000025" format:"uuid" extensions:"x-nullable" validate:"required"` // movement; null: it stands
	EndedAt      *time.Time    `json:"ended_at" example:"2026-05-01T07:30:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
	Parents      []LotParent   `json:"parents" validate:"required"`
	Shares       []OriginShare `json:"shares" validate:"required"`                                                                                         // of all origins; they sum to one exactly
	Depth        int           `json:"depth" example:"2" validate:"required"`                                                                              // arrivals since the farthest origin
	Withdrawn    bool          `json:"withdrawn" example:"false" validate:"required"`                                                                      // what opened it was taken back
	Successor    *string       `json:"successor" example:"01970000-0000-7000-8000-000000000031" format:"uuid" extensions:"x-nullable" validate:"required"` // of a withdrawn lot: the one that stands for it
	Explained
}

// LotParent is something that a lot came from: another lot, an origin, or, with
// both null, nobody knows what.
type LotParent struct {
	Lot    *string `json:"lot" example:"01970000-0000-7000-8000-000000000032" format:"uuid" extensions:"x-nullable" validate:"required"`
	Origin *string `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"`
	MassG  float64 `json:"mass_g" example:"500" validate:"required"` // that went into it
}

// OriginShare is how much of a lot descends from an origin.
type OriginShare struct {
	Origin *string `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"` // null: nobody knows
	Share  float64 `json:"share" example:"0.625" validate:"required"`                                                                       // of 1, in at most 12 decimals, exact
}

func lotOf(l service.Lot) Lot {
	out := Lot{
		ID: l.ID, Bin: l.Place.Bin, Species: l.Place.Species, IdentifiedAs: identifiedAsOf(l.Identified), Member: string(l.Member), OpenedBy: l.OpenedBy, OpenedAt: l.OpenedAt,
		MassG: l.Mass.Grams(), EndedBy: orNull(l.EndedBy), EndedAt: timeOrNull(l.EndedAt), Parents: []LotParent{},
		Shares: sharesOf(l.Shares), Depth: l.Depth, Withdrawn: l.Withdrawn, Successor: orNull(l.Successor),
	}
	for _, p := range l.Parents {
		out.Parents = append(out.Parents, LotParent{orNull(p.Lot), knownOrNull(p.Origin), p.Mass.Grams()})
	}
	return out
}

func sharesOf(shares lineage.Shares) []OriginShare {
	out := make([]OriginShare, 0, len(shares))
	for _, s := range shares {
		out = append(out, OriginShare{knownOrNull(s.Origin), share(s.Parts)})
	}
	return out
}

// share is parts of lineage.One as a share of 1. The nearest float64 to a number
// of 12 decimals is written with these decimals.
func share(parts int64) float64 { return float64(parts) / lineage.One }

// knownOrNull is an origin on the wire; null where nobody knows it.
func knownOrNull(origin string) *string {
	if origin == lineage.Unknown {
		return nil
	}
	return orNull(origin)
}

// lots is the lots as a noun that nobody adds; a later record may change one, so
// it has no version.
func (s *Server) lots(r *request) noun[service.Lot, service.LotID, struct{}, Lot] {
	return noun[service.Lot, service.LotID, struct{}, Lot]{
		explain: func(v service.Lot) ([]working.Figure, error) { return s.Reports.ExplainLot(r.ctx, r.actor(), v) },
		name:    "lot", shelf: s.Lots, out: lotOf,
		head:    func(v service.Lot) head { return head{id: v.ID, at: v.OpenedAt} },
		filters: []string{"bin", "species", "member", "from", "to", "order"},
	}
}

// listLots shows a page of the club's lots.
//
//	@Summary		List lots
//	@Description	In the order in which they opened, those that ended or were withdrawn among them.
//	@ID				listLots
//	@Tags			lots
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"lots of that bin"	format(uuid)
//	@Param			species			query		string	false	"lots of that species"	example(eisenia-fetida)
//	@Param			member			query		string	false	"kept by that member when they opened"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Lot]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots [get]
func (s *Server) listLots(r *request) (answer, error) { return s.lots(r).list(r) }

// getLot shows one lot.
//
//	@Summary		Show a lot
//	@Description	An id stays readable when what opened the lot is taken back.
//	@ID				getLot
//	@Tags			lots
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Lot
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot} [get]
func (s *Server) getLot(r *request) (answer, error) { return s.lots(r).get(r) }
