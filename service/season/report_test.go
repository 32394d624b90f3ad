package season_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

const kg = unit.Kilogram

func on(date string) time.Time {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		panic(err)
	}
	return t.Add(12 * time.Hour)
}

func period(code string) season.Period {
	p, err := season.Parse(code, north)
	if err != nil {
		panic(err)
	}
	return p
}

func moist(percent unit.Percent) yields.Moisture {
	return yields.Moisture{Known: true, Percent: percent, Basis: yields.Measured}
}

func scraps(id, date string, wet unit.Mass) season.Feed {
	return season.Feed{
		Feed:     rates.Feed{ID: id, At: on(date), Wet: wet, Moisture: moist(75)},
		Material: "scraps", Weighed: true,
	}
}

func full(id, date string, wet unit.Mass, batch string) season.Harvest {
	return season.Harvest{
		Harvest: yields.Harvest{ID: id, At: on(date), Full: true, Wet: wet, Moisture: moist(60)},
		Batch:   batch,
	}
}

func left(id, date string, percent unit.Percent) rates.Leftover {
	return rates.Leftover{Check: id, At: on(date), All: &percent}
}

func stocked(date string, mass unit.Mass) rates.Anchor {
	return rates.Anchor{ID: "s" + date, At: on(date), Mass: mass, CV: 0.1, Kind: rates.Stocking}
}

func counted(date string, mass unit.Mass) rates.Anchor {
	return rates.Anchor{ID: "c" + date, At: on(date), Mass: mass, CV: 0.1, Kind: rates.Census}
}

// cellar is a bin of the club's autumn 2026 with all that its figures need.
func cellar() season.BinFacts {
	card := season.Feed{Feed: rates.Feed{ID: "f2", At: on("2026-09-20"), Bedding: true, Wet: 2 * kg, Moisture: moist(10)}, Material: "cardboard", Weighed: true}
	bucket := scraps("f3", "2026-10-10", 20*kg)
	bucket.Weighed = false
	return season.BinFacts{
		ID: "b1", Site: "cellar", Member: "ann", Started: on("2026-01-10"),
		Feeds: []season.Feed{scraps("f1", "2026-08-20", 50*kg), card, scraps("f2", "2026-09-20", 30*kg), bucket, scraps("f4", "2026-12-01", 7*kg)},
		Harvests: []season.Harvest{
			full("h1", "2026-08-01", 9*kg, "old"),
			full("h2", "2026-10-20", 45*kg, "lot-1"),
			{Harvest: yields.Harvest{ID: "h3", At: on("2026-11-10"), Wet: 4 * kg, PutBack: kg}, Batch: "lot-2"},
		},
		Leftovers: []rates.Leftover{left("k1", "2026-09-10", 50), left("k2", "2026-11-09", 0)},
		Checked:   weekly(),
		Anchors:   []rates.Anchor{stocked("2026-01-10", kg), counted("2026-09-01", 2*kg), counted("2026-11-15", 2*kg)},
		Stock:     []season.SpeciesStock{{Species: "fetida", Start: 2 * kg, End: 2500 * unit.Gram}},
	}
}

// shed is a bin that lacks nearly everything.
func shed() season.BinFacts {
	guess := scraps("f5", "2026-09-05", 10*kg)
	guess.Weighed, guess.Moisture = false, yields.Moisture{}
	return season.BinFacts{
		ID: "b2", Site: "shed", Member: "ann", Started: on("2026-01-10"),
		Feeds:     []season.Feed{guess},
		Leftovers: []rates.Leftover{{Check: "k3", At: on("2026-09-30")}},
		Anchors:   []rates.Anchor{stocked("2026-01-10", kg)},
		Stock:     []season.SpeciesStock{{Species: "fetida", Start: kg}, {Species: "hortensis", End: kg}},
	}
}

func empty() season.BinFacts {
	return season.BinFacts{ID: "b3", Site: "shed", Member: "bob", Started: on("2026-10-01"), Checked: weekly()}
}

// weekly is a look at a bin every Monday of the autumn.
func weekly() (all []time.Time) {
	for at := on("2026-09-07"); at.Before(on("2026-12-01")); at = at.AddDate(0, 0, 7) {
		all = append(all, at)
	}
	return all
}

