package bookfile

// Transfer is a row of the transfers as they were: one thing that a leg moves.
type Transfer struct {
	ID             string     `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000050" format:"uuid"`
	At             string     `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`
	RecordedBy     string     `json:"recorded_by,omitempty" example:"Ana"`
	Terms          string     `json:"terms,omitempty" example:"sale" enums:"sale,swap,gift,loan"`
	Proposer       string     `json:"proposer,omitempty" example:"Ana"`
	Done           *bool      `json:"done,omitempty" example:"false"`
	Accepted       *bool      `json:"accepted,omitempty" example:"true"`
	Ended          string     `json:"ended,omitempty" example:"cancelled" enums:"declined,cancelled"`
	Expires        string     `json:"expires,omitempty" example:"2026-05-15T07:30:00Z"`
	Party          string     `json:"party,omitempty" example:"Spring fair"`
	Contact        string     `json:"contact,omitempty" example:"fair@example.org"`
	ContactPurpose string     `json:"contact_purpose,omitempty" example:"tracing"`
	ContactUntil   string     `json:"contact_until,omitempty" example:"2028-05-01"`
	PriceMinor     *int64     `json:"price_minor,omitempty" example:"1500"`
	UnitPriceMinor *int64     `json:"unit_price_minor,omitempty" example:"4000"`
	PriceUnit      string     `json:"price_unit,omitempty" example:"kg"`
	Currency       string     `json:"currency,omitempty" example:"EUR"`
	Due            string     `json:"due,omitempty" example:"2026-09-01"`
	Offer          string     `json:"offer,omitempty" example:"01970000-0000-7000-8000-000000000060" format:"uuid"`
	Replaces       string     `json:"replaces,omitempty" example:"01970000-0000-7000-8000-000000000051" format:"uuid"`
	WaivedBy       []string   `json:"waived_by,omitempty" example:"Ana,Ben"`
	Forgiven       []Forgiven `json:"forgiven,omitempty"`
	Claims         []Claim    `json:"claims,omitempty"`
	Steps          []Step     `json:"steps,omitempty"`
	Leg            string     `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid" part:"true"`
	Giver          string     `json:"giver,omitempty" example:"Ana" part:"true"`
	Receiver       string     `json:"receiver,omitempty" example:"Ben" part:"true"`
	Return         *bool      `json:"return,omitempty" example:"false" part:"true"`
	State          string     `json:"state,omitempty" example:"arrived" enums:"promised,reserved,under-way,arrived,returned,undelivered,waived" part:"true"`
	Since          string     `json:"since,omitempty" example:"2026-05-01T07:30:00Z" part:"true"`
	ToBin          string     `json:"to_bin,omitempty" example:"Wedge" part:"true"`
	ToBatch        string     `json:"to_batch,omitempty" example:"2026-A" part:"true"`
	Dispatch       string     `json:"dispatch,omitempty" example:"01970000-0000-7000-8000-000000000053" format:"uuid" part:"true"`
	SentAt         string     `json:"sent_at,omitempty" example:"2026-05-02T07:30:00Z" part:"true"`
	Arrival        string     `json:"arrival,omitempty" example:"01970000-0000-7000-8000-000000000054" format:"uuid" part:"true"`
	CameAt         string     `json:"came_at,omitempty" example:"2026-05-02T10:00:00Z" part:"true"`
	FromBin        string     `json:"from_bin,omitempty" example:"Tote" part:"true"`
	FromBatch      string     `json:"from_batch,omitempty" example:"2026-A" part:"true"`
	Origin         string     `json:"origin,omitempty" example:"Green Farm" part:"true"`
	Species        string     `json:"species,omitempty" example:"eisenia-fetida" part:"true"`
	Castings       *bool      `json:"castings,omitempty" example:"false" part:"true"`
	Material       *bool      `json:"material,omitempty" example:"false" part:"true"`
	Quantity       *float64   `json:"quantity,omitempty" example:"500" part:"true"`
	Unit           string     `json:"unit,omitempty" example:"{worms}" part:"true"`
	SizeClass      string     `json:"size_class,omitempty" example:"bed-run" part:"true"`
	DensityGPerL   *float64   `json:"density_g_per_l,omitempty" example:"600" part:"true"`
	SampleMg       *float64   `json:"sample_mg,omitempty" example:"410" part:"true"`
	MoisturePct    *float64   `json:"moisture_pct,omitempty" example:"62" part:"true"`
	AgreedMg       *int64     `json:"agreed_mg,omitempty" example:"205000" part:"true"`
	SentMg         *int64     `json:"sent_mg,omitempty" example:"210000" part:"true"`
	ReceivedMg     *int64     `json:"received_mg,omitempty" example:"180000" part:"true"`
	DeadMg         *int64     `json:"dead_mg,omitempty" example:"10000" part:"true"`
	WeightLostMg   *int64     `json:"weight_lost_mg,omitempty" example:"5000" part:"true"`
	MissingMg      *int64     `json:"missing_mg,omitempty" example:"15000" part:"true"`
	ReturnedMg     *int64     `json:"returned_mg,omitempty" example:"20000" part:"true"`
	Note           string     `json:"note,omitempty" example:"before the holidays"`
}

// Forgiven is a part of a loan that was forgiven; in a cell "species/mass_mg", of
// castings without a species.
type Forgiven struct {
	Species string `json:"species,omitempty" example:"eisenia-fetida" sep:"/"`
	MassMg  *int64 `json:"mass_mg,omitempty" example:"15000"`
}

// Claim is a claim; in a cell "leg|species|mass_mg|at|by|replaced_by|note".
type Claim struct {
	Leg        string `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid" sep:"|"`
	Species    string `json:"species,omitempty" example:"eisenia-fetida"`
	MassMg     *int64 `json:"mass_mg,omitempty" example:"20000"`
	At         string `json:"at,omitempty" example:"2026-05-02T10:00:00Z"`
	By         string `json:"by,omitempty" example:"Ben"`
	ReplacedBy string `json:"replaced_by,omitempty" example:"01970000-0000-7000-8000-000000000055" format:"uuid"`
	Note       string `json:"note,omitempty" example:"dead on arrival"`
}

// Step is a step; in a cell "verb|leg|at|by|for|note".
type Step struct {
	Verb string `json:"verb,omitempty" example:"accept" enums:"propose,accept,decline,cancel,dispatch,receive,settle,fail,replace,waive,repay,forgive,claim" sep:"|"`
	Leg  string `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid"`
	At   string `json:"at,omitempty" example:"2026-05-01T09:00:00Z"`
	By   string `json:"by,omitempty" example:"Ana"`
	For  string `json:"for,omitempty" example:"Ben"`
	Note string `json:"note,omitempty" example:"told by phone"`
}
