package service

import (
	"context"
	"slices"
	"time"
)

// countables lists all records that count.
func (w *work) countables() (out []counting, err error) {
	movements, err := w.Movements.List(Query{})
	if err != nil {
		return nil, err
	}
	standing := map[HarvestID]bool{}
	for _, m := range movements {
		standing[HarvestID(m.ID)] = m.ReversedBy == ""
		out = append(out, counting{m, 1})
	}
	harvests, err := w.Harvests.List(Query{})
	if err != nil {
		return nil, err
	}
	for _, h := range harvests {
		if standing[h.ID] {
			out = append(out, counting{h, 1})
		}
	}
	if out, err = appendAll(out, w.Feedings); err != nil {
		return nil, err
	}
	return appendAll(out, w.Checks)
}

// appendAll appends every record of a noun that stands.
func appendAll[T countable, K ~string](out []counting, of reader[T, K]) ([]counting, error) {
	all, err := of.List(Query{})
	for _, v := range all {
		out = append(out, counting{v, 1})
	}
	return out, err
}

// deriveTotals adds up all the club's records, with months as in zone.
func (w *work) deriveTotals(zone *time.Location) ([]Total, error) {
	in := custom{zone: zone}
	var err error
	if in.materials, err = index(w.Materials, func(m Material) (MaterialID, Material) { return m.ID, m }); err != nil {
		return nil, err
	}
	records, err := w.countables()
	return sum(in, records), err
}

// keepTotals brings the totals up to date with what was changed in this
// transaction. It comes last in it.
func (w *work) keepTotals() error {
	if w.remakes {
		return w.rebuildTotals()
	}
	if len(w.changes) == 0 {
		return nil
	}
	in := custom{zone: w.Club.Zone(), materials: map[MaterialID]Material{}}
	materials, err := w.Materials.Some(w.fed())
	if err != nil {
		return err
	}
	for _, m := range materials {
		in.materials[m.ID] = m
	}
	return w.Totals.Add(sum(in, w.changes))
}

// fed lists the materials of the feedings that were changed.
func (w *work) fed() (ids []MaterialID) {
	for _, c := range w.changes {
		if f, ok := c.countable.(Feeding); ok {
			for _, it := range f.Items {
				ids = append(ids, it.Material)
			}
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// rebuildTotals makes the club's totals from its records.
func (w *work) rebuildTotals() error {
	all, err := w.deriveTotals(w.Club.Zone())
	if err != nil {
		return err
	}
	return w.Totals.Replace(all)
}

// RebuildTotals makes the monthly totals of a club from all its records. Errors:
// ErrClubNotFound.
func (d *Desk) RebuildTotals(ctx context.Context, club ClubID) error {
	return d.Store.Update(ctx, club, func(tx Tx) error { return (&work{Tx: tx}).rebuildTotals() })
}

// FillTotals makes the totals of the clubs that have none yet, or have them by
// other rules than this program's: after an update of the program. Errors: the
// store's.
func (d *Desk) FillTotals(ctx context.Context) error {
	clubs, err := d.clubs(ctx)
	if err != nil {
		return err
	}
	for _, c := range clubs {
		var rules int64
		err := d.Store.View(ctx, c.ID, func(tx Tx) (err error) {
			rules, err = tx.Totals.Rules()
			return err
		})
		if err == nil && rules != TotalRules {
			err = d.RebuildTotals(ctx, c.ID)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// WrongTotal is a total that isn't what the records add up to.
type WrongTotal struct {
	TotalKey
	Kept, Derived Amounts
}

// wrongTotals compares the monthly totals of the club with what its records add up
// to, and returns where they differ, in the order of keys.
func (w *work) wrongTotals() ([]WrongTotal, error) {
	derived, err := w.deriveTotals(w.Club.Zone())
	if err != nil {
		return nil, err
	}
	kept, err := w.Totals.List("", "")
	return compareTotals(kept, derived), err
}

// compareTotals returns where two sets of totals differ. A total of nothing is
// none.
func compareTotals(kept, derived []Total) []WrongTotal {
	both := map[TotalKey]*WrongTotal{}
	of := func(k TotalKey) *WrongTotal {
		if both[k] == nil {
			both[k] = &WrongTotal{TotalKey: k}
		}
		return both[k]
	}
	for _, t := range kept {
		of(t.TotalKey).Kept = t.Amounts
	}
	for _, t := range derived {
		of(t.TotalKey).Derived = t.Amounts
	}
	var out []WrongTotal
	for _, x := range both {
		if x.Kept != x.Derived {
			out = append(out, *x)
		}
	}
	slices.SortFunc(out, func(a, b WrongTotal) int { return a.compare(b.TotalKey) })
	return out
}