func autumn(bins ...season.BinFacts) season.Facts {
	return season.Facts{Period: period("2026-autumn"), Bins: bins}
}

func line(t *testing.T, lines []season.Line, key string) season.Line {
	t.Helper()
	i := slices.IndexFunc(lines, func(l season.Line) bool { return l.Key == key })
	if i < 0 {
		t.Fatalf("no line %q in %+v", key, lines)
	}
	return lines[i]
}

func near(t *testing.T, what string, got unit.Figure, want float64, code string) {
	t.Helper()
	if !got.Known || got.Unit != code || got.Value < want-1e-9 || got.Value > want+1e-9 {
		t.Errorf("%s: %+v, want %v %s", what, got, want, code)
	}
}

func missing(t *testing.T, what string, got unit.Figure, reason string) {
	t.Helper()
	if got.Known || got.Reason != reason || got.Unit == "" {
		t.Errorf("%s: %+v, want none for %s", what, got, reason)
	}
}

func TestALineCountsWhatLiesInsideTheSeason(t *testing.T) {
	t.Parallel()
	l := season.Recount(autumn(cellar())).Total
	want := yields.Sums{
		FeedWet: 50 * kg, FeedDry: yields.Dry{Mass: 12500 * unit.Gram, Basis: yields.Measured},
		BeddingWet: 2 * kg, BeddingDry: yields.Dry{Mass: 1800 * unit.Gram, Basis: yields.Measured},
		CastingsWet: 48 * kg, CastingsDry: yields.Dry{Mass: 18 * kg, Unknown: true, Basis: yields.Measured},
	}
	if l.Fed != want {
		t.Errorf("fed %+v, want %+v", l.Fed, want)
	}
	near(t, "fed dry", l.FedDry(), 12.5, "kg")
	near(t, "weighed", l.WeighedShare(), 60, "%")
	missing(t, "castings dry", l.CastingsDry(), "moisture-unknown")
	if l.FedDry().Basis != "measured-moisture" || l.Bins != 1 || !slices.Equal(l.Batches, []string{"lot-1", "lot-2"}) {
		t.Errorf("%+v", l)
	}
	if l.Stock != (season.Stock{Start: 2 * kg, End: 2500 * unit.Gram}) || l.Stock.Change() != 500*unit.Gram {
		t.Errorf("stock %+v", l.Stock)
	}
}

func TestAYieldIsThatOfTheWindowsClosedInTheSeason(t *testing.T) {
	t.Parallel()
	// 100 kg of feed at 75 % and 45 kg of castings at 60 %: 0.45 wet, 0.72 dry.
	// Definition. Status: computed.
	l := season.Recount(autumn(cellar())).Total
	if l.Windows != 1 || l.Closed.FeedWet != 100*kg || l.Closed.CastingsWet != 45*kg {
		t.Errorf("closed %d: %+v", l.Windows, l.Closed)
	}
	near(t, "wet", l.Yields.Wet, 0.45, "kg/kg")
	near(t, "dry", l.Yields.Dry, 0.72, "kg/kg")
	near(t, "wet with bedding", l.Yields.WetWithBedding, 45.0/102, "kg/kg")
}

func TestABinCountsUnderItsSpeciesSeveralOrNone(t *testing.T) {
	t.Parallel()
	r := season.Recount(autumn(shed(), empty(), cellar()))
	if len(r.BySpecies) != 3 {
		t.Fatalf("%+v", r.BySpecies)
	}
	for key, wet := range map[string]unit.Mass{"fetida": 50 * kg, season.SeveralSpecies: 10 * kg, season.NoSpecies: 0} {
		if got := line(t, r.BySpecies, key); got.Fed.FeedWet != wet || got.Bins != 1 {
			t.Errorf("%s: %+v", key, got)
		}
	}
	want := []season.SpeciesStock{{Species: "fetida", Start: 3 * kg, End: 2500 * unit.Gram}, {Species: "hortensis", End: kg}}
	if !slices.Equal(r.Stock, want) {
		t.Errorf("stock %+v", r.Stock)
	}
}

