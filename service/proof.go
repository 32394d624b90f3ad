package service

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/proof"
)

// Proof is what is wrong in the book of a club; Healed was, before it was derived
// again.
type Proof struct {
	Club   Club
	Wrong  []proof.Finding
	Healed []proof.Finding
}

// Prove holds the book of a club, or of every club where none is named, against
// the rules that are always true of it, each in one snapshot. Errors:
// ErrClubNotFound, the store's.
func (s *Service) Prove(ctx context.Context, club string) ([]Proof, error) {
	return s.eachClub(ctx, club, s.Store.View, func(w *work) (Proof, error) {
		b, err := w.proven()
		return Proof{Club: w.Club, Wrong: proof.Verify(b)}, err
	})
}

// Rebuild derives again all that is derived, of a club or of every club where none
// is named, each in one transaction. Errors: ErrClubNotFound; ErrMoreThanBook and
// those of package lineage where the journal itself is damaged, which leaves the
// club as it was; the store's.
func (s *Service) Rebuild(ctx context.Context, club string) ([]Proof, error) {
	return s.eachClub(ctx, club, s.Store.Update, (*work).rebuild)
}

// eachClub does something to the book of one club, or of each.
func (s *Service) eachClub(ctx context.Context, ref string, through door, do func(*work) (Proof, error)) ([]Proof, error) {
	clubs, err := s.clubs(ctx)
	if ref != "" {
		var c Club
		c, err = s.club(ctx, ref)
		clubs = []Club{c}
	}
	if err != nil {
		return nil, err
	}
	out := make([]Proof, len(clubs))
	for i, c := range clubs {
		err := through(ctx, c.ID, func(tx Tx) (err error) {
			out[i], err = do(&work{Tx: tx, now: s.Now().Truncate(time.Microsecond), zone: tx.Club.Zone(), desk: s.Desk})
			return err
		})
		if err != nil {
			return out[:i], fmt.Errorf("club %s: %w", c.Handle, err)
		}
	}
	return out, nil
}

// rebuild derives again all that is derived.
func (w *work) rebuild() (Proof, error) {
	before, err := w.proven()
	if err != nil {
		return Proof{}, err
	}
	if err := w.Movements.Repost(before.Entries); err != nil {
		return Proof{}, err
	}
	if err := w.derive(before); err != nil {
		return Proof{}, err
	}
	after, err := w.proven()
	return Proof{Club: w.Club, Wrong: proof.Verify(after), Healed: proof.Stale(before)}, err
}

