package api

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// SeasonReport is what happened in a season of the club, recounted from the
// records.
type SeasonReport struct {
	Period     Period          `json:"period" validate:"required"`
	Before     Period          `json:"before" validate:"required"` // the same season a year before
	AsOf       time.Time       `json:"as_of" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Empty      bool            `json:"empty" example:"false" validate:"required"` // nothing is on record for that time
	Total      SeasonLine      `json:"total" validate:"required"`
	Members    []SeasonRow     `json:"members" validate:"required"`
	Sites      []SeasonRow     `json:"sites" validate:"required"`
	Bins       []SeasonRow     `json:"bins" validate:"required"`
	Species    []SeasonRow     `json:"species" validate:"required"` // a bin counts under its species, several or none
	Materials  []MaterialRow   `json:"materials" validate:"required"`
	Received   ReceivedRows    `json:"received" validate:"required"`
	Stock      []StockRow      `json:"stock" validate:"required"`
	Cultures   []CultureCopies `json:"cultures" validate:"required"`              // where each culture lives now
	CopyPct    int             `json:"copy_pct" example:"80" validate:"required"` // from how many per cent of a culture stock is a copy of it
	Changes    []SeasonChange  `json:"changes" validate:"required"`               // against the season a year before
	Moved      []MovedRow      `json:"moved" validate:"required"`                 // by kind of movement
	Transfers  []TransferRow   `json:"transfers" validate:"required"`
	Exchanges  []ExchangeRow   `json:"exchanges" validate:"required"` // what each member gave and got
	Losses     []LossRow       `json:"losses" validate:"required"`
	Missing    []MissingRow    `json:"missing" validate:"required"`
	Avoided    Figure          `json:"avoided" validate:"required"`    // kg CO2e: by composting the food waste that was fed, where it would have gone to a landfill
	AvoidedBy  AvoidedBy       `json:"avoided_by" validate:"required"` // what avoided rests on
	Households Figure          `json:"households" validate:"required"`
	Hours      Figure          `json:"volunteer_hours" validate:"required"`
	Balance    *SeasonBalance  `json:"balance" extensions:"x-nullable" validate:"required"` // of materials; null: the caller reads figures alone
	MoneyShown bool            `json:"money_shown" example:"true" validate:"required"`      // false: sums of money are for stewards
	Explained
}

// Period is a span of whole days in the club's time zone.
type Period struct {
	Code string    `json:"code" example:"2026-spring" validate:"required"`
	Name string    `json:"name" example:"Spring 2026" validate:"required"`
	From time.Time `json:"from" example:"2026-03-01T00:00:00Z" format:"date-time" validate:"required"`
	To   time.Time `json:"to" example:"2026-06-01T00:00:00Z" format:"date-time" validate:"required"` // not in it
}

func periodOf(p season.Period) Period { return Period{p.Code, p.Name, p.From.UTC(), p.To.UTC()} }

// SeasonLine is what happened in some bins.
type SeasonLine struct {
	Bins        int      `json:"bins" example:"3" validate:"required"`                                                     // kept in a part of the season
	Sums        Sums     `json:"sums" validate:"required"`                                                                 // fed and harvested in the season
	Weighed     Figure   `json:"weighed" validate:"required"`                                                              // share of the feed that was weighed, %
	Batches     []string `json:"batches" example:"01970000-0000-7000-8000-000000000022" format:"uuid" validate:"required"` // that the harvests went to
	Windows     int      `json:"windows" example:"2" validate:"required"`                                                  // closed by a full harvest in the season
	WindowSums  Sums     `json:"window_sums" validate:"required"`                                                          // fed and harvested in those, which may have opened earlier
	Yields      Yields   `json:"yields" validate:"required"`                                                               // of the windows
	Rate        Figure   `json:"rate" validate:"required"`                                                                 // kg feed per kg worms per day
	RateBins    int      `json:"rate_bins" example:"2" validate:"required"`                                                // how many bins it rests on
	ProcessedG  float64  `json:"processed_g" example:"31000" validate:"required"`                                          // wet feed, in those bins
	WormDaysKgD float64  `json:"worm_days_kg_d" example:"74" validate:"required"`                                          // in those bins
	StartG      float64  `json:"start_g" example:"1800" validate:"required"`                                               // worms in the book at the start
	EndG        float64  `json:"end_g" example:"2400" validate:"required"`
}

func seasonLineOf(l season.Line, in unit.System) SeasonLine {
	return SeasonLine{
		Bins: l.Bins, Sums: sumsOf(l.Fed, in), Weighed: figureOf(l.WeighedShare(), in), Batches: append([]string{}, l.Batches...),
		Windows: l.Windows, WindowSums: sumsOf(l.Closed, in), Yields: yieldsOf(l.Yields, in), Rate: figureOf(l.Rate.Figure, in), RateBins: l.Rate.Bins,
		ProcessedG: l.Rate.Processed.Grams(), WormDaysKgD: l.Rate.WormDays.KilogramDays(),
		StartG: l.Stock.Start.Grams(), EndG: l.Stock.End.Grams(),
	}
}

// SeasonRow is what happened in the bins of a member, a site or a species, or in
// one bin.
type SeasonRow struct {
	Named
	SeasonLine
}

func seasonReportOf(r service.SeasonReport, in unit.System) SeasonReport {
	n := rowNames{r.Names}
	out := SeasonReport{
		Period: periodOf(r.Period), Before: periodOf(r.Before), AsOf: r.AsOf, Empty: r.Empty, Total: seasonLineOf(r.Total, in),
		Members: seasonRows(r.ByMember, n.member, in), Sites: seasonRows(r.BySite, n.site, in), Bins: seasonRows(r.ByBin, n.bin, in),
		Species: seasonRows(r.BySpecies, n.species, in), Materials: materialRows(r.ByMaterial, n, in), Received: receivedRows(r.Received, n, in), Stock: stockRows(r.Stock, n),
		Cultures: cultureCopies(r), CopyPct: r.Club.CopyPct, Changes: []SeasonChange{}, Moved: movedRows(r.Moved), Transfers: transferRows(r.Transfers),
		Exchanges: exchangeRows(r.Exchanges, n), Losses: lossRows(r.Losses, n), Missing: missingRows(r.Missing, n),
		Avoided: figureOf(r.Avoided, in), AvoidedBy: avoidedBy(r), Households: figureOf(r.Households, in), Hours: figureOf(r.VolunteerHours, in),
		MoneyShown: r.Prices,
	}
	if r.Balance != nil {
		b := materialsBalanceOf(*r.Balance)
		out.Balance = &SeasonBalance{b.Materials, b.Total, b.Batches, b.Store, b.LostDryG}
	}
	if r.Report.Before != nil {
		out.Changes = seasonChanges(*r.Report.Before, in)
	}
	return out
}

// copyWorkings says how the shares of the copies of cultures came about, which are
// held against the share that makes a copy.
func copyWorkings(r service.SeasonReport, cultures []CultureCopies) []working.Figure {
	var out []working.Figure
	for i, c := range cultures {
		n := 0
		for _, x := range r.Copies {
			if string(x.Culture) != c.ID {
				continue
			}
			f := x.Shares.Part(fmt.Sprintf("/cultures/%d/copies/%d/share", i, n), func(o string) bool {
				return r.Names.Origins[service.OriginID(o)].Culture == x.Culture
			})
			f.Inputs = []working.Input{r.Club.CopyFrom()}
			out = append(out, f)
			n++
		}
	}
	return out
}

func seasonRows(lines []season.Line, name func(string) Named, in unit.System) []SeasonRow {
	return rowsOf(lines, func(l season.Line) SeasonRow { return SeasonRow{name(l.Key), seasonLineOf(l, in)} })
}

// AvoidedBy is what the emissions avoided rest on. The three masses add up to
// all feed.
type AvoidedBy struct {
	FoodG      float64 `json:"food_g" example:"31000" validate:"required"`    // of materials that are food waste in the table of feedstocks
	OwnG       float64 `json:"own_g" example:"4000" validate:"required"`      // of the club's own materials, taken for food waste
	LeftOutG   float64 `json:"left_out_g" example:"7000" validate:"required"` // of other materials, as manure: not counted
	Landfilled float64 `json:"landfilled" example:"0.68" validate:"required"` // emits, in unit
	Composted  float64 `json:"composted" example:"0.11" validate:"required"`
	Unit       string  `json:"unit" example:"t CO2e per short ton of wet waste" validate:"required"`
	Source     string  `json:"source" example:"US EPA, GHG Emission Factors Hub, Table 9" validate:"required"`
	Edition    string  `json:"edition" example:"not recorded" validate:"required"`
	Status     string  `json:"status" example:"seen-transcription" validate:"required"` // how sure the values are
	Assumption string  `json:"assumption" example:"worms count as composting" validate:"required"`
}

func avoidedBy(r service.SeasonReport) AvoidedBy {
	f := r.Factors
	return AvoidedBy{
		r.Food.Grams(), r.Own.Grams(), r.LeftOut.Grams(), f.Landfilled, f.Composted, f.Unit, f.Source, f.Edition, f.Status, "worms count as composting",
	}
}

// SeasonBalance is the materials balance of the season, as it is shown by itself.
type SeasonBalance struct {
	Materials []PileRow  `json:"materials" validate:"required"` // wet
	Total     PileLine   `json:"total" validate:"required"`     // of the materials
	Batches   []StoreRow `json:"batches" validate:"required"`
	Store     StoreLine  `json:"store" validate:"required"`                    // of the batches
	LostDryG  float64    `json:"lost_dry_g" example:"120" validate:"required"` // in screening and blending, as dust
}

// getSeason shows the report on a season.
//
//	@Summary		Show a season's report
//	@Description	A season as 2026-autumn, 2026-Q3, 2026, 2026-07, 2026-W14, or own dates as 2026-03-01..2026-05-31. As JSON, plain text to read aloud, CSV (a figure a row), a workbook, or PDF to print, on A4 or, in US units, on Letter: by Accept or by format. Sums of money are shown to stewards only. To an API key for figures alone members are pseudonyms, things have labels for names, and there are no notes.
//	@ID				getSeason
//	@Tags			reports
//	@Produce		json,plain,text/csv,application/pdf,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			season			path		string	true	"code of the season"	example(2026-spring)
//	@Param			format			query		string	false	"the form, in place of Accept"	Enums(json, text, csv, xlsx, pdf)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	SeasonReport
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Header			200				{string}	Content-Disposition	"name of the file, for CSV, workbook and PDF"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reports/seasons/{season} [get]
func (s *Server) getSeason(r *request) (answer, error) { return s.season(r, r.param("season")) }

// getCurrentSeason shows the report on the season of today.
//
//	@Summary		Show the current season's report
//	@Description	As of any season, in the same forms. To an API key for figures alone members are pseudonyms, things have labels for names, and there are no notes.
//	@ID				getCurrentSeason
//	@Tags			reports
//	@Produce		json,plain,text/csv,application/pdf,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			format			query		string	false	"the form, in place of Accept"	Enums(json, text, csv, xlsx, pdf)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	SeasonReport
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Header			200				{string}	Content-Disposition	"name of the file, for CSV, workbook and PDF"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reports/seasons/current [get]
func (s *Server) getCurrentSeason(r *request) (answer, error) { return s.season(r, "") }

func (s *Server) season(r *request, code string) (answer, error) {
	form, err := r.form()
	if err != nil {
		return answer{}, err
	}
	report, err := s.Reports.Season(r.ctx, r.actor(), code)
	if err != nil {
		return answer{}, err
	}
	if r.explains() {
		body := seasonReportOf(report, r.units())
		return r.explain(answer{status: http.StatusOK, body: &body, vary: "Accept"}, always(append(report.Workings(), copyWorkings(report, body.Cultures)...)))
	}
	a, err := seasonAnswer(report, form, r.units())
	return a, errors.Join(err, r.err)
}
