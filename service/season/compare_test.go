package season_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

func changeOf(t *testing.T, c season.Comparison, name string) season.Change {
	t.Helper()
	i := slices.IndexFunc(c.Changes, func(x season.Change) bool { return x.Name == name })
	if i < 0 {
		t.Fatalf("no %s in %+v", name, c)
	}
	return c.Changes[i]
}

func TestAComparisonGivesTheChangeOfEachTotal(t *testing.T) {
	t.Parallel()
	now := season.Recount(autumn(cellar(), empty()))
	f := autumn(cellar())
	f.Period = period("2026-summer")
	before := season.Recount(f)
	c := season.Compare(now, before)
	if c.Code != "2026-summer" || len(c.Changes) != 12 {
		t.Fatalf("%+v", c)
	}
	near(t, "bins", changeOf(t, c, "bins").By, 1, "{bins}")
	near(t, "fed wet", changeOf(t, c, "fed-wet").By, 0, "kg")
	near(t, "bedding", changeOf(t, c, "bedding-wet").By, 2, "kg")
	near(t, "castings", changeOf(t, c, "castings-wet").By, 39, "kg")
	near(t, "fed before", changeOf(t, c, "fed-wet").Before, 50, "kg")
	missing(t, "castings dry", changeOf(t, c, "castings-dry").By, "moisture-unknown")
	missing(t, "yield dry", changeOf(t, c, "yield-dry").By, "no-feed")
	missing(t, "rate", changeOf(t, c, "rate").By, "no-leftover-record")
}

func TestMassesDifferByWholeMilligrams(t *testing.T) {
	t.Parallel()
	one, other := cellar(), cellar()
	one.Feeds[2].Wet, other.Feeds[2].Wet = 300*unit.Gram, 100*unit.Gram
	c := season.Compare(season.Recount(autumn(one)), season.Recount(autumn(other)))
	equal(t, "change", changeOf(t, c, "fed-wet").By, unit.Of(0.2, "kg", "difference"))
}

func TestTheChangeOfARateHasAnInterval(t *testing.T) {
	t.Parallel()
	c := season.Compare(season.Recount(autumn(fedFor("a", 60*kg, kg, 100))), season.Recount(autumn(fedFor("a", 30*kg, kg, 100))))
	x := changeOf(t, c, "rate")
	near(t, "rate", x.By, 0.5, "kg/kg/d")
	// Independent errors add in squares. Status: computed.
	down := math.Hypot(x.Now.Value-x.Now.Low, x.Before.High-x.Before.Value)
	up := math.Hypot(x.Now.High-x.Now.Value, x.Before.Value-x.Before.Low)
	if x.By.Level != 0.95 || x.By.Low != x.By.Value-down || x.By.High != x.By.Value+up {
		t.Errorf("%+v", x.By)
	}
}

func TestThereIsNoChangeFromASeasonWithoutRecords(t *testing.T) {
	t.Parallel()
	f := autumn(empty())
	f.Period = period("2025-autumn")
	before := season.Recount(f)
	if !before.Empty {
		t.Fatalf("%+v", before)
	}
	for _, x := range season.Compare(season.Recount(autumn(cellar())), before).Changes {
		missing(t, x.Name, x.By, "no-records-before")
		missing(t, x.Name, x.Before, "no-records-before")
	}
}

func TestAnyRecordMakesASeasonNotEmpty(t *testing.T) {
	t.Parallel()
	for name, fill := range map[string]func(*season.Facts){
		"feeding":  func(f *season.Facts) { f.Bins[0].Feeds = cellar().Feeds },
		"harvest":  func(f *season.Facts) { f.Bins[0].Harvests = cellar().Harvests },
		"check":    func(f *season.Facts) { f.Bins[0].Leftovers = cellar().Leftovers },
		"census":   func(f *season.Facts) { f.Bins[0].Anchors = cellar().Anchors },
		"arrival":  func(f *season.Facts) { f.Bins[0].Jumps = []rates.Jump{{At: on("2026-11-01"), Mass: kg}} },
		"movement": func(f *season.Facts) { f.Movements = hands() },
		"receipt":  func(f *season.Facts) { f.Receipts = deliveries() },
	} {
		f := autumn(empty(), empty())
		if fill(&f); season.Recount(f).Empty {
			t.Errorf("a %s", name)
		}
	}
}

func TestEmissionsAvoidedAreThoseOfTheEmissionFactorHub(t *testing.T) {
	t.Parallel()
	// EPA emission-factor hub, Table 9, food waste: landfill 0.68, compost 0.11 t
	// CO2e per short ton. Status: seen-transcription, computed.
	got := season.Avoided(100 * kg)
	if math.Abs(got.Value-62.83174472) > 1e-6 || got.Unit != "kg" {
		t.Errorf("%+v", got)
	}
	for _, said := range []string{"Table 9", "edition not recorded", "worms count as composting"} {
		if !strings.Contains(got.Basis, said) {
			t.Errorf("%q does not say %q", got.Basis, said)
		}
	}
	near(t, "nothing fed", season.Avoided(0), 0, "kg")
}
