package service

import (
	"context"

	"lumbricary.example/service/lineage"
)

// Ancestry is where a lot came from, and how much of it by which way.
type Ancestry struct {
	LotLineage
	Parts    map[LotID]int64 // of the lots of Custody, of lineage.One: how much of the lot descends from each
	Upstream int             // the lots that the lot descends from; mostCounted where they are more
	More     bool            // than Upstream
}

// mostCounted is how far ancestors are counted.
const mostCounted = 1000

// Ancestry returns a lot's lineage with what each lot on the way contributed.
// Errors: those of Lineage.
func (s Reports) Ancestry(ctx context.Context, a Actor, id LotID) (Ancestry, error) {
	return figures(ctx, s.Desk, a, func(w *work) (Ancestry, error) { return w.ancestry(id) })
}

func (w *work) ancestry(id LotID) (out Ancestry, err error) {
	if out.LotLineage, err = w.lineageOf(id); err != nil {
		return out, err
	}
	var lots []lineage.Lot
	for _, step := range out.Custody {
		lots = append(lots, step.Lot.Lot)
	}
	out.Parts = map[LotID]int64{}
	for id, parts := range lineage.Contributions(lots) {
		out.Parts[LotID(id)] = parts
	}
	out.Upstream = len(out.Custody) - 1
	if out.Older {
		all, err := w.upstream(out.Lot, lineage.Page{Limit: mostCounted + 1})
		if err != nil {
			return out, err
		}
		out.Upstream, out.More = min(len(all), mostCounted), len(all) > mostCounted
	}
	return out, nil
}
