package api

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// stock tells the worms in the book at both ends.
func (t *seasonText) stock() {
	if len(t.r.Stock) == 0 {
		return
	}
	t.heading("Worms in the book")
	rows := t.r.Stock
	t.table(
		text("Species", rows, func(s season.SpeciesStock) string { return t.species(s.Species) }),
		masses("At the start", t.in, rows, func(s season.SpeciesStock) unit.Mass { return s.Start }),
		masses("At the end", t.in, rows, func(s season.SpeciesStock) unit.Mass { return s.End }),
		masses("Change", t.in, rows, func(s season.SpeciesStock) unit.Mass { return s.End - s.Start }),
	)
}

// cultures tells where a copy of each culture lives.
func (t *seasonText) cultures() {
	names := t.r.Names.Cultures
	ids := make([]service.CultureID, 0, len(names))
	for id, c := range names {
		if c.MergedInto == "" {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return
	}
	t.heading("Where the cultures live now")
	slices.SortFunc(ids, func(a, b service.CultureID) int {
		return strings.Compare(names[a].Name+"\x00"+string(a), names[b].Name+"\x00"+string(b))
	})
	for i, id := range ids {
		if i > 0 {
			t.line("")
		}
		t.culture(names[id])
	}
	t.line("")
	t.say("Stock is a copy of a culture when at least %d %% of it descends from that culture.", t.r.Club.CopyPct)
}

// culture tells the copies of one culture by bin, site and member.
func (t *seasonText) culture(c service.Culture) {
	copies := slices.DeleteFunc(slices.Clone(t.r.Copies), func(x service.Copy) bool { return x.Culture != c.ID })
	title := fmt.Sprintf("%s (%s)", c.Name, t.species(string(c.Species)))
	if len(copies) == 0 {
		t.say("%s has no copy in the club.", title)
		return
	}
	at := func(x service.Copy) service.Bin { return t.r.Names.Bins[x.Bin] }
	different := func(of func(service.Copy) string) int {
		seen := map[string]bool{}
		for _, x := range copies {
			seen[of(x)] = true
		}
		return len(seen)
	}
	t.say("%s lives in %s, at %s, with %s:", title,
		count(different(func(x service.Copy) string { return string(x.Bin) }), "bin", "bins"),
		count(different(func(x service.Copy) string { return string(at(x).Site) }), "site", "sites"),
		count(different(func(x service.Copy) string { return string(at(x).Keeper) }), "member", "members"))
	t.table(
		text("Bin", copies, func(x service.Copy) string { return at(x).Name }),
		text("Site", copies, func(x service.Copy) string { return t.r.Names.Sites[at(x).Site] }),
		text("Member", copies, func(x service.Copy) string { return t.member(string(at(x).Keeper)) }),
		column{"Share", true, text("", copies, func(x service.Copy) string { return percent(x.Parts, lineage.One) }).cells},
		masses("Worms", t.in, copies, func(x service.Copy) unit.Mass { return x.Book }),
	)
}

// compared sets the season beside the same one a year before.
func (t *seasonText) compared() {
	change := t.r.Report.Before
	if change == nil {
		return
	}
	before := t.r.Before.Name
	t.heading("Compared with %s", before)
	all := changesIn(change.Changes, t.in)
	rows := slices.DeleteFunc(slices.Clone(all), func(c season.Change) bool { return !c.By.Known })
	if len(rows) > 0 {
		t.table(
			text("", rows, func(c season.Change) string { return inWords(changeWords, c.Name) + changeUnit(c, t.in) }),
			changes("Now", rows, func(c season.Change) float64 { return c.Now.Value }),
			changes("Then", rows, func(c season.Change) float64 { return c.Before.Value }),
			changes("Change", rows, func(c season.Change) float64 { return asShown(c, c.Now.Value) - asShown(c, c.Before.Value) }),
		)
	}
	g := grouping{}
	for _, c := range all {
		if !c.By.Known {
			g.add(c.By.Reason, strings.ToLower(inWords(changeWords, c.Name)))
		}
	}
	if len(rows) == 0 && len(g.order) == 1 {
		t.say("Nothing can be compared: %s.", inWords(reasonWords, g.order[0]))
		return
	}
	g.each(func(reason string, names []string) {
		t.say("No comparison of %s: %s.", listed(names), inWords(reasonWords, reason))
	})
}

// changesIn returns figures in the units of a system.
func changesIn(all []season.Change, in unit.System) []season.Change {
	out := slices.Clone(all)
	for i, c := range out {
		out[i].Now, out[i].Before, out[i].By = c.Now.In(in), c.Before.In(in), c.By.In(in)
	}
	return out
}

// changeUnit says what a figure of the comparison is counted in, after its name.
func changeUnit(c season.Change, in unit.System) string {
	kg := massWord(in)
	switch c.Now.Unit {
	case "kg", "[lb_av]":
		return ", " + kg
	case "kg/kg/d":
		return ", " + kg + "/" + kg + " a day"
	}
	return ""
}

// changes is a column of figures of different kinds, each with the decimals of
// its kind.
func changes(head string, rows []season.Change, value func(season.Change) float64) column {
	c := column{head: head, number: true}
	for _, row := range rows {
		c.cells = append(c.cells, rounded(value(row), changeDecimals(row)))
	}
	return c
}

// changeDecimals gives the larger of both figures three digits that count, and
// no more than two decimals.
func changeDecimals(c season.Change) int {
	if c.Now.Unit == "{bins}" {
		return 0
	}
	return min(2, max(0, decimalsFor(max(c.Now.Value, c.Before.Value), 3)))
}

// asShown is a value as the table shows it, so that what is shown adds up.
func asShown(c season.Change, v float64) float64 {
	scale := math.Pow10(changeDecimals(c))
	return math.Round(v*scale) / scale
}

// termWords says on what terms something changed hands.
var termWords = map[string]string{"sale": "Sold", "swap": "Swapped", "gift": "Given away", "loan": "Lent"}

// wayWords says over which border.
var wayWords = map[season.Way]string{
	season.Within: "between members", season.In: "from outside the club", season.Out: "to outside the club",
}

// transfers tells what changed hands, and for how much.
func (t *seasonText) transfers() {
	t.heading("Sold, swapped, given away")
	if len(t.r.Transfers) == 0 {
		t.say("Nothing is on record.")
		return
	}
	priced := false
	for _, x := range t.r.Transfers {
		line := fmt.Sprintf("%s %s: %s of %s", inWords(termWords, x.Terms), wayWords[x.Way], weight(x.Mass, t.in), t.goods(x.Commodity))
		if len(x.Money) > 0 {
			line += ", for " + sums(x.Money)
		}
		priced = priced || x.Terms == string(service.Sale)
		t.item("%s.", line)
	}
	for _, x := range t.r.Exchanges {
		if x.Member != "" && len(x.Earned) > 0 {
			t.item("%s sold %s of %s for %s.", t.member(x.Member), weight(x.Gave, t.in), t.goods(x.Commodity), sums(x.Earned))
		}
	}
	if priced && !t.r.Prices {
		t.say("What was paid is shown to stewards.")
	}
}

// goods names what was moved, for a sentence.
func (t *seasonText) goods(commodity string) string {
	if commodity == season.Castings {
		return "castings (dry matter)"
	}
	return t.species(commodity)
}

func sums(all []season.Money) string {
	var out []string
	for _, m := range all {
		out = append(out, money(m.Minor, m.Currency))
	}
	return listed(out)
}

// losses tells what died or went missing.
func (t *seasonText) losses() {
	t.heading("Losses")
	rows := t.r.Losses
	if len(rows) == 0 {
		t.say("No loss is on record.")
		return
	}
	t.table(
		text("Member", rows, func(l season.Loss) string { return t.member(l.Member) }),
		text("What", rows, func(l season.Loss) string { return t.species(l.Commodity) }),
		masses("Dead", t.in, rows, func(l season.Loss) unit.Mass { return l.SeenDead }),
		masses("Lost otherwise", t.in, rows, func(l season.Loss) unit.Mass { return l.Lost }),
	)
}

// emissions tells what was saved, and on what assumption.
func (t *seasonText) emissions() {
	if !t.r.Avoided.Known {
		return
	}
	t.heading("Emissions")
	t.say("%s", emissionsNote(t.r, t.in))
}

// emissionsNote says what was avoided, by what feed, and where the factors are
// from.
func emissionsNote(r service.SeasonReport, in unit.System) string {
	e, f := r.Emissions, r.Factors
	if !e.Avoided.Known {
		return "None can be told: " + inWords(reasonWords, e.Avoided.Reason) + "."
	}
	said := fmt.Sprintf("About %s %s of CO2 equivalent were avoided, if %s of feed would have gone to a landfill as food waste",
		digits(e.Avoided.In(in).Value, 2), massWord(in), weight(e.Food+e.Own, in))
	if e.Own > 0 {
		said += fmt.Sprintf(". %s of it, the club's own materials, is taken for food waste", weight(e.Own, in))
	}
	if e.LeftOut > 0 {
		said += fmt.Sprintf(". %s of other feed, as manure, isn't counted", weight(e.LeftOut, in))
	}
	return said + fmt.Sprintf(". Landfilled %v, composted %v %s: %s, edition %s. Worms are assumed to count as composting.",
		f.Landfilled, f.Composted, f.Unit, f.Source, f.Edition)
}

// missing tells which records would give more figures.
func (t *seasonText) missing() {
	t.heading("What is missing")
	g := grouping{}
	for _, m := range t.r.Missing {
		g.add(m.Reason, t.lacking(m))
	}
	if len(g.order) == 0 {
		t.say("No record is missing.")
	}
	g.each(func(reason string, names []string) { t.item("%s: %s.", inWords(missingWords, reason), listed(names)) })
}

// lacking names the bin of a missing record, with how long nobody looked.
func (t *seasonText) lacking(m season.Missing) string {
	if m.Days > 0 {
		return fmt.Sprintf("%s (%d days)", t.bin(m.Bin), m.Days)
	}
	return t.bin(m.Bin)
}

// cautions are the same every season.
const cautions = "Worms that aren't native must not be set free or moved against local law; " +
	"worms, castings and bedding may need a permit to cross a border; " +
	"wear gloves, wash hands, and keep the dust of dry castings down."

func (t *seasonText) cautions() {
	t.heading("Cautions")
	t.say("%s", cautions)
}
