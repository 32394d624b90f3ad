// Package reference holds the published figures on species, feedstocks and
// emissions that the service works with, each with its source and how sure it is. The data
// are embedded; a value's status is one of "seen" (read in the source),
// "seen-transcription" (read in a copy that cites it), "computed", "practice"
// (custom without a source) and "memory" (not verified).
package reference

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
)

//go:embed species.json
var speciesJSON []byte

//go:embed feedstocks.json
var feedstocksJSON []byte

//go:embed emissions.json
var emissionsJSON []byte

// Value is one published figure.
type Value struct {
	Value  *float64 `json:"value"`
	Low    *float64 `json:"low,omitempty"`
	High   *float64 `json:"high,omitempty"`
	Unit   string   `json:"unit"`
	Status string   `json:"status"`
	Source string   `json:"source"`
	Note   string   `json:"note,omitempty"`
}

// Species is one entry of the species table. Figures that conflict stand beside
// each other.
type Species struct {
	ID          string   `json:"id"`
	Names       []string `json:"names"`
	Common      string   `json:"common"`
	Note        string   `json:"note,omitempty"`
	TempOptC    []Value  `json:"temp_opt_c,omitempty"`
	TempLimitC  []Value  `json:"temp_limit_c,omitempty"`
	MoistureOpt []Value  `json:"moisture_opt_pct,omitempty"`
	AdultMassG  []Value  `json:"adult_mass_g,omitempty"`
}

// Feedstock is one entry of the feedstock table. Nitrogen is % of dry mass,
// moisture % of wet mass, C:N mass to mass.
type Feedstock struct {
	ID           string   `json:"id"`
	Name         string   `json:"name"`
	Kind         string   `json:"kind"` // feed or bedding
	NitrogenPct  *float64 `json:"n_pct_dry"`
	CarbonRatio  *float64 `json:"c_n"`
	MoisturePct  *float64 `json:"moisture_pct_wet"`
	DensityKgM3  *float64 `json:"bulk_density_kg_m3,omitempty"`
	DensityByGal *float64 `json:"bulk_density_kg_m3_from_gal,omitempty"`
	Source       string   `json:"source"`
	Status       string   `json:"status"`
	Note         string   `json:"note,omitempty"`
}

// Density returns the bulk density in g per litre (the same number as kg per
// m³), the value by the yard before that by the gallon, and whether there is one.
func (f Feedstock) Density() (float64, bool) {
	for _, d := range []*float64{f.DensityKgM3, f.DensityByGal} {
		if d != nil {
			return *d, true
		}
	}
	return 0, false
}

// EmissionFactors is what food waste emits by what is done with it, in Unit.
type EmissionFactors struct {
	Source     string   `json:"source"`
	Edition    string   `json:"edition"`
	Status     string   `json:"status"`
	Unit       string   `json:"unit"`
	Landfilled float64  `json:"landfilled"`
	Composted  float64  `json:"composted"`
	FoodWaste  []string `json:"food_waste"` // ids of the feedstocks that are food waste
}

// Tables are the parsed reference tables.
type Tables struct {
	Species    []Species
	Feedstocks []Feedstock
	Sources    map[string]string // by the code that species values cite
	Emissions  EmissionFactors
}

// Load parses the embedded tables. It fails only if the program was built with
// broken data.
func Load() (*Tables, error) {
	var sp struct {
		Species []Species         `json:"species"`
		Sources map[string]string `json:"sources"`
	}
	var fs struct {
		Feedstocks []Feedstock `json:"feedstocks"`
	}
	if err := json.Unmarshal(speciesJSON, &sp); err != nil {
		return nil, fmt.Errorf("species table: %w", err)
	}
	if err := json.Unmarshal(feedstocksJSON, &fs); err != nil {
		return nil, fmt.Errorf("feedstock table: %w", err)
	}
	var factors EmissionFactors
	if err := json.Unmarshal(emissionsJSON, &factors); err != nil {
		return nil, fmt.Errorf("emission factors: %w", err)
	}
	return &Tables{sp.Species, fs.Feedstocks, sp.Sources, factors}, nil
}

// SpeciesByID finds an entry of the species table.
func (t *Tables) SpeciesByID(id string) (Species, bool) {
	i := slices.IndexFunc(t.Species, func(s Species) bool { return s.ID == id })
	if i < 0 {
		return Species{}, false
	}
	return t.Species[i], true
}

// FeedstockByID finds an entry of the feedstock table.
func (t *Tables) FeedstockByID(id string) (Feedstock, bool) {
	i := slices.IndexFunc(t.Feedstocks, func(f Feedstock) bool { return f.ID == id })
	if i < 0 {
		return Feedstock{}, false
	}
	return t.Feedstocks[i], true
}

// AdultMassMg returns the working mass of an adult worm in milligrams: the first
// single value whose status is seen or seen-transcription, else the first single
// value; and false where the table has none.
func (s Species) AdultMassMg() (mg float64, source string, ok bool) {
	best := -1
	for i, v := range s.AdultMassG {
		sure := known(v)
		if v.Value != nil && (best < 0 || sure && !known(s.AdultMassG[best])) {
			best = i
		}
	}
	if best < 0 {
		return 0, "", false
	}
	return *s.AdultMassG[best].Value * 1000, s.AdultMassG[best].Source, true
}

// AdultMassStatus returns the status of what AdultMassMg returns; empty where the
// table has none.
func (s Species) AdultMassStatus() string {
	mg, _, ok := s.AdultMassMg()
	for _, v := range s.AdultMassG {
		if ok && v.Value != nil && *v.Value*1000 == mg {
			return v.Status
		}
	}
	return ""
}

func known(v Value) bool { return v.Status == "seen" || v.Status == "seen-transcription" }
