package api

import (
	"time"

	"lumbricary.example/service"
)

// NewCulture is a culture as a caller adds it.
type NewCulture struct {
	ID        string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // made by the caller, or left to the service
	Name      string `json:"name" example:"Harbour reds" maxLength:"80" validate:"required"`
	Species   string `json:"species" example:"eisenia-fetida" validate:"required"` // id in the species table
	Note      string `json:"note,omitempty" example:"under the stairs" maxLength:"2000"`
	Published bool   `json:"published,omitempty" example:"false"` // everybody may read its name and lineage; needs a steward who signed in
}

func (n NewCulture) culture() service.Culture {
	return service.Culture{ID: service.CultureID(n.ID), Name: n.Name, Species: service.SpeciesID(n.Species), Note: n.Note, Published: n.Published}
}

// Culture is a named set of origins of one species that the club wants to keep
// alive.
type Culture struct {
	ID         string    `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name       string    `json:"name" example:"Harbour reds" validate:"required"`
	Species    string    `json:"species" example:"eisenia-fetida" validate:"required"` // id in the species table
	Note       *string   `json:"note" example:"under the stairs" extensions:"x-nullable" validate:"required"`
	AlsoCalled []string  `json:"also_called" example:"Harbor reds" validate:"required"`                                                                // the names of cultures that were merged into it
	MergedInto *string   `json:"merged_into" example:"01970000-0000-7000-8000-000000000012" format:"uuid" extensions:"x-nullable" validate:"required"` // the culture that it is a name of; null: it stands by itself
	Moved      []string  `json:"moved_origins" example:"01970000-0000-7000-8000-000000000013" validate:"required"`                                     // that went along when it was merged
	Published  bool      `json:"published" example:"false" validate:"required"`                                                                        // everybody may read its name and lineage
	CreatedAt  time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func cultureOf(c service.Culture) Culture {
	return Culture{
		ID: string(c.ID), Name: c.Name, Species: string(c.Species), Note: orNull(c.Note), AlsoCalled: append([]string{}, c.AlsoCalled...),
		MergedInto: orNull(string(c.MergedInto)), Moved: rowsOf(c.Moved, func(o service.OriginID) string { return string(o) }), Published: c.Published, CreatedAt: c.CreatedAt,
	}
}

func (s *Server) cultures(*request) noun[service.Culture, service.CultureID, NewCulture, Culture] {
	return noun[service.Culture, service.CultureID, NewCulture, Culture]{
		name: "culture", shelf: s.Cultures, in: NewCulture.culture, out: cultureOf,
		head:    func(v service.Culture) head { return head{id: string(v.ID), version: v.Version} },
		filters: []string{"name", "merged"},
	}
}

// addCulture records a culture.
//
//	@Summary		Add a culture
//	@Description	Stewards name the cultures that the club wants to keep alive.
//	@ID				addCulture
//	@Tags			cultures
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			culture			body		NewCulture	true	"the culture"
//	@Success		201				{object}	Culture
//	@Header			201				{string}	Location	"the culture"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures [post]
func (s *Server) addCulture(r *request) (answer, error) { return s.cultures(r).add(r) }

// listCultures shows a page of the club's cultures.
//
//	@Summary		List cultures
//	@Description	In the order of their ids, without those that were merged into others.
//	@ID				listCultures
//	@Tags			cultures
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			name			query		string	false	"the culture that is or was called so"	maxLength(80)
//	@Param			merged			query		bool	false	"true: with those that were merged into others"
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Culture]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures [get]
func (s *Server) listCultures(r *request) (answer, error) { return s.cultures(r).list(r) }

// getCulture shows one culture.
//
//	@Summary		Show a culture
//	@Description	Of one that was merged, merged_into says which culture stands for it. One that isn't there, or is another club's, answers 404.
//	@ID				getCulture
//	@Tags			cultures
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			culture			path		string	true	"id of the culture"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Culture
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture} [get]
func (s *Server) getCulture(r *request) (answer, error) { return s.cultures(r).get(r) }

// changeCulture changes a culture.
//
//	@Summary		Change a culture
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. Its species stays once an origin belongs to it. One that was merged isn't changed (409 culture-merged).
//	@ID				changeCulture
//	@Tags			cultures
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			culture		path		string	true	"id of the culture"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewCulture	true	"what changes"
//	@Success		200			{object}	Culture
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture} [patch]
func (s *Server) changeCulture(r *request) (answer, error) { return s.cultures(r).change(r) }

// removeCulture removes a culture.
//
//	@Summary		Remove a culture
//	@Description	Only a culture without origins, into which none was merged. Of one that was merged its name goes, which another may then have.
//	@ID				removeCulture
//	@Tags			cultures
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			culture		path		string	true	"id of the culture"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture} [delete]
func (s *Server) removeCulture(r *request) (answer, error) { return s.cultures(r).remove(r) }
