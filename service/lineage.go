package service

import (
	"cmp"
	"context"
	"slices"
	"time"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// Reports are the use-cases that work something out from the book.
type Reports struct{ *Desk }

// LotLineage is where a lot came from.
type LotLineage struct {
	Club             Club
	Lot              Lot
	Cultures         []CultureShare
	EffectiveSources float64 // 1/Σp² over origins
	Custody          []CustodyStep
	Older            bool // than the first step there are others: see Upstream
	Names            Names
}

// CultureShare is how much of a lot belongs to a culture.
type CultureShare struct {
	Culture CultureID
	Parts   int64 // of lineage.One
	Copy    bool  // enough to keep the culture alive by
}

// CustodyStep is one lot on the way from the origins to a lot, and the movement
// that opened it.
type CustodyStep struct {
	Lot      Lot
	Movement Movement
}

// Lineage returns a lot's shares of every origin and the chain of custody, its
// last 200 steps, down to the lot itself. Errors: ErrClubNotFound, ErrForbidden,
// ErrLotNotFound.
func (s Reports) Lineage(ctx context.Context, a Actor, id LotID) (LotLineage, error) {
	return figures(ctx, s.Desk, a, func(w *work) (LotLineage, error) { return w.lineageOf(id) })
}

func (w *work) lineageOf(id LotID) (out LotLineage, err error) {
	if out.Lot, err = w.Lots.Get(id); err != nil {
		return out, err
	}
	if out.Lot, err = w.showLot(out.Lot); err != nil {
		return out, err
	}
	if out.Names, err = w.names(); err != nil {
		return out, err
	}
	out.Club = w.Club
	out.EffectiveSources = lineage.EffectiveSources(out.Lot.Shares)
	out.Cultures = w.cultureShares(out.Lot.Shares, out.Names)
	out.Custody, out.Older, err = w.custody(out.Lot)
	return out, err
}

// custodySteps is how many steps of a chain of custody are told: the last.
const custodySteps = 200

// custody walks up to the origins, and reports whether it goes further than the
// steps that are told.
func (w *work) custody(of Lot) (steps []CustodyStep, more bool, err error) {
	chain, err := w.upstream(of, lineage.Page{Limit: custodySteps})
	if err != nil {
		return nil, false, err
	}
	more = len(chain) == custodySteps
	lots := []Lot{of}
	for _, s := range chain[:min(len(chain), custodySteps-1)] {
		lots = append(lots, s.Lot)
	}
	slices.Reverse(lots)
	by, err := w.openers(lots)
	for _, l := range lots {
		steps = append(steps, CustodyStep{l, by[l.OpenedBy]})
	}
	return steps, more, err
}

// openers returns the movements that opened lots, by id.
func (w *work) openers(lots []Lot) (map[string]Movement, error) {
	ids := make([]string, len(lots))
	for i, l := range lots {
		ids[i] = l.OpenedBy
	}
	slices.Sort(ids)
	by, err := byID(w.Movements.Some, slices.Compact(ids), func(m Movement) string { return string(m.ID) })
	for id, m := range by {
		by[id] = w.showMovement(m)
	}
	return by, err
}

func asIDs[K ~string](ids []string) []K {
	out := make([]K, len(ids))
	for i, id := range ids {
		out[i] = K(id)
	}
	return out
}

// copyFrom is from how much of a culture on a lot is a copy of it, in parts of
// lineage.One.
func (w *work) copyFrom() int64 { return int64(w.Club.CopyPct) * (lineage.One / 100) }

// cultureShares sums the shares of the origins of each culture, the largest
// first.
func (w *work) cultureShares(shares lineage.Shares, names Names) []CultureShare {
	sums := map[CultureID]int64{}
	for _, s := range shares {
		if c := names.Origins[OriginID(s.Origin)].Culture; c != "" {
			sums[c] += s.Parts
		}
	}
	out := make([]CultureShare, 0, len(sums))
	for c, parts := range sums {
		out = append(out, CultureShare{c, parts, parts >= w.copyFrom()})
	}
	slices.SortFunc(out, func(a, b CultureShare) int {
		return cmp.Or(cmp.Compare(b.Parts, a.Parts), cmp.Compare(a.Culture, b.Culture))
	})
	return out
}

// Copy is a lot in which a culture lives.
type Copy struct {
	Culture CultureID
	Bin     BinID
	Lot     LotID
	Parts   int64
	Book    unit.Mass
	Shares  lineage.Shares // of the lot
}

// copies returns where each culture lives now: the lots with stock of which it
// has enough, by culture and bin.
func (w *work) copies(names Names) ([]Copy, error) {
	standing, err := w.Lots.Standing("")
	if err != nil {
		return nil, err
	}
	stock, err := w.Movements.StockAt(time.Time{})
	if err != nil {
		return nil, err
	}
	var out []Copy
	for _, l := range standing {
		book := stock[BinID(l.Place.Bin)][SpeciesID(l.Place.Species)]
		if book <= 0 {
			continue
		}
		for _, c := range w.cultureShares(l.Shares, names) {
			if c.Copy {
				out = append(out, Copy{c.Culture, BinID(l.Place.Bin), LotID(l.ID), c.Parts, book, l.Shares})
			}
		}
	}
	slices.SortFunc(out, func(a, b Copy) int {
		return cmp.Or(
			cmp.Compare(names.Cultures[a.Culture].Name, names.Cultures[b.Culture].Name),
			cmp.Compare(names.Bins[a.Bin].Name, names.Bins[b.Bin].Name),
		)
	})
	return out, nil
}
