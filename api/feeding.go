package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// NewFeeding is a feeding as a caller records it.
type NewFeeding struct {
	ID          string           `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin         string           `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At          string           `json:"at,omitempty" example:"2026-05-01T07:30:00Z"` // RFC 3339 time, or a date in the club's time zone; left out: now
	Items       []NewFeedingItem `json:"items" validate:"required"`                   // 1 to 20
	Placement   string           `json:"placement,omitempty" example:"pocket" enums:"pocket,trench,scattered,wrapped,surface"`
	Preparation string           `json:"preparation,omitempty" example:"fresh" enums:"fresh,frozen,pre-composted,ground"`
	Note        string           `json:"note,omitempty" example:"melon rinds, cut small" maxLength:"2000"`
}

// NewFeedingItem is one material of a feeding.
type NewFeedingItem struct {
	Material    string    `json:"material" example:"01970000-0000-7000-8000-000000000013" format:"uuid" validate:"required"`
	Quantity    *Quantity `json:"quantity" units:"mass volume" extensions:"x-nullable"`                           // a mass, or a volume of a material with a density; with a measure: what both weigh together
	Measure     string    `json:"measure,omitempty" example:"01970000-0000-7000-8000-000000000014" format:"uuid"` // in which it was weighed, or of which count tells
	Count       *float64  `json:"count" example:"2" minimum:"0.001" maximum:"1000" extensions:"x-nullable"`       // how many of the measure, filled; in place of quantity
	Receipt     string    `json:"receipt,omitempty" example:"01970000-0000-7000-8000-000000000015" format:"uuid"` // with which it came in
	MoisturePct *float64  `json:"moisture_pct" example:"88" minimum:"0" maximum:"99.9" extensions:"x-nullable"`   // measured, of wet mass; left out: the material's
}

func (n NewFeeding) feeding() service.Feeding {
	f := service.Feeding{
		ID: service.FeedingID(n.ID), Bin: service.BinID(n.Bin), At: service.Moment{Text: n.At},
		Placement: service.Placement(n.Placement), Preparation: service.Preparation(n.Preparation), Note: n.Note,
	}
	for _, it := range n.Items {
		f.Items = append(f.Items, service.FeedingItem{
			Material: service.MaterialID(it.Material), Typed: typedOrNone(it.Quantity), Measure: service.MeasureID(it.Measure), Count: it.Count,
			Receipt:  service.ReceiptID(it.Receipt),
			Moisture: (*unit.Percent)(it.MoisturePct),
		})
	}
	return f
}

// Feeding is materials put into a bin at one time.
type Feeding struct {
	ID          string        `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Bin         string        `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At          string        `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision   string        `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Items       []FeedingItem `json:"items" validate:"required"`
	Placement   *string       `json:"placement" example:"pocket" enums:"pocket,trench,scattered,wrapped,surface" extensions:"x-nullable" validate:"required"`
	Preparation *string       `json:"preparation" example:"fresh" enums:"fresh,frozen,pre-composted,ground" extensions:"x-nullable" validate:"required"`
	Note        *string       `json:"note" example:"melon rinds, cut small" extensions:"x-nullable" validate:"required"`
	Recorded    Recorded      `json:"recorded" validate:"required"`
	VoidedAt    *time.Time    `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy    *string       `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
	Explained
}

// FeedingItem is one material of a feeding: what was typed, and the mass that
// it became.
type FeedingItem struct {
	Material    string    `json:"material" example:"01970000-0000-7000-8000-000000000013" format:"uuid" validate:"required"`
	Quantity    *Quantity `json:"quantity" extensions:"x-nullable" validate:"required"`                                                             // null: count tells
	Measure     *string   `json:"measure" example:"01970000-0000-7000-8000-000000000014" format:"uuid" extensions:"x-nullable" validate:"required"` // quantity is what both weigh together
	Count       *float64  `json:"count" example:"2" extensions:"x-nullable" validate:"required"`                                                    // how many of the measure, filled
	Receipt     *string   `json:"receipt" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"` // with which it came in
	WetG        float64   `json:"wet_g" example:"1500" validate:"required"`
	Weighed     bool      `json:"weighed" example:"true" validate:"required"`                            // false: a volume, or a count of a measure, times the material's density
	MoisturePct *float64  `json:"moisture_pct" example:"88" extensions:"x-nullable" validate:"required"` // measured; null: the material's counts
}

