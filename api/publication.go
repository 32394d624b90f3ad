package api

import (
	"cmp"
	"net/http"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// Publication is what a club shows to everybody.
type Publication struct {
	PublishedClub
	Season   bool               `json:"season" example:"true" validate:"required"` // the figures of its seasons
	Offers   bool               `json:"offers" example:"true" validate:"required"`
	Cultures []PublishedCulture `json:"cultures" validate:"required"` // whose lineage it shows, by name
}

// PublishedClub is a club as everybody sees it.
type PublishedClub struct {
	Handle   string `json:"handle" example:"harbour" validate:"required"`
	Name     string `json:"name" example:"Harbour Worm Club" validate:"required"`
	TimeZone string `json:"time_zone" example:"Europe/Lisbon" validate:"required"`        // of its months and days
	Units    string `json:"units" example:"metric" enums:"metric,us" validate:"required"` // in which it reads its figures
}

// PublishedCulture is a culture as everybody sees it.
type PublishedCulture struct {
	Named
	Species Named `json:"species" validate:"required"`
}

func publishedClubOf(c service.Club) PublishedClub {
	return PublishedClub{c.Handle, c.Name, c.TimeZone, string(c.Units)}
}

func publishedCultureOf(c service.Culture, n rowNames) PublishedCulture {
	return PublishedCulture{Named{string(c.ID), c.Name}, n.species(string(c.Species))}
}

// getPublication shows what a club publishes.
//
//	@Summary		Show what a club publishes
//	@Description	For every page, without credentials. A club that publishes nothing answers as one that isn't there.
//	@ID				getPublication
//	@Tags			public
//	@Produce		json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Publication
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503		{object}	Problem
//	@Router			/v1/public/clubs/{club} [get]
func (s *Server) getPublication(r *request) (answer, error) {
	p, err := s.Publications.Of(r.ctx, r.param("club"))
	if err != nil {
		return answer{}, err
	}
	n := rowNames{p.Names}
	return answer{status: http.StatusOK, body: Publication{
		publishedClubOf(p.Club), p.Club.PublishSeason, p.Club.PublishOffers,
		rowsOf(p.Cultures, func(c service.Culture) PublishedCulture { return publishedCultureOf(c, n) }),
	}}, nil
}

// PublishedOffers are a club's offers as everybody sees them.
type PublishedOffers struct {
	Club     PublishedClub    `json:"club" validate:"required"`
	Items    []PublishedOffer `json:"items" validate:"required"`    // that stand today, the newest first, at most 100
	Cautions []string         `json:"cautions" validate:"required"` // to be shown beside them
}

// PublishedOffer is an offer as everybody sees it.
type PublishedOffer struct {
	ID       string    `json:"id" example:"01970000-0000-7000-8000-000000000060" format:"uuid" validate:"required"`
	What     string    `json:"what" example:"Red worms from the cellar, bed-run" validate:"required"`                                         // in the words of the keeper, who agreed to be shown by name; else by species or product
	Species  *Named    `json:"species" extensions:"x-nullable" validate:"required"`                                                           // null: castings or material
	Product  *string   `json:"product" example:"castings" enums:"vermicompost,screened,castings" extensions:"x-nullable" validate:"required"` // of a batch
	Quantity *Quantity `json:"quantity" extensions:"x-nullable" validate:"required"`
	Terms    []string  `json:"terms" example:"sale" enums:"sale,swap,gift,loan" validate:"required"` // none: to be talked about
	Price    *Price    `json:"price" extensions:"x-nullable" validate:"required"`
	Until    *string   `json:"until" example:"2026-06-30" format:"date" extensions:"x-nullable" validate:"required"`
	Keeper   Named     `json:"keeper" validate:"required"` // by pseudonym, or by the name that the member agreed to
	Since    string    `json:"since" example:"2026-05-01" format:"date" validate:"required"`
}

func publishedOffersOf(p service.PublishedOffers) PublishedOffers {
	zone := p.Club.Zone()
	return PublishedOffers{
		publishedClubOf(p.Club), rowsOf(p.Offers, func(o service.Offer) PublishedOffer { return publishedOfferOf(o, p, zone) }),
		[]string{string(service.CautionRelease), string(service.CautionBorders)},
	}
}

func publishedOfferOf(o service.Offer, p service.PublishedOffers, zone *time.Location) PublishedOffer {
	n, told := rowNames{p.Names}, offerOf(o)
	out := PublishedOffer{
		ID: told.ID, What: "Surplus", Quantity: told.Quantity, Terms: told.Terms, Price: told.Price, Until: told.Until,
		Keeper: n.member(string(o.Member)), Since: o.CreatedAt.In(zone).Format(time.DateOnly),
	}
	if o.Species != "" {
		species := n.species(string(o.Species))
		out.Species, out.What = &species, species.Name
	}
	if b, ok := p.Batches[o.Batch]; ok {
		out.Product = orNull(string(b.Product))
		out.What = map[service.Product]string{service.Vermicompost: "Vermicompost", service.Screened: "Screened vermicompost", service.CastingsOnly: "Castings"}[b.Product]
	}
	out.What = cmp.Or(o.What, out.What)
	return out
}

// listPublishedOffers shows the offers that a club publishes.
//
//	@Summary		Show a club's offers
//	@Description	For every page, without credentials, where the club publishes them; else as one that isn't there. Who offers is a pseudonym, and the words are the service's, unless the member agreed to be shown by name. Show the cautions beside them.
//	@ID				listPublishedOffers
//	@Tags			public
//	@Produce		json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	PublishedOffers
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503		{object}	Problem
//	@Router			/v1/public/clubs/{club}/offers [get]
func (s *Server) listPublishedOffers(r *request) (answer, error) {
	p, err := s.Publications.Offers(r.ctx, r.param("club"))
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, body: publishedOffersOf(p)}, nil
}

// unitsOf is the system that a published figure is shown in: what the call asks
// for, else the club's.
func (r *request) unitsOf(c service.Club) unit.System {
	return cmp.Or(unit.System(r.gin.Query("units")), c.Units)
}
