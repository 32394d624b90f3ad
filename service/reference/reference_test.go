package reference_test

import (
	"math"
	"testing"

	"lumbricary.example/service/reference"
)

func load(t *testing.T) *reference.Tables {
	t.Helper()
	tables, err := reference.Load()
	if err != nil {
		t.Fatal(err)
	}
	return tables
}

func TestEveryValueHasASourceThatIsListed(t *testing.T) {
	t.Parallel()
	tables := load(t)
	statuses := map[string]bool{"seen": true, "seen-transcription": true, "computed": true, "practice": true, "memory": true}
	for _, s := range tables.Species {
		for _, values := range [][]reference.Value{s.TempOptC, s.TempLimitC, s.MoistureOpt, s.AdultMassG} {
			for _, v := range values {
				if tables.Sources[v.Source] == "" || !statuses[v.Status] {
					t.Errorf("%s: source %q, status %q", s.ID, v.Source, v.Status)
				}
				if v.Value == nil && (v.Low == nil || v.High == nil) {
					t.Errorf("%s: a value of %s has neither a number nor a range", s.ID, v.Source)
				}
			}
		}
	}
}

func TestWormsThatAreNotToldApartAreEntriesOfTheirOwn(t *testing.T) {
	t.Parallel()
	tables := load(t)
	for _, id := range []string{"eisenia-fetida", "eisenia-andrei", "eisenia-fetida-andrei", "mixed"} {
		if s, ok := tables.SpeciesByID(id); !ok || len(s.Names) != 1 {
			t.Errorf("%s: %+v; want an entry with one name", id, s)
		}
	}
	if _, ok := tables.SpeciesByID("lumbricus-imaginarius"); ok {
		t.Error("a species that isn't there was found")
	}
}

func TestTheWorkingMassOfAnAdultPrefersWhatWasSeen(t *testing.T) {
	t.Parallel()
	tables := load(t)
	for _, tt := range []struct {
		id     string
		mg     float64
		source string
	}{
		{"eisenia-fetida", 550, "EW_TAB"},        // seen-transcription
		{"eudrilus-eugeniae", 1116, "AK2018"},    // seen
		{"perionyx-excavatus", 1300, "EW_TAB"},   // seen-transcription
		{"eisenia-hortensis", 920, "DE2011"},     // memory: nothing better
		{"eisenia-fetida-andrei", 550, "EW_TAB"}, // seen-transcription
	} {
		s, _ := tables.SpeciesByID(tt.id)
		mg, source, ok := s.AdultMassMg()
		if !ok || math.Abs(mg-tt.mg) > 1e-9 || source != tt.source {
			t.Errorf("%s: %v mg by %s, %v; want %v by %s", tt.id, mg, source, ok, tt.mg, tt.source)
		}
	}
	s, _ := tables.SpeciesByID("mixed")
	if _, _, ok := s.AdultMassMg(); ok {
		t.Error("a mixture has a mass of its own")
	}
}

// NRAES-54, read in a transcription (seen-transcription): 1,559 and 1,197 lb a
// cubic yard are 924.9 and 710.2 kg/m³.
func TestDensitiesAreThoseOfTheTable(t *testing.T) {
	t.Parallel()
	tables := load(t)
	for id, want := range map[string]float64{"apple-pomace": 924.9, "apple-filter-cake": 710.2, "table-waste": 419.4} {
		f, ok := tables.FeedstockByID(id)
		if d, has := f.Density(); !ok || !has || math.Abs(d-want) > 0.05 {
			t.Errorf("%s: %v g/L; want %v", id, d, want)
		}
	}
	f, _ := tables.FeedstockByID("fruit-wastes")
	if _, has := f.Density(); has {
		t.Error("fruit wastes have a density that the table lacks")
	}
	if _, ok := tables.FeedstockByID("moon-dust"); ok {
		t.Error("a feedstock that isn't there was found")
	}
}

// EPA emission-factor hub, Table 9, food waste. Status: seen-transcription.
func TestTheEmissionFactorsSayWhereTheyAreFrom(t *testing.T) {
	t.Parallel()
	tables := load(t)
	f := tables.Emissions
	if f.Landfilled != 0.68 || f.Composted != 0.11 || f.Status != "seen-transcription" || f.Source == "" || f.Edition == "" || f.Unit == "" {
		t.Errorf("%+v", f)
	}
	for _, id := range f.FoodWaste {
		if s, ok := tables.FeedstockByID(id); !ok || s.Kind != "feed" {
			t.Errorf("%s is no feed of the table", id)
		}
	}
}
