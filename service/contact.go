package service

import (
	"fmt"
	"slices"
)

// ContactWhat is what bins shared.
type ContactWhat string

// What bins share.
const (
	SharedTools   ContactWhat = "tools"
	SharedBedding ContactWhat = "bedding"
	SharedOther   ContactWhat = "other"
)

// BinContact says that bins shared tools or bedding at a time without a cleaning
// between. (A Contact is how to reach a party outside the club.)
type BinContact struct {
	ID       BinContactID
	Bins     []BinID // 2 to 10
	At       Moment
	What     ContactWhat
	Note     string
	Recorded Recorded
	Voided   Voiding
	Version  int64
}

// maxContactBins is how many bins one contact has.
const maxContactBins = 10

func (c BinContact) void() bool { return !c.Voided.At.IsZero() }

// noun is what everybody but this package calls it.
func (BinContact) noun() string { return "contact" }

// events are the lines of a contact in the timelines of its bins.
func (c BinContact) events() []BinEvent {
	out := make([]BinEvent, len(c.Bins))
	for i, bin := range c.Bins {
		out[i] = BinEvent{bin, c.At.Time, c.Recorded.Seq, ContactEvent, string(c.ID)}
	}
	return out
}

// addContact records a contact. Errors: ErrInvalid, ErrForbidden.
func (w *work) addContact(c BinContact) (BinContact, error) {
	var faults Faults
	c.ID = BinContactID(w.id(string(c.ID), &faults))
	w.settle(&faults, "/at", &c.At)
	if err := w.checkBinContact(&faults, c); err != nil {
		return BinContact{}, err
	}
	if err := faults.Err(); err != nil {
		return BinContact{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return BinContact{}, err
	}
	c.Recorded, c.Version = rec, 1
	if err := w.Contacts.Insert(c); err != nil {
		return BinContact{}, err
	}
	return c, w.Events.Insert(c.events()...)
}

// checkBinContact notes what is wrong with a contact. Errors: ErrForbidden unless
// the member may write one of the bins: who borrowed a fork says so for both.
func (w *work) checkBinContact(faults *Faults, c BinContact) error {
	checkWord(faults, "/what", c.What, SharedTools, SharedBedding, SharedOther)
	checkNote(faults, "/note", c.Note)
	if n := len(c.Bins); n < 2 || n > maxContactBins {
		faults.Add("/bins", "range", "name 2 to %d bins", maxContactBins)
	}
	var owners []MemberID
	for i, id := range c.Bins[:min(len(c.Bins), maxContactBins)] {
		pointer := fmt.Sprintf("/bins/%d", i)
		if slices.Contains(c.Bins[:i], id) {
			faults.Add(pointer, "repeated", "name each bin once")
		}
		b, err := w.Bins.Get(id)
		if err == nil && !c.At.Time.IsZero() {
			err = b.inUse(c.At)
		}
		checkRef(faults, pointer, err)
		if b.ID != "" {
			owners = append(owners, b.Owners()...)
		}
	}
	if len(owners) == 0 {
		return nil // no bin is there, which is noted
	}
	return w.may(RecordOnBin, owners...)
}

// changeContact changes a contact but for its bins. Errors: ErrForbidden,
// ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeContact(old, c BinContact) (BinContact, error) {
	c.Recorded, c.Voided, c.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	if !slices.Equal(c.Bins, old.Bins) {
		faults.Add("/bins", "fixed", "this can't be changed")
		c.Bins = old.Bins
	}
	w.resettle(&faults, "/at", &c.At, old.At)
	if err := w.checkBinContact(&faults, c); err != nil {
		return BinContact{}, err
	}
	if old.void() {
		return BinContact{}, ErrVoided
	}
	if err := faults.Err(); err != nil {
		return BinContact{}, err
	}
	for _, e := range old.events() {
		if err := w.moveEvent(e, c.At.Time); err != nil {
			return BinContact{}, err
		}
	}
	return put(w.Contacts, old, c)
}

// voidContact takes a contact back. Errors: ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidContact(c BinContact) (BinContact, error) {
	var none Faults
	if err := w.checkBinContact(&none, c); err != nil {
		return BinContact{}, err
	}
	if c.void() {
		return BinContact{}, ErrVoided
	}
	old := c
	c.Voided = Voiding{w.now, w.author()}
	return put(w.Contacts, old, c)
}
