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

// ForgetLapsedContacts takes the contacts away that were to be kept up to a day
// that has passed, in every club. No member does it, so it leaves no audit entry.
// Errors: the store's.
func (s Transfers) ForgetLapsedContacts(ctx context.Context) error {
	clubs, err := s.clubs(ctx)
	for _, c := range clubs {
		if err != nil {
			break
		}
		err = s.Store.Update(ctx, c.ID, func(tx Tx) error {
			lapsed, err := tx.Transfers.Lapsed((&work{now: s.Now(), zone: tx.Club.Zone()}).today())
			for _, t := range lapsed {
				t.Contact = Contact{}
				if err := tx.Transfers.Update(t); err != nil {
					return err
				}
			}
			return err
		})
	}
	return err
}
