package due

import (
	"slices"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
)

// Bin is what is known of a bin in use.
type Bin struct {
	ID      string
	Owners  []string // keeper and stand-ins
	Started string   // day
	Surface unit.Area
	Stock   unit.Mass // by the book
	Checks  []Check   // the last ones, newest first
	Fed     []string  // the days of the last feedings, newest first, each once
	Harvest string    // day of the last; empty: none
	Census  string    // day of the last; empty: none
}

// Check is what a check saw.
type Check struct {
	Day         string
	Temperature *unit.Celsius
	Moisture    *unit.Percent // a meter's figure
	Squeezed    bool          // moisture was judged by hand …
	Dry         bool          // … and found dry
}

// bins lists what is due in bins that hold worms.
func (c Club) bins() []Item {
	var out []Item
	for _, b := range c.Bins {
		if b.Stock <= 0 {
			continue
		}
		b := standing{b, c.Rules, c.Today}
		for _, rule := range []func() (Item, bool){
			b.escapeLook, b.firstCheck, b.nextCheck, b.tooHot, b.tooDry, b.tooFull, b.feeding, b.harvest, b.census,
		} {
			if item, due := rule(); due {
				item.Bin, item.Members = b.ID, b.Owners
				out = append(out, item)
			}
		}
	}
	return out
}

// standing is a bin under a club's rules on a day.
type standing struct {
	Bin
	rules Rules
	today string
}

// spanned is an item that is due so many days after another day.
func (b standing) spanned(k Kind, since string, span int) (Item, bool) {
	return Item{
		Kind: k, Day: after(since, span), Since: since,
		Figure: days(between(since, b.today), "records"), Limit: days(span, "rule"),
	}, span > 0
}

// escapeLook is due from the day after the bin was started until a check is
// recorded, or its first days are over.
func (b standing) escapeLook() (Item, bool) {
	item, on := b.spanned(EscapeLook, b.Started, b.rules.EscapeLookDays)
	if b.today > item.Day || len(b.Checks) > 0 {
		on = false
	}
	item.Day = min(item.Day, after(b.Started, 1))
	return item, on
}

// firstCheck is due until a check is recorded after the bin's first days.
func (b standing) firstCheck() (Item, bool) {
	item, on := b.spanned(FirstCheck, b.Started, b.rules.FirstCheckDays)
	return item, on && !b.begun()
}

// begun reports whether a check was recorded after the bin's first days.
func (b standing) begun() bool {
	return len(b.Checks) > 0 && b.Checks[0].Day > after(b.Started, min(b.rules.EscapeLookDays, b.rules.FirstCheckDays))
}

// nextCheck is due a span after the last check. Where the first check is no
// rule, a bin that never was checked counts from its start.
func (b standing) nextCheck() (Item, bool) {
	since := b.Started
	if len(b.Checks) > 0 {
		since = b.Checks[0].Day
	}
	item, on := b.spanned(NextCheck, since, b.rules.CheckEveryDays)
	return item, on && (b.begun() || b.rules.FirstCheckDays == 0)
}

// last is the newest check that looked at something.
func (b standing) last(looked func(Check) bool) (Check, bool) {
	i := slices.IndexFunc(b.Checks, looked)
	if i < 0 {
		return Check{}, false
	}
	return b.Checks[i], true
}

func (b standing) tooHot() (Item, bool) {
	c, seen := b.last(func(c Check) bool { return c.Temperature != nil })
	if !seen || b.rules.HotC == 0 || float64(*c.Temperature) < b.rules.HotC {
		return Item{}, false
	}
	return Item{
		Kind: TooHot, Day: c.Day, Since: c.Day,
		Figure: unit.Of(float64(*c.Temperature), "Cel", "check"), Limit: unit.Of(b.rules.HotC, "Cel", "rule"),
	}, true
}

func (b standing) tooDry() (Item, bool) {
	c, seen := b.last(func(c Check) bool { return c.Moisture != nil || c.Squeezed })
	if !seen || b.rules.DryPct == 0 {
		return Item{}, false
	}
	item := Item{Kind: TooDry, Day: c.Day, Since: c.Day, Figure: unit.None("%", "by-squeeze"), Limit: unit.Of(b.rules.DryPct, "%", "rule")}
	if c.Moisture == nil {
		return item, c.Dry
	}
	item.Figure = unit.Of(float64(*c.Moisture), "%", "check")
	return item, float64(*c.Moisture) < b.rules.DryPct
}

// tooFull is due today: it follows from the book.
func (b standing) tooFull() (Item, bool) {
	density := rates.Density(b.Stock, b.Surface)
	if !density.Known || b.rules.FullKgPerM2 == 0 || density.Value <= b.rules.FullKgPerM2 {
		return Item{}, false
	}
	return Item{Kind: TooFull, Day: b.today, Figure: density, Limit: unit.Of(b.rules.FullKgPerM2, "kg/m2", "rule")}, true
}

// feeding is due when the bin's usual interval has passed since its last
// feeding: the median of its last intervals, half a day rounded up.
func (b standing) feeding() (Item, bool) {
	n := len(b.Fed) - 1
	if b.rules.FeedingIntervals == 0 || n < b.rules.FeedingIntervals {
		return Item{}, false
	}
	gaps := make([]int, n)
	for i := range gaps {
		gaps[i] = between(b.Fed[i+1], b.Fed[i])
	}
	slices.Sort(gaps)
	usual := (gaps[(n-1)/2] + gaps[n/2] + 1) / 2
	item, _ := b.spanned(Feeding, b.Fed[0], usual)
	item.Limit.Basis = "median-interval"
	return item, true
}

func (b standing) harvest() (Item, bool) {
	return b.spanned(Harvest, max(b.Harvest, b.Started), b.rules.HarvestEveryDays)
}

func (b standing) census() (Item, bool) {
	return b.spanned(Census, max(b.Census, b.Started), b.rules.CensusEveryDays)
}
