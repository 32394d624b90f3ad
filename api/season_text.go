package api

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// seasonText is a season's report being written down.
type seasonText struct {
	paper
	r  service.SeasonReport
	in unit.System
}

// SeasonText returns a season's report as a club's secretary would read it out:
// plain text in sentences and small tables, at most 80 columns wide, in the
// units of a system. A figure that can't be had says why.
func SeasonText(r service.SeasonReport, in unit.System) string {
	t := &seasonText{r: r, in: in}
	t.opening()
	if !r.Empty {
		t.castings()
		t.rates()
		t.stock()
	}
	t.cultures()
	if !r.Empty {
		t.compared()
		t.transfers()
		t.losses()
		t.emissions()
		t.missing()
	}
	t.cautions()
	return t.String()
}

// opening says who reports on what, and the sums.
func (t *seasonText) opening() {
	zone := t.r.Club.Zone()
	if t.r.Club.Name != "" {
		t.say("%s", t.r.Club.Name)
	}
	t.say("Report on %s", t.r.Period.Name)
	t.say("%s to %s", spokenDay(t.r.Period.From, zone), spokenDay(t.r.Period.To.Add(-1), zone))
	switch {
	case t.r.AsOf.Before(t.r.Period.From):
		t.say("The season hasn't begun.")
	case t.r.AsOf.Before(t.r.Period.To):
		t.say("The season isn't over; this is what is on record up to %s.", spokenDay(t.r.AsOf, zone))
	}
	t.line("")
	if t.r.Empty {
		t.say("Nothing is on record for this time.")
		return
	}
	t.say("%s", t.gist())
	if in := t.received(); in != "" {
		t.say("%s", in)
	}
}

// gist tells the sums of the season in a sentence or two.
func (t *seasonText) gist() string {
	total := t.r.Total
	fed := "They were fed nothing"
	if total.Fed.FeedWet > 0 {
		fed = fmt.Sprintf("They were fed %s, %s of it weighed", weight(total.Fed.FeedWet, t.in), portion(total.Weighed, total.Fed.FeedWet))
	}
	if total.Fed.BeddingWet > 0 {
		fed += fmt.Sprintf(", and given %s of bedding", weight(total.Fed.BeddingWet, t.in))
	}
	return fmt.Sprintf("The club kept %s. %s. %s of castings came out.", count(total.Bins, "bin", "bins"), fed, weight(total.Fed.CastingsWet, t.in))
}

// received tells what came in; empty where no receipt says so.
func (t *seasonText) received() string {
	in := t.r.Received.Total
	var out []string
	if in.Net > 0 {
		out = append(out, fmt.Sprintf("%s of scraps came in, %s of it weighed; %s was rejected and %s thrown out later, so that %s was kept from the waste.",
			weight(in.Net, t.in), portion(in.Weighed, in.Net), amountOrNothing(in.Rejected, t.in), amountOrNothing(in.Residue, t.in), weight(in.Diverted(), t.in)))
	}
	if in.Bedding > 0 {
		out = append(out, weight(in.Bedding, t.in)+" of bedding came in.")
	}
	return strings.Join(out, " ")
}

func amountOrNothing(m unit.Mass, in unit.System) string {
	if m == 0 {
		return "nothing"
	}
	return weight(m, in)
}

// portion writes a part of a mass, with a word where it is all or nothing.
func portion(part, whole unit.Mass) string {
	if part == whole {
		return "all"
	}
	if part == 0 {
		return "none"
	}
	return percent(int64(part), int64(whole))
}

// castings tells castings and yield by member and by species.
func (t *seasonText) castings() {
	t.heading("Castings and yield")
	t.lines("Member", t.r.ByMember, t.member)
	t.line("")
	t.lines("Species", t.r.BySpecies, t.species)
	t.line("")
	kg := massWord(t.in)
	t.say("A yield is %s of castings for each %s of feed without bedding, between two full harvests; a dry yield compares dry matter.", kg, kg)
	species := slices.DeleteFunc(slices.Clone(t.r.BySpecies), func(l season.Line) bool { return l.Key == season.NoSpecies })
	all := slices.Concat(namedLines(t.r.ByMember, t.member), namedLines(species, t.species))
	t.reasons("No yield for %s: %s.", all, func(l season.Line) unit.Figure { return l.Yields.Wet })
	dry := slices.DeleteFunc(slices.Clone(all), func(l namedLine) bool { return !l.Yields.Wet.Known })
	t.reasons("No dry yield for %s: %s.", dry, func(l season.Line) unit.Figure { return l.Yields.Dry })
	t.flags("dry yield", all, func(l season.Line) unit.Figure { return l.Yields.Dry })
}

// lines writes a table of rows and their total.
func (t *seasonText) lines(head string, rows []season.Line, name func(string) string) {
	rows = append(byName(rows, name), t.r.Total)
	name = totalled(name)
	t.table(
		text(head, rows, func(l season.Line) string { return name(l.Key) }),
		column{"Bins", true, text("", rows, func(l season.Line) string { return strconv.Itoa(l.Bins) }).cells},
		masses("Feed", t.in, rows, func(l season.Line) unit.Mass { return l.Fed.FeedWet }),
		masses("Castings", t.in, rows, func(l season.Line) unit.Mass { return l.Fed.CastingsWet }),
		figures("Yield", 2, rows, func(l season.Line) unit.Figure { return l.Yields.Wet }),
		figures("Dry yield", 2, rows, func(l season.Line) unit.Figure { return l.Yields.Dry }),
	)
}

