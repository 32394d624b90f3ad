package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewClub is what founding a club takes.
type NewClub struct {
	ID             string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000002" format:"uuid"` // made by the caller, or left to the service
	Handle         string `json:"handle" example:"harbour" minLength:"3" maxLength:"40" validate:"required"` // its public name in addresses
	Name           string `json:"name" example:"Harbour Worm Club" maxLength:"80" validate:"required"`
	TimeZone       string `json:"time_zone" example:"Europe/Lisbon" validate:"required"` // IANA name
	Hemisphere     string `json:"hemisphere,omitempty" example:"north" enums:"north,south" default:"north"`
	Units          string `json:"units,omitempty" example:"metric" enums:"metric,us" default:"metric"`
	Currency       string `json:"currency" example:"EUR" minLength:"3" maxLength:"3" validate:"required"`                       // ISO 4217
	RetentionYears int    `json:"retention_years,omitempty" example:"10" minimum:"1" maximum:"100" default:"10" format:"int32"` // how long the book is kept
}

func (n NewClub) club() service.Club {
	return service.Club{
		ID: service.ClubID(n.ID), Handle: n.Handle, Name: n.Name, TimeZone: n.TimeZone, Currency: n.Currency,
		Hemisphere: service.Hemisphere(n.Hemisphere), Units: service.UnitSystem(n.Units), RetentionYears: n.RetentionYears,
	}
}

// NewFounding is a club to be founded, with the operator's leave where it takes
// one.
type NewFounding struct {
	NewClub
	FoundingCode string `json:"founding_code,omitempty" example:"7S6BM4X0PRZ5ZC3D80KQ3BXEKGZ3SCB3CT8Y9XK1K4VHE0QN1ZJ6TR40WG"` // one use; from the operator
}

// Club is a club or a farm.
type Club struct {
	ID             string    `json:"id" example:"01970000-0000-7000-8000-000000000002" format:"uuid" validate:"required"`
	Handle         string    `json:"handle" example:"harbour" validate:"required"`
	Name           string    `json:"name" example:"Harbour Worm Club" validate:"required"`
	TimeZone       string    `json:"time_zone" example:"Europe/Lisbon" validate:"required"`
	Hemisphere     string    `json:"hemisphere" example:"north" enums:"north,south" validate:"required"`
	Units          string    `json:"units" example:"metric" enums:"metric,us" validate:"required"`
	Currency       string    `json:"currency" example:"EUR" validate:"required"`
	RetentionYears int       `json:"retention_years" example:"10" format:"int32" validate:"required"`
	SeasonBy       string    `json:"season_by" example:"seasons" enums:"seasons,quarters" validate:"required"`                         // what the current season is
	PromiseDays    int       `json:"promise_days" example:"14" format:"int32" validate:"required"`                                     // how long stock is kept for a transfer
	AllowedOrigins []string  `json:"allowed_origins" example:"https://club.example" validate:"required"`                               // web pages that may call with a token or key
	ClosedUntil    *string   `json:"closed_until" example:"2026-03-31" extensions:"x-nullable" validate:"required"`                    // the last day of the closed books; null: all is open
	ClosedWhy      *string   `json:"closed_why" example:"accounts of the season approved" extensions:"x-nullable" validate:"required"` // why that day was set
	QuarantineDays int       `json:"quarantine_days" example:"21" format:"int32" validate:"required"`                                  // of an arrival in an empty bin; 0: none begins by itself
	CopyPct        int       `json:"copy_pct" example:"80" format:"int32" validate:"required"`                                         // from how many per cent of a culture stock is a copy of it
	Due            DueRules  `json:"due" validate:"required"`                                                                          // thresholds of the due list
	PublishSeason  bool      `json:"publish_season" example:"true" validate:"required"`                                                // everybody may read the figures of its seasons
	PublishOffers  bool      `json:"publish_offers" example:"false" validate:"required"`                                               // everybody may read its offers
	CreatedAt      time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func clubOf(c service.Club) Club {
	return Club{
		ID: string(c.ID), Handle: c.Handle, Name: c.Name, TimeZone: c.TimeZone, Hemisphere: string(c.Hemisphere),
		Units: string(c.Units), Currency: c.Currency, RetentionYears: c.RetentionYears, SeasonBy: string(c.SeasonBy), PromiseDays: c.PromiseDays,
		AllowedOrigins: append([]string{}, c.AllowedOrigins...), CreatedAt: c.CreatedAt,
		ClosedUntil: orNull(string(c.ClosedUntil)), ClosedWhy: orNull(c.ClosedWhy), QuarantineDays: c.QuarantineDays, CopyPct: c.CopyPct, Due: dueRulesOf(c.Due),
		PublishSeason: c.PublishSeason, PublishOffers: c.PublishOffers,
	}
}

// Membership is a club and who the caller is there.
type Membership struct {
	Club   Club   `json:"club" validate:"required"`
	Member Member `json:"member" validate:"required"`
}

// foundClub starts a club.
//
//	@Summary		Found a club
//	@Description	Starts a club whose first steward is the caller. The service's operator decides who may: the first account only, everybody, those with a founding code, or nobody.
//	@ID				foundClub
//	@Tags			clubs
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club							body		NewFounding	true	"the club"
//	@Success		201								{object}	Membership
//	@Header			201								{string}	Location	"the club"
//	@Failure		400,401,403,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs [post]
func (s *Server) foundClub(r *request) (answer, error) {
	in, err := decode[NewFounding](r)
	if err != nil {
		return answer{}, err
	}
	c, m, err := s.Clubs.FoundAs(r.ctx, r.account, in.club(), in.FoundingCode)
	return answer{status: http.StatusCreated, location: "/v1/clubs/" + c.Handle, body: Membership{clubOf(c), memberOf(m)}}, err
}

// getClub shows a club to its members.
//
//	@Summary		Show a club
//	@Description	Only members see it; for all others there is none.
//	@ID				getClub
//	@Tags			clubs
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Success		200				{object}	Club
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club} [get]
func (s *Server) getClub(r *request) (answer, error) {
	c, err := s.Clubs.Get(r.ctx, r.actor())
	return answer{status: http.StatusOK, version: c.Version, body: clubOf(c)}, err
}

