package api

import (
	"time"

	"lumbricary.example/service"
)

// NewOrigin is an origin as a caller adds it.
type NewOrigin struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // made by the caller, or left to the service
	Name    string `json:"name" example:"Green Farm 2026" maxLength:"80" validate:"required"`
	Kind    string `json:"kind" example:"supplier" enums:"supplier,wild,certificate,unknown" validate:"required"`
	Species string `json:"species" example:"eisenia-fetida" validate:"required"`                           // id in the species table
	Culture string `json:"culture,omitempty" example:"01970000-0000-7000-8000-000000000012" format:"uuid"` // left out: belongs to none
	Note    string `json:"note,omitempty" example:"under the stairs" maxLength:"2000"`
}

func (n NewOrigin) origin() service.Origin {
	return service.Origin{
		ID: service.OriginID(n.ID), Name: n.Name, Kind: service.OriginKind(n.Kind), Species: service.SpeciesID(n.Species),
		Culture: service.CultureID(n.Culture), Note: n.Note,
	}
}

// Origin is where stock entered the club's books from outside: a root of the
// lineage.
type Origin struct {
	ID        string    `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name      string    `json:"name" example:"Green Farm 2026" validate:"required"`
	Kind      string    `json:"kind" example:"supplier" enums:"supplier,wild,certificate,unknown" validate:"required"`
	Species   string    `json:"species" example:"eisenia-fetida" validate:"required"` // id in the species table
	Culture   *string   `json:"culture" example:"01970000-0000-7000-8000-000000000012" format:"uuid" extensions:"x-nullable" validate:"required"`
	Note      *string   `json:"note" example:"under the stairs" extensions:"x-nullable" validate:"required"`
	CreatedAt time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func originOf(o service.Origin) Origin {
	return Origin{
		ID: string(o.ID), Name: o.Name, Kind: string(o.Kind), Species: string(o.Species), Culture: orNull(string(o.Culture)),
		Note: orNull(o.Note), CreatedAt: o.CreatedAt,
	}
}

func (s *Server) origins(*request) noun[service.Origin, service.OriginID, NewOrigin, Origin] {
	return noun[service.Origin, service.OriginID, NewOrigin, Origin]{
		name: "origin", shelf: s.Origins, in: NewOrigin.origin, out: originOf,
		head: func(v service.Origin) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addOrigin records an origin.
//
//	@Summary		Add an origin
//	@Description	Where stock comes into the book from outside: a supplier, the wild, a certificate, or unknown.
//	@ID				addOrigin
//	@Tags			origins
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			origin			body		NewOrigin	true	"the origin"
//	@Success		201				{object}	Origin
//	@Header			201				{string}	Location	"the origin"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/origins [post]
func (s *Server) addOrigin(r *request) (answer, error) { return s.origins(r).add(r) }

// listOrigins shows a page of the club's origins.
//
//	@Summary		List origins
//	@Description	In the order of their ids.
//	@ID				listOrigins
//	@Tags			origins
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Origin]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/origins [get]
func (s *Server) listOrigins(r *request) (answer, error) { return s.origins(r).list(r) }

// getOrigin shows one origin.
//
//	@Summary		Show an origin
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getOrigin
//	@Tags			origins
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			origin			path		string	true	"id of the origin"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Origin
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/origins/{origin} [get]
func (s *Server) getOrigin(r *request) (answer, error) { return s.origins(r).get(r) }

// changeOrigin changes an origin.
//
//	@Summary		Change an origin
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. Moves it into a culture, to another, or out with null. Its species stays once stock came from it.
//	@ID				changeOrigin
//	@Tags			origins
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			origin		path		string	true	"id of the origin"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewOrigin	true	"what changes"
//	@Success		200			{object}	Origin
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/origins/{origin} [patch]
func (s *Server) changeOrigin(r *request) (answer, error) { return s.origins(r).change(r) }

// removeOrigin removes an origin.
//
//	@Summary		Remove an origin
//	@Description	Only an origin that no stock came from.
//	@ID				removeOrigin
//	@Tags			origins
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			origin		path		string	true	"id of the origin"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/origins/{origin} [delete]
func (s *Server) removeOrigin(r *request) (answer, error) { return s.origins(r).remove(r) }
