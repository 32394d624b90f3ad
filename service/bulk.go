package service

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// MaxBulk is how many records one call may bring.
const MaxBulk = 1000

// Bulk is dated records that are made together.
type Bulk struct {
	Receipts   []Receipt
	Movements  []Movement
	Harvests   []Harvest
	Reworks    []Rework
	Censuses   []Census
	Feedings   []Feeding
	Checks     []Check
	BatchSteps []BatchStep
	Contacts   []BinContact
	Clearings  []Clearing
}

// RecordAll makes all records, or none if any is at fault; each needs the rights
// that it needs alone. Receipts are made first, as feedings name them and no book
// rests on them; then all others in the order of their moments, and of those at
// one moment movements before harvests before reworks before censuses before
// feedings before checks before steps of batches before contacts before clearings, whatever their order in the call;
// the answer keeps that. Errors:
// ErrClubNotFound, ErrInvalid with every fault: its pointer leads with the
// member and the place of its record, as /feedings/3/items/0/quantity.
func (s BookRecords) RecordAll(ctx context.Context, a Actor, b Bulk) (Bulk, error) {
	return write(ctx, s.Desk, a, func(w *work) (Bulk, error) { return w.recordAll(b) })
}

func (w *work) recordAll(b Bulk) (Bulk, error) {
	out := Bulk{
		slices.Clone(b.Receipts), slices.Clone(b.Movements), slices.Clone(b.Harvests), slices.Clone(b.Reworks), slices.Clone(b.Censuses),
		slices.Clone(b.Feedings), slices.Clone(b.Checks), slices.Clone(b.BatchSteps),
		slices.Clone(b.Contacts), slices.Clone(b.Clearings),
	}
	first := stepsOf(w, "/receipts", out.Receipts, func(r Receipt) Moment { return r.At }, w.addReceipt)
	steps := slices.Concat(
		stepsOf(w, "/movements", out.Movements, func(m Movement) Moment { return m.At }, w.addMovement),
		stepsOf(w, "/harvests", out.Harvests, func(h Harvest) Moment { return h.At }, w.addHarvest),
		stepsOf(w, "/reworks", out.Reworks, func(r Rework) Moment { return r.At }, w.addRework),
		stepsOf(w, "/censuses", out.Censuses, func(c Census) Moment { return c.At }, w.addCensus),
		stepsOf(w, "/feedings", out.Feedings, func(f Feeding) Moment { return f.At }, w.addFeeding),
		stepsOf(w, "/checks", out.Checks, func(c Check) Moment { return c.At }, w.addCheck),
		stepsOf(w, "/batch_steps", out.BatchSteps, func(s BatchStep) Moment { return s.At }, w.addBatchStep),
		stepsOf(w, "/contacts", out.Contacts, func(c BinContact) Moment { return c.At }, w.addContact),
		stepsOf(w, "/clearings", out.Clearings, func(c Clearing) Moment { return c.At }, w.addClearing),
	)
	if n := len(first) + len(steps); n == 0 || n > MaxBulk {
		var all Faults
		all.Add("", "range", "send 1 to %d records", MaxBulk)
		return Bulk{}, all.Err()
	}
	slices.SortStableFunc(steps, func(a, b bulkStep) int { return a.at.Compare(b.at) })
	w.bulk = true
	var faults Faults
	for _, s := range append(first, steps...) {
		broken, err := s.run(&faults)
		if err != nil {
			return Bulk{}, err
		}
		if broken {
			break
		}
	}
	if err := faults.Err(); err != nil {
		return Bulk{}, err
	}
	return out, w.redo(w.posted...)
}

// bulkStep makes one record and notes what is wrong with it. It is broken when
// the database refused it, as its transaction then takes nothing more.
type bulkStep struct {
	at  time.Time
	run func(*Faults) (broken bool, err error)
}

// stepsOf makes a step of each row, which it replaces by what was recorded.
func stepsOf[T any](w *work, member string, rows []T, at func(T) Moment, add func(T) (T, error)) []bulkStep {
	var steps []bulkStep
	for i := range rows {
		pointer := fmt.Sprintf("%s/%d", member, i)
		m, err := ParseMoment(at(rows[i]).Text, w.zone, w.now)
		if err != nil {
			m = Moment{} // a fault that the record's own check finds
		}
		steps = append(steps, bulkStep{m.Time, func(faults *Faults) (bool, error) {
			made, err := add(rows[i])
			if err == nil {
				rows[i] = made
				return false, nil
			}
			return noteRow(faults, pointer, err)
		}})
	}
	return steps
}

// noteRow notes what was wrong with a record, at its pointer. Errors: err if it
// is no fault of the record's.
func noteRow(faults *Faults, pointer string, err error) (broken bool, _ error) {
	e, ok := asFault(err)
	if !ok {
		return false, err
	}
	fields := e.Fields
	if len(fields) == 0 {
		fields = []FieldError{{Code: e.Code, Detail: e.Detail}}
	}
	for _, f := range fields {
		faults.Add(pointer+f.Pointer, f.Code, "%s", f.Detail)
	}
	return e.Code == ErrIDTaken.Code || strings.HasSuffix(e.Code, "-taken"), nil
}
