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
	CreatedAt      time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func clubOf(c service.Club) Club {
	return Club{
		ID: string(c.ID), Handle: c.Handle, Name: c.Name, TimeZone: c.TimeZone, Hemisphere: string(c.Hemisphere),
		Units: string(c.Units), Currency: c.Currency, RetentionYears: c.RetentionYears, CreatedAt: c.CreatedAt,
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
//	@Description	Starts a club whose first steward is the caller. The service's operator decides who may.
//	@ID				foundClub
//	@Tags			clubs
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club							body		NewClub	true	"the club"
//	@Success		201								{object}	Membership
//	@Header			201								{string}	Location	"the club"
//	@Failure		400,401,403,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs [post]
func (s *Server) foundClub(r *request) (answer, error) {
	in, err := decode[NewClub](r)
	if err != nil {
		return answer{}, err
	}
	c, m, err := s.Clubs.FoundAs(r.ctx, r.account, in.club())
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
	return answer{status: http.StatusOK, body: clubOf(c)}, err
}
