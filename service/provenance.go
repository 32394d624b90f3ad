package service

import (
	"context"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Provenance is what is on record about where a lot came from and how sure that
// is.
type Provenance struct {
	Ancestry
	AsOf            time.Time
	Book            unit.Mass        // what stands of it now; 0 once it has ended
	Identifications []Identification // of lots on the way, oldest first
	Quarantines     []Quarantine     // of bins on the way while those lots stood there, oldest first
	Check           *Check           // the latest of its bin while it stood; nil: none
	Census          *Census          // the latest of it; nil: none
}

// Provenance returns what is on record about where a lot came from. Errors: those
// of Lineage.
func (s Reports) Provenance(ctx context.Context, a Actor, id LotID) (Provenance, error) {
	return read(ctx, s.Desk, a, func(w *work) (out Provenance, err error) {
		if out.Ancestry, err = w.ancestry(id); err != nil {
			return out, err
		}
		out.AsOf = w.now
		if out.Identifications, err = w.identifiedOnTheWay(out.Custody); err != nil {
			return out, err
		}
		if out.Quarantines, err = w.quarantinedOnTheWay(out.Custody); err != nil {
			return out, err
		}
		return out, w.seen(&out)
	})
}

// seen reads what was last seen of the lot itself.
func (w *work) seen(out *Provenance) error {
	l := out.Lot
	if l.Withdrawn {
		return nil
	}
	q := Query{Bin: BinID(l.Place.Bin), From: l.OpenedAt, To: l.EndedAt, Newest: true, Limit: 1}
	checks, err := w.Checks.List(q)
	if err != nil {
		return err
	}
	for _, c := range checks {
		out.Check = &c
	}
	stock, err := w.Movements.Stock(q.Bin)
	if err != nil {
		return err
	}
	if l.Current() {
		out.Book = stock[SpeciesID(l.Place.Species)]
	}
	censuses, err := w.standingCensuses(SpeciesID(l.Place.Species))
	for _, c := range censuses {
		if c.Bin == q.Bin && !c.At.Time.Before(l.OpenedAt) && (l.EndedAt.IsZero() || !c.At.Time.After(l.EndedAt)) {
			out.Census = &c
		}
	}
	return err
}

func (w *work) identifiedOnTheWay(steps []CustodyStep) ([]Identification, error) {
	all, err := w.Identifications.List(Query{})
	return slices.DeleteFunc(all, func(i Identification) bool {
		return !slices.ContainsFunc(steps, func(s CustodyStep) bool { return s.Lot.ID == string(i.Lot) })
	}), err
}

func (w *work) quarantinedOnTheWay(steps []CustodyStep) ([]Quarantine, error) {
	all, err := w.Quarantines.List(Query{})
	return slices.DeleteFunc(all, func(q Quarantine) bool {
		return !slices.ContainsFunc(steps, func(s CustodyStep) bool {
			return s.Lot.Place.Bin == string(q.Bin) && (s.Lot.EndedAt.IsZero() || q.At.Time.Before(s.Lot.EndedAt)) &&
				(q.Released.Time.IsZero() || q.Released.Time.After(s.Lot.OpenedAt))
		})
	}), err
}