func TestMembersSitesAndMaterialsHaveTheirRows(t *testing.T) {
	t.Parallel()
	r := season.Recount(autumn(shed(), empty(), cellar()))
	if got := line(t, r.ByMember, "ann"); got.Bins != 2 || got.Fed.FeedWet != 60*kg {
		t.Errorf("ann: %+v", got)
	}
	missing(t, "ann's dry feed", line(t, r.ByMember, "ann").FedDry(), "moisture-unknown")
	bob := line(t, r.ByMember, "bob")
	missing(t, "bob's weighed share", bob.WeighedShare(), "no-feed")
	missing(t, "bob's yield", bob.Yields.Wet, "no-full-harvest")
	near(t, "bob's dry feed", bob.FedDry(), 0, "kg")
	if got := line(t, r.BySite, "shed"); got.Bins != 2 || got.Stock.End != kg {
		t.Errorf("shed: %+v", got)
	}
	if len(r.ByBin) != 3 || r.ByBin[0].Key != "b1" {
		t.Errorf("bins: %+v", r.ByBin)
	}
	if len(r.ByMaterial) != 2 || r.ByMaterial[0].Key != "cardboard" || r.ByMaterial[0].Fed.BeddingWet != 2*kg {
		t.Fatalf("materials: %+v", r.ByMaterial)
	}
	missing(t, "cardboard weighed", r.ByMaterial[0].WeighedShare(), "no-feed")
	near(t, "cardboard dry", r.ByMaterial[0].FedDry(), 0, "kg")
	near(t, "scraps weighed", r.ByMaterial[1].WeighedShare(), 50, "%")
	missing(t, "scraps dry", r.ByMaterial[1].FedDry(), "moisture-unknown")
}

func TestABinOutsideTheSeasonHasNoRow(t *testing.T) {
	t.Parallel()
	gone, later, late := empty(), empty(), empty()
	gone.ID, gone.Started, gone.Retired = "gone", on("2026-01-01"), period("2026-autumn").From
	later.ID, later.Started = "later", period("2026-autumn").To
	late.ID, late.Started, late.Retired = "late", on("2026-01-01"), on("2026-08-01")
	late.Feeds = []season.Feed{scraps("f", "2026-09-02", kg)}
	r := season.Recount(autumn(gone, later, late, empty()))
	if len(r.ByBin) != 2 || r.Total.Bins != 1 || r.Total.Fed.FeedWet != kg {
		t.Errorf("a record after its bin retired still counts: %+v", r.ByBin)
	}
}

