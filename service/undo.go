package service

import (
	"context"
	"slices"
	"strconv"
	"time"

	"lumbricary.example/service/journal"
)

// undoWithin is how long after it a record can be undone without naming it.
const undoWithin = time.Hour

// undoPage is how many audit entries are looked through at a time.
const undoPage = 50

// Undone says what was taken back, and how.
type Undone struct {
	Noun     string // feeding, check, receipt, turnout, batch-step, quarantine, identification, movement, census, harvest or rework
	ID       string
	At       time.Time // when it was recorded
	Reversal *Movement // of what posts; nil: it was voided
}

// Undo takes back the newest record that the actor made in the last hour, on a
// bin if one is named, and that still stands: what posts nothing is voided, all
// else reversed. Called again, it takes back the one before. Errors:
// ErrClubNotFound, ErrForbidden, ErrBinNotFound, ErrUndoNothing; ErrMoreThanBook
// when a later record needs the one to be undone.
func (s BookRecords) Undo(ctx context.Context, a Actor, bin BinID) (Undone, error) {
	return write(ctx, s.Desk, a, func(w *work) (Undone, error) {
		if bin != "" {
			if _, err := w.Bins.Get(bin); err != nil {
				return Undone{}, err
			}
		}
		return w.undo(bin)
	})
}

func (w *work) undo(bin BinID) (Undone, error) {
	q := Query{Member: w.who.ID, From: w.now.Add(-undoWithin), Newest: true, Limit: undoPage}
	for {
		entries, err := w.Audit.List(q)
		if err != nil {
			return Undone{}, err
		}
		for _, e := range entries {
			take, err := w.undoable(e, bin)
			if err != nil {
				return Undone{}, err
			}
			if take != nil {
				back, err := take()
				return Undone{e.Noun, e.Record, e.At, back}, err
			}
		}
		if len(entries) < undoPage {
			return Undone{}, ErrUndoNothing
		}
		last := entries[len(entries)-1]
		q.After = Place{At: last.At, ID: strconv.FormatInt(last.Seq, 10)}
	}
}

// undoable returns what takes back the record that an audit entry tells of; nil
// where it tells of none, or of one that doesn't stand or isn't the bin's.
func (w *work) undoable(e AuditEntry, bin BinID) (func() (*Movement, error), error) {
	if e.Action != Added {
		return nil, nil //nolint:nilnil // there is nothing to take back
	}
	on := func(bins ...BinID) bool { return bin == "" || slices.Contains(bins, bin) }
	switch e.Noun {
	case "feeding":
		f, err := w.Feedings.Get(FeedingID(e.Record))
		if err != nil || f.void() || !on(f.Bin) {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidFeeding(f); return nil, err }, nil
	case "check":
		c, err := w.Checks.Get(CheckID(e.Record))
		if err != nil || c.void() || !on(c.Bin) {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidCheck(c); return nil, err }, nil
	case "quarantine":
		q, err := w.Quarantines.Get(QuarantineID(e.Record))
		if err != nil || q.void() || !on(q.Bin) {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidQuarantine(q); return nil, err }, nil
	case "identification":
		i, err := w.Identifications.Get(IdentificationID(e.Record))
		if err != nil || i.void() || bin != "" {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidIdentification(i); return nil, err }, nil
	case "receipt":
		r, err := w.Receipts.Get(ReceiptID(e.Record))
		if err != nil || r.void() || !on() {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidReceipt(r); return nil, err }, nil
	case "turnout":
		t, err := w.Turnouts.Get(TurnoutID(e.Record))
		if err != nil || t.void() || !on() {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidTurnout(t); return nil, err }, nil
	case "batch-step":
		s, err := w.BatchSteps.Get(BatchStepID(e.Record))
		if err != nil || s.void() || !on() {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidBatchStep(s); return nil, err }, nil
	case "movement", "harvest", "census", "rework":
		return w.undoableEntry(e, on)
	}
	return nil, nil //nolint:nilnil // there is nothing to take back
}

// undoableEntry is undoable for what posts.
func (w *work) undoableEntry(e AuditEntry, on func(...BinID) bool) (func() (*Movement, error), error) {
	m, err := w.Movements.Get(MovementID(e.Record))
	if err != nil || m.ReversedBy != "" || m.Transfer != "" {
		return nil, err
	}
	bins := m.bins()
	switch m.Kind {
	case journal.Harvest:
		h, err := w.Harvests.Get(HarvestID(e.Record))
		if err != nil {
			return nil, err
		}
		bins = append(bins, h.Bin)
	case journal.Census:
		c, err := w.Censuses.Get(CensusID(e.Record))
		if err != nil {
			return nil, err
		}
		bins = append(bins, c.Bin)
	case journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Dispatch, journal.Arriving, journal.Loss, journal.Rework, journal.Use, journal.Reversal:
	}
	if !on(bins...) {
		return nil, nil //nolint:nilnil // it is of another bin
	}
	return func() (*Movement, error) {
		back, err := w.reverse(m.ID, Movement{Reason: "undone"})
		back = w.showMovement(back)
		return &back, err
	}, nil
}
