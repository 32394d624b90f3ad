package api

import (
	"cmp"
	"net/http"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/reference"
)

// Species is one entry of the species table. Figures that conflict stand beside
// each other.
type Species struct {
	ID                 string            `json:"id" example:"eisenia-fetida" validate:"required"`
	ScientificNames    []string          `json:"scientific_names" example:"Eisenia fetida (Savigny, 1826)" validate:"required"`
	CommonName         string            `json:"common_name" example:"tiger worm" validate:"required"`
	Note               *string           `json:"note" example:"the usual compost worm" extensions:"x-nullable" validate:"required"`
	OptimalTemperature []PublishedFigure `json:"optimal_temperature" validate:"required"`
	LimitTemperature   []PublishedFigure `json:"limit_temperature" validate:"required"`
	OptimalMoisture    []PublishedFigure `json:"optimal_moisture" validate:"required"`
	AdultMass          []PublishedFigure `json:"adult_mass" validate:"required"`
}

// PublishedFigure is a figure with its source and how sure it is.
type PublishedFigure struct {
	Value  *float64 `json:"value" example:"0.55" extensions:"x-nullable" validate:"required"` // null: only a span
	Low    *float64 `json:"low" example:"0.4" extensions:"x-nullable" validate:"required"`
	High   *float64 `json:"high" example:"0.7" extensions:"x-nullable" validate:"required"`
	Unit   string   `json:"unit" example:"g" validate:"required"` // UCUM code
	Status string   `json:"status" example:"seen" enums:"seen,seen-transcription,computed,practice,memory" validate:"required"`
	Source string   `json:"source" example:"Edwards and Arancon (2004), Table 18.3" validate:"required"`
	Note   *string  `json:"note" example:"at 25 °C" extensions:"x-nullable" validate:"required"`
}

func speciesOf(s reference.Species, sources map[string]string) Species {
	figures := func(values []reference.Value) []PublishedFigure {
		out := make([]PublishedFigure, 0, len(values))
		for _, v := range values {
			out = append(out, publishedFigureOf(v, sources))
		}
		return out
	}
	return Species{
		ID: s.ID, ScientificNames: s.Names, CommonName: s.Common, Note: orNull(s.Note),
		OptimalTemperature: figures(s.TempOptC), LimitTemperature: figures(s.TempLimitC),
		OptimalMoisture: figures(s.MoistureOpt), AdultMass: figures(s.AdultMassG),
	}
}

// publishedFigureOf shows a figure of the table, where a remark may follow the
// unit.
func publishedFigureOf(v reference.Value, sources map[string]string) PublishedFigure {
	code, remark, _ := strings.Cut(v.Unit, " ")
	if code == "degC" {
		code = "Cel" // as UCUM writes it
	}
	note := strings.TrimPrefix(strings.Join([]string{remark, v.Note}, "; "), "; ")
	return PublishedFigure{
		Value: v.Value, Low: v.Low, High: v.High, Unit: code, Status: v.Status,
		Source: cmp.Or(sources[v.Source], v.Source), Note: orNull(strings.TrimSuffix(note, "; ")),
	}
}

// listSpecies shows the species table.
//
//	@Summary		List species
//	@Description	The reference table of worm species, whole, with the source of every figure.
//	@ID				listSpecies
//	@Tags			reference
//	@Produce		json
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Species]
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		500				{object}	Problem
//	@Router			/v1/species [get]
func (s *Server) listSpecies(*request) (answer, error) {
	p := Page[Species]{Items: []Species{}}
	for _, sp := range s.Reference.Species {
		p.Items = append(p.Items, speciesOf(sp, s.Reference.Sources))
	}
	return answer{status: http.StatusOK, body: p}, nil
}

// getSpecies shows an entry of the species table.
//
//	@Summary		Show a species
//	@Description	One entry of the reference table.
//	@ID				getSpecies
//	@Tags			reference
//	@Produce		json
//	@Param			species			path		string	true	"id of the species"	example(eisenia-fetida)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Species
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500			{object}	Problem
//	@Router			/v1/species/{species} [get]
func (s *Server) getSpecies(r *request) (answer, error) {
	sp, ok := s.Reference.SpeciesByID(r.param("species"))
	if !ok {
		return answer{}, service.ErrSpeciesNotFound
	}
	return answer{status: http.StatusOK, body: speciesOf(sp, s.Reference.Sources)}, nil
}

// Feedstock is one entry of the feedstock table.
type Feedstock struct {
	ID           string   `json:"id" example:"vegetable-produce" validate:"required"`
	Name         string   `json:"name" example:"Vegetable produce" validate:"required"`
	Kind         string   `json:"kind" example:"feed" enums:"feed,bedding" validate:"required"`
	MoisturePct  *float64 `json:"moisture_pct" example:"87" extensions:"x-nullable" validate:"required"`       // of wet mass
	NitrogenPct  *float64 `json:"nitrogen_pct" example:"2.7" extensions:"x-nullable" validate:"required"`      // of dry mass
	CarbonRatio  *float64 `json:"carbon_ratio" example:"19" extensions:"x-nullable" validate:"required"`       // C:N, mass to mass
	DensityGPerL *float64 `json:"density_g_per_l" example:"940.3" extensions:"x-nullable" validate:"required"` // bulk density
	Status       string   `json:"status" example:"seen-transcription" enums:"seen,seen-transcription,computed,practice,memory" validate:"required"`
	Source       string   `json:"source" example:"table of C:N ratios" validate:"required"`
	Note         *string  `json:"note" example:"varies widely" extensions:"x-nullable" validate:"required"`
}

func feedstockOf(f reference.Feedstock) Feedstock {
	out := Feedstock{
		ID: f.ID, Name: f.Name, Kind: f.Kind, MoisturePct: f.MoisturePct, NitrogenPct: f.NitrogenPct, CarbonRatio: f.CarbonRatio,
		Status: f.Status, Source: f.Source, Note: orNull(f.Note),
	}
	if d, ok := f.Density(); ok {
		out.DensityGPerL = &d
	}
	return out
}

// listFeedstocks shows the feedstock table.
//
//	@Summary		List feedstocks
//	@Description	The reference table of feed and bedding, whole. A club's materials take their figures from it.
//	@ID				listFeedstocks
//	@Tags			reference
//	@Produce		json
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Feedstock]
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		500				{object}	Problem
//	@Router			/v1/feedstocks [get]
func (s *Server) listFeedstocks(*request) (answer, error) {
	p := Page[Feedstock]{Items: []Feedstock{}}
	for _, f := range s.Reference.Feedstocks {
		p.Items = append(p.Items, feedstockOf(f))
	}
	return answer{status: http.StatusOK, body: p}, nil
}
