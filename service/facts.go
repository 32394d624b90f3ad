package service

import (
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// facts reads what the computing packages need to know of bins, from their
// start up to the moment to: of one bin, or of all of the club's when bin is
// empty. It is a handful of queries whatever the number of bins.
type facts struct {
	bins      map[BinID]*season.BinFacts
	order     []BinID
	movements []Movement // in effective order, without what was reversed
	standing  map[MovementID]bool
	counted   map[BinID]count
	names     Names
}

// count is what the censuses of one moment found in a bin.
type count struct {
	at   time.Time
	mass map[SpeciesID]unit.Mass
	cv   float64
}

func (w *work) factsOf(bin BinID, from, to time.Time) (*facts, error) {
	names, err := w.names()
	if err != nil {
		return nil, err
	}
	f := factsAbout(names, bin)
	if err := w.readHistory(f, Query{Bin: bin, To: to}); err != nil {
		return nil, err
	}
	return f, w.readStock(f, from, to)
}

// factsAbout returns the facts that the names alone tell: of one bin, or of all
// when bin is empty.
func factsAbout(names Names, bin BinID) *facts {
	f := &facts{bins: map[BinID]*season.BinFacts{}, standing: map[MovementID]bool{}, counted: map[BinID]count{}, names: names}
	for id, b := range names.Bins {
		if bin == "" || id == bin {
			f.bins[id] = &season.BinFacts{
				ID: string(id), Site: string(b.Site), Member: string(b.Keeper),
				Started: b.Started.Time, Retired: b.Retired.Time,
			}
			f.order = append(f.order, id)
		}
	}
	slices.Sort(f.order)
	return f
}

// readHistory reads what q asks for; of the journal, all up to its end.
func (w *work) readHistory(f *facts, q Query) error {
	if err := w.readFeedings(f, q); err != nil {
		return err
	}
	if err := w.readChecks(f, q); err != nil {
		return err
	}
	if err := w.readMovements(f, Query{Bin: q.Bin, To: q.To}); err != nil {
		return err
	}
	return w.readHarvests(f, q)
}

func (w *work) readFeedings(f *facts, q Query) error {
	feedings, err := w.Feedings.List(q)
	for _, x := range feedings {
		b := f.bins[x.Bin]
		for _, it := range x.Items {
			m := f.names.Materials[it.Material]
			if m.Kind == AmendmentMaterial {
				continue // grit and lime are neither eaten nor carbon
			}
			b.Feeds = append(b.Feeds, season.Feed{
				Feed: rates.Feed{
					ID: string(x.ID), At: x.At.Time, Bedding: m.Kind == BeddingMaterial, Wet: it.Wet, Moisture: feedMoisture(it, m),
				},
				Material: string(it.Material), Weighed: it.Weighed,
			})
		}
	}
	return err
}

func feedMoisture(it FeedingItem, m Material) yields.Moisture {
	switch {
	case it.Moisture != nil:
		return yields.Moisture{Known: true, Percent: *it.Moisture, Basis: yields.Measured}
	case m.Moisture != nil:
		return yields.Moisture{Known: true, Percent: *m.Moisture, Basis: yields.Material}
	}
	return yields.Moisture{}
}

func (w *work) readChecks(f *facts, q Query) error {
	checks, err := w.Checks.List(q)
	for _, c := range checks {
		l := rates.Leftover{Check: string(c.ID), At: c.At.Time, All: c.LeftoverAll}
		for _, x := range c.Leftovers {
			if l.Of == nil {
				l.Of = map[string]unit.Percent{}
			}
			l.Of[string(x.Feeding)] = x.Percent
		}
		if l.All != nil || l.Of != nil {
			f.bins[c.Bin].Leftovers = append(f.bins[c.Bin].Leftovers, l)
		}
	}
	return err
}

func (w *work) readHarvests(f *facts, q Query) error {
	harvests, err := w.Harvests.List(q)
	for _, h := range harvests {
		if !f.standing[MovementID(h.ID)] {
			continue
		}
		f.bins[h.Bin].Harvests = append(f.bins[h.Bin].Harvests, season.Harvest{
			Harvest: yields.Harvest{ID: string(h.ID), At: h.At.Time, Full: h.Full, Wet: h.Wet, Moisture: castingsMoisture(h), PutBack: h.PutBack},
			Batch:   string(h.Batch),
		})
	}
	return err
}

func castingsMoisture(h Harvest) yields.Moisture {
	if h.Moisture != nil {
		return yields.Moisture{Known: true, Percent: *h.Moisture, Basis: yields.Measured}
	}
	return yields.Moisture{Known: true, Percent: DefaultCastingsMoisture, Basis: yields.Default}
}

// readMovements reads the journal and turns it into anchors and jumps: the
// first arrival in a bin and every census are anchors, all other arrivals and
// departures are jumps.
func (w *work) readMovements(f *facts, q Query) error {
	censuses, err := w.Censuses.List(q)
	if err != nil {
		return err
	}
	all, err := w.movementsOf(q, censuses)
	if err != nil {
		return err
	}
	f.keep(all)
	counted := map[MovementID]Census{}
	for _, c := range censuses {
		counted[c.Movement] = c
	}
	book := map[BinID]map[SpeciesID]unit.Mass{}
	for _, m := range f.movements {
		f.anchor(m, counted[m.ID], book)
	}
	return nil
}

// keep takes the movements that stand: not what was reversed, nor reversals.
func (f *facts) keep(all []Movement) {
	for _, m := range all {
		if m.ReversedBy == "" && m.Kind != journal.Reversal {
			f.movements = append(f.movements, m)
			f.standing[m.ID] = true
		}
	}
}

// movementsOf lists the movements of q in effective order. Those of a bin are
// the ones that post on it, and those of its censuses and harvests, which need
// not: a census may find what the book says, a harvest may take castings alone.
func (w *work) movementsOf(q Query, censuses []Census) ([]Movement, error) {
	all, err := w.Movements.List(q)
	if err != nil || q.Bin == "" {
		return all, err
	}
	harvests, err := w.Harvests.List(q)
	if err != nil {
		return nil, err
	}
	unlisted := map[MovementID]bool{}
	for _, c := range censuses {
		unlisted[c.Movement] = true
	}
	for _, h := range harvests {
		unlisted[MovementID(h.ID)] = true
	}
	for _, m := range all {
		delete(unlisted, m.ID)
	}
	more, err := w.Movements.Some(slices.Sorted(maps.Keys(unlisted)))
	all = append(all, more...)
	slices.SortFunc(all, func(a, b Movement) int { return journal.Compare(a.Entry(), b.Entry()) })
	return all, err
}

// anchor notes what a movement says about the stock of its bins; book holds
// each bin's book before it, and after it on return.
func (f *facts) anchor(m Movement, c Census, book map[BinID]map[SpeciesID]unit.Mass) {
	if b := f.bins[c.Bin]; c.ID != "" && b != nil {
		f.count(b, c, book[c.Bin])
	}
	cv := 0.0
	for _, l := range m.Lines {
		cv = max(cv, l.CV)
	}
	for _, p := range m.Postings {
		bin, species, ok := inBin(p)
		if !ok {
			continue
		}
		if book[bin] == nil {
			book[bin] = map[SpeciesID]unit.Mass{}
		}
		book[bin][species] += p.Amount
	}
	if m.Kind == journal.Census {
		return
	}
	delta := m.stockChange()
	for _, bin := range slices.Sorted(maps.Keys(delta)) {
		if b := f.bins[bin]; b != nil && delta[bin] != 0 {
			move(b, m, delta[bin], cv)
		}
	}
}

// inBin returns the bin and the species of a posting on a bin's stock.
func inBin(p journal.Posting) (BinID, SpeciesID, bool) {
	species, worms := p.Commodity.Species()
	return BinID(p.Account.Ref), SpeciesID(species), worms && p.Account.Kind == journal.BinAccount
}

// stockChange returns what m does to the stock of each bin, all species
// together.
func (m Movement) stockChange() map[BinID]unit.Mass {
	out := map[BinID]unit.Mass{}
	for _, p := range m.Postings {
		if bin, _, ok := inBin(p); ok {
			out[bin] += p.Amount
		}
	}
	return out
}

// count makes an anchor of a census: what was counted of one species beside the
// book of the others. Censuses of several species at one moment make one anchor,
// as sure as the least sure of them.
func (f *facts) count(b *season.BinFacts, c Census, book map[SpeciesID]unit.Mass) {
	n := f.counted[c.Bin]
	last := len(b.Anchors) - 1
	if n.at.Equal(c.At.Time) && last >= 0 {
		b.Anchors = b.Anchors[:last]
	} else {
		n = count{at: c.At.Time, mass: map[SpeciesID]unit.Mass{}}
	}
	n.mass[c.Species], n.cv = c.Mass, max(n.cv, c.CV)
	f.counted[c.Bin] = n
	mass := total(n.mass)
	for s, m := range book {
		if _, seen := n.mass[s]; !seen {
			mass += m
		}
	}
	b.Anchors = append(b.Anchors, rates.Anchor{ID: string(c.ID), At: c.At.Time, Mass: mass, CV: n.cv, Kind: rates.Census})
}

// move notes an arrival or a departure: the first arrival anchors the stock.
func move(b *season.BinFacts, m Movement, by unit.Mass, cv float64) {
	if len(b.Anchors) == 0 && len(b.Jumps) == 0 && by > 0 {
		b.Anchors = append(b.Anchors, rates.Anchor{ID: string(m.ID), At: m.At.Time, Mass: by, CV: cv, Kind: rates.Stocking})
		return
	}
	b.Jumps = append(b.Jumps, rates.Jump{ID: string(m.ID), At: m.At.Time, Mass: by, CV: cv})
}

func total(book map[SpeciesID]unit.Mass) (sum unit.Mass) {
	for _, m := range book {
		sum += m
	}
	return sum
}

// readStock fills each bin's book per species at both ends of the period, and
// the mean mass of a worm.
func (w *work) readStock(f *facts, from, to time.Time) error {
	start, err := w.Movements.StockAt(from)
	if err != nil {
		return err
	}
	end, err := w.Movements.StockAt(to)
	if err != nil {
		return err
	}
	f.stock(start, end)
	for _, id := range f.order {
		if err := w.readMeanMass(f.bins[id], to); err != nil {
			return err
		}
	}
	return nil
}

// stock fills each bin's book per species from the books at both ends.
func (f *facts) stock(start, end map[BinID]map[SpeciesID]unit.Mass) {
	for _, id := range f.order {
		both := map[SpeciesID]bool{}
		for s := range start[id] {
			both[s] = true
		}
		for s := range end[id] {
			both[s] = true
		}
		for _, s := range slices.Sorted(maps.Keys(both)) {
			f.bins[id].Stock = append(f.bins[id].Stock, season.SpeciesStock{Species: string(s), Start: start[id][s], End: end[id][s]})
		}
	}
}

// readMeanMass fills the mean mass of a worm in a bin of one species.
func (w *work) readMeanMass(b *season.BinFacts, at time.Time) error {
	if len(b.Stock) != 1 {
		return nil
	}
	mean, err := w.meanMass(BinID(b.ID), SpeciesID(b.Stock[0].Species), at)
	b.MeanWormMg = mean.Mg
	return err
}

// moved returns the movements as season counts them: one for each line.
func (f *facts) moved() []season.Movement {
	var out []season.Movement
	for _, m := range f.movements {
		for i, l := range m.Lines {
			if l.Material {
				continue
			}
			x := season.Movement{
				ID: string(m.ID), At: m.At.Time, Kind: string(m.Kind), Species: string(l.Species), Mass: l.Mass,
				From: string(m.FromMember), To: string(m.ToMember), Terms: string(m.Terms),
				Outside: m.Kind == journal.Stocking || m.Kind == journal.HandOver && m.ToBin == "",
			}
			if i == 0 && m.PriceMinor != nil {
				x.Price, x.Currency = *m.PriceMinor, m.Currency
			}
			switch m.Cause {
			case SeenDead, LostBin:
				x.SeenDead = l.Mass
			case Escaped, WriteOff, Spoiled:
				x.Lost = l.Mass
			case NoCause:
			}
			out = append(out, m.handed(x, l))
		}
	}
	return out
}

// handed is x for a line of a transfer's entry: it changes hands when it arrives,
// with all that was sent and didn't go back.
func (m Movement) handed(x season.Movement, l Line) season.Movement {
	switch m.Kind {
	case journal.Dispatch:
		x.Terms = ""
	case journal.Arriving:
		x.Mass = l.came().Sum() - l.Returned
		x.SeenDead, x.Lost = l.Dead, l.Missing
	case journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Loss, journal.Census, journal.Harvest, journal.Rework, journal.Use, journal.Reversal:
		return x
	}
	x.Outside = m.FromMember == "" || m.ToMember == ""
	return x
}

// all returns the facts of the bins in the order of their ids.
func (f *facts) all() []season.BinFacts {
	out := make([]season.BinFacts, 0, len(f.order))
	for _, id := range f.order {
		out = append(out, *f.bins[id])
	}
	return out
}
