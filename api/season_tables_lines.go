package api

import (
	"lumbricary.example/api/reportfile"
	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// lineColumns are the figures of a member, site, species or bin.
func (t *seasonTables) lineColumns() []reportfile.Column {
	kg := t.kg
	return []reportfile.Column{
		{Code: "bins", Head: "Bins"},
		{Code: "fed_wet", Head: "Feed", Unit: kg, Decimals: 1},
		{Code: "fed_dry", Head: "Feed, dry", Unit: kg, Decimals: 1, Aside: true},
		{Code: "weighed", Head: "Weighed", Unit: "%"},
		{Code: "bedding_wet", Head: "Bedding", Unit: kg, Decimals: 1},
		{Code: "castings_wet", Head: "Castings", Unit: kg, Decimals: 1},
		{Code: "castings_dry", Head: "Castings, dry", Unit: kg, Decimals: 1, Aside: true},
		{Code: "windows", Head: "Full harvests", Aside: true},
		{Code: "yield_wet", Head: "Yield", Decimals: 2},
		{Code: "yield_dry", Head: "Dry yield", Decimals: 2},
		{Code: "yield_wet_with_bedding", Head: "Yield with bedding", Decimals: 2, Aside: true},
		{Code: "yield_dry_with_bedding", Head: "Dry yield with bedding", Decimals: 2, Aside: true},
		{Code: "rate", Head: "Rate", Decimals: 2},
		{Code: "processed_wet", Head: "Processed", Unit: kg, Decimals: 1, Aside: true},
		{Code: "stock_start", Head: "Worms at the start", Unit: kg, Decimals: 2, Aside: true},
		{Code: "stock_end", Head: "Worms at the end", Unit: kg, Decimals: 2},
		{Code: "stock_change", Head: "Change", Unit: kg, Decimals: 2},
	}
}

func (t *seasonTables) lineFigures(l season.Line) []unit.Figure {
	kg := func(m unit.Mass) unit.Figure { return kilograms(m, t.in) }
	return []unit.Figure{
		number(l.Bins, "{bins}"), kg(l.Fed.FeedWet), l.FedDry().In(t.in), l.WeighedShare(), kg(l.Fed.BeddingWet),
		kg(l.Fed.CastingsWet), l.CastingsDry().In(t.in), number(l.Windows, "{harvests}"),
		l.Yields.Wet, l.Yields.Dry, l.Yields.WetWithBedding, l.Yields.DryWithBedding,
		l.Rate.Figure, kg(l.Rate.Processed), kg(l.Stock.Start), kg(l.Stock.End), kg(l.Stock.Change()),
	}
}

// lineTable is a table of lines in the order of their names, with their total.
func (t *seasonTables) lineTable(code, title, head string, lines []season.Line, name func(string) string) reportfile.Table {
	out := reportfile.Table{Code: code, Title: title, Texts: []string{head}, Columns: t.lineColumns()}
	for _, l := range byName(lines, name) {
		out.Rows = append(out.Rows, reportfile.Row{ID: l.Key, Texts: []string{name(l.Key)}, Figures: t.lineFigures(l)})
	}
	out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: t.lineFigures(t.r.Total)}
	return out
}

func (t *seasonTables) memberTable() reportfile.Table {
	return t.lineTable("members", "By member", "Member", t.r.ByMember, t.member)
}

func (t *seasonTables) siteTable() reportfile.Table {
	return t.lineTable("sites", "By site", "Site", t.r.BySite, t.site)
}

func (t *seasonTables) speciesTable() reportfile.Table {
	out := t.lineTable("species", "By species", "Species", t.r.BySpecies, t.species)
	out.Said = "A bin counts under its species, under several, or under none."
	return out
}

func (t *seasonTables) binTable() reportfile.Table {
	out := t.lineTable("bins", "By bin", "Bin", t.r.ByBin, t.bin)
	out.Texts = []string{"Bin", "Member", "Site"}
	out.Columns[0].Aside = true
	for i, r := range out.Rows {
		b := t.r.Names.Bins[service.BinID(r.ID)]
		out.Rows[i].Texts = append(out.Rows[i].Texts, t.member(string(b.Keeper)), t.site(string(b.Site)))
	}
	return out
}

func (t *seasonTables) site(id string) string { return t.r.Names.Sites[service.SiteID(id)] }

func (t *seasonTables) material(id string) string {
	return t.r.Names.Materials[service.MaterialID(id)].Name
}
