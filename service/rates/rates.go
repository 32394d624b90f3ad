// Package rates works out how fast a bin processes its feed, and how densely
// it is stocked.
//
// What was processed is what disappeared, not what was eaten: feed given less
// the change in leftovers. It is divided by worm-days, the mass of live worms
// added up over the days.
package rates

import (
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Published rates in kg wet feed per kg worms per day span these (Reeh 1992;
// Ndegwa, Thompson & Das 2000; Eastman et al. 2001).
const (
	LeastRate = 0.14
	MostRate  = 1.5
)

// MostPerWorm is the most feed in g that one worm is taken to go through in a
// day, a customary ceiling.
const MostPerWorm = 2.2

// The flags of a rate and of what it is made from.
const (
	FlagOutside   = "outside-published-range"                  // below LeastRate or above MostRate
	FlagAbove     = "stock-underestimated-or-feed-not-weighed" // the likely cause above
	FlagBelow     = "stock-overestimated-or-feeding-missing"   // the likely cause below
	FlagPerWorm   = "more-than-a-worm-can-take"                // above MostPerWorm
	FlagNoChange  = "no-change-seen"                           // there was feed, and all of it is left
	FlagBelowZero = "stock-below-zero"                         // departures took more than there was
)

// Of returns what a bin processed between two ends, its worm-days and its rate.
//
// The ends are the first and the last leftover record in [From, To]. When
// nothing but bedding was fed before From, the start of the bin is the first end,
// with nothing left over: its first feeding or anchor, or From if later; else two records of
// different times are needed ("no-leftover-record"). What is fed at an end is fed
// after it.
//
//	P = Σ W (s₀ − s₁)    D = ∫ B dt    rate = P / D    rate per area = P / (A·T)
//
// with W the mass of a material in kg, s₀ and s₁ the shares left of it at the
// ends (s₀ = 1 when fed since), B the live worms in kg, A the surface in m² and T
// the days between the ends. A share refers to dry matter; a leftover is taken to
// be as moist as the feed was, so the same share holds for its wet mass. A
// feeding has the share an end names, else the lesser of its share before and
// that of all; it never rises. A feeding of which an end says nothing has none
// ("leftover-unknown"); a dry mass needs the moisture of all that was left or
// fed ("moisture-unknown").
//
// B is linear from anchor to anchor, movements are jumps in it, and after the
// last anchor it is constant. It needs an anchor at or before the first end
// ("no-stock-estimate"); a bin that began in the window holds no worms before
// its first stocking. The rate needs feed ("no-feed") and worms ("no-stock").
//
// Intervals cover 95 %: v·exp(±1.96·s), s² = s(P)² + s(D)² being the squared
// relative standard errors by the delta method. s(P) has 0.4 on the logit scale
// for a share read by eye (at least that of a share of 1 %), one error for all
// feedings that a reading covers, and 2 % for each weighed material; s(D) has the
// CV of anchors and jumps and, after the last anchor, a random walk of 5 % per
// square root of a day. These three numbers are practice. The moistures, and the
// straight line between anchors, are taken as true.
//
// A rate outside the published ones is flagged with the likely cause.
func Of(in Input) Result {
	h := historyOf(in.Leftovers)
	e, ok := endsOf(in, h)
	if !ok {
		return noResult("no-leftover-record")
	}
	items := itemsOf(in.Feeds, h, e.from, e.to)
	r := Result{From: e.from, To: e.to}
	feed := processedOf(items, view{onlyFeed, wetMass})
	r.ProcessedWet = feed.figure()
	r.ProcessedDry = processedOf(items, view{onlyFeed, dryMass}).figure()
	r.BeddingWet = processedOf(items, view{onlyBedding, wetMass}).figure()
	r.BeddingDry = processedOf(items, view{onlyBedding, dryMass}).figure()
	r.TogetherWet = processedOf(items, view{everything, wetMass}).figure()
	r.TogetherDry = processedOf(items, view{everything, dryMass}).figure()

	stock := stockOf(in, e.from)
	length := days(e.from, e.to)
	worms := wormDaysOf(stock, length)
	worms.reason = stock.missing(e)
	r.WormDays = worms.figure()
	r.Rate = flagged(rate(feed, worms), in.MeanWormMg)
	r.RatePerArea = perArea(feed, float64(in.Surface)*length)
	r.Records = recordsOf(e, h, items, worms)
	r.trail = trail{h, items, feed, worms, length, in.Surface}
	return r
}

// ends is the span that the figures refer to.
type ends struct {
	from, to time.Time
	start    bool // from is the start of the bin
}

// endsOf returns the ends inside the window, and whether there are two.
func endsOf(in Input, h history) (ends, bool) {
	first, last, ok := h.within(in.From, in.To)
	e := ends{from: first, to: last}
	if start, empty := in.emptyAt(); empty {
		e.from, e.start = start, true
	}
	return e, ok && e.from.Before(e.to)
}

// emptyAt returns the start of a bin that was not fed before the window: its
// first record or, if later, From; and whether it is such a bin.
func (in Input) emptyAt() (time.Time, bool) {
	var begun []time.Time
	for _, f := range in.Feeds {
		if !f.Bedding && f.At.Before(in.From) {
			return time.Time{}, false
		}
		begun = append(begun, f.At)
	}
	for _, a := range in.Anchors {
		begun = append(begun, a.At)
	}
	if len(begun) == 0 {
		return in.From, true
	}
	start := slices.MinFunc(begun, time.Time.Compare)
	if start.Before(in.From) {
		start = in.From
	}
	return start, true
}

// missing returns why the stock between the ends is not known, or "".
func (s stock) missing(e ends) string {
	if len(s.anchors) > 0 {
		first := s.anchors[0]
		if !first.at.After(e.from) || e.start && first.founds && first.at.Before(e.to) {
			return ""
		}
	}
	return "no-stock-estimate"
}

// rate returns kg feed per kg worms per day.
func rate(feed processed, worms wormDays) unit.Figure {
	const perWorm = "kg/kg/d"
	switch {
	case feed.reason != "":
		return unit.None(perWorm, feed.reason)
	case worms.reason != "":
		return unit.None(perWorm, worms.reason)
	case feed.there == 0:
		return unit.None(perWorm, "no-feed")
	case worms.value == 0:
		return unit.None(perWorm, "no-stock")
	}
	return feed.over(worms.estimate).figure(perWorm, "by-eye")
}

// flagged returns a rate with what its size gives away. A worm of mean mass m
// in mg goes through rate·m/1000 g a day.
func flagged(f unit.Figure, meanWormMg float64) unit.Figure {
	if !f.Known {
		return f
	}
	switch {
	case f.Value > MostRate:
		f = f.Flag(FlagOutside).Flag(FlagAbove)
	case f.Value < LeastRate:
		f = f.Flag(FlagOutside).Flag(FlagBelow)
	}
	if f.Value*meanWormMg/1000 > MostPerWorm {
		f = f.Flag(FlagPerWorm)
	}
	return f
}

// perArea returns kg feed per m² per day, for so many m²·d.
func perArea(feed processed, areaDays float64) unit.Figure {
	const code = "kg/m2/d"
	switch {
	case feed.reason != "":
		return unit.None(code, feed.reason)
	case !(areaDays > 0):
		return unit.None(code, "no-surface")
	}
	return feed.over(exactly(areaDays)).figure(code, "by-eye")
}

func noResult(reason string) Result {
	kg := unit.None("kg", reason)
	return Result{
		ProcessedWet: kg, ProcessedDry: kg,
		BeddingWet: kg, BeddingDry: kg,
		TogetherWet: kg, TogetherDry: kg,
		WormDays:    unit.None("kg.d", reason),
		Rate:        unit.None("kg/kg/d", reason),
		RatePerArea: unit.None("kg/m2/d", reason),
	}
}