func TestWhatABinLacksIsListedWithItsReason(t *testing.T) {
	t.Parallel()
	var got []string
	for _, m := range season.Recount(autumn(cellar(), empty(), shed())).Missing {
		got = append(got, m.Bin+" "+m.Reason+" "+strings.Join(m.Records, ","))
	}
	want := []string{
		"b1 feed-not-weighed ", "b1 harvest-not-measured h3",
		"b2 no-full-harvest ", "b2 no-leftover-record ", "b2 no-recent-census ", "b2 feed-without-moisture f5", "b2 feed-not-weighed ", "b2 no-check ",
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

func TestABinInUseIsLookedAtEveryThreeWeeks(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		started, retired, asOf string
		looks                  []string
		days                   int
	}{
		"never":                           {"2026-01-01", "", "", nil, 91},
		"only before and after":           {"2026-01-01", "", "", []string{"2026-08-31", "2026-12-01"}, 91},
		"not at the beginning":            {"2026-01-01", "", "", []string{"2026-10-01", "2026-10-20", "2026-11-09"}, 30},
		"not at the end":                  {"2026-01-01", "", "", []string{"2026-11-06", "2026-09-15", "2026-10-05", "2026-10-20"}, 24},
		"not in between":                  {"2026-01-01", "", "", []string{"2026-09-15", "2026-10-20", "2026-11-10"}, 35},
		"21 days, to the hour":            {"2026-09-15", "", "2026-10-27", []string{"2026-10-06"}, 0},
		"22 days":                         {"2026-09-15", "", "2026-10-28", []string{"2026-10-06"}, 22},
		"a bin that began at the end":     {"2026-11-20", "", "", nil, 0},
		"a bin that was retired early on": {"2026-01-01", "2026-09-10", "", nil, 0},
	} {
		b := empty()
		b.Started, b.Stock, b.Checked = on(c.started), []season.SpeciesStock{{Species: "fetida", Start: kg}}, nil
		if c.retired != "" {
			b.Retired = on(c.retired)
		}
		for _, day := range c.looks {
			b.Checked = append(b.Checked, on(day))
		}
		f := autumn(b)
		if c.asOf != "" {
			f.AsOf = on(c.asOf)
		}
		days := 0
		for _, m := range season.Recount(f).Missing {
			if m.Reason == season.NoCheck {
				days = m.Days
			}
		}
		if days != c.days {
			t.Errorf("%s: %d days, want %d", name, days, c.days)
		}
	}
}

func TestAFullHarvestWithoutCastingsAndFeedWithoutWormsAreAskedAbout(t *testing.T) {
	t.Parallel()
	b := cellar()
	b.Stock = nil
	b.Harvests = []season.Harvest{full("h9", "2026-10-20", 0, "")}
	var got []string
	for _, m := range season.Recount(autumn(b)).Missing {
		got = append(got, m.Reason+" "+strings.Join(m.Records, ","))
	}
	if want := []string{"feed-not-weighed ", "harvest-without-mass h9", "no-stock "}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

func TestACensusIsAskedForAfterHalfAYear(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		why     string
		started string
		census  string
		asOf    string
		overdue bool
	}{
		{"180 days before the end", "2026-01-01", "2026-06-04", "", false},
		{"181 days before the end", "2026-01-01", "2026-06-03", "", true},
		{"181 days before the end, while the season runs", "2026-01-01", "2026-06-03", "2026-11-01", false},
		{"a census still to come", "2026-01-01", "2026-11-20", "2026-11-01", true},
		{"a bin too young for one", "2026-07-01", "2025-01-01", "", false},
		{"180 days before now, to the second", "2026-01-01", "2026-05-05", "2026-11-01", false},
		{"now is after the season", "2026-01-01", "2026-06-04", "2027-05-01", false},
	} {
		b := empty()
		b.Started, b.Anchors = on(c.started), []rates.Anchor{counted(c.census, kg)}
		b.Checked = weekly()
		b.Stock = []season.SpeciesStock{{Species: "fetida", End: kg}}
		f := autumn(b)
		if c.asOf != "" {
			f.AsOf = on(c.asOf)
		}
		if got := len(season.Recount(f).Missing) > 0; got != c.overdue {
			t.Errorf("%s: overdue %v", c.why, got)
		}
	}
}

func TestAStockingIsNoCensus(t *testing.T) {
	t.Parallel()
	b := empty()
	b.Started, b.Anchors = on("2026-01-01"), []rates.Anchor{stocked("2026-09-01", kg)}
	b.Stock = []season.SpeciesStock{{Species: "fetida", End: kg}}
	equal(t, "missing", season.Recount(autumn(b)).Missing, []season.Missing{{Bin: "b3", Reason: season.NoRecentCensus}})
}

func TestNothingIsAskedOfABinThatHasNothingToShow(t *testing.T) {
	t.Parallel()
	bare := empty()
	bare.Started = on("2026-01-01")
	bare.Stock = []season.SpeciesStock{{Species: "fetida", Start: kg}}
	nothing := scraps("f", "2026-09-02", 0)
	nothing.Moisture = yields.Moisture{}
	bare.Feeds = []season.Feed{nothing}
	gone := shed()
	gone.Retired = on("2026-08-01")
	equal(t, "missing", season.Recount(autumn(bare, gone)).Missing, nil)
}

func TestTheFactsAreNotChanged(t *testing.T) {
	t.Parallel()
	fresh := func() season.Facts {
		f := autumn(shed(), cellar(), empty())
		f.Movements, f.Receipts = hands(), deliveries()
		return f
	}
	f := fresh()
	season.Recount(f)
	if !reflect.DeepEqual(f, fresh()) {
		t.Error("changed")
	}
}
