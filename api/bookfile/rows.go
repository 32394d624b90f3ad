package bookfile

// The rows of the tables: what a line of CSV and a member of the JSON document
// have in common. The json tag is the name of the column; nil and empty mean not
// told. Columns with a part tag tell of one item of a record that may take
// several rows of one id; columns with an optional tag may be missing in a file.

// Settings is the row of the club's settings.
type Settings struct {
	Hemisphere     string `json:"hemisphere,omitempty" example:"north" enums:"north,south" optional:"true"`
	Units          string `json:"units,omitempty" example:"metric" enums:"metric,us" optional:"true"`
	SeasonBy       string `json:"season_by,omitempty" example:"seasons" enums:"seasons,quarters" optional:"true"`
	RetentionYears *int64 `json:"retention_years,omitempty" example:"10" optional:"true"`
	PromiseDays    *int64 `json:"promise_days,omitempty" example:"14" optional:"true"`
	QuarantineDays *int64 `json:"quarantine_days,omitempty" example:"21" optional:"true"`
	CopyPct        *int64 `json:"copy_pct,omitempty" example:"80" optional:"true"`
}

// Member is a row of the members.
type Member struct {
	ID   string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name string `json:"name,omitempty" example:"Ana"`
	Role string `json:"role,omitempty" example:"keeper" enums:"steward,keeper,reader"`
}

// Site is a row of the sites.
type Site struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name    string `json:"name,omitempty" example:"Cellar"`
	Address string `json:"address,omitempty" example:"4 Quay Lane"`
	Owner   string `json:"owner,omitempty" example:"Ana"`
	Note    string `json:"note,omitempty" example:"under the stairs"`
}

// Material is a row of the materials.
type Material struct {
	ID           string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name         string   `json:"name,omitempty" example:"Scraps"`
	Kind         string   `json:"kind,omitempty" example:"feed" enums:"feed,bedding,amendment"`
	Feedstock    string   `json:"feedstock,omitempty" example:"vegetable-produce"`
	MoisturePct  *float64 `json:"moisture_pct,omitempty" example:"80"`
	NitrogenPct  *float64 `json:"nitrogen_pct,omitempty" example:"2.5"`
	CarbonRatio  *float64 `json:"carbon_ratio,omitempty" example:"18"`
	DensityGPerL *float64 `json:"density_g_per_l,omitempty" example:"600"`
	AnimalOrigin *bool    `json:"animal_origin,omitempty" example:"false"`
	Slow         *bool    `json:"slow,omitempty" example:"false"`
	Note         string   `json:"note,omitempty" example:"under the stairs"`
}

// Measure is a row of the measures.
type Measure struct {
	ID         string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name       string   `json:"name,omitempty" example:"Blue bucket"`
	Volume     *float64 `json:"volume,omitempty" example:"10"`
	VolumeUnit string   `json:"volume_unit,omitempty" example:"L"`
	Tare       *float64 `json:"tare,omitempty" example:"450"`
	TareUnit   string   `json:"tare_unit,omitempty" example:"g"`
	Note       string   `json:"note,omitempty" example:"by the back door"`
}

// Culture is a row of the cultures.
type Culture struct {
	ID           string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name         string   `json:"name,omitempty" example:"Harbour line"`
	Species      string   `json:"species,omitempty" example:"eisenia-fetida"`
	Note         string   `json:"note,omitempty" example:"under the stairs"`
	MergedInto   string   `json:"merged_into,omitempty" example:"Harbour reds" optional:"true"`
	MovedOrigins []string `json:"moved_origins,omitempty" example:"Green Farm,Quay Heap" optional:"true"`
	Published    *bool    `json:"published,omitempty" example:"false" optional:"true"`
}

// Origin is a row of the origins.
type Origin struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name    string `json:"name,omitempty" example:"Green Farm"`
	Kind    string `json:"kind,omitempty" example:"supplier" enums:"supplier,wild,certificate,unknown"`
	Species string `json:"species,omitempty" example:"eisenia-fetida"`
	Culture string `json:"culture,omitempty" example:"Harbour line"`
	Note    string `json:"note,omitempty" example:"under the stairs"`
}

