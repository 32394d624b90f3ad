package api

import (
	"time"

	"lumbricary.example/service"
)

// NewOffer is an offer as a caller makes it.
type NewOffer struct {
	ID       string    `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000060" format:"uuid"`     // made by the caller, or left to the service
	Member   string    `json:"member,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // who offers; left out: the caller
	What     string    `json:"what" example:"Red worms from the cellar, bed-run" maxLength:"80" validate:"required"`
	Species  string    `json:"species,omitempty" example:"eisenia-fetida"`                                   // of worms
	Bin      string    `json:"bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`   // where they stand
	Batch    string    `json:"batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // of castings
	Quantity *Quantity `json:"quantity" units:"mass count volume" extensions:"x-nullable"`                   // how much there is to spare
	Terms    []string  `json:"terms,omitempty" example:"sale" enums:"sale,swap,gift,loan"`                   // left out: to be talked about
	Price    *Price    `json:"price" extensions:"x-nullable"`                                                // of a sale
	Until    string    `json:"until,omitempty" example:"2026-06-30" format:"date"`                           // the last day; left out: until it is withdrawn
	Note     string    `json:"note,omitempty" example:"in exchange for coffee grounds" maxLength:"2000"`
}

func (n NewOffer) offer() service.Offer {
	o := service.Offer{
		ID: service.OfferID(n.ID), Member: service.MemberID(n.Member), What: n.What, Species: service.SpeciesID(n.Species),
		Bin: service.BinID(n.Bin), Batch: service.BatchID(n.Batch), Quantity: typedOrNone(n.Quantity), Price: n.Price.price(),
		Until: n.Until, Note: n.Note,
	}
	for _, t := range n.Terms {
		o.Terms = append(o.Terms, service.Terms(t))
	}
	return o
}

// Offer is surplus that a member is willing to part with. It reserves nothing.
type Offer struct {
	ID          string     `json:"id" example:"01970000-0000-7000-8000-000000000060" format:"uuid" validate:"required"`
	Member      string     `json:"member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	What        string     `json:"what" example:"Red worms from the cellar, bed-run" validate:"required"`
	Species     *string    `json:"species" example:"eisenia-fetida" extensions:"x-nullable" validate:"required"` // null: castings or material
	Bin         *string    `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"`
	Batch       *string    `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"`
	Quantity    *Quantity  `json:"quantity" extensions:"x-nullable" validate:"required"`
	Terms       []string   `json:"terms" example:"sale" enums:"sale,swap,gift,loan" validate:"required"`
	Price       *Price     `json:"price" extensions:"x-nullable" validate:"required"` // every member sees it
	Until       *string    `json:"until" example:"2026-06-30" format:"date" extensions:"x-nullable" validate:"required"`
	WithdrawnAt *time.Time `json:"withdrawn_at" example:"2026-05-20T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // null: it stands
	Note        *string    `json:"note" example:"in exchange for coffee grounds" extensions:"x-nullable" validate:"required"`
	CreatedAt   time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func offerOf(o service.Offer) Offer {
	out := Offer{
		ID: string(o.ID), Member: string(o.Member), What: o.What, Species: orNull(string(o.Species)), Bin: orNull(string(o.Bin)),
		Batch: orNull(string(o.Batch)), Quantity: typedOrNull(o.Quantity), Terms: []string{}, Price: priceOf(o.Price), Until: orNull(o.Until),
		WithdrawnAt: timeOrNull(o.Withdrawn), Note: orNull(o.Note), CreatedAt: o.CreatedAt,
	}
	for _, t := range o.Terms {
		out.Terms = append(out.Terms, string(t))
	}
	return out
}

func (s *Server) offers(*request) noun[service.Offer, service.OfferID, NewOffer, Offer] {
	return noun[service.Offer, service.OfferID, NewOffer, Offer]{
		name: "offer", shelf: s.Offers, in: NewOffer.offer, out: offerOf,
		head:    func(v service.Offer) head { return head{id: string(v.ID), version: v.Version} },
		filters: []string{"member", "species", "open"},
		voids:   true,
	}
}

// addOffer makes an offer.
//
//	@Summary		Offer surplus
//	@Description	Worms, castings or material that a member is willing to part with, and what for. It reserves nothing; a transfer may name the offer that it goes back to. Keepers offer for themselves, stewards for all.
//	@ID				addOffer
//	@Tags			offers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			offer			body		NewOffer	true	"the offer"
//	@Success		201				{object}	Offer
//	@Header			201				{string}	Location	"the offer"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/offers [post]
func (s *Server) addOffer(r *request) (answer, error) { return s.offers(r).add(r) }

// listOffers shows a page of the club's offers.
//
//	@Summary		List offers
//	@Description	In the order of their ids, also those that have ended.
//	@ID				listOffers
//	@Tags			offers
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			query		string	false	"of that member"	format(uuid)
//	@Param			species			query		string	false	"of that species"	example(eisenia-fetida)
//	@Param			open			query		bool	false	"true: only those that stand today"	default(false)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Offer]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/offers [get]
func (s *Server) listOffers(r *request) (answer, error) { return s.offers(r).list(r) }

// getOffer shows one offer.
//
//	@Summary		Show an offer
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getOffer
//	@Tags			offers
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			offer			path		string	true	"id of the offer"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Offer
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/offers/{offer} [get]
func (s *Server) getOffer(r *request) (answer, error) { return s.offers(r).get(r) }

// changeOffer changes an offer.
//
//	@Summary		Change an offer
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away.
//	@ID				changeOffer
//	@Tags			offers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			offer		path		string	true	"id of the offer"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewOffer	true	"what changes"
//	@Success		200			{object}	Offer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/offers/{offer} [patch]
func (s *Server) changeOffer(r *request) (answer, error) { return s.offers(r).change(r) }

// withdrawOffer withdraws an offer.
//
//	@Summary		Withdraw an offer
//	@Description	It stays on record, with the time.
//	@ID				withdrawOffer
//	@Tags			offers
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			offer		path		string	true	"id of the offer"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200			{object}	Offer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		401,403,404,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/offers/{offer} [delete]
func (s *Server) withdrawOffer(r *request) (answer, error) { return s.offers(r).remove(r) }