// byName returns rows in the order of their names.
func byName(rows []season.Line, name func(string) string) []season.Line {
	out := slices.Clone(rows)
	slices.SortStableFunc(out, func(a, b season.Line) int {
		return strings.Compare(strings.ToLower(name(a.Key)), strings.ToLower(name(b.Key)))
	})
	return out
}

// totalled makes the row without a key the total.
func totalled(name func(string) string) func(string) string {
	return func(key string) string {
		if key == "" {
			return "All"
		}
		return name(key)
	}
}

// rates tells how fast each bin processed its feed.
func (t *seasonText) rates() {
	t.heading("Processing rates")
	if f := t.r.Total.Rate.Figure; f.Known {
		t.say("The worms of %s processed %s of feed: %s %s a day for each %s of worms (%s to %s with 95 %% confidence).",
			count(t.r.Total.Rate.Bins, "bin", "bins"), weight(t.r.Total.Rate.Processed, t.in), digits(f.Value, 2), massWord(t.in), massWord(t.in), digits(f.Low, 2), digits(f.High, 2))
	} else {
		t.say("There is no rate for the club: %s.", inWords(reasonWords, f.Reason))
	}
	known := slices.DeleteFunc(byName(t.r.ByBin, t.bin), func(l season.Line) bool { return !l.Rate.Figure.Known })
	rate := func(l season.Line) unit.Figure { return l.Rate.Figure }
	if len(known) > 0 {
		t.line("")
		t.table(
			text("Bin", known, func(l season.Line) string { return t.bin(l.Key) }),
			text("Member", known, func(l season.Line) string { return t.keeper(l.Key) }),
			masses("Feed", t.in, known, func(l season.Line) unit.Mass { return l.Rate.Processed }),
			figures("Rate", 2, known, rate),
			column{"95 % interval", true, text("", known, func(l season.Line) string {
				return fixed(l.Rate.Figure.Low, 2) + " to " + fixed(l.Rate.Figure.High, 2)
			}).cells},
		)
		t.line("")
	}
	bins := namedLines(t.r.ByBin, t.bin)
	t.reasons("No rate for %s: %s.", bins, rate)
	t.flags("rate", bins, rate)
}

// namedLine is a row with its name.
type namedLine struct {
	season.Line
	name string
}

// namedLines names rows, in the order of their names.
func namedLines(rows []season.Line, name func(string) string) []namedLine {
	var out []namedLine
	for _, l := range byName(rows, name) {
		out = append(out, namedLine{l, name(l.Key)})
	}
	return out
}

// reasons says of which rows a figure can't be had, a reason a sentence.
func (t *seasonText) reasons(format string, rows []namedLine, figure func(season.Line) unit.Figure) {
	g := grouping{}
	for _, l := range rows {
		if f := figure(l.Line); !f.Known {
			g.add(f.Reason, l.name)
		}
	}
	g.each(func(reason string, names []string) { t.say(format, listed(names), inWords(reasonWords, reason)) })
}

// flags says which figures are to be doubted, and why.
func (t *seasonText) flags(what string, rows []namedLine, figure func(season.Line) unit.Figure) {
	g := grouping{}
	for _, l := range rows {
		var why []string
		for _, flag := range figure(l.Line).Flags {
			why = append(why, inWords(flagWords, flag))
		}
		if len(why) > 0 {
			g.add(strings.Join(why, "; "), l.name)
		}
	}
	g.each(func(why string, names []string) { t.say("Look at the %s of %s: %s.", what, listed(names), why) })
}

// grouping gathers names under what they share, in the order met.
type grouping struct {
	order []string
	names map[string][]string
}

func (g *grouping) add(key, name string) {
	if g.names == nil {
		g.names = map[string][]string{}
	}
	if g.names[key] == nil {
		g.order = append(g.order, key)
	}
	if !slices.Contains(g.names[key], name) {
		g.names[key] = append(g.names[key], name)
	}
}

func (g *grouping) each(do func(key string, names []string)) {
	for _, key := range g.order {
		do(key, g.names[key])
	}
}

func (t *seasonText) member(id string) string {
	return named(t.r.Names.Members, id, "nobody")
}

func (t *seasonText) bin(id string) string { return binName(t.r.Names, service.BinID(id)) }

func (t *seasonText) keeper(bin string) string {
	return t.member(string(t.r.Names.Bins[service.BinID(bin)].Keeper))
}

// species is the common name, also of the rows of bins with none or several.
func (t *seasonText) species(id string) string {
	switch id {
	case season.NoSpecies:
		return "no worms"
	case season.SeveralSpecies:
		return "several species"
	case season.Castings:
		return "castings, dry"
	}
	return named(t.r.Names.Species, id, id)
}
