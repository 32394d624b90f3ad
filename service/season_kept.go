package service

import (
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// keptFacts returns the facts of a period that is made of whole months: sums
// from the monthly totals, and of the records only what their figures can't be
// had without. The report on them is that on factsOf.
func (w *work) keptFacts(p season.Period, months []string) (*facts, error) {
	names, err := w.names()
	if err != nil {
		return nil, err
	}
	totals, err := w.Totals.List(months[0], months[len(months)-1])
	if err != nil {
		return nil, err
	}
	f := factsAbout(names, "")
	k := keptOf(totals, names)
	if err := w.readPeriod(f, p); err != nil {
		return nil, err
	}
	start, err := w.Movements.StockAt(p.From)
	if err != nil {
		return nil, err
	}
	f.stock(start, k.stockAfter(start))
	for _, id := range f.order {
		b := f.bins[id]
		b.Added = k.added[id]
		if b.Added == nil {
			b.Added = &season.Added{}
		}
		if err := w.readMore(names, b, k, p); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// kept is what the totals of a period say.
type kept struct {
	added     map[BinID]*season.Added
	leftovers map[BinID]bool // bins with a record of what is left
	unknown   map[BinID]bool // bins that were fed what has no moisture
	moved     map[BinID]map[SpeciesID]unit.Mass
}

func keptOf(totals []Total, names Names) kept {
	k := kept{map[BinID]*season.Added{}, map[BinID]bool{}, map[BinID]bool{}, map[BinID]map[SpeciesID]unit.Mass{}}
	for _, t := range totals {
		switch {
		case t.Records == 0: // all of it was taken back
		case t.Kind == TotalLeftovers:
			k.leftovers[t.Bin] = true
		case t.Kind == TotalFed, t.Kind == TotalFedMeasured:
			k.feed(t, names.Materials[t.Material])
		case t.Kind == TotalHarvested:
			k.bin(t.Bin).AddHarvest(t.Records, yields.Sums{CastingsWet: t.Mass, CastingsDry: dryAs(t, yields.Default)})
		case t.Kind == TotalHarvestMeasured:
			k.bin(t.Bin).AddHarvest(t.Records, yields.Sums{CastingsWet: t.Mass, CastingsDry: dryAs(t, yields.Measured)})
		case strings.HasPrefix(string(t.Kind), string(TotalStock)):
			if k.moved[t.Bin] == nil {
				k.moved[t.Bin] = map[SpeciesID]unit.Mass{}
			}
			k.moved[t.Bin][t.Species] += t.Mass
		}
	}
	return k
}

func (k kept) bin(id BinID) *season.Added {
	if k.added[id] == nil {
		k.added[id] = &season.Added{}
	}
	return k.added[id]
}

// feed adds what was fed of a material.
func (k kept) feed(t Total, m Material) {
	if m.Kind == AmendmentMaterial {
		return // grit and lime are neither eaten nor carbon
	}
	dry := dryAs(t, yields.Measured)
	if t.Kind == TotalFed {
		dry = dryAs(t, yields.Material)
	}
	if t.Kind == TotalFed && m.Moisture == nil {
		dry = yields.Dry{Unknown: true}
		k.unknown[t.Bin] = true
	}
	l := season.MaterialLine{Key: string(t.Material), Fed: yields.Sums{FeedWet: t.Mass, FeedDry: dry}, Weighed: t.Weighed}
	if m.Kind == BeddingMaterial {
		l.Fed, l.Weighed = yields.Sums{BeddingWet: t.Mass, BeddingDry: dry}, 0
	}
	k.bin(t.Bin).AddFeed(t.Records, l)
}

// dryAs returns the dry matter of a total whose moistures came from there;
// nothing has none.
func dryAs(t Total, basis string) yields.Dry {
	if t.Mass == 0 {
		return yields.Dry{}
	}
	return yields.Dry{Mass: t.Dry, Basis: basis}
}

// stockAfter returns the books at the end of the period, where they aren't zero,
// from those at its start.
func (k kept) stockAfter(start map[BinID]map[SpeciesID]unit.Mass) map[BinID]map[SpeciesID]unit.Mass {
	out := map[BinID]map[SpeciesID]unit.Mass{}
	for _, books := range []map[BinID]map[SpeciesID]unit.Mass{start, k.moved} {
		for bin, of := range books {
			if out[bin] == nil {
				out[bin] = map[SpeciesID]unit.Mass{}
			}
			for s, mass := range of {
				if out[bin][s] += mass; out[bin][s] == 0 {
					delete(out[bin], s)
				}
			}
		}
	}
	return out
}

// readPeriod reads what a report names of the period itself: its movements and
// harvests, and the censuses, since one before it may still be recent.
func (w *work) readPeriod(f *facts, p season.Period) error {
	q := Query{From: p.From, To: p.To}
	all, err := w.Movements.List(q)
	if err != nil {
		return err
	}
	f.keep(all)
	for _, m := range f.movements {
		f.jumps(m)
	}
	if err := w.readHarvests(f, q); err != nil {
		return err
	}
	until := p.To
	if w.now.Before(until) {
		until = w.now
	}
	if recent := until.Add(-season.CensusEvery); recent.Before(q.From) {
		q.From = recent
	}
	return w.readCensuses(f, q)
}

// jumps notes an arrival or departure in each bin whose stock m changes.
func (f *facts) jumps(m Movement) {
	if m.Kind == journal.Census {
		return
	}
	for bin, mass := range m.stockChange() {
		if b := f.bins[bin]; b != nil && mass != 0 {
			b.Jumps = append(b.Jumps, rates.Jump{ID: string(m.ID), At: m.At.Time, Mass: mass})
		}
	}
}

// readCensuses notes that bins were counted, not what was found.
func (w *work) readCensuses(f *facts, q Query) error {
	censuses, err := w.Censuses.List(q)
	if err != nil {
		return err
	}
	ids := make([]MovementID, len(censuses))
	for i, c := range censuses {
		ids[i] = c.Movement
	}
	stands, err := w.standing(ids)
	if err != nil {
		return err
	}
	for _, c := range censuses {
		if stands[c.Movement] {
			b := f.bins[c.Bin]
			b.Anchors = append(b.Anchors, rates.Anchor{ID: string(c.ID), At: c.At.Time, Kind: rates.Census})
		}
	}
	return nil
}

// standing tells which movements aren't reversed.
func (w *work) standing(ids []MovementID) (map[MovementID]bool, error) {
	movements, err := w.Movements.Some(ids)
	out := map[MovementID]bool{}
	for _, m := range movements {
		out[m.ID] = m.ReversedBy == ""
	}
	return out, err
}

// readMore reads of a bin what can't be had from totals. A processing rate takes
// the history of the stock, and of feed and leftovers since all was gone; a yield
// takes the feed since the full harvest before; feedings without a moisture are
// named.
func (w *work) readMore(names Names, b *season.BinFacts, k kept, p season.Period) error {
	id := BinID(b.ID)
	rate := k.leftovers[id]
	full := slices.ContainsFunc(b.Harvests, func(h season.Harvest) bool { return h.Full })
	if !rate && !full && !k.unknown[id] {
		return nil
	}
	since, err := w.since(id, p.From, rate, full)
	if err != nil {
		return err
	}
	more := factsAbout(names, id)
	q := Query{Bin: id, From: since, To: p.To}
	if rate {
		return w.readWithRate(b, more, q, p)
	}
	if err := w.readFeedings(more, q); err != nil {
		return err
	}
	b.Feeds = more.bins[id].Feeds
	if !full {
		return nil
	}
	return w.readOlderHarvests(b, more, Query{Bin: id, From: since, To: p.From})
}

// readWithRate reads of a bin what a processing rate takes.
func (w *work) readWithRate(b *season.BinFacts, more *facts, q Query, p season.Period) error {
	if err := w.readHistory(more, q); err != nil {
		return err
	}
	whole := more.bins[q.Bin]
	fedBefore := func(x season.Feed) bool { return !x.Bedding && x.At.Before(p.From) }
	if !q.From.IsZero() && !slices.ContainsFunc(whole.Feeds, fedBefore) {
		// only the whole history tells whether the bin was ever fed before
		q.From = time.Time{}
		return w.readWithRate(b, factsAbout(more.names, q.Bin), q, p)
	}
	b.Feeds, b.Leftovers, b.Anchors, b.Jumps, b.Harvests = whole.Feeds, whole.Leftovers, whole.Anchors, whole.Jumps, whole.Harvests
	return w.readMeanMass(b, p.To)
}

// readOlderHarvests puts the harvests of q before those of the period.
func (w *work) readOlderHarvests(b *season.BinFacts, more *facts, q Query) error {
	harvests, err := w.Harvests.List(q)
	if err != nil {
		return err
	}
	ids := make([]MovementID, len(harvests))
	for i, h := range harvests {
		ids[i] = MovementID(h.ID)
	}
	if more.standing, err = w.standing(ids); err != nil {
		return err
	}
	if err := w.readHarvests(more, q); err != nil {
		return err
	}
	b.Harvests = append(more.bins[q.Bin].Harvests, b.Harvests...)
	return nil
}

// since returns from when on the feed of a bin is needed for the figures of a
// period that begins then; zero from the beginning.
func (w *work) since(bin BinID, begins time.Time, rate, full bool) (time.Time, error) {
	since := begins
	if rate {
		gone, err := w.lastGone(bin, begins)
		if err != nil {
			return gone, err
		}
		since = gone
	}
	if full && !since.IsZero() {
		emptied, err := w.lastEmptied(bin, begins)
		if err != nil {
			return emptied, err
		}
		if emptied.Before(since) {
			since = emptied
		}
	}
	return since, nil
}

// lastGone returns the moment of the last check before begins that saw nothing
// left of any feeding; zero when there was none. What was fed before is gone for
// good: a share never rises.
func (w *work) lastGone(bin BinID, begins time.Time) (time.Time, error) {
	q := Query{Bin: bin, To: begins, Newest: true, Limit: lookBack}
	for {
		checks, err := w.Checks.List(q)
		if err != nil {
			return time.Time{}, err
		}
		for _, c := range checks {
			if c.nothingLeft() {
				return c.At.Time, nil
			}
		}
		if len(checks) < lookBack {
			return time.Time{}, nil
		}
		last := checks[len(checks)-1]
		q.After = Place{last.At.Time, string(last.ID)}
	}
}

// lookBack is how many records are read at a time in looking back for one.
const lookBack = 50

func (c Check) nothingLeft() bool {
	some := func(l Leftover) bool { return l.Percent > 0 }
	return c.LeftoverAll != nil && *c.LeftoverAll == 0 && !slices.ContainsFunc(c.Leftovers, some)
}

// lastEmptied returns the moment of the last full harvest before begins that
// stands; zero when there was none.
func (w *work) lastEmptied(bin BinID, begins time.Time) (time.Time, error) {
	q := Query{Bin: bin, To: begins, Newest: true, Limit: lookBack}
	for {
		harvests, err := w.Harvests.List(q)
		if err != nil {
			return time.Time{}, err
		}
		for _, h := range harvests {
			if !h.Full {
				continue
			}
			if stands, err := w.standing([]MovementID{MovementID(h.ID)}); err != nil || stands[MovementID(h.ID)] {
				return h.At.Time, err
			}
		}
		if len(harvests) < lookBack {
			return time.Time{}, nil
		}
		last := harvests[len(harvests)-1]
		q.After = Place{last.At.Time, string(last.ID)}
	}
}
