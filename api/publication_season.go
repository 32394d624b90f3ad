package api

import (
	"net/http"

	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// PublishedSeason is the figures of a club's season as everybody sees them.
type PublishedSeason struct {
	Club      PublishedClub    `json:"club" validate:"required"`
	Period    Period           `json:"period" validate:"required"`
	Empty     bool             `json:"empty" example:"false" validate:"required"`              // nothing is on record for that time
	Bins      int              `json:"bins" example:"28" format:"int32" validate:"required"`   // kept in a part of the season
	Keepers   int              `json:"keepers" example:"9" format:"int32" validate:"required"` // of those bins
	FeedG     float64          `json:"feed_g" example:"42000" validate:"required"`             // fed, wet, without bedding
	BeddingG  float64          `json:"bedding_g" example:"6000" validate:"required"`
	CastingsG float64          `json:"castings_g" example:"9000" validate:"required"` // harvested, wet
	Yield     Figure           `json:"yield" validate:"required"`                     // castings for each kg of feed, wet, over whole windows between full harvests
	Rate      Figure           `json:"rate" validate:"required"`                      // kg feed per kg worms per day
	Months    []PublishedMonth `json:"months" validate:"required"`                    // up to this one
	Stock     []StockRow       `json:"stock" validate:"required"`                     // worms in the book, by species
	Transfers []PassedOn       `json:"transfers" validate:"required"`
}

// PublishedMonth is what was fed and harvested in a month.
type PublishedMonth struct {
	Month     string  `json:"month" example:"2026-03" validate:"required"`
	FeedG     float64 `json:"feed_g" example:"14000" validate:"required"`
	BeddingG  float64 `json:"bedding_g" example:"2000" validate:"required"`
	CastingsG float64 `json:"castings_g" example:"3000" validate:"required"`
}

// PassedOn is what changed hands on the same terms.
type PassedOn struct {
	Terms     string  `json:"terms" example:"swap" enums:"sale,swap,gift,loan" validate:"required"`
	Way       string  `json:"way" example:"within" enums:"within,in,out" validate:"required"` // from member to member, into the club, out of it
	Commodity Named   `json:"commodity" validate:"required"`
	MassG     float64 `json:"mass_g" example:"750" validate:"required"` // of castings the dry matter
	Times     int     `json:"times" example:"3" format:"int32" validate:"required"`
}

func publishedSeasonOf(p service.PublishedSeason, in unit.System) PublishedSeason {
	n, all := rowNames{p.Names}, p.Report.Total
	return PublishedSeason{
		Club: publishedClubOf(p.Club), Period: periodOf(p.Report.Period), Empty: p.Report.Empty, Bins: all.Bins, Keepers: p.Keepers,
		FeedG: all.Fed.FeedWet.Grams(), BeddingG: all.Fed.BeddingWet.Grams(), CastingsG: all.Fed.CastingsWet.Grams(),
		Yield: figureOf(all.Yields.Wet, in), Rate: figureOf(all.Rate.Figure, in), Stock: stockRows(p.Report.Stock, n),
		Months: rowsOf(p.Months, func(m service.MonthSums) PublishedMonth {
			return PublishedMonth{m.Month, m.Feed.Grams(), m.Bedding.Grams(), m.Castings.Grams()}
		}),
		Transfers: rowsOf(p.Report.Transfers, func(t season.Transfer) PassedOn {
			return PassedOn{t.Terms, string(t.Way), n.commodity(t.Commodity), t.Mass.Grams(), len(t.Records)}
		}),
	}
}

// commodity is a species, or castings.
func (n rowNames) commodity(id string) Named {
	if id == season.Castings {
		return Named{id, "castings"}
	}
	return n.species(id)
}

// getPublishedSeason shows the figures of a season that a club publishes.
//
//	@Summary		Show a season's figures
//	@Description	For every page, without credentials, where the club publishes them; else as one that isn't there. The figures of the whole club, and nothing about a member, a site or a bin. Without a period: the season of today, or the one before as long as nothing happened in it.
//	@ID				getPublishedSeason
//	@Tags			public
//	@Produce		json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			period			query		string	false	"made of whole months, as 2026-autumn, 2026-Q3, 2026 or 2026-07"	example(2026-spring)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	PublishedSeason
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,404,422,500,503	{object}	Problem
//	@Router			/v1/public/clubs/{club}/season [get]
func (s *Server) getPublishedSeason(r *request) (answer, error) {
	p, err := s.Publications.Season(r.ctx, r.param("club"), r.gin.Query("period"))
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, body: publishedSeasonOf(p, r.unitsOf(p.Club))}, nil
}
