package api

import (
	"slices"
	"strings"

	"lumbricary.example/api/reportfile"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// byWords orders rows by their words.
func byWords(rows []reportfile.Row) {
	slices.SortStableFunc(rows, func(a, b reportfile.Row) int {
		return strings.Compare(strings.ToLower(strings.Join(a.Texts, "\x00")), strings.ToLower(strings.Join(b.Texts, "\x00")))
	})
}

func (t *seasonTables) materialTable() reportfile.Table {
	kg := t.kg
	out := reportfile.Table{
		Code: "materials", Title: "By material fed", Texts: []string{"Material"},
		Columns: []reportfile.Column{
			{Code: "fed_wet", Head: "Feed", Unit: kg, Decimals: 1},
			{Code: "fed_dry", Head: "Feed, dry", Unit: kg, Decimals: 1},
			{Code: "bedding_wet", Head: "Bedding", Unit: kg, Decimals: 1},
			{Code: "weighed", Head: "Weighed", Unit: "%"},
		},
	}
	figures := func(l season.MaterialLine) []unit.Figure {
		weighed := l.WeighedShare()
		if l.Fed.FeedWet == 0 {
			weighed.Reason = "" // bedding alone: nothing is missing
		}
		return []unit.Figure{kilograms(l.Fed.FeedWet, t.in), l.FedDry().In(t.in), kilograms(l.Fed.BeddingWet, t.in), weighed}
	}
	for _, l := range t.r.ByMaterial {
		out.Rows = append(out.Rows, reportfile.Row{ID: l.Key, Texts: []string{t.material(l.Key)}, Figures: figures(l)})
	}
	byWords(out.Rows)
	total := t.r.Total
	out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: figures(season.MaterialLine{Fed: total.Fed, Weighed: total.Weighed})}
	return out
}

// intakeTables are what came in by material and by member.
func (t *seasonTables) intakeTables() []reportfile.Table {
	kg := t.kg
	figures := func(i season.Intake) []unit.Figure {
		share := i.DivertedShare()
		if i.Net == 0 {
			share.Reason = ""
		}
		return []unit.Figure{
			kilograms(i.Net, t.in), kilograms(i.Rejected, t.in), kilograms(i.Residue, t.in), kilograms(i.Diverted(), t.in), share, kilograms(i.Bedding, t.in),
		}
	}
	table := func(code, title, head string, all []season.Intake, name func(string) string) reportfile.Table {
		out := reportfile.Table{Code: code, Title: title, Texts: []string{head}, Columns: []reportfile.Column{
			{Code: "received_wet", Head: "Received", Unit: kg, Decimals: 1},
			{Code: "rejected_wet", Head: "Rejected", Unit: kg, Decimals: 1},
			{Code: "residue_wet", Head: "Thrown out later", Unit: kg, Decimals: 1},
			{Code: "diverted_wet", Head: "Diverted", Unit: kg, Decimals: 1},
			{Code: "diverted_weighed", Head: "Of it weighed", Unit: "%"},
			{Code: "bedding_wet", Head: "Bedding kept", Unit: kg, Decimals: 1},
		}}
		if len(all) == 0 {
			out.Said = "No receipt is on record, so nobody can say what came in."
			return out
		}
		for _, i := range all {
			out.Rows = append(out.Rows, reportfile.Row{ID: i.Key, Texts: []string{name(i.Key)}, Figures: figures(i)})
		}
		byWords(out.Rows)
		out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: figures(t.r.Received.Total)}
		return out
	}
	members := table("received_members", "Received, by member", "Recorded by", t.r.Received.ByMember, t.member)
	members.Aside = len(members.Rows) == 0
	return []reportfile.Table{table("received", "Received, by material", "Material", t.r.Received.ByMaterial, t.material), members}
}

func (t *seasonTables) stockTable() reportfile.Table {
	kg := t.kg
	out := reportfile.Table{
		Code: "stock", Title: "Worms in the book", Texts: []string{"Species"},
		Columns: []reportfile.Column{
			{Code: "stock_start", Head: "At the start", Unit: kg, Decimals: 2},
			{Code: "stock_end", Head: "At the end", Unit: kg, Decimals: 2},
			{Code: "stock_change", Head: "Change", Unit: kg, Decimals: 2},
		},
	}
	figures := func(s season.Stock) []unit.Figure {
		return []unit.Figure{kilograms(s.Start, t.in), kilograms(s.End, t.in), kilograms(s.Change(), t.in)}
	}
	for _, s := range t.r.Report.Stock {
		out.Rows = append(out.Rows, reportfile.Row{ID: s.Species, Texts: []string{t.species(s.Species)}, Figures: figures(season.Stock{Start: s.Start, End: s.End})})
	}
	byWords(out.Rows)
	out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: figures(t.r.Total.Stock)}
	if len(out.Rows) == 0 {
		out.Said, out.Total = "The book has no worms.", nil
	}
	return out
}

func (t *seasonTables) cultureTable() reportfile.Table {
	out := reportfile.Table{
		Code: "cultures", Title: "Where the cultures live now", Texts: []string{"Culture", "Bin", "Site", "Member"},
		Said: "Stock is a copy of a culture when at least 80 % of it descends from that culture.",
		Columns: []reportfile.Column{
			{Code: "share", Head: "Share", Unit: "%"}, {Code: "stock", Head: "Worms", Unit: t.kg, Decimals: 2},
		},
	}
	for _, c := range cultureCopies(t.r) {
		if len(c.Copies) == 0 {
			out.Rows = append(out.Rows, reportfile.Row{ID: c.ID, Texts: []string{c.Name, "no copy in the club"}, Figures: make([]unit.Figure, 2)})
		}
		for _, x := range c.Copies {
			out.Rows = append(out.Rows, reportfile.Row{
				ID: x.Lot, Texts: []string{c.Name, x.Bin.Name, x.Site.Name, x.Member.Name},
				Figures: []unit.Figure{unit.Of(100*x.Share, "%", "lineage"), unit.Of(x.BookG/1000, "kg", "recorded").In(t.in)},
			})
		}
	}
	if len(out.Rows) == 0 {
		out.Said = "The club keeps no culture by name."
	}
	return out
}
