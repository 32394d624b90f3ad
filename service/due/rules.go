// Package due decides what is due in a club: what a keeper should look at, and
// by which day. It knows days, not clocks: today is given.
package due

// Kind is a reason for something to be due.
type Kind string

// The kinds.
const (
	EscapeLook      Kind = "escape-look"      // of a bin that has just begun
	FirstCheck      Kind = "first-check"      // of a bin that is past its first days
	NextCheck       Kind = "check"            // the last one is long ago
	TooHot          Kind = "too-hot"          // by the last check that took a temperature
	TooDry          Kind = "too-dry"          // by the last check that looked at moisture
	TooFull         Kind = "too-full"         // by the book and the bin's surface
	Feeding         Kind = "feeding"          // by the bin's own custom
	Harvest         Kind = "harvest"          // where the club sets a span
	Census          Kind = "census"           // where the club sets a span
	TransferStep    Kind = "transfer-step"    // of one side of a transfer
	PromiseExpires  Kind = "promise-expires"  // what is reserved is soon free again
	LoanDue         Kind = "loan"             // is to be back
	QuarantineEnds  Kind = "quarantine"       // is to be released
	BackupMissing   Kind = "backup"           // a culture lives in too few places
	AnalysisExpires Kind = "analysis-expires" // the newest of a batch and parameter
)

// Kinds lists the kinds.
func Kinds() []Kind {
	return []Kind{
		EscapeLook, FirstCheck, NextCheck, TooHot, TooDry, TooFull, Feeding, Harvest, Census,
		TransferStep, PromiseExpires, LoanDue, QuarantineEnds, BackupMissing, AnalysisExpires,
	}
}

// Rules are a club's thresholds. Zero turns a rule off.
type Rules struct {
	EscapeLookDays   int     // a new bin is looked at for escape within so many days
	FirstCheckDays   int     // and checked after so many
	CheckEveryDays   int     // no bin goes longer without a check
	HotC             float64 // from this temperature on a bin is too hot
	DryPct           float64 // below this moisture a bin is too dry
	FullKgPerM2      float64 // above this stock density a bin is too full
	FeedingIntervals int     // from so many intervals on a bin has a custom of feeding
	HarvestEveryDays int
	CensusEveryDays  int
	PromiseWarnDays  int // before a promise expires
	AnalysisWarnDays int // before an analysis expires
	BackupBins       int // a culture lives in so many bins at least …
	BackupSites      int // … and on so many sites
}

// Default returns the rules of a club that hasn't changed any.
func Default() Rules {
	return Rules{
		EscapeLookDays: 3, FirstCheckDays: 10, CheckEveryDays: 30, HotC: 30, DryPct: 60, FullKgPerM2: 4.88, FeedingIntervals: 3,
		PromiseWarnDays: 3, AnalysisWarnDays: 14, BackupBins: 2, BackupSites: 2,
	}
}

// custom is the basis of a rule that nobody has published.
const custom = "a custom without a source; the club's to change"

// Basis says what the rule of a kind rests on.
func Basis(k Kind) string {
	switch k {
	case TooHot:
		return "the default of 30 Cel is the upper limit of Eisenia fetida in Edwards & Arancon 2004, table 18.3; the club's to change"
	case TooFull:
		return "the default of 4.88 kg/m2 is a pound of worms to the square foot, a custom without a source; conversion is best near 1.6 kg/m2 (Ndegwa, Thompson & Das 2000); the club's to change"
	case Feeding:
		return "the median of the bin's own last intervals between feedings, which is no forecast of what the worms have left"
	case TransferStep, PromiseExpires, LoanDue:
		return "what the two sides agreed on"
	case QuarantineEnds:
		return "the day that was planned when the quarantine began"
	case AnalysisExpires:
		return "the day on the analysis"
	case EscapeLook, FirstCheck, NextCheck, TooDry, Harvest, Census, BackupMissing:
	}
	return custom
}
