package service

import (
	"cmp"
	"context"
	"slices"
	"time"
)

// Day is a date in the club's time zone, as 2026-03-31; empty: none.
type Day string

// day reads a date. Errors: ErrTimeUnreadable.
func (w *work) day(d Day) (time.Time, error) {
	t, err := time.ParseInLocation(time.DateOnly, string(d), w.zone)
	if err != nil {
		return time.Time{}, ErrTimeUnreadable.With("give a date as 2026-05-01")
	}
	return t, nil
}

// checkDay notes a fault unless d is a date.
func checkDay(faults *Faults, pointer string, d Day) {
	if _, err := time.Parse(time.DateOnly, string(d)); err != nil {
		faults.Add(pointer, "format", "give a date as 2026-05-01")
	}
}

// LateEntry says that a record was made, changed or taken back in closed books,
// and why.
type LateEntry struct {
	ID       LateEntryID
	Noun     string
	Record   string    // its id; empty: a whole import
	At       time.Time // the moment in the closed books
	Why      string
	Recorded Recorded
	Version  int64
}

// CloseBooks closes the books up to and including a day; an earlier day than
// before, or none, opens them again, and says why. Errors: ErrClubNotFound,
// ErrForbidden for all but stewards, ErrInvalid, ErrStale.
func (s Clubs) CloseBooks(ctx context.Context, a Actor, until Day, why string) (Club, error) {
	return write(ctx, s.Desk, a, func(w *work) (Club, error) {
		if err := w.may(CloseBooks); err != nil {
			return Club{}, err
		}
		var faults Faults
		checkNote(&faults, "/reason", why)
		if until != "" {
			day, err := w.day(until)
			checkRef(&faults, "/until", err)
			if err == nil && day.After(w.now) {
				checkRef(&faults, "/until", ErrTimeAhead)
			}
		}
		if until < w.Club.ClosedUntil && why == "" {
			faults.Add("/reason", "required", "say why the books are opened again")
		}
		if err := faults.Err(); err != nil {
			return Club{}, err
		}
		c := w.Club
		c.ClosedUntil, c.ClosedWhy = until, why
		if err := w.Settings.Update(c); err != nil {
			return Club{}, err
		}
		c.Version++
		return c, nil
	})
}

// dated is a record that says when something happened.
type dated interface{ moments() []time.Time }

func (f Feeding) moments() []time.Time        { return []time.Time{f.At.Time} }
func (c Check) moments() []time.Time          { return []time.Time{c.At.Time} }
func (c Census) moments() []time.Time         { return []time.Time{c.At.Time} }
func (h Harvest) moments() []time.Time        { return []time.Time{h.At.Time} }
func (m Movement) moments() []time.Time       { return []time.Time{m.At.Time} }
func (r Receipt) moments() []time.Time        { return []time.Time{r.At.Time} }
func (t Turnout) moments() []time.Time        { return []time.Time{t.At.Time} }
func (s BatchStep) moments() []time.Time      { return []time.Time{s.At.Time} }
func (r Rework) moments() []time.Time         { return []time.Time{r.At.Time} }
func (i Identification) moments() []time.Time { return []time.Time{i.At.Time} }
func (c BinContact) moments() []time.Time     { return []time.Time{c.At.Time} }
func (c Clearing) moments() []time.Time       { return []time.Time{c.At.Time} }

// moments are those that a quarantine stands for; a voided one stands for none.
func (q Quarantine) moments() []time.Time {
	switch {
	case q.void():
		return nil
	case q.Released.Time.IsZero():
		return []time.Time{q.At.Time}
	}
	return []time.Time{q.At.Time, q.Released.Time}
}

// changedAt returns the earliest moment that a change of a record touches; zero
// for none. What lasts, as a quarantine, is touched where it begins, ends, or
// did.
func changedAt(before, after any) (first time.Time) {
	var all []time.Time
	old, _ := before.(dated)
	if old != nil {
		all = old.moments()
	}
	if v, ok := after.(dated); ok {
		now := v.moments()
		if _, lasts := after.(Quarantine); lasts {
			was := all
			all = slices.DeleteFunc(slices.Clone(was), func(t time.Time) bool { return slices.ContainsFunc(now, t.Equal) })
			now = slices.DeleteFunc(now, func(t time.Time) bool { return slices.ContainsFunc(was, t.Equal) })
		}
		all = append(all, now...)
	}
	if len(all) == 0 {
		return first
	}
	return slices.MinFunc(all, time.Time.Compare)
}

// closedTo sees that a change touches no closed books, or that a steward made it who
// says why; that is noted. Every change of a record comes by here, for it stands
// where audit entries are written. Errors: ErrBooksClosed.
func (w *work) closedTo(before, after any) error {
	at := changedAt(before, after)
	if w.Club.ClosedUntil == "" || at.IsZero() || at.In(w.zone).Format(time.DateOnly) > string(w.Club.ClosedUntil) {
		return nil
	}
	switch {
	case w.may(WriteClosed) != nil:
		return ErrBooksClosed.With("the books are closed up to %s; ask a steward", w.Club.ClosedUntil)
	case w.why == "":
		return ErrBooksClosed.With("the books are closed up to %s; say in the header Late-Reason why this is still to be written", w.Club.ClosedUntil)
	case w.quiet:
		if w.late.IsZero() || at.Before(w.late) {
			w.late = at
		}
		return nil
	}
	v := after
	if v == nil {
		v = before
	}
	return w.noteLate(nounOf(v), idOf(v), at)
}

// noteLate notes why the closed books were written in.
func (w *work) noteLate(noun, record string, at time.Time) error {
	rec, err := w.recorded()
	if err != nil {
		return err
	}
	rec.By = cmp.Or(w.who.ID, rec.By)
	return w.LateEntries.Insert(LateEntry{
		ID: LateEntryID(w.desk.NewID()), Noun: noun, Record: record, At: at, Why: w.why, Recorded: rec, Version: 1,
	})
}
