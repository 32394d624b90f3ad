package season

import (
	"math"
	"slices"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
)

// MassDays is a mass times how long it was there, in whole milligram days.
type MassDays int64

// KilogramDays returns m in kg.d.
func (m MassDays) KilogramDays() float64 { return unit.Mass(m).Kilograms() }

// Rate is how fast the worms of a line processed feed, over the bins for which
// both what was processed and the worm-days are known.
type Rate struct {
	Figure    unit.Figure // kg feed per kg worms per day: Processed / WormDays
	Processed unit.Mass   // wet feed, without bedding
	WormDays  MassDays
	Bins      int // how many bins it rests on
}

// rateSum is the rate of some bins in the making.
type rateSum struct {
	Rate              // Figure is that of the last bin added
	processed float64 // sum of the squared half-widths of what was processed, kg2
	wormDays  float64 // the same of the worm-days, kg2.d2
	reasons   []string
}

// rateOf takes the rate of one bin over the period from rates.Of, which gives
// one for a milligram day or more.
func rateOf(b BinFacts, f Facts) rateSum {
	const instant = time.Microsecond
	feeds := make([]rates.Feed, 0, len(b.Feeds))
	for _, x := range b.Feeds {
		feeds = append(feeds, x.Feed)
	}
	r := rates.Of(rates.Input{
		From: f.Period.From, To: f.asOf().Add(-instant),
		Feeds: feeds, Leftovers: b.Leftovers, Anchors: b.Anchors, Jumps: b.Jumps,
		MeanWormMg: b.MeanWormMg,
	})
	if !r.Rate.Known {
		return rateSum{reasons: []string{r.Rate.Reason}}
	}
	return rateSum{
		Rate: Rate{
			Figure:    r.Rate,
			Processed: unit.Mass(math.Round(r.ProcessedWet.Value * float64(unit.Kilogram))),
			WormDays:  MassDays(math.Round(r.WormDays.Value * float64(unit.Kilogram))),
			Bins:      1,
		},
		processed: squaredHalfWidth(r.ProcessedWet),
		wormDays:  squaredHalfWidth(r.WormDays),
	}
}

// squaredHalfWidth returns the square of v·ln(high/v), how far the interval of
// a value v reaches on the log scale, or of its upper limit when v is 0. Only an
// exact 0 comes without an interval.
func squaredHalfWidth(f unit.Figure) float64 {
	h := f.High
	if f.Value > 0 {
		h = f.Value * math.Log(f.High/f.Value)
	}
	return float64(h * h)
}

func (s rateSum) plus(b rateSum) rateSum {
	out := rateSum{
		Rate:      Rate{b.Figure, s.Processed + b.Processed, s.WormDays + b.WormDays, s.Bins + b.Bins},
		processed: s.processed + b.processed,
		wormDays:  s.wormDays + b.wormDays,
		reasons:   slices.Concat(s.reasons, b.reasons),
	}
	if b.Bins == 0 {
		out.Figure = s.Figure
	}
	return out
}

// close works out the rate R = P/W of all the bins together, with P = Σ
// processed in kg and W = Σ worm-days in kg·d. The errors of the bins are
// independent, so with half-widths p and w of each bin's P and W the interval
// is R·exp(±√(Σp²/P² + Σw²/W²)) by the delta method on the log scale, and
// [0, √Σp²/W] when P is 0. A single bin keeps its own figure. Without a bin
// there is none: the reason is that of the bins when they agree, else
// "no-bin-with-a-rate".
func (s rateSum) close() Rate {
	r := s.Rate
	switch {
	case r.Bins == 0:
		r.Figure = unit.None(perKilogramDay, agreed(s.reasons))
	case r.Bins > 1:
		p, w := r.Processed.Kilograms(), r.WormDays.KilogramDays()
		r.Figure = flagged(s.between(p, w))
	}
	return r
}

const perKilogramDay = "kg/kg/d"

func (s rateSum) between(p, w float64) unit.Figure {
	const basis = "ratio-of-sums"
	level := s.Figure.Level
	if p == 0 {
		return unit.Of(0, perKilogramDay, basis).Within(0, math.Sqrt(s.processed)/w, level)
	}
	relative := math.Sqrt(s.processed/(p*p) + s.wormDays/(w*w))
	factor := math.Exp(min(widest, relative))
	return unit.Of(p/w, perKilogramDay, basis).Within(p/w/factor, p/w*factor, level)
}

// widest is the largest half-width on the log scale, ln 1000.
const widest = 6.907755278982137

// flagged marks a rate outside the published ones, as rates.Of does.
func flagged(f unit.Figure) unit.Figure {
	switch {
	case f.Value > rates.MostRate:
		return f.Flag(rates.FlagOutside).Flag(rates.FlagAbove)
	case f.Value < rates.LeastRate:
		return f.Flag(rates.FlagOutside).Flag(rates.FlagBelow)
	}
	return f
}

// agreed returns the reason that all give.
func agreed(reasons []string) string {
	switch all := distinct(reasons); len(all) {
	case 0:
		return "no-bin"
	case 1:
		return all[0]
	}
	return "no-bin-with-a-rate"
}
