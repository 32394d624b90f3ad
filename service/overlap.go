package service

import (
	"context"

	"lumbricary.example/service/lineage"
)

// LotOverlap is what two lots have in common.
type LotOverlap struct {
	Club    Club
	A, B    Lot
	Known   bool // both lots stand; a withdrawn one has no shares to compare
	Common  []lineage.InCommon
	Parts   int64 // of lineage.One: all of Common
	Unknown int64 // of it: of unknown origin in both
	Nearest []CommonAncestor
	Cut     bool // the search for ancestors was given up
	Names   Names
}

// CommonAncestor is a lot that two lots both descend from, or one of the two, with
// the movement that opened it and the arrivals between it and each.
type CommonAncestor struct {
	CustodyStep
	A, B int
}

// ancestorSteps is how many lots a search for common ancestors comes by.
const ancestorSteps = 2000

// Overlap returns what two lots have in common: by their shares of every origin, and
// the nearest lots that both descend from. Worms of two species have nothing in
// common, also where nobody knows their origins. Errors: ErrClubNotFound,
// ErrForbidden, ErrLotNotFound.
func (s Reports) Overlap(ctx context.Context, a Actor, id, other LotID) (LotOverlap, error) {
	return read(ctx, s.Desk, a, func(w *work) (LotOverlap, error) { return w.overlap(id, other) })
}

func (w *work) overlap(id, other LotID) (out LotOverlap, err error) {
	if out.A, err = w.Lots.Get(id); err != nil {
		return out, err
	}
	if out.B, err = w.Lots.Get(other); err != nil {
		return out, err
	}
	if out.Names, err = w.names(); err != nil {
		return out, err
	}
	out.Club, out.Known = w.Club, !out.A.Withdrawn && !out.B.Withdrawn
	if out.A.Place.Species != out.B.Place.Species {
		return out, nil
	}
	out.Common, out.Parts = lineage.Overlap(out.A.Shares, out.B.Shares)
	for _, c := range out.Common {
		if c.Origin == lineage.Unknown {
			out.Unknown = c.Parts
		}
	}
	return out, w.nearest(&out)
}

// nearest finds the nearest common ancestors.
func (w *work) nearest(out *LotOverlap) error {
	src := derived{w, map[string]Lot{out.A.ID: out.A, out.B.ID: out.B}}
	found, cut, err := lineage.Nearest(out.A.Lot, out.B.Lot, ancestorSteps, func(ids []string) ([]lineage.Lot, error) {
		return src.keep(w.Lots.Bare(asIDs[LotID](ids)))
	})
	if err != nil {
		return err
	}
	lots := make([]Lot, len(found))
	for i, n := range found {
		lots[i] = src.lots[n.Lot.ID]
	}
	by, err := w.openers(lots)
	for i, n := range found {
		out.Nearest = append(out.Nearest, CommonAncestor{CustodyStep{lots[i], by[lots[i].OpenedBy]}, n.A, n.B})
	}
	out.Cut = cut
	return err
}
