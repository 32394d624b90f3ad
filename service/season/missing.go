package season

import (
	"slices"
	"time"

	"lumbricary.example/service/rates"
)

// Missing is a record that a bin lacks for its figures.
type Missing struct {
	Bin     string // id
	Reason  string
	Records []string // ids of the records that fall short, if it is one
}

// The reasons of Missing.
const (
	NoFullHarvest       = "no-full-harvest"       // fed, and no window closed: no yield
	NoLeftoverRecord    = "no-leftover-record"    // fed, and no look at leftovers: no processing rate
	NoRecentCensus      = "no-recent-census"      // stock, and none within CensusEvery
	FeedWithoutMoisture = "feed-without-moisture" // no dry figures
)

// CensusEvery is how old a census may be before one is asked for: 180 days.
// Status: practice, a custom without a source.
const CensusEvery = 180 * 24 * time.Hour

// missing lists what the bins kept in the period lack, in the order of bins.
func missing(bins []tally, f Facts) []Missing {
	var out []Missing
	for _, t := range bins {
		b := t.facts
		fed := t.sums.Fed.FeedWet > 0
		note := func(lacks bool, reason string, records ...string) {
			if lacks && t.sums.Bins > 0 {
				out = append(out, Missing{b.ID, reason, records})
			}
		}
		note(fed && t.sums.Windows == 0, NoFullHarvest)
		note(fed && len(b.leftovers(f.Period)) == 0, NoLeftoverRecord)
		note(t.sums.Stock.End > 0 && b.censusOverdue(f.asOf()), NoRecentCensus)
		dry := withoutMoisture(b.feeds(f.Period))
		note(len(dry) > 0, FeedWithoutMoisture, dry...)
	}
	return out
}

// censusOverdue says whether a bin kept for CensusEvery up to now has no census
// in that time.
func (b BinFacts) censusOverdue(now time.Time) bool {
	since := now.Add(-CensusEvery)
	return b.Started.Before(since) && !slices.ContainsFunc(b.Anchors, func(a rates.Anchor) bool {
		return a.Kind == rates.Census && !a.At.Before(since) && !a.At.After(now)
	})
}

// withoutMoisture lists the ids of feedings with a material, bedding too, whose
// moisture is unknown.
func withoutMoisture(feeds []Feed) []string {
	var ids []string
	for _, x := range feeds {
		if x.Wet > 0 && !x.Moisture.Known {
			ids = append(ids, x.ID)
		}
	}
	return distinct(ids)
}