// Bin is a row of the bins.
type Bin struct {
	ID         string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Name       string   `json:"name,omitempty" example:"Tote"`
	Kind       string   `json:"kind,omitempty" example:"tote" enums:"tote,bag,tray-stack,wedge,windrow,flow-through,other"`
	Site       string   `json:"site,omitempty" example:"Cellar"`
	Keeper     string   `json:"keeper,omitempty" example:"Ana"`
	StandIns   []string `json:"stand_ins,omitempty" example:"Ben,Cy"`
	SurfaceM2  *float64 `json:"surface_m2,omitempty" example:"0.24"`
	DepthCM    *float64 `json:"depth_cm,omitempty" example:"30"`
	Started    string   `json:"started,omitempty" example:"2026-03-01"`
	Retired    string   `json:"retired,omitempty" example:"2026-10-01"`
	RetiredWhy string   `json:"retired_why,omitempty" example:"the lid broke"`
	Note       string   `json:"note,omitempty" example:"under the stairs"`
}

// Batch is a row of the batches.
type Batch struct {
	ID        string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	LotNumber string   `json:"lot_number,omitempty" example:"2026-A"`
	Product   string   `json:"product,omitempty" example:"castings" enums:"vermicompost,screened,castings"`
	MeshMM    *float64 `json:"mesh_mm,omitempty" example:"4"`
	Note      string   `json:"note,omitempty" example:"under the stairs"`
}

// Turnout is a row of the turnouts.
type Turnout struct {
	ID             string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	At             string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By             string   `json:"by,omitempty" example:"Ana"`
	Households     *float64 `json:"households,omitempty" example:"38"`
	VolunteerHours *float64 `json:"volunteer_hours,omitempty" example:"12.5"`
}

// Receipt is a row of the receipts.
type Receipt struct {
	ID              string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Material        string   `json:"material,omitempty" example:"Scraps"`
	At              string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By              string   `json:"by,omitempty" example:"Ana"`
	From            string   `json:"from,omitempty" example:"Quay Greens"`
	FromMember      string   `json:"from_member,omitempty" example:"Ben"`
	Net             *float64 `json:"net,omitempty" example:"25"`
	NetUnit         string   `json:"net_unit,omitempty" example:"kg"`
	Gross           *float64 `json:"gross,omitempty" example:"27"`
	GrossUnit       string   `json:"gross_unit,omitempty" example:"kg"`
	Tare            *float64 `json:"tare,omitempty" example:"2"`
	TareUnit        string   `json:"tare_unit,omitempty" example:"kg"`
	Measure         string   `json:"measure,omitempty" example:"Blue bucket"`
	Count           *float64 `json:"count,omitempty" example:"2"`
	Rejected        *float64 `json:"rejected,omitempty" example:"1.5"`
	RejectedUnit    string   `json:"rejected_unit,omitempty" example:"kg"`
	RejectedWhy     string   `json:"rejected_why,omitempty" example:"plastic bags"`
	Residue         *float64 `json:"residue,omitempty" example:"0.5"`
	ResidueUnit     string   `json:"residue_unit,omitempty" example:"kg"`
	AnimalOrigin    *bool    `json:"animal_origin,omitempty" example:"false"`
	HeatWhat        string   `json:"heat_what,omitempty" example:"steamed"`
	Temperature     *float64 `json:"temperature,omitempty" example:"70"`
	TemperatureUnit string   `json:"temperature_unit,omitempty" example:"Cel" enums:"Cel,[degF]"`
	Hours           *float64 `json:"hours,omitempty" example:"1"`
	Basis           string   `json:"basis,omitempty" example:"weighed" enums:"weighed,estimated"`
	Note            string   `json:"note,omitempty" example:"under the stairs"`
}