func feedingOf(f service.Feeding, zone *time.Location) Feeding {
	out := Feeding{
		ID: string(f.ID), Bin: string(f.Bin), At: f.At.In(zone), Precision: string(f.At.Precision), Items: []FeedingItem{},
		Placement: orNull(string(f.Placement)), Preparation: orNull(string(f.Preparation)), Note: orNull(f.Note),
		Recorded: recordedOf(f.Recorded),
		VoidedAt: timeOrNull(f.Voided.At), VoidedBy: orNull(string(f.Voided.By)),
	}
	for _, it := range f.Items {
		out.Items = append(out.Items, FeedingItem{
			Material: string(it.Material), Quantity: typedOrNull(it.Typed), Measure: orNull(string(it.Measure)), Count: it.Count, Receipt: orNull(string(it.Receipt)), WetG: it.Wet.Grams(), Weighed: it.Weighed,
			MoisturePct: (*float64)(it.Moisture),
		})
	}
	return out
}

func (s *Server) feedings(r *request) noun[service.Feeding, service.FeedingID, NewFeeding, Feeding] {
	return noun[service.Feeding, service.FeedingID, NewFeeding, Feeding]{
		explain: func(v service.Feeding) ([]working.Figure, error) {
			return s.Reports.ExplainFeeding(r.ctx, r.actor(), v)
		},
		name: "feeding", shelf: s.Feedings, in: NewFeeding.feeding, out: inZone(r, feedingOf),
		head:    func(v service.Feeding) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addFeeding records a feeding.
//
//	@Summary		Record a feeding
//	@Description	Materials put into a bin at one time. How much there was of each: a mass; a volume, which takes the material's density; so many of a measure of the club, filled; or what the material and the measure weigh together. Keepers record on bins that they keep or stand in for, stewards on all.
//	@ID				addFeeding
//	@Tags			feedings
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			feeding			body		NewFeeding	true	"the feeding"
//	@Success		201				{object}	Feeding
//	@Header			201				{string}	Location	"the feeding"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feedings [post]
func (s *Server) addFeeding(r *request) (answer, error) { return s.feedings(r).add(r) }

// listFeedings shows a page of the club's feedings.
//
//	@Summary		List feedings
//	@Description	In the order of their times.
//	@ID				listFeedings
//	@Tags			feedings
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"feedings of that bin"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Feeding]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feedings [get]
func (s *Server) listFeedings(r *request) (answer, error) { return s.feedings(r).list(r) }

// getFeeding shows one feeding.
//
//	@Summary		Show a feeding
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getFeeding
//	@Tags			feedings
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			feeding			path		string	true	"id of the feeding"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Feeding
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feedings/{feeding} [get]
func (s *Server) getFeeding(r *request) (answer, error) { return s.feedings(r).get(r) }

// changeFeeding changes a feeding.
//
//	@Summary		Change a feeding
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its bin: void it and record it in the other one. An item whose material, measure and quantity stay keeps the mass that it was booked with.
//	@ID				changeFeeding
//	@Tags			feedings
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			feeding		path		string	true	"id of the feeding"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch		body		NewFeeding	true	"what changes"
//	@Success		200			{object}	Feeding
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feedings/{feeding} [patch]
func (s *Server) changeFeeding(r *request) (answer, error) { return s.feedings(r).change(r) }

// voidFeeding voids a feeding.
//
//	@Summary		Void a feeding
//	@Description	It stays, with voided_at, and counts for nothing: not in lists unless they are asked for it, nor in figures and exports; in the timeline as voided.
//	@ID				voidFeeding
//	@Tags			feedings
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			feeding		path		string	true	"id of the feeding"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	Feeding
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feedings/{feeding} [delete]
func (s *Server) voidFeeding(r *request) (answer, error) { return s.feedings(r).remove(r) }
