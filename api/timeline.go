package api

import (
	"strconv"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// Timeline is a page of what happened to a bin.
type Timeline struct {
	Page[Event]
	Bin   Named  `json:"bin" validate:"required"`
	Start *Start `json:"start" extensions:"x-nullable" validate:"required"` // what came along when the bin was first stocked; null: never stocked, or not the first page from the start
}

// Event is one record of a bin: the member that its kind names.
type Event struct {
	At         time.Time   `json:"at" example:"2026-05-01T07:30:00Z" format:"date-time" validate:"required"`
	Seq        int64       `json:"seq" example:"42" format:"int64" validate:"required"`
	Kind       string      `json:"kind" example:"feeding" enums:"feeding,check,census,harvest,movement,quarantine,release,contact,clearing" validate:"required"`
	ID         string      `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // of the record
	Feeding    *Feeding    `json:"feeding,omitempty"`
	Check      *Check      `json:"check,omitempty"`
	Census     *Census     `json:"census,omitempty"`
	Harvest    *Harvest    `json:"harvest,omitempty"`
	Movement   *Movement   `json:"movement,omitempty"`
	Quarantine *Quarantine `json:"quarantine,omitempty"` // also of its release
	Contact    *BinContact `json:"contact,omitempty"`
	Clearing   *Clearing   `json:"clearing,omitempty"`
}

// Start is what came along when a bin was first stocked.
type Start struct {
	Movement   Movement   `json:"movement" validate:"required"`
	FromMember *Named     `json:"from_member" extensions:"x-nullable" validate:"required"`               // who gave the starter
	MaterialG  *float64   `json:"material_g" example:"2000" extensions:"x-nullable" validate:"required"` // half-worked material that came along
	Lots       []StartLot `json:"lots" validate:"required"`
}

// StartLot is a lot that a bin was started with.
type StartLot struct {
	Lot     string          `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Species Named           `json:"species" validate:"required"`
	MassG   float64         `json:"mass_g" example:"250" validate:"required"`
	Origins []LineageOrigin `json:"origins" validate:"required"`
}

func eventOf(t service.Timeline, e service.BinEvent, zone *time.Location, in unit.System) Event {
	out := Event{At: e.At, Seq: e.Seq, Kind: string(e.Kind), ID: e.ID}
	switch e.Kind {
	case service.FeedingEvent:
		out.Feeding = shown(t.Feedings, e.ID, zone, feedingOf)
	case service.CheckEvent:
		out.Check = shown(t.Checks, e.ID, zone, checkOf)
	case service.CensusEvent:
		out.Census = shown(t.Censuses, e.ID, zone, func(c service.Census, zone *time.Location) Census { return censusOf(c, zone, in) })
	case service.HarvestEvent:
		out.Harvest = shown(t.Harvests, e.ID, zone, harvestOf)
	case service.MovementEvent:
		out.Movement = shown(t.Movements, e.ID, zone, movementOf)
	case service.QuarantineEvent, service.ReleaseEvent:
		out.Quarantine = shown(t.Quarantines, e.ID, zone, quarantineOf)
	case service.ContactEvent:
		out.Contact = shown(t.Contacts, e.ID, zone, contactOf)
	case service.ClearingEvent:
		out.Clearing = shown(t.Clearings, e.ID, zone, clearingOf)
	}
	return out
}

// shown is a record on the wire, or nil where there is none.
func shown[T, W any](records map[string]T, id string, zone *time.Location, out func(T, *time.Location) W) *W {
	v, ok := records[id]
	if !ok {
		return nil
	}
	w := out(v, zone)
	return &w
}

func startOf(s *service.Start, n service.Names, zone *time.Location) *Start {
	if s == nil {
		return nil
	}
	out := &Start{
		Movement: movementOf(s.Movement, zone), FromMember: namedOrNull(n.Members, s.Movement.FromMember),
		MaterialG: gramsOrNull(s.Movement.MaterialMass), Lots: []StartLot{},
	}
	for _, l := range s.Lots {
		species := service.SpeciesID(l.Place.Species)
		out.Lots = append(out.Lots, StartLot{l.ID, Named{l.Place.Species, n.Species[species]}, l.Mass.Grams(), originsOf(l.Shares, n)})
	}
	return out
}

// listBinTimeline shows a page of what happened to a bin.
//
//	@Summary		List what happened to a bin
//	@Description	Every record in order, and on the first page what came along when the bin was started. A quarantine has a line where it began, and one (release) where it ended.
//	@ID				listBinTimeline
//	@Tags			bins
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			kind			query		string	false	"records of that kind"	Enums(feeding, check, census, harvest, movement, quarantine, release, contact, clearing)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Timeline
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/timeline [get]
func (s *Server) listBinTimeline(r *request) (answer, error) {
	q, err := r.query("kind", "from", "to", "order")
	if err != nil {
		return answer{}, err
	}
	more := q.Query
	more.Bin = service.BinID(r.param("bin"))
	more.Limit++ // one more tells whether there is a next page
	t, err := s.Reports.Timeline(r.ctx, r.actor(), more)
	if err != nil {
		return answer{}, err
	}
	zone, in := r.zone(), r.units()
	place := func(e service.BinEvent) head { return head{id: strconv.FormatInt(e.Seq, 10), at: e.At} }
	a := page(r, q, t.Events, place, func(e service.BinEvent) Event { return eventOf(t, e, zone, in) })
	if events, ok := a.body.(Page[Event]); ok {
		a.body = Timeline{events, Named{string(t.Bin.ID), t.Bin.Name}, startOf(t.Started, t.Names, zone)}
	}
	return a, r.err
}