// Rework is a row of the reworks: what goes in of a batch, or comes out into one.
type Rework struct {
	ID          string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Kind        string   `json:"kind,omitempty" example:"screening" enums:"screening,blending"`
	At          string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By          string   `json:"by,omitempty" example:"Ana"`
	Batch       string   `json:"batch,omitempty" example:"2026-A" part:"true"`
	ComesOut    *bool    `json:"comes_out,omitempty" example:"false" part:"true"`
	Quantity    *float64 `json:"quantity,omitempty" example:"12" part:"true"`
	Unit        string   `json:"unit,omitempty" example:"kg" part:"true"`
	MoisturePct *float64 `json:"moisture_pct,omitempty" example:"60" part:"true"`
	WetMg       *int64   `json:"wet_mg,omitempty" example:"12000000" part:"true" optional:"true"`
	DryMg       *int64   `json:"dry_mg,omitempty" example:"4800000" part:"true" optional:"true"`
	Assumed     *bool    `json:"assumed,omitempty" example:"false" part:"true" optional:"true"`
	Note        string   `json:"note,omitempty" example:"under the stairs"`
}

// BatchStep is a row of the steps of batches.
type BatchStep struct {
	ID              string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Batch           string   `json:"batch,omitempty" example:"2026-A"`
	Kind            string   `json:"kind,omitempty" example:"drying" enums:"drying,bagging,treatment,analysis"`
	At              string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By              string   `json:"by,omitempty" example:"Ana"`
	MoisturePct     *float64 `json:"moisture_pct,omitempty" example:"40"`
	Mass            *float64 `json:"mass,omitempty" example:"5"`
	MassUnit        string   `json:"mass_unit,omitempty" example:"kg"`
	Bags            *int64   `json:"bags,omitempty" example:"12"`
	BagsLeft        *int64   `json:"bags_left,omitempty" example:"7"`
	What            string   `json:"what,omitempty" example:"steamed"`
	Temperature     *float64 `json:"temperature,omitempty" example:"70"`
	TemperatureUnit string   `json:"temperature_unit,omitempty" example:"Cel" enums:"Cel,[degF]"`
	Hours           *float64 `json:"hours,omitempty" example:"1"`
	Parameter       string   `json:"parameter,omitempty" example:"E. coli"`
	Sign            string   `json:"sign,omitempty" example:"below" enums:"below,above"`
	Value           *float64 `json:"value,omitempty" example:"10"`
	Unit            string   `json:"unit,omitempty" example:"CFU/g"`
	Method          string   `json:"method,omitempty" example:"ISO 16649-2"`
	Laboratory      string   `json:"laboratory,omitempty" example:"Quay Laboratory"`
	Expires         string   `json:"expires,omitempty" example:"2027-05-01"`
	Note            string   `json:"note,omitempty" example:"under the stairs"`
}

// Feeding is a row of the feedings: one material of a feeding.
type Feeding struct {
	ID          string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin         string   `json:"bin,omitempty" example:"Tote"`
	At          string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By          string   `json:"by,omitempty" example:"Ana"`
	Material    string   `json:"material,omitempty" example:"Scraps" part:"true"`
	Quantity    *float64 `json:"quantity,omitempty" example:"1.5" part:"true"`
	Unit        string   `json:"unit,omitempty" example:"kg" part:"true"`
	Measure     string   `json:"measure,omitempty" example:"Blue bucket" part:"true" optional:"true"`
	Count       *float64 `json:"count,omitempty" example:"2" part:"true" optional:"true"`
	Receipt     string   `json:"receipt,omitempty" example:"01970000-0000-7000-8000-000000000015" format:"uuid" part:"true" optional:"true"`
	MoisturePct *float64 `json:"moisture_pct,omitempty" example:"80" part:"true"`
	Placement   string   `json:"placement,omitempty" example:"pocket" enums:"pocket,trench,scattered,wrapped,surface"`
	Preparation string   `json:"preparation,omitempty" example:"fresh" enums:"fresh,frozen,pre-composted,ground"`
	Note        string   `json:"note,omitempty" example:"under the stairs"`
}

