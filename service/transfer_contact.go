package service

import "context"

// ForgetContact takes the contact of an outside party away from a transfer whose
// version is the one that the caller saw. Errors: ErrClubNotFound,
// ErrTransferNotFound, ErrForbidden for all but its sides and stewards, ErrStale.
func (s Transfers) ForgetContact(ctx context.Context, a Actor, id TransferID, version int64) (TransferSeen, error) {
	return write(ctx, s.Desk, a, func(w *work) (TransferSeen, error) {
		t, err := w.Transfers.Get(id)
		if err != nil {
			return TransferSeen{}, err
		}
		giver, receiver := t.Deal.Sides()
		if err := w.may(Exchange, MemberID(giver), MemberID(receiver)); err != nil {
			return TransferSeen{}, err
		}
		if t.Version != version {
			return TransferSeen{}, ErrStale
		}
		if t.Contact != (Contact{}) {
			t.Contact = Contact{}
			if err := w.Transfers.Update(t); err != nil {
				return TransferSeen{}, err
			}
			t.Version++
		}
		return w.seeTransfer(t)
	})
}
