package service

import (
	"context"
	"reflect"
	"slices"
	"time"
)

// Change replaces a record by v, whose members that can't be changed are as they
// were. version is that of the record which the caller saw. A change that
// changes nothing leaves the record and its version alone. Errors:
// ErrClubNotFound, the noun's not-found error, ErrStale, ErrForbidden,
// ErrInvalid with the members at fault, and the noun's own.
func (s Shelf[T, K]) Change(ctx context.Context, a Actor, id K, version int64, v T) (T, error) {
	return s.act(ctx, a, id, version, func(w *work, old T) (T, error) { return s.change(w, old, v) })
}

// Remove takes a record away: one that others may lean on is voided and kept,
// one that nothing names is gone. It returns the record as it is or was. Errors:
// those of Change, ErrInUse.
func (s Shelf[T, K]) Remove(ctx context.Context, a Actor, id K, version int64) (T, error) {
	return s.act(ctx, a, id, version, s.drop)
}

// act does something to a record that is as the caller saw it. That no other
// call comes between is seen by the row's version when it is written.
func (s Shelf[T, K]) act(ctx context.Context, a Actor, id K, version int64, fn func(*work, T) (T, error)) (T, error) {
	return write(ctx, s.desk, a, func(w *work) (none T, err error) {
		old, err := s.of(w).Get(id)
		if err != nil {
			return none, err
		}
		if versionOf(&old).Int() != version {
			return none, ErrStale
		}
		out, err := fn(w, old)
		if err != nil {
			return none, err
		}
		return s.shown(w, out)
	})
}

// put writes v in the place of old, unless they are the same, and returns it
// with its new version. Errors: ErrStale, the noun's name-taken error.
func put[T any, K ~string](of Records[T, K], old, v T) (T, error) {
	if reflect.DeepEqual(old, v) {
		return old, nil
	}
	if err := of.Update(v); err != nil {
		return old, err
	}
	version := versionOf(&v)
	version.SetInt(version.Int() + 1)
	return v, nil
}

// versionOf is the member Version of a record.
func versionOf[T any](v *T) reflect.Value { return reflect.ValueOf(v).Elem().FieldByName("Version") }

// checkFixed notes a fault when a member that never changes would.
func checkFixed[T comparable](faults *Faults, pointer string, v, old T) {
	if v != old {
		faults.Add(pointer, "fixed", "this can't be changed")
	}
}

// resettle is settle for a moment that stands in the book as old: the text that
// the book shows for it leaves it as exact as it is.
func (w *work) resettle(faults *Faults, pointer string, m *Moment, old Moment) {
	switch m.Text {
	case "":
		faults.Add(pointer, "required", "say when it was")
	case old.In(w.zone):
		*m = old
	default:
		w.settle(faults, pointer, m)
	}
}

// settleAgain is settleOnBin for a record whose moment was settled as old; who
// may write the bin may change what it says of its past. Errors: ErrForbidden.
func (w *work) settleAgain(faults *Faults, bin BinID, at *Moment, old Moment) error {
	w.resettle(faults, "/at", at, old)
	if *at == old {
		_, err := w.binFor(bin, old)
		return err
	}
	return w.settleOnBinAt(faults, bin, at)
}

// retell puts the lines of a record in the place of those that it had.
func (w *work) retell(old, lines []BinEvent) error {
	for _, e := range old {
		if slices.Contains(lines, e) {
			continue
		}
		if err := w.Events.Remove(e); err != nil {
			return err
		}
	}
	for _, e := range lines {
		if slices.Contains(old, e) {
			continue
		}
		if err := w.Events.Insert(e); err != nil {
			return err
		}
	}
	return nil
}

// moveEvent moves a record's line in the timeline of its bin.
func (w *work) moveEvent(e BinEvent, to time.Time) error {
	if e.At.Equal(to) {
		return nil
	}
	if err := w.Events.Remove(e); err != nil {
		return err
	}
	e.At = to
	return w.Events.Insert(e)
}
