package service

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"lumbricary.example/service/exchange"
)

// Get returns one transfer. Errors: ErrClubNotFound, ErrTransferNotFound.
func (s Transfers) Get(ctx context.Context, a Actor, id TransferID) (TransferSeen, error) {
	return read(ctx, s.Desk, a, func(w *work) (TransferSeen, error) {
		t, err := w.Transfers.Get(id)
		if err != nil {
			return TransferSeen{}, err
		}
		return w.seeTransfer(t)
	})
}

// List returns a page of transfers in the order of q, of those that stand in
// state unless it is empty, and only those of which something is still to happen
// where open is set. Errors: ErrClubNotFound.
func (s Transfers) List(ctx context.Context, a Actor, q Query, state exchange.State, open bool) ([]TransferSeen, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]TransferSeen, error) {
		all, err := w.promised(Transfer{})
		if err != nil {
			return nil, err
		}
		return pages(q, w.Transfers.List, func(t Transfer) (TransferSeen, bool, error) {
			out, err := w.seeAmong(t, all)
			return out, (state == "" || out.State == state) && (!open || t.Deal.Open(w.now)), err
		}, func(t Transfer) Place { return Place{t.At.Time, string(t.ID)} })
	})
}

// pages reads a list until q's page is full of what keep lets through.
func pages[T, V any](q Query, list func(Query) ([]T, error), keep func(T) (V, bool, error), place func(T) Place) ([]V, error) {
	var out []V
	for {
		got, err := list(q)
		if err != nil {
			return nil, err
		}
		for _, v := range got {
			kept, ok, err := keep(v)
			if err != nil {
				return nil, err
			}
			if ok {
				out = append(out, kept)
			}
			if q.Limit > 0 && len(out) == q.Limit {
				return out, nil
			}
		}
		if q.Limit == 0 || len(got) < q.Limit {
			return out, nil
		}
		q.After = place(got[len(got)-1])
	}
}

// seeTransfer returns t as it stands now.
func (w *work) seeTransfer(t Transfer) (TransferSeen, error) {
	all, err := w.promised(t)
	if err != nil {
		return TransferSeen{}, err
	}
	return w.seeAmong(t, all)
}

// seeAmong is seeTransfer where all promises are known. Prices and contacts are
// for the sides and stewards, contacts for no API key; a contact whose day has passed is for nobody.
func (w *work) seeAmong(t Transfer, all []exchange.Promise) (TransferSeen, error) {
	short, err := w.short(t, all)
	giver, receiver := t.Deal.Sides()
	out := TransferSeen{Transfer: t, State: t.Deal.State(w.now), Short: short, Outstanding: t.Deal.Outstanding()}
	if !w.who.May(SeePrice, MemberID(giver), MemberID(receiver)) {
		out.Price = Price{}
	}
	if !w.who.May(SeeAddress, MemberID(giver), MemberID(receiver)) {
		out.Contact = Contact{}
	}
	if out.Contact.Until != "" && out.Contact.Until < w.today() {
		out.Contact = Contact{}
	}
	return out, err
}

// endTransfers cancels what a member who goes has promised or was promised, where
// nothing was sent yet.
func (w *work) endTransfers(of MemberID) error {
	open, err := w.Transfers.Open()
	if err != nil {
		return err
	}
	for _, t := range open {
		giver, receiver := t.Deal.Sides()
		if !slices.Contains([]string{giver, receiver}, string(of)) {
			continue
		}
		ended, err := t.Deal.End(exchange.Cancel, w.now)
		if err != nil {
			continue // something was sent: the stewards see to it
		}
		t.Deal = ended
		t.Steps = append(slices.Clone(t.Steps), Step{Verb: exchange.Cancel, At: w.now, By: w.author(), For: of})
		if err := w.Transfers.Update(t); err != nil {
			return err
		}
	}
	return nil
}

// inTransfer reports whether an open transfer is to take from the bin or bring
// into it, and names each. Errors: ErrInTransfer.
func (w *work) inTransfer(bin BinID) error {
	open, err := w.transfersAt(bin, exchange.Reserved, exchange.UnderWay)
	if err != nil || len(open) == 0 {
		return err
	}
	e := *ErrInTransfer
	for _, t := range open {
		e.Fields = append(e.Fields, FieldError{
			Pointer: "/retired", Code: e.Code, Record: string(t.ID),
			Detail: fmt.Sprintf("a %s that is %s names the bin", t.Deal.Terms, t.Deal.State(w.now)),
		})
	}
	return &e
}

// transfersAt lists the open transfers of which a leg in one of the states is to
// take from a bin or bring into it.
func (w *work) transfersAt(bin BinID, in ...exchange.LegState) (out []Transfer, err error) {
	open, err := w.Transfers.Open()
	for _, t := range open {
		if t.Deal.Open(w.now) && t.names(bin, in) {
			out = append(out, t)
		}
	}
	return out, err
}

// names reports whether a leg in one of the states names the bin.
func (t Transfer) names(bin BinID, in []exchange.LegState) bool {
	for i, l := range t.Deal.Legs {
		from := slices.ContainsFunc(t.Legs[i].Agreed, func(l Line) bool { return l.FromBin == bin })
		if slices.Contains(in, l.State) && (from || t.Legs[i].ToBin == bin) {
			return true
		}
	}
	return false
}

// cancelTransfersOf cancels the open transfers of a bin in which nothing was sent
// yet, or declines them where they are its keeper's to answer, and returns them.
// Those that the member may not end, or of which something is under way, stay.
func (w *work) cancelTransfersOf(b Bin, why string) (ended []Transfer, err error) {
	open, err := w.transfersAt(b.ID, exchange.Promised, exchange.Reserved, exchange.UnderWay)
	if err != nil {
		return nil, err
	}
	for _, t := range open {
		step := Stepping{Verb: exchange.Cancel, Note: why}
		if keeper := string(b.Keeper); !t.Deal.Accepted && t.Deal.Proposer != keeper && t.Deal.Other(t.Deal.Proposer) == keeper {
			step.Verb = exchange.Decline
		}
		t, err := w.step(t, step)
		switch e, ok := errors.AsType[*Error](err); {
		case err == nil:
			ended = append(ended, t)
		case !ok || e.Code != ErrForbidden.Code && e.Code != ErrOutOfTurn.Code:
			return nil, err
		}
	}
	return ended, nil
}
