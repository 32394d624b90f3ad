package api

import (
	"math"
	"strconv"
	"strings"

	"lumbricary.example/api/reportfile"
	"lumbricary.example/service"
	"lumbricary.example/service/balance"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// mass is the one column of tables of what moved.
func (t *seasonTables) mass() reportfile.Column {
	return reportfile.Column{Code: "mass", Head: "Mass", Unit: t.kg, Decimals: 2}
}

func (t *seasonTables) transferTable() reportfile.Table {
	out := reportfile.Table{
		Code: "transfers", Title: "Sold, swapped, given away", Texts: []string{"What", "Terms", "Way"}, Columns: []reportfile.Column{t.mass()},
	}
	for _, x := range t.r.Transfers {
		out.Rows = append(out.Rows, reportfile.Row{
			ID: x.Commodity, Texts: []string{t.goods(x.Commodity), inWords(termWords, x.Terms), wayWords[x.Way]}, Figures: []unit.Figure{kilograms(x.Mass, t.in)},
		})
	}
	if len(out.Rows) == 0 {
		out.Said = "Nothing is on record."
	}
	return out
}

// moneyTable is what was paid, each currency by itself.
func (t *seasonTables) moneyTable() reportfile.Table {
	out := reportfile.Table{
		Code: "money", Title: "Money", Texts: []string{"For", "Terms", "Way", "Currency"}, Columns: []reportfile.Column{{Code: "amount", Head: "Amount", Decimals: 2}},
	}
	for _, x := range t.r.Transfers {
		for _, m := range x.Money {
			out.Rows = append(out.Rows, reportfile.Row{
				ID: x.Commodity, Texts: []string{t.goods(x.Commodity), inWords(termWords, x.Terms), wayWords[x.Way], m.Currency}, Figures: []unit.Figure{amount(m)},
			})
		}
	}
	switch {
	case !t.r.Prices:
		out.Said = "What was paid is shown to stewards."
	case len(out.Rows) == 0:
		out.Said = "No price is on record."
	}
	return out
}

// amount is money in whole units of its currency.
func amount(m season.Money) unit.Figure {
	decimals, ok := minorDigits[m.Currency]
	if !ok {
		decimals = 2
	}
	return unit.Of(float64(m.Minor)/math.Pow10(decimals), m.Currency, "recorded")
}

// exchangeTable is what each member gave and got.
func (t *seasonTables) exchangeTable() reportfile.Table {
	out := reportfile.Table{
		Code: "exchanges", Title: "Given and got, by member", Texts: []string{"Member", "Terms", "What", "Earned", "Paid"},
		Said: "Outside parties have a row of their own.",
		Columns: []reportfile.Column{
			{Code: "gave", Head: "Gave", Unit: t.kg, Decimals: 2}, {Code: "got", Head: "Got", Unit: t.kg, Decimals: 2},
		},
	}
	for _, x := range t.r.Exchanges {
		who := "outside the club"
		if x.Member != "" {
			who = t.member(x.Member)
		}
		out.Rows = append(out.Rows, reportfile.Row{
			ID: x.Member, Texts: []string{who, inWords(termWords, x.Terms), t.goods(x.Commodity), sums(x.Earned), sums(x.Paid)},
			Figures: []unit.Figure{kilograms(x.Gave, t.in), kilograms(x.Got, t.in)},
		})
	}
	byWords(out.Rows)
	if len(out.Rows) == 0 {
		out.Said = "Nothing is on record."
	}
	return out
}

// movedTable is every movement by its kind.
func (t *seasonTables) movedTable() reportfile.Table {
	out := reportfile.Table{
		Code: "moved", Title: "Moved, by kind", Texts: []string{"What", "Kind"}, Aside: true,
		Columns: []reportfile.Column{t.mass(), {Code: "records", Head: "Movements"}},
	}
	for _, x := range t.r.Moved {
		out.Rows = append(out.Rows, reportfile.Row{
			ID: x.Commodity, Texts: []string{t.goods(x.Commodity), strings.ReplaceAll(x.Kind, "-", " ")},
			Figures: []unit.Figure{kilograms(x.Mass, t.in), number(len(x.Records), "{movements}")},
		})
	}
	return out
}

func (t *seasonTables) lossTable() reportfile.Table {
	out := reportfile.Table{
		Code: "losses", Title: "Losses", Texts: []string{"Member", "What"},
		Columns: []reportfile.Column{
			{Code: "dead", Head: "Seen dead", Unit: t.kg, Decimals: 2}, {Code: "lost", Head: "Lost otherwise", Unit: t.kg, Decimals: 2},
		},
	}
	for _, l := range t.r.Losses {
		out.Rows = append(out.Rows, reportfile.Row{
			ID: l.Member, Texts: []string{t.member(l.Member), t.goods(l.Commodity)}, Figures: []unit.Figure{kilograms(l.SeenDead, t.in), kilograms(l.Lost, t.in)},
		})
	}
	byWords(out.Rows)
	if len(out.Rows) == 0 {
		out.Said = "No loss is on record."
	}
	return out
}

// missingTable lists what is expected of each bin and absent.
func (t *seasonTables) missingTable() reportfile.Table {
	out := reportfile.Table{Code: "missing", Title: "Records that are missing", Texts: []string{"Bin", "Member", "What is missing"}}
	for _, m := range t.r.Missing {
		b := t.r.Names.Bins[service.BinID(m.Bin)]
		what := missingSaid(m)
		if last := len(out.Rows) - 1; last >= 0 && out.Rows[last].ID == m.Bin {
			out.Rows[last].Texts[2] += "; " + lower(what)
			continue
		}
		out.Rows = append(out.Rows, reportfile.Row{ID: m.Bin, Texts: []string{b.Name, t.member(string(b.Keeper)), what}})
	}
	byWords(out.Rows)
	if len(out.Rows) == 0 {
		out.Said = "No record is missing."
	}
	return out
}

// missingSaid is what a bin lacks, in words.
func missingSaid(m season.Missing) string {
	said := inWords(missingWords, m.Reason)
	switch {
	case m.Days > 0:
		return said + " for " + strconv.Itoa(m.Days) + " days"
	case len(m.Records) > 1:
		return said + " (" + strconv.Itoa(len(m.Records)) + " records)"
	}
	return said
}

func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// pileTable is the balance of what comes in.
func (t *seasonTables) pileTable() reportfile.Table {
	kg := t.kg
	out := reportfile.Table{
		Code: "balance_materials", Title: "Materials balance", Texts: []string{"Material"},
		Said: "At the start and received, less rejected, thrown out later and fed, is on hand. Apart: fed before anything was recorded to come in. Below nothing: more was fed than came in.",
		Columns: []reportfile.Column{
			{Code: "start", Head: "At the start", Unit: kg, Decimals: 1},
			{Code: "received", Head: "Received", Unit: kg, Decimals: 1},
			{Code: "rejected", Head: "Rejected", Unit: kg, Decimals: 1},
			{Code: "residue", Head: "Thrown out later", Unit: kg, Decimals: 1},
			{Code: "fed", Head: "Fed", Unit: kg, Decimals: 1},
			{Code: "end", Head: "On hand", Unit: kg, Decimals: 1},
			{Code: "apart", Head: "Fed apart", Unit: kg, Decimals: 1},
		},
	}
	figures := func(p balance.Pile) []unit.Figure {
		out := make([]unit.Figure, 0, len(out.Columns))
		for _, m := range []unit.Mass{p.Start, p.Received, p.Rejected, p.Residue, p.Fed, p.End, p.Apart} {
			out = append(out, kilograms(m, t.in))
		}
		return out
	}
	begun := false
	for _, p := range t.r.Balance.Piles {
		begun = begun || p.Begun
		out.Rows = append(out.Rows, reportfile.Row{ID: p.Material, Texts: []string{t.material(p.Material)}, Figures: figures(p)})
	}
	byWords(out.Rows)
	out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: figures(balance.TotalOf(t.r.Balance.Piles))}
	switch {
	case len(out.Rows) == 0:
		out.Said, out.Total = "Nothing came in and nothing was fed.", nil
	case !begun:
		out.Said = "No receipt is on record, so nobody can say what is on hand; what was fed is listed apart."
	}
	return out
}