// derive writes what follows from a book: accounts, lots, timelines and totals.
// Errors: those of Rebuild.
func (w *work) derive(from proof.Book) error {
	for _, step := range []func() error{
		func() error { return w.Movements.Rebook(proof.Sums(from.Entries)) },
		w.deriveAll,
		func() error { return w.Events.Replace(eventsOf(from.Due)) },
		w.rebuildTotals,
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func eventsOf(all []proof.Event) []BinEvent {
	out := make([]BinEvent, len(all))
	for i, e := range all {
		out[i] = BinEvent{BinID(e.Bin), e.At, e.Seq, EventKind(e.Kind), e.Record}
	}
	return out
}

// proven reads the whole book as it is to be proven.
func (w *work) proven() (b proof.Book, err error) {
	for _, read := range []func() error{
		func() error { return w.provenFacts(&b) },
		func() (err error) { b.Lines, err = w.Movements.Posted(); return err },
		func() (err error) { b.Held, err = w.Movements.Held(); return err },
		func() error { return w.provenLots(&b) },
		func() error { return w.provenEvents(&b) },
		func() error { return w.provenTransfers(&b) },
		func() error { return w.provenTotals(&b) },
		func() error { return w.provenCultures(&b) },
	} {
		if err := read(); err != nil {
			return b, err
		}
	}
	return b, nil
}

// provenFacts reads what the rest of a book is derived from.
func (w *work) provenFacts(b *proof.Book) (err error) {
	if b.Entries, err = w.Movements.Entries(); err != nil {
		return err
	}
	for _, read := range []func(*proof.Book) error{w.provenBins, w.provenRecords, w.provenMovements} {
		if err := read(b); err != nil {
			return err
		}
	}
	return nil
}

func (w *work) provenLots(b *proof.Book) error {
	all, err := w.Lots.All()
	for _, l := range all {
		b.Lots = append(b.Lots, proof.Lot{Lot: l.Lot, Member: string(l.Member)})
	}
	return err
}

// provenEvents reads the timelines.
func (w *work) provenEvents(b *proof.Book) error {
	events, err := w.Events.List(Query{})
	for _, e := range events {
		b.Events = append(b.Events, proof.Event{Bin: string(e.Bin), At: e.At, Seq: e.Seq, Kind: string(e.Kind), Record: e.ID})
	}
	return err
}

// provenBins reads the bins and their quarantines.
func (w *work) provenBins(b *proof.Book) error {
	if err := reading(w.Bins, Query{}, func(bin Bin) {
		b.Bins = append(b.Bins, proof.Bin{ID: string(bin.ID), Retired: bin.Retired.Time})
	})(); err != nil {
		return err
	}
	return reading(w.Quarantines, Query{Voided: true}, func(q Quarantine) {
		wanted(b, q.events()...)
		if !q.void() {
			b.Quarantines = append(b.Quarantines, proof.Stay{ID: string(q.ID), Bin: string(q.Bin), From: q.At.Time, To: q.Released.Time})
		}
	})()
}

// wanted notes an event that the timelines are to have.
func wanted(b *proof.Book, events ...BinEvent) {
	for _, e := range events {
		b.Due = append(b.Due, proof.Event{Bin: string(e.Bin), At: e.At, Seq: e.Seq, Kind: string(e.Kind), Record: e.ID})
	}
}

// provenRecords reads the censuses, and what feedings, checks, contacts and clearings ask of the
// timelines.
func (w *work) provenRecords(b *proof.Book) error {
	whole := Query{Voided: true}
	for _, read := range []func() error{
		reading(w.Feedings, whole, func(f Feeding) { wanted(b, BinEvent{f.Bin, f.At.Time, f.Recorded.Seq, FeedingEvent, string(f.ID)}) }),
		reading(w.Contacts, whole, func(c BinContact) { wanted(b, c.events()...) }),
		reading(w.Clearings, whole, func(c Clearing) { wanted(b, c.events()...) }),
		reading(w.Checks, whole, func(c Check) { wanted(b, BinEvent{c.Bin, c.At.Time, c.Recorded.Seq, CheckEvent, string(c.ID)}) }),
		reading(w.Censuses, Query{}, func(c Census) {
			b.Censuses = append(b.Censuses, proof.Census{Assertion: c.assertion(), Book: c.Book, Posted: c.Posted})
		}),
	} {
		if err := read(); err != nil {
			return err
		}
	}
	return nil
}

// assertion is the census as the journal sees it.
func (c Census) assertion() journal.Assertion {
	return journal.Assertion{
		ID: string(c.ID), Entry: string(c.Movement), Bin: journal.Bin(string(c.Bin)), Commodity: journal.Worms(string(c.Species)),
		At: c.At.Time, Seq: c.Recorded.Seq, Level: c.Mass, Low: c.Low, High: c.High, Apply: c.Apply,
	}
}

// provenMovements reads who kept what after each movement, and what movements,
// censuses and harvests ask of the timelines.
func (w *work) provenMovements(b *proof.Book) error {
	bins, err := w.ownBins()
	if err != nil {
		return err
	}
	b.Keepers, b.Givers, b.Goals = map[string]string{}, map[string]string{}, map[string]string{}
	return reading(w.Movements, Query{}, func(m Movement) {
		b.Keepers[string(m.ID)], b.Givers[string(m.ID)] = string(m.ToMember), string(cmp.Or(m.FromMember, m.ToMember))
		if m.Kind == journal.Arriving {
			b.Goals[string(m.ID)] = string(m.ToBin)
		}
		kind, touched := m.event(), m.bins()
		own, first := bins[m.ID]
		if kind == CensusEvent && !first {
			kind = MovementEvent // a census that posted anew
		}
		if first && !slices.Contains(touched, own) {
			touched = append(touched, own)
		}
		for _, bin := range touched {
			wanted(b, BinEvent{bin, m.At.Time, m.Recorded.Seq, kind, string(m.ID)})
		}
	})()
}

// ownBins returns the bin of each census and harvest by its movement, which need
// not move anything in or out of it.
func (w *work) ownBins() (map[MovementID]BinID, error) {
	out := map[MovementID]BinID{}
	if err := reading(w.Harvests, Query{}, func(h Harvest) { out[MovementID(h.ID)] = h.Bin })(); err != nil {
		return nil, err
	}
	return out, reading(w.Censuses, Query{}, func(c Census) { out[MovementID(c.ID)] = c.Bin })()
}

// deriveAll derives every lot of the club again from its journal.
func (w *work) deriveAll() error {
	entries, err := w.Movements.Entries()
	if err != nil {
		return err
	}
	derived, _, err := lineage.Derive(entries)
	if err != nil {
		return err
	}
	var lots []Lot
	for _, l := range derived {
		lots = append(lots, Lot{Lot: l})
	}
	slices.SortFunc(lots, func(a, b Lot) int {
		return cmp.Or(a.OpenedAt.Compare(b.OpenedAt), cmp.Compare(a.OpenedSeq, b.OpenedSeq), cmp.Compare(a.ID, b.ID))
	})
	if err := w.keepers(lots, nil); err != nil {
		return err
	}
	return w.Lots.Replace(lots)
}

// provenTransfers reads what is under way.
func (w *work) provenTransfers(b *proof.Book) error {
	open, err := w.Transfers.Open()
	for _, t := range open {
		for _, l := range t.Deal.Legs {
			if l.State == exchange.UnderWay {
				b.UnderWay = append(b.UnderWay, l.ID)
			}
		}
	}
	return err
}

// provenTotals reads the monthly totals beside what the records add up to, where
// they differ.
func (w *work) provenTotals(b *proof.Book) error {
	wrong, err := w.wrongTotals()
	for _, t := range wrong {
		b.Totals = append(b.Totals, proof.Total{Key: fmt.Sprintf("%+v", t.TotalKey), Kept: fmt.Sprintf("%+v", t.Kept), Due: fmt.Sprintf("%+v", t.Derived)})
	}
	return err
}

// provenCultures reads which cultures were merged, and to which origins belong.
func (w *work) provenCultures(b *proof.Book) error {
	b.Merged, b.Origins = map[string]string{}, map[string]string{}
	if err := reading(w.Cultures, Query{}, func(c Culture) {
		if c.MergedInto != "" {
			b.Merged[string(c.ID)] = string(c.MergedInto)
		}
	})(); err != nil {
		return err
	}
	return reading(w.Origins, Query{}, func(o Origin) {
		if o.Culture != "" {
			b.Origins[string(o.ID)] = string(o.Culture)
		}
	})()
}
