package service

import (
	"context"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// TraceStep is a lot that another descends from, or that descends from it.
type TraceStep struct {
	Lot      Lot       // without its shares
	Depth    int       // arrivals between the two, by the shortest way
	Parts    int64     // of lineage.One: how much of it descends from the other; 0 upstream
	Stands   unit.Mass // now; 0 once the lot has ended
	Descends unit.Mass // of what stands: from the other; 0 upstream
}

// Upstream returns a page of the lots that a lot descends from, the newest first.
// Of q it heeds After and Limit, which must be positive. Errors: ErrClubNotFound,
// ErrLotNotFound, ErrCursor.
func (s Reports) Upstream(ctx context.Context, a Actor, id LotID, q Query) ([]TraceStep, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]TraceStep, error) { return w.trace(id, q, w.upstream) })
}

// Downstream returns a page of the lots that descend from a lot, the oldest first,
// with what stands there now and how much of that descends from it. Of q it heeds
// After and Limit, which must be positive. Errors: ErrClubNotFound, ErrLotNotFound,
// ErrCursor.
func (s Reports) Downstream(ctx context.Context, a Actor, id LotID, q Query) ([]TraceStep, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]TraceStep, error) {
		steps, err := w.trace(id, q, w.downstream)
		if err != nil {
			return nil, err
		}
		return steps, w.standsNow(steps)
	})
}

// trace reads the page after the place of q. A lot never goes, so the last of the
// page before is there.
func (w *work) trace(id LotID, q Query, walk func(Lot, lineage.Page) ([]TraceStep, error)) ([]TraceStep, error) {
	of, err := w.Lots.Get(id)
	if err != nil {
		return nil, err
	}
	p := lineage.Page{Limit: q.Limit}
	if q.After.ID != "" {
		after, err := w.Lots.Get(LotID(q.After.ID))
		if err != nil {
			return nil, ErrCursor.Because(err)
		}
		p.After = after.Lot
	}
	return walk(of, p)
}

func (w *work) upstream(of Lot, p lineage.Page) ([]TraceStep, error) {
	src := derived{w, map[string]Lot{}}
	steps, err := lineage.Upstream(of.Lot, p, func(ids []string) ([]lineage.Lot, error) {
		return src.keep(w.Lots.Bare(asIDs[LotID](ids)))
	})
	return src.steps(steps), err
}

func (w *work) downstream(of Lot, p lineage.Page) ([]TraceStep, error) {
	src := derived{w, map[string]Lot{}}
	steps, err := lineage.Downstream(of.Lot, p, func(ids []string) ([]lineage.Lot, error) {
		return src.keep(w.Lots.BareChildren(asIDs[LotID](ids)))
	})
	return src.steps(steps), err
}

// steps puts the lots that were read into steps.
func (d derived) steps(steps []lineage.Step) []TraceStep {
	out := make([]TraceStep, len(steps))
	for i, s := range steps {
		out[i] = TraceStep{Lot: d.lots[s.Lot.ID], Depth: s.Depth, Parts: s.Parts}
	}
	return out
}

// standsNow fills what stands of the lots.
func (w *work) standsNow(steps []TraceStep) error {
	var bins []BinID
	for _, s := range steps {
		if s.Lot.Current() {
			bins = append(bins, BinID(s.Lot.Place.Bin))
		}
	}
	stock, err := w.Movements.Stocks(bins)
	for i, s := range steps {
		if s.Lot.Current() {
			steps[i].Stands = stock[BinID(s.Lot.Place.Bin)][SpeciesID(s.Lot.Place.Species)]
			steps[i].Descends = lineage.PartOf(steps[i].Stands, s.Parts)
		}
	}
	return err
}
