package bookfile

// The rows of the tables: what a line of CSV and a member of the JSON document
// have in common. The json tag is the name of the column; nil and empty mean not
// told. Columns with a part tag tell of one item of a record that may take
// several rows of one id; columns with an optional tag may be missing in a file.

// Member is a row of the members.
type Member struct {
	ID   string `json:"id,omitempty"`
	Name string `json:"name,omitempty"`
	Role string `json:"role,omitempty"`
}

// Site is a row of the sites.
type Site struct {
	ID      string `json:"id,omitempty"`
	Name    string `json:"name,omitempty"`
	Address string `json:"address,omitempty"`
	Owner   string `json:"owner,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Material is a row of the materials.
type Material struct {
	ID           string   `json:"id,omitempty"`
	Name         string   `json:"name,omitempty"`
	Kind         string   `json:"kind,omitempty"`
	Feedstock    string   `json:"feedstock,omitempty"`
	MoisturePct  *float64 `json:"moisture_pct,omitempty"`
	NitrogenPct  *float64 `json:"nitrogen_pct,omitempty"`
	CarbonRatio  *float64 `json:"carbon_ratio,omitempty"`
	DensityGPerL *float64 `json:"density_g_per_l,omitempty"`
	AnimalOrigin *bool    `json:"animal_origin,omitempty"`
	Slow         *bool    `json:"slow,omitempty"`
	Note         string   `json:"note,omitempty"`
}

// Culture is a row of the cultures.
type Culture struct {
	ID      string `json:"id,omitempty"`
	Name    string `json:"name,omitempty"`
	Species string `json:"species,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Origin is a row of the origins.
type Origin struct {
	ID      string `json:"id,omitempty"`
	Name    string `json:"name,omitempty"`
	Kind    string `json:"kind,omitempty"`
	Species string `json:"species,omitempty"`
	Culture string `json:"culture,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Bin is a row of the bins.
type Bin struct {
	ID         string   `json:"id,omitempty"`
	Name       string   `json:"name,omitempty"`
	Kind       string   `json:"kind,omitempty"`
	Site       string   `json:"site,omitempty"`
	Keeper     string   `json:"keeper,omitempty"`
	StandIns   []string `json:"stand_ins,omitempty"`
	SurfaceM2  *float64 `json:"surface_m2,omitempty"`
	DepthCM    *float64 `json:"depth_cm,omitempty"`
	Started    string   `json:"started,omitempty"`
	Retired    string   `json:"retired,omitempty"`
	RetiredWhy string   `json:"retired_why,omitempty"`
	Note       string   `json:"note,omitempty"`
}

// Batch is a row of the batches.
type Batch struct {
	ID        string   `json:"id,omitempty"`
	LotNumber string   `json:"lot_number,omitempty"`
	Product   string   `json:"product,omitempty"`
	MeshMM    *float64 `json:"mesh_mm,omitempty"`
	Note      string   `json:"note,omitempty"`
}

// Feeding is a row of the feedings: one material of a feeding.
type Feeding struct {
	ID          string   `json:"id,omitempty"`
	Bin         string   `json:"bin,omitempty"`
	At          string   `json:"at,omitempty"`
	By          string   `json:"by,omitempty"`
	Material    string   `json:"material,omitempty" part:"true"`
	Quantity    *float64 `json:"quantity,omitempty" part:"true"`
	Unit        string   `json:"unit,omitempty" part:"true"`
	MoisturePct *float64 `json:"moisture_pct,omitempty" part:"true"`
	Placement   string   `json:"placement,omitempty"`
	Preparation string   `json:"preparation,omitempty"`
	Note        string   `json:"note,omitempty"`
}

// Check is a row of the checks.
type Check struct {
	ID              string     `json:"id,omitempty"`
	Bin             string     `json:"bin,omitempty"`
	At              string     `json:"at,omitempty"`
	By              string     `json:"by,omitempty"`
	Temperature     *float64   `json:"temperature,omitempty"`
	TemperatureUnit string     `json:"temperature_unit,omitempty"`
	MoisturePct     *float64   `json:"moisture_pct,omitempty"`
	Squeeze         string     `json:"squeeze,omitempty"`
	PH              *float64   `json:"ph,omitempty"`
	Ammonia         *bool      `json:"ammonia,omitempty"`
	LeftoverPct     *float64   `json:"leftover_pct,omitempty"`
	Leftovers       []Leftover `json:"leftovers,omitempty"`
	WormsAt         string     `json:"worms_at,omitempty"`
	Pests           []string   `json:"pests,omitempty"`
	Beaded          *bool      `json:"beaded,omitempty"`
	Escape          *bool      `json:"escape,omitempty"`
	LeachateL       *float64   `json:"leachate_l,omitempty"`
	Cover           string     `json:"cover,omitempty"`
	Note            string     `json:"note,omitempty"`
}

// Leftover is what is left of one feeding; in a cell "feeding:percent".
type Leftover struct {
	Feeding string   `json:"feeding,omitempty" sep:":"`
	LeftPct *float64 `json:"left_pct,omitempty"`
}

// Census is a row of the censuses.
type Census struct {
	ID       string   `json:"id,omitempty"`
	Bin      string   `json:"bin,omitempty"`
	Species  string   `json:"species,omitempty"`
	At       string   `json:"at,omitempty"`
	By       string   `json:"by,omitempty"`
	Estimate *float64 `json:"estimate,omitempty"`
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
	Unit     string   `json:"unit,omitempty"`
	Samples  []Sample `json:"samples,omitempty"`
	Apply    *bool    `json:"apply,omitempty"`
	Note     string   `json:"note,omitempty"`
}

// Sample is one sample of a census; in a cell
// "stratum/area_m2/worms/mass_g/adults/juveniles/cocoons".
type Sample struct {
	Stratum   string   `json:"stratum,omitempty" sep:"/"`
	AreaM2    *float64 `json:"area_m2,omitempty"`
	Worms     *int64   `json:"worms,omitempty"`
	MassG     *float64 `json:"mass_g,omitempty"`
	Adults    *int64   `json:"adults,omitempty"`
	Juveniles *int64   `json:"juveniles,omitempty"`
	Cocoons   *int64   `json:"cocoons,omitempty"`
}

// Harvest is a row of the harvests.
type Harvest struct {
	ID            string   `json:"id,omitempty"`
	Bin           string   `json:"bin,omitempty"`
	At            string   `json:"at,omitempty"`
	By            string   `json:"by,omitempty"`
	Full          *bool    `json:"full,omitempty"`
	Method        string   `json:"method,omitempty"`
	MeshMM        *float64 `json:"mesh_mm,omitempty"`
	Quantity      *float64 `json:"quantity,omitempty"`
	Unit          string   `json:"unit,omitempty"`
	MoisturePct   *float64 `json:"moisture_pct,omitempty"`
	Batch         string   `json:"batch,omitempty"`
	PutBackG      *float64 `json:"put_back_g,omitempty"`
	WormsTo       string   `json:"worms_to,omitempty"`
	WormsSpecies  string   `json:"worms_species,omitempty" part:"true"`
	WormsQuantity *float64 `json:"worms_quantity,omitempty" part:"true"`
	WormsUnit     string   `json:"worms_unit,omitempty" part:"true"`
	WormsBookedMg *int64   `json:"worms_booked_mg,omitempty" part:"true" optional:"true"`
	Note          string   `json:"note,omitempty"`
}

// Movement is a row of the movements: one line of a movement.
type Movement struct {
	ID           string   `json:"id,omitempty"`
	Kind         string   `json:"kind,omitempty"`
	At           string   `json:"at,omitempty"`
	By           string   `json:"by,omitempty"`
	FromBin      string   `json:"from_bin,omitempty" part:"true"`
	ToBin        string   `json:"to_bin,omitempty"`
	FromBatch    string   `json:"from_batch,omitempty"`
	Species      string   `json:"species,omitempty" part:"true"`
	Quantity     *float64 `json:"quantity,omitempty" part:"true"`
	Unit         string   `json:"unit,omitempty" part:"true"`
	SizeClass    string   `json:"size_class,omitempty" part:"true"`
	DensityGPerL *float64 `json:"density_g_per_l,omitempty" part:"true"`
	SampleMg     *float64 `json:"sample_mg,omitempty" part:"true"`
	MoisturePct  *float64 `json:"moisture_pct,omitempty" part:"true"`
	Origin       string   `json:"origin,omitempty" part:"true"`
	Terms        string   `json:"terms,omitempty"`
	Party        string   `json:"party,omitempty"`
	PriceMinor   *int64   `json:"price_minor,omitempty"`
	Currency     string   `json:"currency,omitempty"`
	Cause        string   `json:"cause,omitempty"`
	MaterialG    *float64 `json:"material_g,omitempty"`
	Reverses     string   `json:"reverses,omitempty"`
	Reason       string   `json:"reason,omitempty"`
	BookedMg     *int64   `json:"booked_mg,omitempty" part:"true" optional:"true"`
	Note         string   `json:"note,omitempty"`
}

// Document is the whole book as one JSON document, a table for each noun.
type Document struct {
	Members   []Member   `json:"members"`
	Sites     []Site     `json:"sites"`
	Materials []Material `json:"materials"`
	Cultures  []Culture  `json:"cultures"`
	Origins   []Origin   `json:"origins"`
	Bins      []Bin      `json:"bins"`
	Batches   []Batch    `json:"batches"`
	Feedings  []Feeding  `json:"feedings"`
	Checks    []Check    `json:"checks"`
	Censuses  []Census   `json:"censuses"`
	Harvests  []Harvest  `json:"harvests"`
	Movements []Movement `json:"movements"`
}
