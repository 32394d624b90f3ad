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
	Noun     string // feeding, check, receipt, turnout, batch-step, quarantine, identification, contact, clearing, movement, census, harvest or rework
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
		return voidable(w.Feedings, e, w.voidFeeding, func(f Feeding) bool { return on(f.Bin) })
	case "check":
		return voidable(w.Checks, e, w.voidCheck, func(c Check) bool { return on(c.Bin) })
	case "quarantine":
		return voidable(w.Quarantines, e, w.voidQuarantine, func(q Quarantine) bool { return on(q.Bin) })
	case "contact":
		return voidable(w.Contacts, e, w.voidContact, func(c BinContact) bool { return on(c.Bins...) })
	case "clearing":
		return voidable(w.Clearings, e, w.voidClearing, func(c Clearing) bool { return on(c.Bin) })
	case "identification":
		return voidable(w.Identifications, e, w.voidIdentification, func(Identification) bool { return on() })
	case "receipt":
		return voidable(w.Receipts, e, w.voidReceipt, func(Receipt) bool { return on() })
	case "turnout":
		t, err := w.Turnouts.Get(TurnoutID(e.Record))
		if err != nil || t.void() || !on() {
			return nil, err
		}
		return func() (*Movement, error) { _, err := w.voidTurnout(t); return nil, err }, nil
	case "batch-step":
		return voidable(w.BatchSteps, e, w.voidBatchStep, func(BatchStep) bool { return on() })
	case "movement", "harvest", "census", "rework":
		return w.undoableEntry(e, on)
	}
	return nil, nil //nolint:nilnil // there is nothing to take back
}

// voidable is undoable for what posts nothing.
func voidable[T interface{ void() bool }, K ~string](
	of reader[T, K], e AuditEntry, void func(T) (T, error), on func(T) bool,
) (func() (*Movement, error), error) {
	v, err := of.Get(K(e.Record))
	if err != nil || v.void() || !on(v) {
		return nil, err
	}
	return func() (*Movement, error) { _, err := void(v); return nil, err }, nil
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
