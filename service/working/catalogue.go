package working

// ID names a formula of the catalogue.
type ID string

// The formulas. Each is computed in the package named with it.
const (
	Total          ID = "total"           // sums of the journal, and of figures
	Dry            ID = "dry"             // yields
	DryTotal       ID = "dry-total"       // yields
	CastingsTotal  ID = "castings-total"  // yields
	CastingsDry    ID = "castings-dry"    // yields
	Yield          ID = "yield"           // yields
	YieldBedding   ID = "yield-bedding"   // yields
	Processed      ID = "processed"       // rates
	ProcessedError ID = "processed-error" // rates
	ProcessedNone  ID = "processed-none"  // rates
	WormDays       ID = "worm-days"       // rates
	WormDaysError  ID = "worm-days-error" // rates
	Rate           ID = "rate"            // rates
	RateNone       ID = "rate-none"       // rates
	RatePerArea    ID = "rate-per-area"   // rates
	PerAreaNone    ID = "rate-per-area-none"
	Density        ID = "density"          // rates
	SumRate        ID = "season-rate"      // season
	SumRateNone    ID = "season-rate-none" // season
	Share          ID = "share"            // season
	Diverted       ID = "diverted"         // season
	Difference     ID = "difference"       // season
	Ratio          ID = "ratio"            // season
	Avoided        ID = "avoided"          // season
	Weighed        ID = "weighed"          // quantity
	Counted        ID = "counted"          // quantity
	ByEye          ID = "by-eye"           // quantity
	Poured         ID = "poured"           // quantity
	Filled         ID = "filled"           // service: measures
	LessTare       ID = "less-tare"        // service: measures
	Worms          ID = "census-worms"     // census
	WholeWorms     ID = "census-whole-worms"
	MeanMass       ID = "census-mean-mass" // census
	MassBySamples  ID = "census-mass-by-samples"
	MassByMean     ID = "census-mass-by-mean"
	KeepersFigure  ID = "keepers-figure"    // census
	Mix            ID = "mix"               // lineage
	CultureShare   ID = "culture-share"     // lineage
	Sources        ID = "effective-sources" // lineage
	Debt           ID = "debt"              // exchange
	Pile           ID = "pile"              // balance
	Moisture       ID = "moisture"          // balance
	Lost           ID = "lost"              // balance
)

// Sources that several formulas have.
const (
	definition = "definition"
	logScale   = "delta method on the log scale; 1.96 is the normal quantile of 95 %"
	widest     = "6.90775 = ln 1000 is the widest an interval gets"
)

// The limits of an estimate that can't be negative.
const (
	logLow  = "value / exp(min(6.907755278982137, 1.959963984540054 * error / value))"
	logHigh = "value * exp(min(6.907755278982137, 1.959963984540054 * error / value))"
)

