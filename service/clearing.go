package service

import (
	"errors"
	"slices"

	"lumbricary.example/service/exposure"
)

// Clearing says that a place was cleared: from then on it isn't exposed, until
// something comes again out of a place that is. It names one place; a lot of worms
// stands in a bin, and is cleared with it.
type Clearing struct {
	ID       ClearingID
	Bin      BinID     // one of the three
	Batch    BatchID   // of castings
	Receipt  ReceiptID // feedstock or bedding that came in
	At       Moment
	How      string // what was done
	Note     string
	Recorded Recorded
	Voided   Voiding
	Version  int64
}

func (c Clearing) void() bool { return !c.Voided.At.IsZero() }

// place is what a clearing clears.
func (c Clearing) place() exposure.Place {
	switch {
	case c.Bin != "":
		return exposure.Place{Kind: exposure.Bin, Ref: string(c.Bin)}
	case c.Batch != "":
		return exposure.Place{Kind: exposure.Batch, Ref: string(c.Batch)}
	}
	return exposure.Place{Kind: exposure.Receipt, Ref: string(c.Receipt)}
}

// events are the lines of a clearing in the timelines: one, if it is of a bin.
func (c Clearing) events() []BinEvent {
	if c.Bin == "" {
		return nil
	}
	return []BinEvent{{c.Bin, c.At.Time, c.Recorded.Seq, ClearingEvent, string(c.ID)}}
}

// addClearing records a clearing. Errors: ErrInvalid, ErrForbidden.
func (w *work) addClearing(c Clearing) (Clearing, error) {
	var faults Faults
	c.ID = ClearingID(w.id(string(c.ID), &faults))
	w.settle(&faults, "/at", &c.At)
	if err := w.checkClearing(&faults, c); err != nil {
		return Clearing{}, err
	}
	if err := faults.Err(); err != nil {
		return Clearing{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Clearing{}, err
	}
	c.Recorded, c.Version = rec, 1
	if err := w.Clearings.Insert(c); err != nil {
		return Clearing{}, err
	}
	return c, w.Events.Insert(c.events()...)
}

// checkClearing notes what is wrong with a clearing. Errors: ErrForbidden unless
// the member may write the place.
func (w *work) checkClearing(faults *Faults, c Clearing) error {
	checkNote(faults, "/how", c.How)
	checkNote(faults, "/note", c.Note)
	if c.How == "" {
		faults.Add("/how", "required", "say what was done")
	}
	given := slices.DeleteFunc([]string{string(c.Bin), string(c.Batch), string(c.Receipt)}, func(id string) bool { return id == "" })
	switch len(given) {
	case 0:
		faults.Add("/bin", "required", "say what was cleared: a bin, a batch or a receipt")
		return nil
	case 1:
	default:
		faults.Add("/bin", "shape", "a clearing is of one bin, batch or receipt; record one for each")
	}
	return w.mayClear(faults, c)
}

// mayClear checks the place of a clearing. A bin may be cleaned after it retired.
// Errors: ErrForbidden.
func (w *work) mayClear(faults *Faults, c Clearing) error {
	switch {
	case c.Bin != "":
		b, err := w.Bins.Get(c.Bin)
		if err != nil {
			checkRef(faults, "/bin", err)
			return nil
		}
		if err := b.inUse(c.At); errors.Is(err, ErrBeforeStart) && !c.At.Time.IsZero() {
			checkRef(faults, "/at", err)
		}
		return w.may(RecordOnBin, b.Owners()...)
	case c.Batch != "":
		_, err := w.Batches.Get(c.Batch)
		checkRef(faults, "/batch", err)
		return w.may(UseCastings)
	}
	r, err := w.Receipts.Get(c.Receipt)
	if err != nil {
		checkRef(faults, "/receipt", err)
		return nil
	}
	return w.may(RecordReceipt, r.Recorded.By)
}

// changeClearing changes a clearing but for its place. Errors: ErrForbidden,
// ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeClearing(old, c Clearing) (Clearing, error) {
	c.Recorded, c.Voided, c.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/bin", c.Bin, old.Bin)
	checkFixed(&faults, "/batch", c.Batch, old.Batch)
	checkFixed(&faults, "/receipt", c.Receipt, old.Receipt)
	c.Bin, c.Batch, c.Receipt = old.Bin, old.Batch, old.Receipt
	w.resettle(&faults, "/at", &c.At, old.At)
	if err := w.checkClearing(&faults, c); err != nil {
		return Clearing{}, err
	}
	if old.void() {
		return Clearing{}, ErrVoided
	}
	if err := faults.Err(); err != nil {
		return Clearing{}, err
	}
	for _, e := range old.events() {
		if err := w.moveEvent(e, c.At.Time); err != nil {
			return Clearing{}, err
		}
	}
	return put(w.Clearings, old, c)
}

// voidClearing takes a clearing back: there never was one. Errors: ErrForbidden,
// ErrVoided, ErrStale.
func (w *work) voidClearing(c Clearing) (Clearing, error) {
	var none Faults
	if err := w.checkClearing(&none, c); err != nil {
		return Clearing{}, err
	}
	if c.void() {
		return Clearing{}, ErrVoided
	}
	old := c
	c.Voided = Voiding{w.now, w.author()}
	return put(w.Clearings, old, c)
}
