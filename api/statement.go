package api

import (
	"maps"
	"net/http"
	"slices"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
)

// Statement is what a member gave and got in a season, and what is owed now.
type Statement struct {
	Period Period         `json:"period" validate:"required"`
	Member Named          `json:"member" validate:"required"`
	Gave   []StatementRow `json:"gave" validate:"required"`
	Got    []StatementRow `json:"got" validate:"required"`
	Debts  []Debt         `json:"debts" validate:"required"` // as of now: loans that aren't back, legs of swaps that can't be delivered
	Explained
}

// StatementRow is what changed hands on the same terms. Sums are those of the
// records.
type StatementRow struct {
	Terms     string   `json:"terms" example:"sale" enums:"sale,swap,gift,loan" validate:"required"`
	Commodity string   `json:"commodity" example:"eisenia-fetida" validate:"required"`           // species, or castings (dry matter)
	MassG     float64  `json:"mass_g" example:"500" validate:"required"`                         // as sent, less what went back
	Worms     *float64 `json:"worms" example:"1000" extensions:"x-nullable" validate:"required"` // as far as they were counted; null: nobody counted
	Money     []Money  `json:"money" validate:"required"`                                        // earned, or paid
	Records   []string `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
}

// Debt is what is owed by a transfer.
type Debt struct {
	Transfer  string  `json:"transfer" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Terms     string  `json:"terms" example:"loan" enums:"loan,swap" validate:"required"`
	Owes      bool    `json:"owes" example:"true" validate:"required"`           // the member owes it; false: it is owed to the member
	Other     *Named  `json:"other" extensions:"x-nullable" validate:"required"` // the member on the other side; null: the party
	Party     *string `json:"party" example:"Rosa's allotment" extensions:"x-nullable" validate:"required"`
	Commodity string  `json:"commodity" example:"eisenia-fetida" validate:"required"`
	MassG     float64 `json:"mass_g" example:"120" validate:"required"`
	Due       *string `json:"due" example:"2026-09-01" format:"date" extensions:"x-nullable" validate:"required"`
}

func statementOf(s service.Statement) Statement {
	out := Statement{
		Period: periodOf(s.Period), Member: Named{string(s.Member.ID), s.Member.Name},
		Gave: []StatementRow{}, Got: []StatementRow{}, Debts: []Debt{},
	}
	for _, r := range s.Rows {
		if row := statementRowOf(r); r.Gave {
			out.Gave = append(out.Gave, row)
		} else {
			out.Got = append(out.Got, row)
		}
	}
	for _, d := range s.Debts {
		out.Debts = append(out.Debts, debtOf(d, s))
	}
	return out
}

func statementRowOf(r exchange.Row) StatementRow {
	row := StatementRow{Terms: string(r.Terms), Commodity: commodityOf(r.Commodity), MassG: r.Mass.Grams(), Money: []Money{}, Records: r.Records}
	if worms := float64(r.Worms); worms > 0 {
		row.Worms = &worms
	}
	for _, currency := range slices.Sorted(maps.Keys(r.Money)) {
		row.Money = append(row.Money, Money{currency, r.Money[currency]})
	}
	return row
}

func debtOf(d service.Debt, s service.Statement) Debt {
	owes := d.Debtor == string(s.Member.ID)
	other := d.Debtor
	if owes {
		other = d.Creditor
	}
	out := Debt{
		Transfer: string(d.Transfer), Terms: string(d.Terms), Owes: owes, Commodity: commodityOf(d.Amount.Commodity),
		MassG: d.Amount.Mass.Grams(), Due: orNull(d.Due), Other: namedOrNull(s.Names.Members, service.MemberID(other)),
	}
	if other == "" {
		out.Party = orNull(d.Party)
	}
	return out
}

// commodityOf is a commodity as reports name it: a species, or castings.
func commodityOf(c journal.Commodity) string {
	if species, worms := c.Species(); worms {
		return species
	}
	if c == "" {
		return "material"
	}
	return string(c)
}

// getStatement shows a member's statement.
//
//	@Summary		Show a member's statement
//	@Description	What the member gave and got in a season, in mass, counts as far as there are, and money by currency, and what is owed now. For the member and for stewards. The season is given as to the season's report, or current.
//	@ID				getStatement
//	@Tags			reports
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			path		string	true	"id of the member"	format(uuid)
//	@Param			season			path		string	true	"code of the season, or current"	example(2026-spring)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Statement
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/statements/{season} [get]
func (s *Server) getStatement(r *request) (answer, error) {
	code := r.param("season")
	if code == "current" {
		code = ""
	}
	out, err := s.Reports.Statement(r.ctx, r.actor(), service.MemberID(r.param("member")), code)
	if err != nil {
		return answer{}, err
	}
	body := statementOf(out)
	return r.explain(answer{status: http.StatusOK, body: &body}, always(out.Workings()))
}
