package api

import (
	"fmt"
	"slices"

	"lumbricary.example/api/reportfile"
	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// seasonTables is a season's report being put into tables.
type seasonTables struct {
	seasonText // for its names and words
	kg         string
}

// SeasonFile returns a season's report as tables with what is said about them,
// in the units of a system.
func SeasonFile(r service.SeasonReport, in unit.System) reportfile.Report {
	t := &seasonTables{seasonText{r: r, in: in}, massWord(in)}
	zone := r.Club.Zone()
	out := reportfile.Report{
		Club: r.Club.Name, Title: "Report on " + r.Period.Name, Code: r.Period.Code, AsOf: r.AsOf.In(zone),
		Period: spokenDay(r.Period.From, zone) + " to " + spokenDay(r.Period.To.Add(-1), zone),
		Lead:   t.lead(), Notes: t.notes(),
		Words: reportfile.Words{
			Reason: func(code string) string { return inWords(reasonWords, code) },
			Flag:   func(code string) string { return inWords(flagWords, code) },
		},
	}
	out.Tables = t.tables()
	return out
}

// tables are all of the report; of a time without a record, those that tell
// something nevertheless.
func (t *seasonTables) tables() []reportfile.Table {
	if t.r.Empty {
		return []reportfile.Table{t.summary(), t.cultureTable()}
	}
	out := []reportfile.Table{t.summary(), t.memberTable(), t.siteTable(), t.speciesTable(), t.binTable(), t.materialTable()}
	out = append(out, t.intakeTables()...)
	out = append(out, t.stockTable(), t.cultureTable(), t.transferTable(), t.moneyTable(), t.exchangeTable(), t.movedTable(), t.lossTable(), t.missingTable())
	if t.r.Balance != nil {
		out = append(out, t.pileTable(), t.storeTable())
	}
	return out
}

// lead says how far the record goes.
func (t *seasonTables) lead() []string {
	var out []string
	switch {
	case t.r.AsOf.Before(t.r.Period.From):
		out = append(out, "The season hasn't begun.")
	case t.r.AsOf.Before(t.r.Period.To):
		out = append(out, "The season isn't over; this is what is on record up to "+spokenDay(t.r.AsOf, t.r.Club.Zone())+".")
	}
	if t.r.Empty {
		return append(out, "Nothing is on record for this time.")
	}
	if out = append(out, t.gist()); t.received() != "" {
		out = append(out, t.received())
	}
	return out
}

// notes are the sources and assumptions behind the figures.
func (t *seasonTables) notes() []string {
	kg := t.kg
	return []string{
		fmt.Sprintf("Yield: %s of castings for each %s of feed without bedding, between two full harvests; those that closed in this time count, also with what was fed before it. "+
			"A dry yield compares dry matter; castings whose moisture nobody measured count as %v %% water, a custom without a source. A ratio of a group is that of its sums.", kg, kg, service.DefaultCastingsMoisture),
		fmt.Sprintf("Rate: %s of feed processed by each %s of worms a day, with its 95 %% interval, over the bins that have the records for it. Published rates lie between 0.14 and 1.5 (Reeh 1992; Ndegwa et al. 2000; Eastman et al. 2001).", kg, kg),
		"Diverted: scraps received, less what was rejected and what was thrown out later; bedding isn't in it.",
		"Emissions avoided: " + lower(emissionsNote(t.r, t.in)),
		fmt.Sprintf("Records that are asked for: a check at least every %d days and a census every %d (customs without a source), feed by weight, a moisture of what is harvested.", int(season.CheckEvery.Hours())/24, int(season.CensusEvery.Hours())/24),
		cautions,
	}
}

func kilograms(m unit.Mass, in unit.System) unit.Figure {
	return unit.Of(m.Kilograms(), "kg", "recorded").In(in)
}

func number(n int, code string) unit.Figure { return unit.Of(float64(n), code, "recorded") }

// summary sets the club's figures beside those of the same time a year before.
func (t *seasonTables) summary() reportfile.Table {
	out := reportfile.Table{
		Code: "summary", Title: "Key figures", Texts: []string{"Figure", "Unit"},
		Said: "Beside the same time a year before: " + t.r.Before.Name + ".",
		Columns: []reportfile.Column{
			{Code: "now", Head: "Now", Called: "figure", Decimals: reportfile.Digits, Interval: true},
			{Code: "before", Head: "Year before", Called: "figure of the year before", Decimals: reportfile.Digits, Interval: true},
			{Code: "change", Head: "Change", Called: reportfile.Silent, Decimals: reportfile.Digits, Differs: true},
			{Code: "ratio", Head: "Ratio", Called: reportfile.Silent, Decimals: 2},
		},
	}
	row := func(name string, now, before, by, ratio unit.Figure) {
		now, before, by = now.In(t.in), before.In(t.in), by.In(t.in)
		out.Rows = append(out.Rows, reportfile.Row{Texts: []string{name, spokenUnit(now.Unit, t.in)}, Figures: []unit.Figure{now, before, by, ratio}})
	}
	if change := t.r.Report.Before; change != nil {
		if !slices.ContainsFunc(change.Changes, func(c season.Change) bool { return c.Before.Known }) {
			out.Said, out.Columns[1].Called = "Nothing was recorded at the same time a year before ("+t.r.Before.Name+").", reportfile.Silent
		}
		for _, c := range change.Changes {
			row(inWords(changeWords, c.Name), c.Now, c.Before, c.By, c.Ratio)
		}
	}
	alone := func(name string, f unit.Figure) {
		row(name, f, unit.Figure{Unit: f.Unit}, unit.Figure{Unit: f.Unit}, unit.Figure{Unit: "1"})
	}
	alone("Feed that was weighed", t.r.Total.WeighedShare())
	alone("Diverted that was weighed", t.r.Received.Total.DivertedShare())
	alone("Emissions avoided, CO2 equivalent", t.r.Avoided)
	alone("Households", t.r.Households)
	alone("Volunteer hours", t.r.VolunteerHours)
	return out
}

// spokenUnit is a UCUM code as people write it.
func spokenUnit(code string, in unit.System) string {
	kg := massWord(in)
	switch code {
	case "[lb_av]":
		return "lb"
	case "{bins}", "{households}", "1":
		return ""
	case "kg/kg":
		return kg + "/" + kg
	case "kg/kg/d":
		return kg + "/" + kg + " a day"
	}
	return code
}