// storeTable is the balance of castings in store.
func (t *seasonTables) storeTable() reportfile.Table {
	kg := t.kg
	out := reportfile.Table{
		Code: "balance_batches", Title: "Castings in store", Texts: []string{"Lot number"},
		Said: "Dry matter, which doesn't change as castings dry; the last column is wet. Other ways in and out, as blending and swaps, are one sum.",
		Columns: []reportfile.Column{
			{Code: "start_dry", Head: "At the start", Unit: kg, Decimals: 1},
			{Code: "harvested_dry", Head: "Harvested", Unit: kg, Decimals: 1},
			{Code: "sold_dry", Head: "Sold", Unit: kg, Decimals: 1},
			{Code: "given_dry", Head: "Given", Unit: kg, Decimals: 1},
			{Code: "used_dry", Head: "Used", Unit: kg, Decimals: 1},
			{Code: "spoiled_dry", Head: "Spoiled", Unit: kg, Decimals: 1},
			{Code: "other_dry", Head: "Other", Unit: kg, Decimals: 1},
			{Code: "end_dry", Head: "In store", Unit: kg, Decimals: 1},
			{Code: "end_wet", Head: "In store, wet", Unit: kg, Decimals: 1},
		},
	}
	figures := func(s balance.Store) []unit.Figure {
		dry := func(f balance.Flow) unit.Mass { return s.Flows[f].Dry }
		named := dry(balance.Harvested) - dry(balance.Sold) - dry(balance.Given) - dry(balance.Used) - dry(balance.Spoiled)
		out := make([]unit.Figure, 0, len(out.Columns))
		for _, m := range []unit.Mass{
			s.Start.Dry, dry(balance.Harvested), dry(balance.Sold), dry(balance.Given), dry(balance.Used), dry(balance.Spoiled),
			s.End.Dry - s.Start.Dry - named, s.End.Dry, s.End.Wet,
		} {
			out = append(out, kilograms(m, t.in))
		}
		return out
	}
	for _, s := range t.r.Balance.Stores {
		out.Rows = append(out.Rows, reportfile.Row{ID: s.Batch, Texts: []string{t.r.Balance.Batches[service.BatchID(s.Batch)].LotNumber}, Figures: figures(s)})
	}
	byWords(out.Rows)
	out.Total = &reportfile.Row{Texts: []string{"All"}, Figures: figures(balance.SumOf(t.r.Balance.Stores))}
	if len(out.Rows) == 0 {
		out.Said, out.Total = "No batch is in store.", nil
	}
	return out
}
