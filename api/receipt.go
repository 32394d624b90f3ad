package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/working"
)

// NewReceipt is a receipt as a caller records it. How much it was: net, or gross
// with tare or a measure, or a count of a measure.
type NewReceipt struct {
	ID            string    `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Material      string    `json:"material" example:"01970000-0000-7000-8000-000000000013" format:"uuid" validate:"required"`
	At            string    `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                        // RFC 3339 time, or a date in the club's time zone; left out: now
	From          string    `json:"from,omitempty" example:"Quay Greens" maxLength:"80"`                                // an outside party
	FromMember    string    `json:"from_member,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // in place of from
	Net           *Quantity `json:"net" units:"mass volume" extensions:"x-nullable"`                                    // a mass, or a volume of a material with a density
	Gross         *Quantity `json:"gross" units:"mass" extensions:"x-nullable"`                                         // with what it came in
	Tare          *Quantity `json:"tare" units:"mass" extensions:"x-nullable"`                                          // what that weighs empty
	Measure       string    `json:"measure,omitempty" example:"01970000-0000-7000-8000-000000000014" format:"uuid"`     // in which gross was weighed, or of which count tells
	Count         *float64  `json:"count" example:"2" minimum:"0.001" maximum:"1000" extensions:"x-nullable"`           // how many of the measure, filled
	Rejected      *Quantity `json:"rejected" units:"mass volume" extensions:"x-nullable"`                               // of it: not taken
	RejectedWhy   string    `json:"rejected_why,omitempty" example:"plastic bags" maxLength:"2000"`
	Residue       *Quantity `json:"residue" units:"mass volume" extensions:"x-nullable"`         // of it: taken, and thrown out later
	AnimalOrigin  *bool     `json:"animal_origin" example:"false" extensions:"x-nullable"`       // left out: as the material
	HeatTreatment *NewHeat  `json:"heat_treatment" extensions:"x-nullable"`                      // before it came in
	Basis         string    `json:"basis,omitempty" example:"weighed" enums:"weighed,estimated"` // left out: a mass is weighed, a volume estimated
	Note          string    `json:"note,omitempty" example:"from the Saturday market" maxLength:"2000"`
}

// NewHeat is a treatment with heat as a caller tells it.
type NewHeat struct {
	What        string    `json:"what,omitempty" example:"steamed" maxLength:"2000"`
	Temperature *Quantity `json:"temperature" units:"temperature" extensions:"x-nullable"` // in Cel or [degF]
	Hours       *float64  `json:"hours" example:"1" minimum:"0" maximum:"8784" extensions:"x-nullable"`
}

func (n NewHeat) heat() service.Heat {
	return service.Heat{What: n.What, Value: typedOrNone(n.Temperature), Hours: n.Hours}
}

func (n NewReceipt) receipt() service.Receipt {
	r := service.Receipt{
		ID: service.ReceiptID(n.ID), Material: service.MaterialID(n.Material), At: service.Moment{Text: n.At},
		From: n.From, FromMember: service.MemberID(n.FromMember), Typed: typedOrNone(n.Net), Gross: typedOrNone(n.Gross), Tare: typedOrNone(n.Tare),
		Measure: service.MeasureID(n.Measure), Count: n.Count, RejectedTyped: typedOrNone(n.Rejected), RejectedWhy: n.RejectedWhy,
		ResidueTyped: typedOrNone(n.Residue), Animal: n.AnimalOrigin, Basis: service.Basis(n.Basis), Note: n.Note,
	}
	if n.HeatTreatment != nil {
		r.Heat = n.HeatTreatment.heat()
	}
	return r
}

// Receipt is feedstock or bedding that came in: what was typed, and the masses
// that it became.
type Receipt struct {
	ID            string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Material      string     `json:"material" example:"01970000-0000-7000-8000-000000000013" format:"uuid" validate:"required"`
	At            string     `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision     string     `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	From          *string    `json:"from" example:"Quay Greens" extensions:"x-nullable" validate:"required"`
	FromMember    *string    `json:"from_member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"`
	Net           *Quantity  `json:"net" extensions:"x-nullable" validate:"required"` // null: gross or count tells
	Gross         *Quantity  `json:"gross" extensions:"x-nullable" validate:"required"`
	Tare          *Quantity  `json:"tare" extensions:"x-nullable" validate:"required"`
	Measure       *string    `json:"measure" example:"01970000-0000-7000-8000-000000000014" format:"uuid" extensions:"x-nullable" validate:"required"`
	Count         *float64   `json:"count" example:"2" extensions:"x-nullable" validate:"required"`
	NetG          float64    `json:"net_g" example:"25000" validate:"required"` // wet, before rejection
	Rejected      *Quantity  `json:"rejected" extensions:"x-nullable" validate:"required"`
	RejectedG     float64    `json:"rejected_g" example:"1500" validate:"required"`
	RejectedWhy   *string    `json:"rejected_why" example:"plastic bags" extensions:"x-nullable" validate:"required"`
	Residue       *Quantity  `json:"residue" extensions:"x-nullable" validate:"required"`
	ResidueG      float64    `json:"residue_g" example:"0" validate:"required"`
	AnimalOrigin  *bool      `json:"animal_origin" example:"false" extensions:"x-nullable" validate:"required"` // null: as the material
	HeatTreatment *Heat      `json:"heat_treatment" extensions:"x-nullable" validate:"required"`
	Basis         string     `json:"basis" example:"weighed" enums:"weighed,estimated" validate:"required"`
	Note          *string    `json:"note" example:"from the Saturday market" extensions:"x-nullable" validate:"required"`
	Recorded      Recorded   `json:"recorded" validate:"required"`
	VoidedAt      *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy      *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
	Explained
}

// Heat is a treatment with heat.
type Heat struct {
	What        *string   `json:"what" example:"steamed" extensions:"x-nullable" validate:"required"`
	Temperature *Quantity `json:"temperature" extensions:"x-nullable" validate:"required"`
	Hours       *float64  `json:"hours" example:"1" extensions:"x-nullable" validate:"required"`
}

func heatOrNull(h service.Heat) *Heat {
	if (h == service.Heat{}) {
		return nil
	}
	return &Heat{What: orNull(h.What), Temperature: typedOrNull(h.Value), Hours: h.Hours}
}

func receiptOf(r service.Receipt, zone *time.Location) Receipt {
	return Receipt{
		ID: string(r.ID), Material: string(r.Material), At: r.At.In(zone), Precision: string(r.At.Precision),
		From: orNull(r.From), FromMember: orNull(string(r.FromMember)), Net: typedOrNull(r.Typed), Gross: typedOrNull(r.Gross), Tare: typedOrNull(r.Tare),
		Measure: orNull(string(r.Measure)), Count: r.Count, NetG: r.Net.Grams(), Rejected: typedOrNull(r.RejectedTyped), RejectedG: r.Rejected.Grams(),
		RejectedWhy: orNull(r.RejectedWhy), Residue: typedOrNull(r.ResidueTyped), ResidueG: r.Residue.Grams(), AnimalOrigin: r.Animal,
		HeatTreatment: heatOrNull(r.Heat), Basis: string(r.Basis), Note: orNull(r.Note), Recorded: recordedOf(r.Recorded),
		VoidedAt: timeOrNull(r.Voided.At), VoidedBy: orNull(string(r.Voided.By)),
	}
}

func (s *Server) receipts(r *request) noun[service.Receipt, service.ReceiptID, NewReceipt, Receipt] {
	return noun[service.Receipt, service.ReceiptID, NewReceipt, Receipt]{
		explain: func(v service.Receipt) ([]working.Figure, error) {
			return s.Reports.ExplainReceipt(r.ctx, r.actor(), v)
		},
		name: "receipt", shelf: s.Receipts, in: NewReceipt.receipt, out: inZone(r, receiptOf),
		head:    func(v service.Receipt) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"material", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addReceipt records a receipt.
//
//	@Summary		Record a receipt
//	@Description	Feedstock or bedding that came in. How much: net; or gross, less a tare or a measure of the club; or so many of a measure, filled. What is rejected, or thrown out later as residue, is a part of it. Keepers and stewards record.
//	@ID				addReceipt
//	@Tags			receipts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			receipt			body		NewReceipt	true	"the receipt"
//	@Success		201				{object}	Receipt
//	@Header			201				{string}	Location	"the receipt"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts [post]
func (s *Server) addReceipt(r *request) (answer, error) { return s.receipts(r).add(r) }

// listReceipts shows a page of the club's receipts.
//
//	@Summary		List receipts
//	@Description	In the order of their times.
//	@ID				listReceipts
//	@Tags			receipts
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			material		query		string	false	"receipts of that material"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Receipt]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts [get]
func (s *Server) listReceipts(r *request) (answer, error) { return s.receipts(r).list(r) }

// getReceipt shows one receipt.
//
//	@Summary		Show a receipt
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getReceipt
//	@Tags			receipts
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			receipt			path		string	true	"id of the receipt"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Receipt
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts/{receipt} [get]
func (s *Server) getReceipt(r *request) (answer, error) { return s.receipts(r).get(r) }

// changeReceipt changes a receipt.
//
//	@Summary		Change a receipt
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its material: void it and record it again. Keepers change what they recorded. What stays as typed keeps its mass.
//	@ID				changeReceipt
//	@Tags			receipts
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			receipt		path		string	true	"id of the receipt"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewReceipt	true	"what changes"
//	@Success		200			{object}	Receipt
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts/{receipt} [patch]
func (s *Server) changeReceipt(r *request) (answer, error) { return s.receipts(r).change(r) }

// voidReceipt voids a receipt.
//
//	@Summary		Void a receipt
//	@Description	It stays, with voided_at, and counts for nothing. Feedings that name it stay too.
//	@ID				voidReceipt
//	@Tags			receipts
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			receipt		path		string	true	"id of the receipt"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200				{object}	Receipt
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/receipts/{receipt} [delete]
func (s *Server) voidReceipt(r *request) (answer, error) { return s.receipts(r).remove(r) }
