package service

import (
	"errors"

	"lumbricary.example/service/unit"
)

// changeBin changes a bin: moves it to another site, or retires it once its book
// is 0; only stewards give it to another keeper. Errors: ErrForbidden,
// ErrInvalid, ErrBinStocked, ErrQuarantineOpen, ErrBinNameTaken, ErrStale.
func (w *work) changeBin(old, b Bin) (Bin, error) {
	if err := errors.Join(w.may(AddBin, old.Keeper), w.may(AddBin, b.Keeper)); err != nil {
		return Bin{}, err
	}
	b.CreatedAt, b.Version = old.CreatedAt, old.Version
	var faults Faults
	w.checkBin(&faults, b)
	w.resettle(&faults, "/started", &b.Started, old.Started)
	if b.Retired.Text != "" {
		w.resettle(&faults, "/retired", &b.Retired, old.Retired)
	}
	if len(faults) == 0 && (b.Started != old.Started || b.Retired != old.Retired) {
		if err := w.checkSpan(&faults, b); err != nil {
			return Bin{}, err
		}
	}
	if err := faults.Err(); err != nil {
		return Bin{}, err
	}
	return put(w.Bins, old, b)
}

// checkSpan sees that all records of the bin lie between its start and its end,
// and that nothing keeps it from ending. Errors: those of mayRetire.
func (w *work) checkSpan(faults *Faults, b Bin) error {
	first, err := w.Events.List(Query{Bin: b.ID, Limit: 1})
	if err != nil {
		return err
	}
	last, err := w.Events.List(Query{Bin: b.ID, Limit: 1, Newest: true})
	if err != nil {
		return err
	}
	for _, e := range append(first, last...) {
		err := b.inUse(Moment{Time: e.At, Precision: ToTheInstant})
		switch {
		case errors.Is(err, ErrBeforeStart):
			faults.Add("/started", "has-records", "the bin has records from before that")
		case errors.Is(err, ErrBinRetired):
			faults.Add("/retired", "has-records", "the bin has records from after that")
		}
	}
	if b.Retired.Time.IsZero() {
		return nil
	}
	if b.Retired.Time.Before(b.Started.Time) {
		faults.Add("/retired", "range", "a bin retires after it was started")
	}
	return w.mayRetire(b.ID)
}

// dropBin removes a bin that has no records. Errors: ErrForbidden, ErrInUse,
// ErrStale.
func (w *work) dropBin(b Bin) (Bin, error) {
	if err := w.may(AddBin, b.Keeper); err != nil {
		return Bin{}, err
	}
	return b, w.Bins.Delete(b)
}

// keepRetiredEmpty sees that no movement of the transaction left worms in a bin
// that is retired, as a reversal or a late entry would, or one that was under
// way when it retired. Errors: ErrBinRetired.
func (w *work) keepRetiredEmpty() error {
	if len(w.touched) == 0 {
		return nil
	}
	bins, err := w.Bins.Some(w.touched)
	if err != nil {
		return err
	}
	for _, b := range bins {
		if b.Retired.Time.IsZero() {
			continue
		}
		var stock map[SpeciesID]unit.Mass
		if stock, err = w.Movements.Stock(b.ID); err != nil {
			return err
		}
		if len(stock) > 0 {
			return ErrBinRetired.With("bin %s is retired, and that would leave worms in it; take it into use again first", b.Name)
		}
	}
	return nil
}
