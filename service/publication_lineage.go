package service

import (
	"cmp"
	"context"
	"slices"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// PublishedLineage is how published cultures came to where they live, or to one
// lot.
type PublishedLineage struct {
	Club     Club
	Cultures []CultureShare // of the lot; of a culture's own lineage, that culture, whole
	Lot      Lot            // that was asked about; the zero one: the culture
	Copies   []Copy         // where the culture lives now; none for a lot
	Steps    []LineageStep  // the oldest first
	Cut      bool           // there are others that no step tells of
	Names    Names
}

// LineageStep is a lot on the way, and the movement that opened it.
type LineageStep struct {
	Lot      Lot
	Movement Movement
	Parts    int64     // of lineage.One: how much of the lot is of the cultures
	Stands   unit.Mass // now; 0 once the lot has ended
}

// mostSteps is how many lots a published lineage tells of.
const mostSteps = 300

// Culture returns the lineage of a published culture: where it lives, and the lots
// that those copies descend from. Errors: ErrNotPublished.
func (s Publications) Culture(ctx context.Context, club string, id CultureID) (PublishedLineage, error) {
	return published(ctx, s.Desk, club, func(w *work) (out PublishedLineage, err error) {
		c, err := w.Cultures.Get(id)
		if err != nil || !c.Published {
			return out, cmp.Or(err, error(ErrNotPublished))
		}
		if out.Names, err = w.names(); err != nil {
			return out, err
		}
		all, err := w.copies(out.Names)
		if err != nil {
			return out, err
		}
		var from []LotID
		for _, x := range all {
			if x.Culture == id {
				out.Copies, from = append(out.Copies, x), append(from, x.Lot)
			}
		}
		out.Club, out.Cultures = w.Club, []CultureShare{{id, lineage.One, true}}
		return out, w.descend(&out, from)
	})
}

// Lot returns the lineage of a lot that descends from published cultures as far as
// a copy does. Errors: ErrNotPublished.
func (s Publications) Lot(ctx context.Context, club string, id LotID) (PublishedLineage, error) {
	return published(ctx, s.Desk, club, func(w *work) (out PublishedLineage, err error) {
		if out.Lot, err = w.Lots.Get(id); err != nil || out.Lot.Withdrawn || out.Lot.Place.Bin == "" {
			return out, cmp.Or(err, error(ErrNotPublished))
		}
		if out.Names, err = w.names(); err != nil {
			return out, err
		}
		var parts int64
		for _, c := range w.cultureShares(out.Lot.Shares, out.Names) {
			if out.Names.Cultures[c.Culture].Published {
				out.Cultures, parts = append(out.Cultures, c), parts+c.Parts
			}
		}
		if parts < w.copyFrom() {
			return out, ErrNotPublished
		}
		out.Club = w.Club
		return out, w.descend(&out, []LotID{id})
	})
}

// descend fills the steps that lead to some lots: those that are of the cultures at
// least in part.
func (w *work) descend(out *PublishedLineage, from []LotID) error {
	lots, err := w.forebears(out, from)
	if err != nil {
		return err
	}
	slices.SortFunc(lots, func(a, b Lot) int {
		return cmp.Or(a.OpenedAt.Compare(b.OpenedAt), cmp.Compare(a.OpenedSeq, b.OpenedSeq), cmp.Compare(a.ID, b.ID))
	})
	by, err := w.openers(lots)
	if err != nil {
		return err
	}
	stands := make([]TraceStep, len(lots))
	for i, l := range lots {
		stands[i].Lot = l
	}
	if err := w.standsNow(stands); err != nil {
		return err
	}
	for i, l := range lots {
		out.Steps = append(out.Steps, LineageStep{l, by[l.OpenedBy], out.partsOf(l), stands[i].Stands})
	}
	return nil
}

// forebears reads lots and their forebears, generation by generation.
func (w *work) forebears(out *PublishedLineage, from []LotID) (lots []Lot, err error) {
	seen := map[LotID]bool{}
	for _, id := range from {
		seen[id] = true
	}
	for len(from) > 0 {
		if out.Cut = len(lots)+len(from) > mostSteps; out.Cut {
			from = from[:mostSteps-len(lots)]
		}
		found, err := w.Lots.Some(from)
		if err != nil {
			return nil, err
		}
		from = nil
		for _, l := range found {
			if out.partsOf(l) == 0 {
				continue
			}
			lots = append(lots, l)
			for _, p := range l.Parents {
				if id := LotID(p.Lot); id != "" && !seen[id] {
					seen[id], from = true, append(from, id)
				}
			}
		}
		if out.Cut {
			break
		}
	}
	return lots, nil
}

// partsOf is how much of a lot is of the cultures that the lineage is about.
func (p *PublishedLineage) partsOf(l Lot) (parts int64) {
	for _, s := range l.Shares {
		of := p.Names.Origins[OriginID(s.Origin)].Culture
		if slices.ContainsFunc(p.Cultures, func(c CultureShare) bool { return c.Culture == of }) && of != "" {
			parts += s.Parts
		}
	}
	return parts
}
