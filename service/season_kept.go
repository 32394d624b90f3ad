package service

import (
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// keptFacts returns the facts of a period that is made of whole months: sums
// from the monthly totals; of the feedings and checks only what yields, rates and
// missing records can't be had without; and the journal, which is short beside
// them. The report on them is that on factsOf.
func (w *work) keptFacts(p season.Period, months []string) (*facts, error) {
	names, err := w.names()
	if err != nil {
		return nil, err
	}
	totals, err := w.Totals.List(months[0], months[len(months)-1])
	if err != nil {
		return nil, err
	}
	start, err := w.Movements.StockAt(p.From)
	if err != nil {
		return nil, err
	}
	f := factsAbout(names, "")
	k := keptOf(totals, names)
	f.stock(start, k.stockAfter(start))
	for id, b := range f.bins {
		b.Added = k.bin(id)
	}
	q := Query{To: p.To}
	if err := w.readMovements(f, q); err != nil {
		return nil, err
	}
	if err := w.readHarvests(f, q); err != nil {
		return nil, err
	}
	return f, w.readFeedAndChecks(f, k, p)
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

// readFeedAndChecks reads the feedings and checks of a period, and those before
// it back to where they no longer matter to any bin.
func (w *work) readFeedAndChecks(f *facts, k kept, p season.Period) error {
	since, none, err := w.since(f, k, p)
	if none || err != nil {
		return err
	}
	q := Query{From: since, To: p.To}
	if err := w.readFeedings(f, q); err != nil {
		return err
	}
	if err := w.readChecks(f, q); err != nil {
		return err
	}
	for _, id := range f.order {
		if !k.leftovers[id] {
			continue
		}
		if err := w.readOlder(f.bins[id], f.names, since, p); err != nil {
			return err
		}
		if err := w.readMeanMass(f.bins[id], p.To); err != nil {
			return err
		}
	}
	return nil
}

// readOlder reads what came before since into a bin that seems never to have
// been fed before the period: only its whole history tells whether it was.
func (w *work) readOlder(b *season.BinFacts, names Names, since time.Time, p season.Period) error {
	fedBefore := func(x season.Feed) bool { return !x.Bedding && x.At.Before(p.From) }
	if since.IsZero() || slices.ContainsFunc(b.Feeds, fedBefore) {
		return nil
	}
	id := BinID(b.ID)
	older := factsAbout(names, id)
	q := Query{Bin: id, To: since}
	if err := w.readFeedings(older, q); err != nil {
		return err
	}
	if err := w.readChecks(older, q); err != nil {
		return err
	}
	b.Feeds = append(older.bins[id].Feeds, b.Feeds...)
	b.Leftovers = append(older.bins[id].Leftovers, b.Leftovers...)
	return nil
}

// since returns from when on feedings and checks are needed for the figures of a
// period, zero from the beginning; none where no figure needs one. A processing
// rate takes them since all was gone, a yield since the full harvest before, and
// feedings without a moisture are named.
func (w *work) since(f *facts, k kept, p season.Period) (since time.Time, none bool, err error) {
	since, none = p.From, len(k.leftovers)+len(k.unknown) == 0
	for _, b := range f.bins {
		if opened, closed := emptied(b, p); closed {
			since, none = earlier(since, opened), false
		}
	}
	if len(k.leftovers) == 0 || since.IsZero() {
		return since, none, nil
	}
	gone, err := w.lastGone(k.leftovers, p.From)
	return earlier(since, gone), none, err
}

// emptied returns when the window opened that the first full harvest of p
// closed, zero when nothing was before it; and whether there is such a harvest.
func emptied(b *season.BinFacts, p season.Period) (opened time.Time, closed bool) {
	for _, h := range b.Harvests {
		if h.Full && h.At.Before(p.From) && h.At.After(opened) {
			opened = h.At
		}
		closed = closed || h.Full && p.Contains(h.At)
	}
	return opened, closed
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// lastGone returns the moment from which on each of the bins has a check before
// begins that saw nothing left of any feeding; zero when one has none. What was
// fed before such a check is gone for good: a share never rises.
func (w *work) lastGone(bins map[BinID]bool, begins time.Time) (time.Time, error) {
	seen := map[BinID]bool{}
	q := Query{To: begins, Newest: true, Limit: lookBack}
	for {
		checks, err := w.Checks.List(q)
		if err != nil {
			return time.Time{}, err
		}
		for _, c := range checks {
			if bins[c.Bin] && c.nothingLeft() {
				seen[c.Bin] = true
			}
			if len(seen) == len(bins) {
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

// lookBack is how many checks are read at a time in looking back for some.
const lookBack = 200

func (c Check) nothingLeft() bool {
	some := func(l Leftover) bool { return l.Percent > 0 }
	return c.LeftoverAll != nil && *c.LeftoverAll == 0 && !slices.ContainsFunc(c.Leftovers, some)
}