// Check is a row of the checks.
type Check struct {
	ID              string     `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin             string     `json:"bin,omitempty" example:"Tote"`
	At              string     `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By              string     `json:"by,omitempty" example:"Ana"`
	Temperature     *float64   `json:"temperature,omitempty" example:"21.5"`
	TemperatureUnit string     `json:"temperature_unit,omitempty" example:"Cel" enums:"Cel,[degF]"`
	MoisturePct     *float64   `json:"moisture_pct,omitempty" example:"80"`
	Squeeze         string     `json:"squeeze,omitempty" example:"drops" enums:"dry,drops,stream"`
	PH              *float64   `json:"ph,omitempty" example:"6.8"`
	Ammonia         *bool      `json:"ammonia,omitempty" example:"false"`
	LeftoverPct     *float64   `json:"leftover_pct,omitempty" example:"25"`
	Leftovers       []Leftover `json:"leftovers,omitempty"`
	WormsAt         string     `json:"worms_at,omitempty" example:"throughout" enums:"feed,throughout,walls,lid,bottom"`
	Pests           []string   `json:"pests,omitempty" example:"mites"`
	Beaded          *bool      `json:"beaded,omitempty" example:"false"`
	Escape          *bool      `json:"escape,omitempty" example:"false"`
	LeachateL       *float64   `json:"leachate_l,omitempty" example:"0.2"`
	Cover           string     `json:"cover,omitempty" example:"wet cardboard"`
	Note            string     `json:"note,omitempty" example:"under the stairs"`
}

// Leftover is what is left of one feeding; in a cell "feeding:percent".
type Leftover struct {
	Feeding string   `json:"feeding,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid" sep:":"`
	LeftPct *float64 `json:"left_pct,omitempty" example:"25"`
}

// Census is a row of the censuses.
type Census struct {
	ID       string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin      string   `json:"bin,omitempty" example:"Tote"`
	Species  string   `json:"species,omitempty" example:"eisenia-fetida"`
	At       string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By       string   `json:"by,omitempty" example:"Ana"`
	Estimate *float64 `json:"estimate,omitempty" example:"500"`
	Low      *float64 `json:"low,omitempty" example:"350"`
	High     *float64 `json:"high,omitempty" example:"700"`
	Unit     string   `json:"unit,omitempty" example:"g"`
	Samples  []Sample `json:"samples,omitempty"`
	Apply    *bool    `json:"apply,omitempty" example:"false"`
	Note     string   `json:"note,omitempty" example:"under the stairs"`
}

// Sample is one sample of a census; in a cell
// "stratum/area_m2/worms/mass_g/adults/juveniles/cocoons".
type Sample struct {
	Stratum   string   `json:"stratum,omitempty" example:"feed-zone" sep:"/"`
	AreaM2    *float64 `json:"area_m2,omitempty" example:"0.04"`
	Worms     *int64   `json:"worms,omitempty" example:"52"`
	MassG     *float64 `json:"mass_g,omitempty" example:"18"`
	Adults    *int64   `json:"adults,omitempty" example:"20"`
	Juveniles *int64   `json:"juveniles,omitempty" example:"32"`
	Cocoons   *int64   `json:"cocoons,omitempty" example:"11"`
}

// Harvest is a row of the harvests.
type Harvest struct {
	ID            string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin           string   `json:"bin,omitempty" example:"Tote"`
	At            string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By            string   `json:"by,omitempty" example:"Ana"`
	Full          *bool    `json:"full,omitempty" example:"false"`
	Method        string   `json:"method,omitempty" example:"light" enums:"light,side-migration,screen,tray,bottom,hand"`
	MeshMM        *float64 `json:"mesh_mm,omitempty" example:"4"`
	Quantity      *float64 `json:"quantity,omitempty" example:"1.5"`
	Unit          string   `json:"unit,omitempty" example:"kg"`
	MoisturePct   *float64 `json:"moisture_pct,omitempty" example:"80"`
	Batch         string   `json:"batch,omitempty" example:"2026-A"`
	PutBackG      *float64 `json:"put_back_g,omitempty" example:"1200"`
	WormsTo       string   `json:"worms_to,omitempty" example:"Wedge"`
	WormsSpecies  string   `json:"worms_species,omitempty" example:"eisenia-fetida" part:"true"`
	WormsQuantity *float64 `json:"worms_quantity,omitempty" example:"150" part:"true"`
	WormsUnit     string   `json:"worms_unit,omitempty" example:"g" part:"true"`
	WormsBookedMg *int64   `json:"worms_booked_mg,omitempty" example:"150000" part:"true" optional:"true"`
	Note          string   `json:"note,omitempty" example:"under the stairs"`
}

