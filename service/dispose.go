package service

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Disposal is how a bin was given up: what it did, in order.
type Disposal struct {
	Ended    []Transfer  // that were cancelled or declined
	Loss     *Movement   // of all that stood in it; nil: the book was 0
	Released *Quarantine // nil: it was in none
	Bin      Bin         // retired
}

// Disposing is how a bin is to be given up.
type Disposing struct {
	At     Moment
	Cause  Cause // of the loss of what stands in it
	Why    string
	Cancel bool // its open transfers as well, as far as nothing was sent
}

// mayRetire sees that nothing keeps a bin from being retired. Whatever else does,
// as a hold, belongs here. Errors: ErrBinStocked, ErrQuarantineOpen, ErrInTransfer.
func (w *work) mayRetire(bin BinID) error {
	stock, err := w.Movements.Stock(bin)
	if err != nil {
		return err
	}
	if len(stock) > 0 {
		return ErrBinStocked.At("/retired")
	}
	all, err := w.quarantinesOf(bin)
	if err == nil && slices.ContainsFunc(all, Quarantine.isOpen) {
		err = ErrQuarantineOpen.At("/retired")
	}
	if err != nil {
		return err
	}
	return w.inTransfer(bin)
}

// Dispose gives a bin up in one transaction: what stands in it is booked as a
// loss, its quarantine ends, and it retires; where d says so its transfers end
// before. Errors: ErrClubNotFound, ErrBinNotFound, ErrForbidden, ErrInvalid,
// ErrBinRetired; ErrInTransfer with the transfers that are left.
func (s *Service) Dispose(ctx context.Context, a Actor, bin BinID, d Disposing) (Disposal, error) {
	return write(ctx, s.Desk, a, func(w *work) (Disposal, error) {
		b, err := w.Bins.Get(bin)
		if err != nil {
			return Disposal{}, err
		}
		if err := w.may(AddBin, b.Keeper); err != nil {
			return Disposal{}, err
		}
		var faults Faults
		w.settle(&faults, "/at", &d.At)
		checkWord(&faults, "/cause", d.Cause, SeenDead, LostBin, WriteOff)
		checkNote(&faults, "/why", d.Why)
		if d.Why == "" {
			faults.Add("/why", "required", "say why the bin is given up")
		}
		if err := faults.Err(); err != nil {
			return Disposal{}, err
		}
		if !b.Retired.Time.IsZero() {
			return Disposal{}, ErrBinRetired
		}
		d.At.Text = d.At.In(w.zone)
		return w.dispose(b, d)
	})
}

func (w *work) dispose(b Bin, d Disposing) (out Disposal, err error) {
	if d.Cancel {
		if out.Ended, err = w.cancelTransfersOf(b, d.Why); err != nil {
			return out, err
		}
	}
	if out.Loss, err = w.loseAll(b.ID, d); err != nil {
		return out, err
	}
	open, err := w.openQuarantine(b.ID)
	if err != nil {
		return out, err
	}
	if open != nil {
		q, err := w.endQuarantine(*open, Release{d.At, Disposed, d.Why})
		if err != nil {
			return out, err
		}
		out.Released = &q
	}
	old := b
	b.Retired, b.RetiredWhy = Moment{Text: d.At.Text}, d.Why
	b.Started.Text = b.Started.In(w.zone)
	out.Bin, err = w.changeBin(old, b)
	return out, err
}

// loseAll books all that stands in a bin as lost; nil where nothing does.
func (w *work) loseAll(bin BinID, d Disposing) (*Movement, error) {
	stock, err := w.Movements.Stock(bin)
	if err != nil || len(stock) == 0 {
		return nil, err
	}
	m := Movement{Kind: journal.Loss, At: Moment{Text: d.At.Text}, Cause: d.Cause, Note: d.Why}
	for _, s := range slices.SortedFunc(maps.Keys(stock), cmp.Compare) {
		mass := stock[s]
		m.Lines = append(m.Lines, Line{
			FromBin: bin, Species: s, Booked: &mass, Typed: unit.Measure{Value: mass.Grams(), Unit: "g"},
		})
	}
	m, err = w.addMovement(m)
	return &m, err
}
