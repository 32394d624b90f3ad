package service

import (
	"errors"
	"fmt"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// quarantinesOf lists the quarantines of a bin, oldest first. Those of the whole
// club are read once.
func (w *work) quarantinesOf(bin BinID) ([]Quarantine, error) {
	if w.isolated == nil {
		all, err := w.Quarantines.List(Query{})
		if err != nil {
			return nil, err
		}
		w.isolated = map[BinID][]Quarantine{}
		for _, q := range all {
			w.isolated[q.Bin] = append(w.isolated[q.Bin], q)
		}
	}
	return w.isolated[bin], nil
}

// openQuarantine returns the quarantine that a bin is in, or nil.
func (w *work) openQuarantine(bin BinID) (*Quarantine, error) {
	all, err := w.quarantinesOf(bin)
	for _, q := range all {
		if q.isOpen() {
			return &q, err
		}
	}
	return nil, err
}

// showBin adds the quarantine that the bin is in.
func (w *work) showBin(b Bin) (Bin, error) {
	var err error
	b.Quarantine, err = w.openQuarantine(b.ID)
	return b, err
}

// mayLeave sees that nothing keeps at that moment what is in a bin. Whatever
// else does, as a hold, belongs here. Errors: ErrInQuarantine.
func (w *work) mayLeave(bin BinID, at time.Time, pointer string) error {
	all, err := w.quarantinesOf(bin)
	for _, q := range all {
		if !q.holds(at) {
			continue
		}
		detail := "the bin is in quarantine since " + q.At.In(w.zone)
		switch {
		case !q.Released.Time.IsZero():
			detail = fmt.Sprintf("the bin was in quarantine from %s until %s", q.At.In(w.zone), q.Released.In(w.zone))
		case q.Until != "":
			detail += ", planned until " + string(q.Until)
		}
		return ErrInQuarantine.With("%s; nothing leaves it before it is released", detail).At(pointer)
	}
	return err
}

// mayMoveOut is mayLeave for every bin that a movement takes from; what is lost
// is lost. Errors: ErrInQuarantine.
func (w *work) mayMoveOut(m Movement) error {
	if m.Kind == journal.Loss {
		return nil
	}
	for i, l := range m.Lines {
		if l.FromBin == "" {
			continue
		}
		if err := w.mayLeave(l.FromBin, m.At.Time, fmt.Sprintf("/lines/%d/from_bin", i)); err != nil {
			return err
		}
	}
	return nil
}

// isolate begins a quarantine where the club wants that and stock from outside came
// into an empty bin, unless its days are over; an import brings its own.
func (w *work) isolate(m Movement) error {
	until := w.plannedFrom(m.At)
	past := string(until) < w.today()
	outside := m.Kind == journal.Stocking || m.Kind == journal.Arriving && m.FromMember == "" && m.ToBin != ""
	if !outside || w.Club.QuarantineDays == 0 || w.quiet || past {
		return nil
	}
	var came, stands unit.Mass
	for _, l := range m.Lines {
		if !l.Castings && !l.Material {
			came += l.Mass
		}
	}
	stock, err := w.stockAt(m.ToBin, m.At.Time)
	if err != nil {
		return err
	}
	for _, mass := range stock {
		stands += mass
	}
	q := Quarantine{
		Bin: m.ToBin, At: Moment{Text: m.At.In(w.zone)}, Until: until, Reason: "arrival from outside in an empty bin",
	}
	if stands != came || came == 0 {
		return nil
	}
	if _, err := w.addQuarantine(q); !errors.Is(err, ErrQuarantined) {
		return err
	}
	return nil // the bin has one at that time
}