// Movement is a row of the movements: one line of a movement.
type Movement struct {
	ID           string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Kind         string   `json:"kind,omitempty" example:"stocking" enums:"stocking,split,combine,hand-over,dispatch,arrival,loss,use,reversal"`
	At           string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By           string   `json:"by,omitempty" example:"Ana"`
	FromBin      string   `json:"from_bin,omitempty" example:"Tote" part:"true"`
	ToBin        string   `json:"to_bin,omitempty" example:"Wedge"`
	FromBatch    string   `json:"from_batch,omitempty" example:"2026-A"`
	Species      string   `json:"species,omitempty" example:"eisenia-fetida" part:"true"`
	Quantity     *float64 `json:"quantity,omitempty" example:"1.5" part:"true"`
	Unit         string   `json:"unit,omitempty" example:"kg" part:"true"`
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" part:"true"`
	DensityGPerL *float64 `json:"density_g_per_l,omitempty" example:"600" part:"true"`
	SampleMg     *float64 `json:"sample_mg,omitempty" example:"410" part:"true"`
	MoisturePct  *float64 `json:"moisture_pct,omitempty" example:"80" part:"true"`
	Origin       string   `json:"origin,omitempty" example:"Green Farm" part:"true"`
	Terms        string   `json:"terms,omitempty" example:"sale" enums:"sale,swap,gift,loan"`
	Party        string   `json:"party,omitempty" example:"School of the Quay"`
	PriceMinor   *int64   `json:"price_minor,omitempty" example:"1500"`
	Currency     string   `json:"currency,omitempty" example:"EUR"`
	Cause        string   `json:"cause,omitempty" example:"dead" enums:"dead,lost-bin,escaped,write-off,spoiled"`
	MaterialG    *float64 `json:"material_g,omitempty" example:"900"`
	Reverses     string   `json:"reverses,omitempty" example:"01970000-0000-7000-8000-000000000030" format:"uuid"`
	Reason       string   `json:"reason,omitempty" example:"entered twice"`
	BookedMg     *int64   `json:"booked_mg,omitempty" example:"250000" part:"true" optional:"true"`
	Transfer     string   `json:"transfer,omitempty" example:"01970000-0000-7000-8000-000000000050" format:"uuid" optional:"true"` // of a dispatch or arrival; so are all below
	Leg          string   `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid" optional:"true"`
	ToBatch      string   `json:"to_batch,omitempty" example:"2026-A" optional:"true"`
	OutOfBatch   string   `json:"out_of_batch,omitempty" example:"2026-A" part:"true" optional:"true"`
	Castings     *bool    `json:"castings,omitempty" example:"false" part:"true" optional:"true"`
	Material     *bool    `json:"material,omitempty" example:"false" part:"true" optional:"true"`
	DeadMg       *int64   `json:"dead_mg,omitempty" example:"10000" part:"true" optional:"true"`
	WeightLostMg *int64   `json:"weight_lost_mg,omitempty" example:"5000" part:"true" optional:"true"`
	MissingMg    *int64   `json:"missing_mg,omitempty" example:"15000" part:"true" optional:"true"`
	ReturnedMg   *int64   `json:"returned_mg,omitempty" example:"20000" part:"true" optional:"true"`
	Note         string   `json:"note,omitempty" example:"under the stairs"`
}

// Quarantine is a row of the quarantines.
type Quarantine struct {
	ID           string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin          string `json:"bin,omitempty" example:"Tote"`
	At           string `json:"at,omitempty" example:"2026-05-01"`
	By           string `json:"by,omitempty" example:"Ana"`
	Until        string `json:"until,omitempty" example:"2026-05-22"`
	Reason       string `json:"reason,omitempty" example:"new stock"`
	Released     string `json:"released,omitempty" example:"2026-05-21"`
	ReleasedBy   string `json:"released_by,omitempty" example:"Ben" optional:"true"`
	Outcome      string `json:"outcome,omitempty" example:"sound" enums:"sound,treated,disposed"`
	ReleasedNote string `json:"released_note,omitempty" example:"no mites seen"`
	Note         string `json:"note,omitempty" example:"under the stairs"`
}

