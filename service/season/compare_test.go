package season_test

import (
	"math"
	"slices"
	"testing"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
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
	if c.Code != "2026-summer" || len(c.Changes) != 15 {
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
	factors := season.Factors{Landfilled: 0.68, Composted: 0.11, Basis: "Table 9"}
	fed := func(key string, mass unit.Mass) season.MaterialLine {
		return season.MaterialLine{Key: key, Fed: yields.Sums{FeedWet: mass, BeddingWet: kg}}
	}
	kind := func(material string) season.Kind {
		return map[string]season.Kind{"scraps": season.FoodWaste, "mix": season.OwnMaterial}[material]
	}
	got := season.Emit([]season.MaterialLine{fed("scraps", 70*kg), fed("mix", 30*kg)}, kind, factors)
	if math.Abs(got.Avoided.Value-62.83174472) > 1e-6 || got.Avoided.Unit != "kg" || got.Avoided.Basis != "Table 9" || got.Food != 70*kg || got.Own != 30*kg {
		t.Errorf("%+v", got)
	}
	// A short ton, fed: 0.57 tonnes. Status: computed.
	ton := season.Emit([]season.MaterialLine{fed("scraps", unit.Mass(season.KilogramsPerShortTon*float64(kg)))}, kind, factors)
	near(t, "a short ton", ton.Avoided, 570, "kg")
	manure := season.Emit([]season.MaterialLine{fed("manure", 5*kg)}, func(string) season.Kind { return season.OtherWaste }, factors)
	near(t, "manure", manure.Avoided, 0, "kg")
	equal(t, "left out", manure.LeftOut, 5*kg)
	missing(t, "nothing fed", season.Emit(nil, kind, factors).Avoided, "no-feed")
}

func TestARatioSaysHowManyTimesAsMuch(t *testing.T) {
	t.Parallel()
	f := autumn(cellar())
	f.Receipts = deliveries()
	now := season.Recount(f)
	less := season.Recount(autumn(cellar()))
	c := season.Compare(now, less)
	near(t, "fed", changeOf(t, c, "fed-wet").Ratio, 1, "1")
	near(t, "received", changeOf(t, c, "received-wet").Now, 40, "kg")
	near(t, "diverted", changeOf(t, c, "diverted-wet").Now, 37, "kg")
	missing(t, "received", changeOf(t, c, "received-wet").Ratio, "nothing-received")
	missing(t, "castings", changeOf(t, season.Compare(season.Recount(autumn(cellar())), season.Recount(autumn(fedFor("a", kg, kg, 0)))), "castings-wet").Ratio, "nothing-before")
}
