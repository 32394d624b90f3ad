package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// BinRate is how fast a bin processed its feed between two looks at what was
// left of it.
type BinRate struct {
	Bin         Named      `json:"bin" validate:"required"`
	From        *time.Time `json:"from" example:"2026-02-01T12:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // the ends used
	To          *time.Time `json:"to" example:"2026-04-30T12:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
	Rate        Figure     `json:"rate" validate:"required"`          // kg feed per kg worms per day
	RatePerArea Figure     `json:"rate_per_area" validate:"required"` // kg feed per m2 per day
	WormDays    Figure     `json:"worm_days" validate:"required"`     // kg.d
	FeedWet     Figure     `json:"feed_wet" validate:"required"`      // kg processed
	FeedDry     Figure     `json:"feed_dry" validate:"required"`
	BeddingWet  Figure     `json:"bedding_wet" validate:"required"`
	BeddingDry  Figure     `json:"bedding_dry" validate:"required"`
	TogetherWet Figure     `json:"together_wet" validate:"required"`
	TogetherDry Figure     `json:"together_dry" validate:"required"`
	Density     Figure     `json:"density" validate:"required"`                                                              // worms in the book now, kg/m2
	Records     []string   `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // what it rests on, in order of time
	Explained
}

func binRateOf(b service.BinRate, in unit.System) BinRate {
	return BinRate{
		Bin: Named{string(b.Bin.ID), b.Bin.Name}, From: timeOrNull(b.From), To: timeOrNull(b.To),
		Rate: figureOf(b.Rate, in), RatePerArea: figureOf(b.RatePerArea, in), WormDays: figureOf(b.WormDays, in),
		FeedWet: figureOf(b.ProcessedWet, in), FeedDry: figureOf(b.ProcessedDry, in),
		BeddingWet: figureOf(b.BeddingWet, in), BeddingDry: figureOf(b.BeddingDry, in),
		TogetherWet: figureOf(b.TogetherWet, in), TogetherDry: figureOf(b.TogetherDry, in),
		Density: figureOf(b.Density, in), Records: append([]string{}, b.Records...),
	}
}

// BinYield is how much castings a bin gives for its feed.
type BinYield struct {
	Bin     Named         `json:"bin" validate:"required"`
	Yields  Yields        `json:"yields" validate:"required"`  // a ratio of sums over the windows
	Windows []YieldWindow `json:"windows" validate:"required"` // oldest first
	Explained
}

// YieldWindow is the time that the castings of a full harvest were made in.
type YieldWindow struct {
	From    time.Time `json:"from" example:"2026-01-10T12:00:00Z" format:"date-time" validate:"required"` // the full harvest before, or the start of the bin
	To      time.Time `json:"to" example:"2026-04-30T12:00:00Z" format:"date-time" validate:"required"`
	Harvest string    `json:"harvest" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // that closes it
	Sums    Sums      `json:"sums" validate:"required"`
	Yields  Yields    `json:"yields" validate:"required"`
	Records []string  `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // what was counted, in order of time
}

func binYieldOf(b service.BinYield, in unit.System) BinYield {
	out := BinYield{Bin: Named{string(b.Bin.ID), b.Bin.Name}, Yields: yieldsOf(b.All, in), Windows: []YieldWindow{}}
	for _, w := range b.Windows {
		out.Windows = append(out.Windows, YieldWindow{
			From: w.From.UTC(), To: w.To.UTC(), Harvest: w.Closing, Sums: sumsOf(w.Sums, in), Yields: yieldsOf(yields.Of(w.Sums), in),
			Records: append([]string{}, w.Records...),
		})
	}
	return out
}

// getBinRate shows how fast a bin processes its feed.
//
//	@Summary		Show a bin's processing rate
//	@Description	Of the last 90 days unless from and to say otherwise. Needs checks that say what was left of the feed, and a known stock.
//	@ID				getBinRate
//	@Tags			bins
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BinRate
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/rate [get]
func (s *Server) getBinRate(r *request) (answer, error) {
	q, err := r.query("from", "to")
	if err != nil {
		return answer{}, err
	}
	b, err := s.Reports.Rate(r.ctx, r.actor(), service.BinID(r.param("bin")), momentText(q.From), momentText(q.To))
	if err != nil {
		return answer{}, repointed(err, map[string]string{"/from": "?from", "/to": "?to"})
	}
	body := binRateOf(b, r.units())
	return r.explain(answer{status: http.StatusOK, body: &body}, always(b.Workings()))
}

// momentText writes a time as the use-cases read it; nothing for no time.
func momentText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

// getBinYield shows how much castings a bin gives for its feed.
//
//	@Summary		Show a bin's yield
//	@Description	Of each window between two full harvests, and of all together.
//	@ID				getBinYield
//	@Tags			bins
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BinYield
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/yield [get]
func (s *Server) getBinYield(r *request) (answer, error) {
	b, err := s.Reports.Yield(r.ctx, r.actor(), service.BinID(r.param("bin")))
	if err != nil {
		return answer{}, err
	}
	body := binYieldOf(b, r.units())
	return r.explain(answer{status: http.StatusOK, body: &body}, always(b.Workings()))
}
