package service

import (
	"context"
	"slices"
)

// PersonalData is what concerns a member in a club.
type PersonalData struct {
	Member      Member
	Invitations []Invitation
	Keys        []APIKey
	Calendars   []Calendar
	Sites       []Site // that the member owns
	Bins        []Bin  // that the member keeps or stands in for
	Records     []PersonalRecord
	Movements   []Movement     // that the member is a party to
	Transfers   []TransferSeen // in which the member is a side
	Offers      []Offer
	Audit       []AuditEntry
}

// PersonalRecord is a record that the member wrote.
type PersonalRecord struct {
	Noun     string
	ID       string
	Kind     string // of a movement, a rework or a batch step; the method of an identification, what a contact shared
	At       Moment
	Note     string
	Recorded Recorded
}

// PersonalData gathers what concerns a member, for the member and for stewards.
// Errors: ErrClubNotFound, ErrForbidden, ErrMemberNotFound.
func (s *Service) PersonalData(ctx context.Context, a Actor, id MemberID) (PersonalData, error) {
	return view(ctx, s.Desk, a, func(w *work) (PersonalData, error) {
		if err := w.may(ExportPersonal, id); err != nil {
			return PersonalData{}, err
		}
		return w.personalData(id)
	})
}

func (w *work) personalData(id MemberID) (d PersonalData, err error) {
	if d.Member, err = w.Members.Get(id); err != nil {
		return PersonalData{}, err
	}
	for _, gather := range []func() error{
		func() (err error) { d.Invitations, err = w.invitationsOf(d.Member); return err },
		func() (err error) { d.Keys, err = w.APIKeys.List(Query{Member: id}); return err },
		func() (err error) { d.Calendars, err = w.Calendars.List(Query{Member: id}); return err },
		func() (err error) { d.Sites, err = w.Sites.List(Query{Member: id}); return err },
		func() (err error) { d.Bins, err = w.Bins.List(Query{}); return err },
		func() (err error) { d.Movements, err = w.Movements.List(Query{Member: id}); return err },
		func() (err error) { d.Transfers, err = w.transfersOf(id); return err },
		func() (err error) { d.Offers, err = w.Offers.List(Query{Member: id}); return err },
		func() (err error) { d.Audit, err = w.Audit.List(Query{Member: id}); return err },
		func() (err error) { d.Records, err = w.recordsOf(id); return err },
	} {
		if err := gather(); err != nil {
			return PersonalData{}, err
		}
	}
	d.Bins = slices.DeleteFunc(d.Bins, func(b Bin) bool { return !slices.Contains(b.Owners(), id) })
	for i, k := range d.Keys {
		d.Keys[i] = w.showKey(k)
	}
	return d, nil
}

// transfersOf lists the transfers in which the member is a side.
func (w *work) transfersOf(id MemberID) ([]TransferSeen, error) {
	all, err := w.Transfers.List(Query{Member: id})
	if err != nil {
		return nil, err
	}
	out := make([]TransferSeen, len(all))
	for i, t := range all {
		if out[i], err = w.seeTransfer(t); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// recordsOf lists what the member recorded, noun by noun; voided records as
// well.
func (w *work) recordsOf(id MemberID) ([]PersonalRecord, error) {
	var out []PersonalRecord
	add := func(r PersonalRecord) {
		if r.Recorded.By == id {
			out = append(out, r)
		}
	}
	whole := Query{Voided: true}
	for _, read := range []func() error{
		reading(w.Movements, Query{}, func(m Movement) {
			add(PersonalRecord{"movement", string(m.ID), string(m.Kind), m.At, m.Note, m.Recorded})
		}),
		reading(w.Harvests, Query{}, func(h Harvest) { add(PersonalRecord{"harvest", string(h.ID), "", h.At, h.Note, h.Recorded}) }),
		reading(w.Censuses, Query{}, func(c Census) { add(PersonalRecord{"census", string(c.ID), "", c.At, c.Note, c.Recorded}) }),
		reading(w.Reworks, Query{}, func(r Rework) {
			add(PersonalRecord{"rework", string(r.ID), string(r.Kind), r.At, r.Note, r.Recorded})
		}),
		reading(w.Receipts, whole, func(r Receipt) { add(PersonalRecord{"receipt", string(r.ID), "", r.At, r.Note, r.Recorded}) }),
		reading(w.Turnouts, whole, func(t Turnout) { add(PersonalRecord{"turnout", string(t.ID), "", t.At, "", t.Recorded}) }),
		reading(w.BatchSteps, whole, func(s BatchStep) {
			add(PersonalRecord{"batch-step", string(s.ID), string(s.Kind), s.At, s.Note, s.Recorded})
		}),
		reading(w.Feedings, whole, func(f Feeding) { add(PersonalRecord{"feeding", string(f.ID), "", f.At, f.Note, f.Recorded}) }),
		reading(w.Quarantines, whole, func(q Quarantine) {
			add(PersonalRecord{"quarantine", string(q.ID), "", q.At, q.Note, q.Recorded})
		}),
		reading(w.Identifications, whole, func(i Identification) {
			add(PersonalRecord{"identification", string(i.ID), string(i.Method), i.At, i.Note, i.Recorded})
		}),
		reading(w.Contacts, whole, func(c BinContact) {
			add(PersonalRecord{"contact", string(c.ID), string(c.What), c.At, c.Note, c.Recorded})
		}),
		reading(w.Clearings, whole, func(c Clearing) {
			add(PersonalRecord{"clearing", string(c.ID), "", c.At, c.Note, c.Recorded})
		}),
		reading(w.Checks, whole, func(c Check) { add(PersonalRecord{"check", string(c.ID), "", c.At, c.Note, c.Recorded}) }),
	} {
		if err := read(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// reading returns the reading of one noun.
func reading[T any, K ~string](of reader[T, K], q Query, each func(T)) func() error {
	return func() error {
		all, err := of.List(q)
		for _, v := range all {
			each(v)
		}
		return err
	}
}
