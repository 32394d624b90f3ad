package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// NewMaterial is a material as a caller adds it. Figures that are left out come
// from the feedstock.
type NewMaterial struct {
	ID           string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`        // made by the caller, or left to the service
	Name         string   `json:"name,omitempty" example:"Kitchen scraps" maxLength:"80"`                           // left out: as the feedstock
	Kind         string   `json:"kind,omitempty" example:"feed" enums:"feed,bedding,amendment"`                     // left out: as the feedstock
	Feedstock    string   `json:"feedstock,omitempty" example:"vegetable-produce"`                                  // entry of the reference table
	MoisturePct  *float64 `json:"moisture_pct" example:"87" minimum:"0" maximum:"99.9" extensions:"x-nullable"`     // of wet mass; left out: as the feedstock
	NitrogenPct  *float64 `json:"nitrogen_pct" example:"2.7" minimum:"0" maximum:"100" extensions:"x-nullable"`     // of dry mass
	CarbonRatio  *float64 `json:"carbon_ratio" example:"19" minimum:"0" maximum:"10000" extensions:"x-nullable"`    // C:N, mass to mass
	DensityGPerL *float64 `json:"density_g_per_l" example:"600" minimum:"1" maximum:"5000" extensions:"x-nullable"` // bulk density
	AnimalOrigin bool     `json:"animal_origin,omitempty" example:"false"`
	Slow         bool     `json:"slow,omitempty" example:"false"` // stones, woody peel: decays slowly
	Note         string   `json:"note,omitempty" example:"under the stairs" maxLength:"2000"`
}

func (n NewMaterial) material() service.Material {
	return service.Material{
		ID: service.MaterialID(n.ID), Name: n.Name, Kind: service.MaterialKind(n.Kind), Feedstock: n.Feedstock,
		Moisture: (*unit.Percent)(n.MoisturePct), NitrogenPct: n.NitrogenPct, CarbonRatio: n.CarbonRatio, DensityGPerL: n.DensityGPerL,
		AnimalOrigin: n.AnimalOrigin, Slow: n.Slow, Note: n.Note,
	}
}

// Material is a feedstock, a bedding or an amendment as the club knows it.
type Material struct {
	ID           string    `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name         string    `json:"name" example:"Kitchen scraps" validate:"required"`
	Kind         string    `json:"kind" example:"feed" enums:"feed,bedding,amendment" validate:"required"`
	Feedstock    *string   `json:"feedstock" example:"vegetable-produce" extensions:"x-nullable" validate:"required"`
	MoisturePct  *float64  `json:"moisture_pct" example:"87" extensions:"x-nullable" validate:"required"`     // of wet mass; null: not known
	NitrogenPct  *float64  `json:"nitrogen_pct" example:"2.7" extensions:"x-nullable" validate:"required"`    // of dry mass
	CarbonRatio  *float64  `json:"carbon_ratio" example:"19" extensions:"x-nullable" validate:"required"`     // C:N, mass to mass
	DensityGPerL *float64  `json:"density_g_per_l" example:"600" extensions:"x-nullable" validate:"required"` // bulk density
	AnimalOrigin bool      `json:"animal_origin" example:"false" validate:"required"`
	Slow         bool      `json:"slow" example:"false" validate:"required"`
	Note         *string   `json:"note" example:"under the stairs" extensions:"x-nullable" validate:"required"`
	CreatedAt    time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func materialOf(m service.Material) Material {
	return Material{
		ID: string(m.ID), Name: m.Name, Kind: string(m.Kind), Feedstock: orNull(m.Feedstock),
		MoisturePct: (*float64)(m.Moisture), NitrogenPct: m.NitrogenPct, CarbonRatio: m.CarbonRatio, DensityGPerL: m.DensityGPerL,
		AnimalOrigin: m.AnimalOrigin, Slow: m.Slow, Note: orNull(m.Note), CreatedAt: m.CreatedAt,
	}
}

func (s *Server) materials(*request) noun[service.Material, service.MaterialID, NewMaterial, Material] {
	return noun[service.Material, service.MaterialID, NewMaterial, Material]{
		name: "material", shelf: s.Materials, in: NewMaterial.material, out: materialOf,
		head: func(v service.Material) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addMaterial records a material.
//
//	@Summary		Add a material
//	@Description	A feedstock, a bedding or an amendment. Figures that are left out come from the feedstock named.
//	@ID				addMaterial
//	@Tags			materials
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			material			body		NewMaterial	true	"the material"
//	@Success		201				{object}	Material
//	@Header			201				{string}	Location	"the material"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/materials [post]
func (s *Server) addMaterial(r *request) (answer, error) { return s.materials(r).add(r) }

// listMaterials shows a page of the club's materials.
//
//	@Summary		List materials
//	@Description	In the order of their ids.
//	@ID				listMaterials
//	@Tags			materials
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Material]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/materials [get]
func (s *Server) listMaterials(r *request) (answer, error) { return s.materials(r).list(r) }

// getMaterial shows one material.
//
//	@Summary		Show a material
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getMaterial
//	@Tags			materials
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			material			path		string	true	"id of the material"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Material
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/materials/{material} [get]
func (s *Server) getMaterial(r *request) (answer, error) { return s.materials(r).get(r) }

// changeMaterial changes a material.
//
//	@Summary		Change a material
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. What was fed keeps the mass that it was booked with; figures that are counted from now on take the new moisture.
//	@ID				changeMaterial
//	@Tags			materials
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			material		path		string	true	"id of the material"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewMaterial	true	"what changes"
//	@Success		200			{object}	Material
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/materials/{material} [patch]
func (s *Server) changeMaterial(r *request) (answer, error) { return s.materials(r).change(r) }

// removeMaterial removes a material.
//
//	@Summary		Remove a material
//	@Description	Only a material that was never fed.
//	@ID				removeMaterial
//	@Tags			materials
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			material		path		string	true	"id of the material"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/materials/{material} [delete]
func (s *Server) removeMaterial(r *request) (answer, error) { return s.materials(r).remove(r) }
