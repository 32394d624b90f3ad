package season

import (
	"slices"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/yields"
)

// Missing is a record that a bin lacks for its figures.
type Missing struct {
	Bin     string // id
	Reason  string
	Days    int      // how long nobody looked, of NoCheck
	Records []string // ids of the records that fall short, if it is one
}

// The reasons of Missing.
const (
	NoFullHarvest       = "no-full-harvest"       // fed, and no window closed: no yield
	NoLeftoverRecord    = "no-leftover-record"    // fed, and no look at leftovers: no processing rate
	NoRecentCensus      = "no-recent-census"      // stock, and none within CensusEvery
	FeedWithoutMoisture = "feed-without-moisture" // no dry figures
	FeedNotWeighed      = "feed-not-weighed"      // by volume or by eye, in part at least
	HarvestNotMeasured  = "harvest-not-measured"  // castings of a moisture that is taken for granted
	HarvestWithoutMass  = "harvest-without-mass"  // a full one that took no castings out
	NoCheck             = "no-check"              // nobody looked for longer than CheckEvery
	NoStock             = "no-stock"              // fed, and the book has no worms
)

// CheckEvery is how long a bin in use may go without a check: 21 days. Status:
// practice, a custom without a source.
const CheckEvery = 21 * 24 * time.Hour

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
				out = append(out, Missing{Bin: b.ID, Reason: reason, Records: records})
			}
		}
		note(fed && t.sums.Windows == 0, NoFullHarvest)
		note(fed && len(b.leftovers(f.Period)) == 0, NoLeftoverRecord)
		note(t.sums.Stock.End > 0 && b.censusOverdue(f.asOf()), NoRecentCensus)
		dry := withoutMoisture(b.feeds(f.Period))
		note(len(dry) > 0, FeedWithoutMoisture, dry...)
		note(t.sums.Weighed < t.sums.Fed.FeedWet, FeedNotWeighed)
		moist, bare := harvestsLacking(b.harvests(f.Period))
		note(len(moist) > 0, HarvestNotMeasured, moist...)
		note(len(bare) > 0, HarvestWithoutMass, bare...)
		stocked := t.sums.Stock != Stock{}
		note(fed && !stocked, NoStock)
		if days := b.unseen(f); (fed || stocked) && t.sums.Bins > 0 && days > 0 {
			out = append(out, Missing{Bin: b.ID, Reason: NoCheck, Days: days})
		}
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

// harvestsLacking lists the ids of harvests whose castings nobody measured the
// moisture of, and of full ones that took none out.
func harvestsLacking(hs []Harvest) (moisture, mass []string) {
	for _, h := range hs {
		switch {
		case h.Castings() > 0 && h.Moisture.Basis != yields.Measured:
			moisture = append(moisture, h.ID)
		case h.Full && h.Wet == 0:
			mass = append(mass, h.ID)
		}
	}
	return distinct(moisture), distinct(mass)
}

// unseen returns the whole days of the longest time without a check, as far as
// it lies in the period and the bin was kept; 0 where none was longer than
// CheckEvery. What began before the period counts from there on.
func (b BinFacts) unseen(f Facts) int {
	from, to := f.Period.From, f.asOf()
	if b.Started.After(from) {
		from = b.Started
	}
	if !b.Retired.IsZero() && b.Retired.Before(to) {
		to = b.Retired
	}
	looks := append(within(b.Checked, Period{From: from, To: to}, func(at time.Time) time.Time { return at }), to)
	slices.SortFunc(looks, time.Time.Compare)
	var longest time.Duration
	for _, at := range looks {
		longest = max(longest, at.Sub(from))
		from = at
	}
	if longest <= CheckEvery {
		return 0
	}
	return int(longest / (24 * time.Hour))
}