// ClubSettings is what can be changed of a club.
type ClubSettings struct {
	Name           string       `json:"name" example:"Harbour Worm Club" maxLength:"80" validate:"required"`
	TimeZone       string       `json:"time_zone" example:"Europe/Lisbon" validate:"required"` // IANA name
	Hemisphere     string       `json:"hemisphere" example:"north" enums:"north,south" validate:"required"`
	Units          string       `json:"units" example:"metric" enums:"metric,us" validate:"required"`
	Currency       string       `json:"currency" example:"EUR" minLength:"3" maxLength:"3" validate:"required"` // ISO 4217
	RetentionYears int          `json:"retention_years" example:"10" minimum:"1" maximum:"100" format:"int32" validate:"required"`
	SeasonBy       string       `json:"season_by" example:"seasons" enums:"seasons,quarters" validate:"required"`
	PromiseDays    int          `json:"promise_days" example:"14" minimum:"1" maximum:"365" format:"int32" validate:"required"`    // how long stock is kept for a transfer
	AllowedOrigins []string     `json:"allowed_origins" example:"https://club.example" validate:"required"`                        // at most 20, as browsers send them
	QuarantineDays int          `json:"quarantine_days" example:"21" minimum:"0" maximum:"366" format:"int32" validate:"required"` // of an arrival in an empty bin; 0: none begins by itself
	CopyPct        int          `json:"copy_pct" example:"80" minimum:"50" maximum:"100" format:"int32" validate:"required"`       // from how many per cent of a culture stock is a copy of it
	Due            SentDueRules `json:"due" validate:"required"`                                                                   // thresholds of the due list
	PublishSeason  bool         `json:"publish_season" example:"true" validate:"required"`                                         // everybody may read the figures of its seasons
	PublishOffers  bool         `json:"publish_offers" example:"false" validate:"required"`                                        // everybody may read its offers
}

func (n ClubSettings) club() service.Club {
	return service.Club{
		Name: n.Name, TimeZone: n.TimeZone, Hemisphere: service.Hemisphere(n.Hemisphere), Units: service.UnitSystem(n.Units),
		Currency: n.Currency, RetentionYears: n.RetentionYears, SeasonBy: service.SeasonRule(n.SeasonBy), PromiseDays: n.PromiseDays, AllowedOrigins: n.AllowedOrigins,
		QuarantineDays: n.QuarantineDays, CopyPct: n.CopyPct, Due: n.Due.rules(), PublishSeason: n.PublishSeason, PublishOffers: n.PublishOffers,
	}
}

// changeClub changes the settings of a club.
//
//	@Summary		Change a club's settings
//	@Description	For stewards. A merge patch (RFC 7396): members that are left out stay. The handle stays for good. Figures are worked out by the settings as they are when asked for; what was recorded stays as it was typed.
//	@ID				changeClub
//	@Tags			clubs
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string			true	"handle or id of the club"	example(harbour)
//	@Param			If-Match	header		string			true	"ETag of what the caller read"
//	@Param			settings	body		ClubSettings	true	"what changes"
//	@Success		200			{object}	Club
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club} [patch]
func (s *Server) changeClub(r *request) (answer, error) {
	c, err := s.Clubs.Get(r.ctx, r.actor())
	if err != nil {
		return answer{}, err
	}
	body, err := encode(clubOf(c))
	if err != nil {
		return answer{}, err
	}
	if err := r.guard(tag(c.Version, body)); err != nil {
		return answer{}, err
	}
	current, _, err := parse(body)
	if err != nil {
		return answer{}, err
	}
	given, err := patched[ClubSettings](r.body, current)
	if err != nil {
		return answer{}, err
	}
	c, err = s.Clubs.Change(r.ctx, r.actor(), c.Version, given.club())
	return answer{status: http.StatusOK, version: c.Version, body: clubOf(c)}, err
}
