package service

import (
	"cmp"
	"context"
	"time"

	"lumbricary.example/service/balance"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// MaterialsBalance is what came in, lies there and went out in a season: by
// material and by batch.
type MaterialsBalance struct {
	Period  season.Period
	AsOf    time.Time
	Piles   []balance.Pile
	Stores  []balance.Store
	Names   Names
	Batches map[BatchID]Batch
}

// MaterialsBalance returns the materials balance of a period, given as for
// Season. Errors: ErrClubNotFound, ErrPeriod.
func (s Reports) MaterialsBalance(ctx context.Context, a Actor, code string) (MaterialsBalance, error) {
	return read(ctx, s.Desk, a, func(w *work) (out MaterialsBalance, err error) {
		period, err := w.period(code)
		if err != nil {
			return out, err
		}
		names, err := w.names()
		if err != nil {
			return out, err
		}
		b, err := w.materialsBalance(period, names)
		if err != nil {
			return out, err
		}
		return *b, nil
	})
}

// materialsBalance works out the materials balance of a period. Errors: the
// store's.
func (w *work) materialsBalance(p season.Period, n Names) (*MaterialsBalance, error) {
	out, span := &MaterialsBalance{Period: p, AsOf: w.now, Names: n}, balance.Period{From: p.From, To: p.To}
	var err error
	if out.Piles, err = w.piles(span); err != nil {
		return nil, err
	}
	entries, err := w.batchEntries("")
	if err != nil {
		return nil, err
	}
	out.Stores = balance.Stores(entries, span)
	out.Batches, err = index(w.Batches, func(b Batch) (BatchID, Batch) { return b.ID, b })
	return out, err
}

// piles reads what came in and was fed before the end of a period.
func (w *work) piles(p balance.Period) ([]balance.Pile, error) {
	all, err := w.Receipts.List(Query{})
	if err != nil {
		return nil, err
	}
	var receipts []balance.Receipt
	stands := map[ReceiptID]bool{}
	for _, r := range all {
		stands[r.ID] = true
		receipts = append(receipts, balance.Receipt{
			ID: string(r.ID), Material: string(r.Material), At: r.At.Time, Net: r.Net, Rejected: r.Rejected, Residue: r.Residue,
		})
	}
	feedings, err := w.Feedings.List(Query{To: p.To})
	var feeds []balance.Feed
	for _, f := range feedings {
		for _, it := range f.Items {
			fed := balance.Feed{ID: string(f.ID), Material: string(it.Material), At: f.At.Time, Wet: it.Wet}
			if stands[it.Receipt] {
				fed.Receipt = string(it.Receipt)
			}
			feeds = append(feeds, fed)
		}
	}
	return balance.Piles(receipts, feeds, p), err
}

// BatchBalance is what happened to one batch until now.
type BatchBalance struct {
	Batch    Batch
	Store    balance.Store
	Contents balance.Contents // now
	Steps    []BatchStep      // that stand, in the order of their moments
}

// BatchBalance returns what happened to a batch until now. Errors:
// ErrClubNotFound, ErrBatchNotFound.
func (s Reports) BatchBalance(ctx context.Context, a Actor, id BatchID) (BatchBalance, error) {
	return read(ctx, s.Desk, a, func(w *work) (out BatchBalance, err error) {
		if out.Batch, err = w.Batches.Get(id); err != nil {
			return out, err
		}
		if out.Steps, err = w.BatchSteps.List(Query{Batch: id}); err != nil {
			return out, err
		}
		entries, err := w.batchEntries(id)
		ever := w.now.Add(2 * futureGrace)
		out.Store = balance.Store{Batch: string(id), Flows: map[balance.Flow]balance.Amount{}}
		for _, st := range balance.Stores(entries, balance.Period{To: ever}) {
			out.Store = st
		}
		out.Contents = balance.At(entries, ever)
		return out, err
	})
}

// Composition is what a batch is made of: by harvest, and by the batch that it
// came out of last.
type Composition struct {
	Batch Batch
	balance.Composition
	Harvests map[HarvestID]Harvest
	Batches  map[BatchID]Batch
	Names    Names
}

// Composition returns what a batch is made of now, or was before it was empty.
// Errors: ErrClubNotFound, ErrBatchNotFound.
func (s Reports) Composition(ctx context.Context, a Actor, id BatchID) (Composition, error) {
	return read(ctx, s.Desk, a, func(w *work) (out Composition, err error) {
		if out, err = w.composition(id); err != nil {
			return out, err
		}
		if out.Names, err = w.names(); err != nil {
			return out, err
		}
		out.Batches, err = index(w.Batches, func(b Batch) (BatchID, Batch) { return b.ID, b })
		return out, err
	})
}

// composition works out what a batch is made of, without names. Errors:
// ErrBatchNotFound.
func (w *work) composition(id BatchID) (out Composition, err error) {
	if out.Batch, err = w.Batches.Get(id); err != nil {
		return out, err
	}
	all, err := w.Movements.List(Query{})
	if err != nil {
		return out, err
	}
	out.Composition = balance.Compose(string(id), mixings(all), w.now.Add(futureGrace))
	var harvests []HarvestID
	for _, s := range out.Sources {
		harvests = append(harvests, HarvestID(s.Harvest))
	}
	some, err := w.Harvests.Some(harvests)
	out.Harvests = map[HarvestID]Harvest{}
	for _, h := range some {
		out.Harvests[h.ID] = h
	}
	return out, err
}

// mixings are the standing movements of castings.
func mixings(all []Movement) (out []balance.Mixing) {
	for _, m := range all {
		if m.ReversedBy != "" || m.isReversal() {
			continue
		}
		x := balance.Mixing{ID: string(m.ID), At: m.At.Time, Seq: m.Recorded.Seq}
		for _, p := range m.Postings {
			switch {
			case p.Account.Kind != journal.BatchAccount:
			case p.Amount < 0:
				x.Out = append(x.Out, balance.Batched{Batch: p.Account.Ref, Dry: -p.Amount})
			default:
				x.Put = append(x.Put, balance.Batched{Batch: p.Account.Ref, Dry: p.Amount})
			}
		}
		if len(x.Out)+len(x.Put) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// contents returns what a batch holds at the end of a moment. Errors: the
// store's.
func (w *work) contents(id BatchID, at time.Time) (balance.Contents, error) {
	entries, err := w.batchEntries(id)
	return balance.At(entries, at), err
}

// batchEntries reads what happened to a batch, or to all of them when it is
// empty, without what was reversed or voided.
func (w *work) batchEntries(id BatchID) ([]balance.Entry, error) {
	all, err := w.Movements.List(Query{Batch: id})
	if err != nil {
		return nil, err
	}
	came, err := w.came(id)
	if err != nil {
		return nil, err
	}
	var out []balance.Entry
	for _, m := range all {
		if m.ReversedBy == "" && !m.isReversal() {
			out = append(out, m.batchEntries(id, came)...)
		}
	}
	steps, err := w.BatchSteps.List(Query{Batch: id})
	for _, s := range steps {
		e := balance.Entry{Batch: string(s.Batch), At: s.At.Time, Seq: s.Recorded.Seq, Flow: balance.Dried, Moisture: s.Moisture}
		if s.Kind == Drying {
			e.Wet = s.Wet
		}
		if e.Wet > 0 || e.Moisture != nil {
			out = append(out, e)
		}
	}
	return out, err
}

// evidence is what was known of the water in castings that a movement brought
// into a batch or took out of it.
type evidence struct {
	wet      unit.Mass
	moisture *unit.Percent
	assumed  bool
}

// movedBatch is a movement and one of its batches.
type movedBatch struct {
	movement MovementID
	batch    BatchID
}

// came reads the evidence of harvests and reworks.
func (w *work) came(id BatchID) (map[movedBatch]evidence, error) {
	out := map[movedBatch]evidence{}
	harvests, err := w.Harvests.List(Query{Batch: id})
	if err != nil {
		return nil, err
	}
	for _, h := range harvests {
		out[movedBatch{MovementID(h.ID), h.Batch}] = evidence{h.Wet, h.Moisture, h.Moisture == nil}
	}
	reworks, err := w.Reworks.List(Query{Batch: id})
	for _, r := range reworks {
		for _, p := range r.From {
			out[movedBatch{MovementID(r.ID), p.Batch}] = evidence{p.Wet, p.Moisture, false}
		}
		for _, p := range r.Into {
			out[movedBatch{MovementID(r.ID), p.Batch}] = evidence{p.Wet, p.Moisture, p.Assumed}
		}
	}
	return out, err
}

// batchEntries are what a movement does to a batch, or to all when it is empty.
func (m Movement) batchEntries(id BatchID, came map[movedBatch]evidence) (out []balance.Entry) {
	for _, p := range m.Postings {
		batch := BatchID(p.Account.Ref)
		if p.Account.Kind != journal.BatchAccount || id != "" && batch != id {
			continue
		}
		ev := came[movedBatch{m.ID, batch}]
		for _, l := range m.Lines {
			if cmp.Or(l.FromBatch, m.FromBatch) == batch && l.Moisture != nil {
				ev.moisture = l.Moisture
			}
		}
		e := balance.Entry{Batch: string(batch), At: m.At.Time, Seq: m.Recorded.Seq, Flow: m.flow(p.Amount > 0), Dry: p.Amount}
		if p.Amount > 0 {
			e.Wet, e.Assumed = ev.wet, ev.assumed
		} else {
			e.Moisture = ev.moisture
		}
		out = append(out, e)
	}
	return out
}

// flow says why a movement brought castings into a batch, or took them out.
func (m Movement) flow(in bool) balance.Flow {
	leaves := m.Kind == journal.HandOver || m.Kind == journal.Dispatch
	switch {
	case m.Kind == journal.Harvest:
		return balance.Harvested
	case m.Kind == journal.Rework && in:
		return balance.ReworkedIn
	case m.Kind == journal.Rework:
		return balance.ReworkedOut
	case in:
		return balance.Arrived
	case m.Kind == journal.Use:
		return balance.Used
	case m.Kind == journal.Loss:
		return balance.Spoiled
	case leaves && m.Terms == Sale:
		return balance.Sold
	case leaves && m.Terms == Swap:
		return balance.Swapped
	case leaves && m.Terms == Gift:
		return balance.Given
	case leaves:
		return balance.HandedOver
	}
	return balance.Left
}
