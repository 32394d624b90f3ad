package api

import (
	"time"

	"lumbricary.example/service"
)

// NewSite is a site as a caller adds it.
type NewSite struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // made by the caller, or left to the service
	Name    string `json:"name" example:"Cellar" maxLength:"80" validate:"required"`
	Address string `json:"address,omitempty" example:"Rua do Cais 4" maxLength:"2000"`                   // shown to its owner and to stewards
	Owner   string `json:"owner,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // a member; left out: the caller
	Note    string `json:"note,omitempty" example:"under the stairs" maxLength:"2000"`
}

func (n NewSite) site() service.Site {
	return service.Site{ID: service.SiteID(n.ID), Name: n.Name, Address: n.Address, Owner: service.MemberID(n.Owner), Note: n.Note}
}

// Site is a place where bins are kept.
type Site struct {
	ID        string    `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name      string    `json:"name" example:"Cellar" validate:"required"`
	Address   *string   `json:"address" example:"Rua do Cais 4" extensions:"x-nullable" validate:"required"` // null: none, or not for the caller
	Owner     string    `json:"owner" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	Note      *string   `json:"note" example:"under the stairs" extensions:"x-nullable" validate:"required"`
	CreatedAt time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func siteOf(s service.Site) Site {
	return Site{ID: string(s.ID), Name: s.Name, Address: orNull(s.Address), Owner: string(s.Owner), Note: orNull(s.Note), CreatedAt: s.CreatedAt}
}

func (s *Server) sites(*request) noun[service.Site, service.SiteID, NewSite, Site] {
	return noun[service.Site, service.SiteID, NewSite, Site]{
		name: "site", shelf: s.Sites, in: NewSite.site, out: siteOf,
		head: func(v service.Site) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addSite records a site.
//
//	@Summary		Add a site
//	@Description	Keepers add their own sites, stewards all.
//	@ID				addSite
//	@Tags			sites
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			site			body		NewSite	true	"the site"
//	@Success		201				{object}	Site
//	@Header			201				{string}	Location	"the site"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/sites [post]
func (s *Server) addSite(r *request) (answer, error) { return s.sites(r).add(r) }

// listSites shows a page of the club's sites.
//
//	@Summary		List sites
//	@Description	In the order of their ids. Addresses are shown to the owner and to stewards only.
//	@ID				listSites
//	@Tags			sites
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Site]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/sites [get]
func (s *Server) listSites(r *request) (answer, error) { return s.sites(r).list(r) }

// getSite shows one site.
//
//	@Summary		Show a site
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getSite
//	@Tags			sites
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			site			path		string	true	"id of the site"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Site
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/sites/{site} [get]
func (s *Server) getSite(r *request) (answer, error) { return s.sites(r).get(r) }

// changeSite changes a site.
//
//	@Summary		Change a site
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. Only stewards give it to another owner.
//	@ID				changeSite
//	@Tags			sites
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			site		path		string	true	"id of the site"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewSite	true	"what changes"
//	@Success		200			{object}	Site
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/sites/{site} [patch]
func (s *Server) changeSite(r *request) (answer, error) { return s.sites(r).change(r) }

// removeSite removes a site.
//
//	@Summary		Remove a site
//	@Description	Only a site where no bin stands, or ever stood.
//	@ID				removeSite
//	@Tags			sites
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			site		path		string	true	"id of the site"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/sites/{site} [delete]
func (s *Server) removeSite(r *request) (answer, error) { return s.sites(r).remove(r) }
