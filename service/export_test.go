package service

import (
	"context"

	"lumbricary.example/service/season"
)

// Reported and Recounted make the report on a period with the help of the
// monthly totals, and from the records alone.
func (s Reports) Reported(ctx context.Context, a Actor, code string) (season.Report, error) {
	return s.made(ctx, a, code, (*work).reported)
}

// Recounted: see Reported.
func (s Reports) Recounted(ctx context.Context, a Actor, code string) (season.Report, error) {
	return s.made(ctx, a, code, (*work).recounted)
}

func (s Reports) made(ctx context.Context, a Actor, code string, how func(*work, season.Period) (reported, error)) (season.Report, error) {
	return read(ctx, s.Desk, a, func(w *work) (season.Report, error) {
		p, err := season.Parse(code, w.calendar())
		if err != nil {
			return season.Report{}, err
		}
		out, err := how(w, p)
		return out.report, err
	})
}

// Spoil makes a stored total wrong, as a mistake of the program would.
func (d *Desk) Spoil(ctx context.Context, club ClubID, t Total) error {
	return d.Store.Update(ctx, club, func(tx Tx) error { return tx.Totals.Add([]Total{t}) })
}

// Unmake leaves a club without totals, as a program did that didn't know them.
func (d *Desk) Unmake(ctx context.Context, club ClubID) error {
	return d.Store.Update(ctx, club, func(tx Tx) error {
		if err := tx.Totals.Replace(nil); err != nil {
			return err
		}
		return tx.Totals.Add([]Total{{TotalKey{Kind: "rules"}, Amounts{Records: -TotalRules}}})
	})
}

// AddUncounted adds a feeding and leaves the totals alone.
func (d *Desk) AddUncounted(ctx context.Context, a Actor, f Feeding) error {
	return d.Store.Update(ctx, ClubID(a.Club), func(tx Tx) error {
		now := d.Now()
		who, err := d.callerOf(tx, a, now)
		if err != nil {
			return err
		}
		w := (&work{Tx: tx, who: who, now: now, zone: tx.Club.Zone(), desk: d}).audited()
		if _, err := w.addFeeding(f); err != nil {
			return err
		}
		return w.keepRetiredEmpty()
	})
}

// CheckTotals returns where the monthly totals of a club differ from its records.
func (d *Desk) CheckTotals(ctx context.Context, club ClubID) (wrong []WrongTotal, err error) {
	err = d.Store.View(ctx, club, func(tx Tx) error {
		wrong, err = (&work{Tx: tx}).wrongTotals()
		return err
	})
	return wrong, err
}