// Identification is a row of the identifications.
type Identification struct {
	ID           string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Lot          string `json:"lot,omitempty" example:"01970000-0000-8000-8000-000000000030" format:"uuid"`
	Species      string `json:"species,omitempty" example:"eisenia-andrei"`
	At           string `json:"at,omitempty" example:"2026-05-01"`
	By           string `json:"by,omitempty" example:"Ana"`
	Method       string `json:"method,omitempty" example:"dna" enums:"appearance,dissection,dna,other"`
	Specimens    *int64 `json:"specimens,omitempty" example:"12"`
	IdentifiedBy string `json:"identified_by,omitempty" example:"University of the Coast"`
	Note         string `json:"note,omitempty" example:"COI barcode"`
}

// Contact is a row of the contacts.
type Contact struct {
	ID   string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bins []string `json:"bins,omitempty" example:"Tote,Wedge"`
	At   string   `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	By   string   `json:"by,omitempty" example:"Ana"`
	What string   `json:"what,omitempty" example:"tools" enums:"tools,bedding,other"`
	Note string   `json:"note,omitempty" example:"the small fork"`
}

// Clearing is a row of the clearings.
type Clearing struct {
	ID      string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	Bin     string `json:"bin,omitempty" example:"Tote"`
	Batch   string `json:"batch,omitempty" example:"2026-A"`
	Receipt string `json:"receipt,omitempty" example:"01970000-0000-7000-8000-000000000050" format:"uuid"`
	At      string `json:"at,omitempty" example:"2026-05-01"`
	By      string `json:"by,omitempty" example:"Ana"`
	How     string `json:"how,omitempty" example:"emptied, scalded, dried for a week"`
	Note    string `json:"note,omitempty" example:"no flatworms seen since"`
}

// Offer is a row of the offers.
type Offer struct {
	ID             string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000060" format:"uuid"`
	Member         string   `json:"member,omitempty" example:"Ana"`
	What           string   `json:"what,omitempty" example:"Red worms, bed-run"`
	Species        string   `json:"species,omitempty" example:"eisenia-fetida"`
	Bin            string   `json:"bin,omitempty" example:"Tote"`
	Batch          string   `json:"batch,omitempty" example:"2026-A"`
	Quantity       *float64 `json:"quantity,omitempty" example:"1.5"`
	Unit           string   `json:"unit,omitempty" example:"kg"`
	Terms          []string `json:"terms,omitempty" example:"sale"`
	PriceMinor     *int64   `json:"price_minor,omitempty" example:"1500"`
	UnitPriceMinor *int64   `json:"unit_price_minor,omitempty" example:"4000"`
	PriceUnit      string   `json:"price_unit,omitempty" example:"kg"`
	Currency       string   `json:"currency,omitempty" example:"EUR"`
	Until          string   `json:"until,omitempty" example:"2026-06-30"`
	Withdrawn      string   `json:"withdrawn,omitempty" example:"2026-05-20T08:00:00Z"`
	Note           string   `json:"note,omitempty" example:"after four"`
}

// Document is the whole book as one JSON document, a table for each noun.
type Document struct {
	Settings        []Settings       `json:"settings"`
	Members         []Member         `json:"members"`
	Sites           []Site           `json:"sites"`
	Materials       []Material       `json:"materials"`
	Measures        []Measure        `json:"measures"`
	Cultures        []Culture        `json:"cultures"`
	Origins         []Origin         `json:"origins"`
	Bins            []Bin            `json:"bins"`
	Batches         []Batch          `json:"batches"`
	Receipts        []Receipt        `json:"receipts"`
	Turnouts        []Turnout        `json:"turnouts"`
	Reworks         []Rework         `json:"reworks"`
	BatchSteps      []BatchStep      `json:"batch_steps"`
	Offers          []Offer          `json:"offers"`
	Transfers       []Transfer       `json:"transfers"`
	Feedings        []Feeding        `json:"feedings"`
	Checks          []Check          `json:"checks"`
	Censuses        []Census         `json:"censuses"`
	Harvests        []Harvest        `json:"harvests"`
	Movements       []Movement       `json:"movements"`
	Quarantines     []Quarantine     `json:"quarantines"`
	Contacts        []Contact        `json:"contacts"`
	Clearings       []Clearing       `json:"clearings"`
	Identifications []Identification `json:"identifications"`
}