// Catalogue are the formulas with their sources, in one place. A test of each
// package holds what it computes against what is written here.
var Catalogue = map[ID]Formula{
	Total:         {Text: "sum(amount)", Source: definition, Status: Computed},
	Dry:           {Text: "wet * (100 - moisture) / 100", Source: definition, Status: Computed, Note: "moisture in % of wet mass; to the milligram"},
	DryTotal:      {Text: "sum(wet * (100 - moisture) / 100)", Source: definition, Status: Computed, Note: "moisture in % of wet mass; each record to the milligram"},
	CastingsTotal: {Text: "sum(max(0, taken - put_back))", Source: definition, Status: Computed, Note: "what was put back into the bin didn't leave it"},
	CastingsDry: {
		Text: "sum(max(0, taken - put_back) * (100 - moisture) / 100)", Source: definition, Status: Computed,
		Note: "moisture in % of wet mass; each record to the milligram",
	},
	Yield: {
		Text: "castings / feed", Source: definition, Status: Computed,
		Note: "between two full harvests; over several windows a ratio of sums. About 50 ± 10 % of the solids of feed leave as carbon dioxide",
	},
	YieldBedding: {Text: "castings / (feed + bedding)", Source: definition, Status: Computed, Note: "bedding turns to castings too"},

	Processed: {
		Text: "sum(mass * (left_before - left_after) / 100)", Low: logLow, High: logHigh, Source: definition + "; limits: " + logScale, Status: Computed,
		Note: "what went between two looks, not what was eaten; left_before and left_after in % of what was fed, 100 when it was fed since; " + widest,
	},
	ProcessedNone: {
		Text: "sum(mass * (left_before - left_after) / 100)", Low: "0 * error", High: "1.959963984540054 * error",
		Source: definition + "; limits: " + logScale, Status: Computed, Note: "no change was seen",
	},
	ProcessedError: {
		Text:   "sqrt(sum((0.02 * gone) ^ 2) + sum((0.4 * max(left / 100 * (1 - left / 100), 0.0099) * judged) ^ 2))",
		Source: "custom: 2 % of what was weighed; 0.4 on the logit scale of a share judged by eye, at least that of 1 %", Status: Practice,
		Note: "feedings that one look covers err together: judged is their mass, less that of the same look at the other end",
	},
	WormDays: {
		Text: "sum(days * mass)", Low: logLow, High: logHigh, Source: "area under the stock over time; limits: " + logScale, Status: Computed,
		Note: "straight from one known stock to the next, constant after the last; days: how long a record's mass counts, a known stock " +
			"for half the way to the next one, a movement for the days after it, less its part of the way to the next known stock",
	},
	WormDaysError: {
		Text:   "sqrt(sum((days * error) ^ 2) + sum(0.0025 * mass * (to - from) * (mass * (to - from) * (to + 2 * from) / 3 + 2 * before)))",
		Source: "custom: stock wanders by 5 % for each square root of a day since it was last known", Status: Practice,
		Note: "error of each record; then for each stretch of days since the last known stock; before is the sum of mass × (to − from) × (from + to) / 2 so far",
	},
	Rate: {
		Text: "processed / worm_days",
		Low:  "value / exp(min(6.907755278982137, 1.959963984540054 * sqrt((processed_error / processed) ^ 2 + (worm_days_error / worm_days) ^ 2)))",
		High: "value * exp(min(6.907755278982137, 1.959963984540054 * sqrt((processed_error / processed) ^ 2 + (worm_days_error / worm_days) ^ 2)))",
		Source: "definition of a feeding rate, as published ones are given (Reeh 1992; Ndegwa, Thompson & Das 2000; Eastman et al. 2001); limits: " +
			logScale, Status: Seen, Note: "kg wet feed, without bedding, for each kg of worms and day; " + widest,
	},
	RateNone: {
		Text: "processed / worm_days", Low: "0 * processed_error", High: "1.959963984540054 * processed_error / worm_days",
		Source: "definition of a feeding rate; limits: " + logScale, Status: Seen, Note: "no change was seen",
	},
	RatePerArea: {
		Text: "processed / (surface * days)", Low: "value / exp(min(6.907755278982137, 1.959963984540054 * processed_error / processed))",
		High:   "value * exp(min(6.907755278982137, 1.959963984540054 * processed_error / processed))",
		Source: definition + "; limits: " + logScale, Status: Computed, Note: widest,
	},
	PerAreaNone: {
		Text: "processed / (surface * days)", Low: "0 * processed_error", High: "1.959963984540054 * processed_error / (surface * days)",
		Source: definition + "; limits: " + logScale, Status: Computed, Note: "no change was seen",
	},
	Density: {
		Text: "stock / surface", Source: definition, Status: Computed,
		Note: "best conversion of feed was seen at 1.60 kg/m2 (Ndegwa, Thompson & Das 2000); 4.88, a pound a square foot, is customary",
	},

	SumRate: {
		Text:   "sum(processed) / sum(worm_days)",
		Low:    "value / exp(min(6.907755278982137, sqrt(sum(processed_width ^ 2) / sum(processed) ^ 2 + sum(worm_days_width ^ 2) / sum(worm_days) ^ 2)))",
		High:   "value * exp(min(6.907755278982137, sqrt(sum(processed_width ^ 2) / sum(processed) ^ 2 + sum(worm_days_width ^ 2) / sum(worm_days) ^ 2)))",
		Source: "ratio of sums; limits: delta method on the log scale", Status: Computed,
		Note: "of the bins that have a rate; width: half the interval, v × ln(high / v); " + widest,
	},
	SumRateNone: {
		Text: "sum(processed) / sum(worm_days)", Low: "0 * sum(processed)", High: "sqrt(sum(processed_width ^ 2)) / sum(worm_days)",
		Source: "ratio of sums; limits: delta method", Status: Computed, Note: "no change was seen",
	},
	Share:    {Text: "100 * part / whole", Source: definition, Status: Computed},
	Diverted: {Text: "net - rejected - residue", Source: definition, Status: Computed, Note: "without bedding"},
	Difference: {
		Text: "now - before", Low: "value - sqrt((now - now_low) ^ 2 + (before_high - before) ^ 2)",
		High: "value + sqrt((now_high - now) ^ 2 + (before - before_low) ^ 2)", Source: definition, Status: Computed,
	},
	Ratio: {Text: "now / before", Source: definition, Status: Computed},
	Avoided: {
		Text: "(food + own) / 907.18474 * (landfilled - composted) * 1000", Source: "EPA GHG Emission Factors Hub, Table 9, food waste", Status: Copied,
		Note: "907.18474 kg are a short ton; worms are taken to count as composting, and the club's own materials as food waste",
	},

	Weighed:  {Text: "weighed", Source: definition, Status: Computed, Note: "as typed"},
	Counted:  {Text: "count * mean_mass / 1000", Source: definition, Status: Computed, Note: "mean_mass: of a worm, in mg"},
	ByEye:    {Text: "book * share / 100", Source: definition, Status: Computed, Note: "share: judged by eye, of the book when it was recorded"},
	Poured:   {Text: "volume * density", Source: definition, Status: Computed},
	Filled:   {Text: "count * volume * density", Source: definition, Status: Computed, Note: "the measure, filled so many times"},
	LessTare: {Text: "gross - tare", Source: definition, Status: Computed},

	Worms: {
		Text: "sum(max(1, whole / sampled) * counted)", Low: "low", High: "high", Source: "Cochran 1977, Sampling Techniques, ratio to size", Status: Seen,
		Note: "whole: the surface of a stratum; sampled: of all its samples",
	},
	WholeWorms: {Text: "round(worms)", Source: definition, Status: Computed},
	MeanMass: {
		Text: "1000 * sum(max(1, whole / sampled) * mass) / sum(max(1, whole / sampled) * counted)", Low: "low", High: "high", Source: "Cochran 1977, Sampling Techniques, ratio of totals", Status: Seen,
		Note: "from the weighed samples",
	},
	MassBySamples: {
		Text: "sum(max(1, whole / sampled) * mass)", Low: "low", High: "high", Source: "Cochran 1977, Sampling Techniques, ratio to size", Status: Seen,
		Note: "each sample that held worms was weighed",
	},
	MassByMean:    {Text: "worms * mean_mass / 1000", Low: "low", High: "high", Source: definition, Status: Computed, Note: "mean_mass: of a worm, in mg"},
	KeepersFigure: {Text: "estimate", Low: "low", High: "high", Source: "the keeper, who is 95 % sure of the limits", Status: Recorded},

	Mix: {
		Text: "sum(mass * share) / sum(mass)", Source: "what came together, weighted by mass", Status: Computed,
		Note: "mass: that went into the lot; share: that what it came from has of the origin",
	},
	CultureShare: {Text: "sum(share)", Source: definition, Status: Computed, Note: "of the culture's origins"},
	Sources:      {Text: "1 / sum(share ^ 2)", Source: "founder equivalents (Lacy 1989)", Status: Seen, Note: "share: of each origin"},

	Debt:     {Text: "lent - returned - forgiven", Source: definition, Status: Computed, Note: "what died at the borrower's is owed all the same"},
	Pile:     {Text: "start + received - rejected - residue - fed", Source: definition, Status: Computed},
	Moisture: {Text: "100 * (wet - dry) / wet", Source: definition, Status: Computed},
	Lost:     {Text: "reworked_out - reworked_in", Source: definition, Status: Computed},
}
