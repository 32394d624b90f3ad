package service

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"
)

// Transfers are the use-cases of what changes hands.
type Transfers struct{ *Desk }

// Propose records a transfer that one side proposes to the other: a sale, gift or
// loan of one leg, a swap of two. The stock of a proposer who gives is reserved;
// that of a swap once it is accepted, both legs or none. With an outside party it
// is accepted at once. Where t.Done is set the transfer has happened, and is
// booked as sent and received at t.At. Errors: ErrClubNotFound, ErrForbidden,
// ErrInvalid, ErrNotAvailable, ErrMoreThanBook, ErrIDTaken.
func (s Transfers) Propose(ctx context.Context, a Actor, t Transfer) (TransferSeen, error) {
	return write(ctx, s.Desk, a, func(w *work) (TransferSeen, error) {
		t, err := w.propose(t)
		if err != nil {
			return TransferSeen{}, err
		}
		return w.seeTransfer(t)
	})
}

func (w *work) propose(t Transfer) (Transfer, error) {
	var faults Faults
	t.ID = TransferID(w.id(string(t.ID), &faults))
	w.fillSides(&t)
	if t.checkShape(&faults); len(faults) > 0 {
		return Transfer{}, faults.Err()
	}
	onBehalf, err := w.mayPropose(&faults, &t)
	if err != nil {
		return Transfer{}, err
	}
	w.checkTransfer(&faults, &t)
	if err := faults.Err(); err != nil {
		return Transfer{}, err
	}
	for i := range t.Legs {
		if err := w.agree(&faults, &t, i); err != nil {
			return Transfer{}, err
		}
	}
	t.checkPrice(&faults)
	if err := faults.Err(); err != nil {
		return Transfer{}, err
	}
	t.Deal = t.Deal.Proposed(w.now, w.promiseEnds())
	if err := w.begin(&t); err != nil {
		return Transfer{}, err
	}
	if t.Recorded, err = w.recorded(); err != nil {
		return Transfer{}, err
	}
	t.Steps = append([]Step{{Verb: exchange.Propose, At: w.now, By: w.author(), For: onBehalf}}, t.Steps...)
	t.Version = 1
	return t, w.Transfers.Insert(t)
}

// begin keeps what t promises, or books what has happened, and ties t to the
// claim that it settles.
func (w *work) begin(t *Transfer) error {
	if t.Replaces != "" {
		if err := w.replaces(*t); err != nil {
			return err
		}
	}
	if t.Done {
		return w.bookDone(t)
	}
	return w.keep(*t)
}

// promiseEnds is when a promise that is made now ends.
func (w *work) promiseEnds() time.Time { return w.now.AddDate(0, 0, w.Club.PromiseDays) }

// checkShape notes what a transfer of its terms lacks or can't have.
func (t *Transfer) checkShape(faults *Faults) {
	checkWord(faults, "/terms", t.Deal.Terms, Sale, Swap, Gift, Loan)
	legs := 1
	if t.Deal.Terms == Swap {
		legs = 2
	}
	if len(t.Deal.Legs) != legs || len(t.Legs) != legs {
		faults.Add("/legs", "shape", "a swap has two legs, every other transfer one")
		return
	}
	giver, receiver := t.Deal.Sides()
	switch {
	case giver == receiver:
		faults.Add("/legs/0/receiver", "shape", "name two different sides; one may be an outside party")
	case (giver == "" || receiver == "") != (t.Party != ""):
		faults.Add("/party", "shape", "name the outside party, and only where a side is one")
	case legs == 2 && (t.Deal.Legs[1].Giver != receiver || t.Deal.Legs[1].Receiver != giver):
		faults.Add("/legs/1", "shape", "the second leg of a swap goes the other way")
	}
}

// mayPropose checks who may record the proposal and fills its proposer. It
// returns on whose behalf a steward records it, or nobody. What has happened is
// told by those who gave. Errors: ErrForbidden.
func (w *work) mayPropose(faults *Faults, t *Transfer) (MemberID, error) {
	giver, receiver := t.Deal.Sides()
	sides := slices.DeleteFunc([]string{giver, receiver}, func(s string) bool { return s == "" })
	me := string(w.author())
	switch proposer := t.Deal.Proposer; {
	case proposer != "" && !slices.Contains(sides, proposer):
		faults.Add("/proposer", "shape", "one of the two sides proposes")
	case proposer == "" && slices.Contains(sides, me):
		t.Deal.Proposer = me
	case proposer == "":
		t.Deal.Proposer = sides[0]
	}
	who := []string{t.Deal.Proposer}
	if t.Done {
		for _, l := range t.Deal.Legs {
			if l.Giver != "" {
				who = append(who, l.Giver)
			}
		}
	}
	for _, side := range who {
		if err := w.may(Exchange, MemberID(side)); err != nil {
			return "", err
		}
	}
	if me == t.Deal.Proposer {
		return "", nil
	}
	return MemberID(t.Deal.Proposer), nil
}

// checkTransfer checks the members and texts of a transfer, and its moment.
func (w *work) checkTransfer(faults *Faults, t *Transfer) {
	switch {
	case t.Done:
		w.settle(faults, "/at", &t.At)
	case t.At.Text != "":
		faults.Add("/at", "shape", "only what is done is told with its time")
	default:
		t.At = Moment{Time: w.now, Precision: ToTheInstant}
	}
	for i, l := range t.Deal.Legs {
		for side, m := range map[string]string{"giver": l.Giver, "receiver": l.Receiver} {
			if m != "" {
				w.checkMember(faults, fmt.Sprintf("/legs/%d/%s", i, side), MemberID(m))
			}
		}
	}
	if t.Party != "" {
		checkName(faults, "/party", t.Party)
	}
	w.checkContact(faults, t)
	checkNote(faults, "/note", t.Note)
	if t.Due != "" {
		checkDay(faults, "/due", Day(t.Due))
	}
	if (t.Due != "") != (t.Deal.Terms == Loan) {
		faults.Add("/due", "shape", "a loan, and only a loan, says by which day it is to be back")
	}
	if t.Offer != "" {
		_, err := w.Offers.Get(t.Offer)
		checkRef(faults, "/offer", err)
	}
}

// checkContact checks that a contact has a purpose and an end.
func (w *work) checkContact(faults *Faults, t *Transfer) {
	c := t.Contact
	checkNote(faults, "/contact/text", c.Text)
	checkNote(faults, "/contact/purpose", c.Purpose)
	if c.Text == "" && c.Purpose == "" && c.Until == "" {
		return
	}
	checkDay(faults, "/contact/until", Day(c.Until))
	if t.Party == "" || c.Text == "" || c.Purpose == "" {
		faults.Add("/contact", "shape", "a contact is an outside party's, with a text, a purpose and the day after which it is forgotten")
	}
}

// agree resolves what is agreed for leg i. Whoever commits now says where it
// comes from; the other side does when it accepts.
func (w *work) agree(faults *Faults, t *Transfer, i int) error {
	l := &t.Deal.Legs[i]
	l.ID = w.desk.NewID()
	t.Legs[i].ID = LegID(l.ID)
	outside := t.Party != ""
	p := packing{
		work: w, faults: faults, pointer: fmt.Sprintf("/legs/%d/goods", i), giver: MemberID(l.Giver), at: t.At,
		sourced: l.Giver == t.Deal.Proposer || outside || t.Done,
	}
	var err error
	t.Legs[i].Agreed, l.Goods, err = p.lines(t.Legs[i].Agreed)
	w.checkDestination(faults, fmt.Sprintf("/legs/%d", i), *t, i)
	return err
}

// checkDestination checks the bin or batch that a leg goes to, where it is named:
// one that its receiver keeps. What has happened must name the bin of a member.
func (w *work) checkDestination(faults *Faults, pointer string, t Transfer, i int) {
	leg, l := t.Legs[i], t.Deal.Legs[i]
	if leg.ToBin != "" {
		b, err := w.Bins.Get(leg.ToBin)
		checkRef(faults, pointer+"/to_bin", err)
		if err == nil && string(b.Keeper) != l.Receiver {
			faults.Add(pointer+"/to_bin", "keeper", "the receiver doesn't keep that bin")
		}
		if err == nil && t.Done {
			checkRef(faults, pointer+"/to_bin", b.inUse(t.At))
		}
	}
	if leg.ToBatch != "" {
		_, err := w.Batches.Get(leg.ToBatch)
		checkRef(faults, pointer+"/to_batch", err)
	}
	needsBin := slices.ContainsFunc(leg.Agreed, func(l Line) bool { return !l.Castings })
	if t.Done && needsBin && leg.ToBin == "" && l.Receiver != "" {
		faults.Add(pointer+"/to_bin", "required", "say into which bin it went")
	}
	if l.Receiver == "" && (leg.ToBin != "" || leg.ToBatch != "") {
		faults.Add(pointer+"/to_bin", "shape", "what an outside party gets goes into none of the club's bins or batches")
	}
}

// checkPrice checks the price of a sale, and works the total out from the price
// of a unit where only that is told.
func (t *Transfer) checkPrice(faults *Faults) {
	p := &t.Price
	if *p == (Price{}) {
		return
	}
	if t.Deal.Terms != Sale {
		faults.Add("/price", "shape", "only a sale has a price")
		return
	}
	if !currencyForm.MatchString(p.Currency) {
		faults.Add("/price/currency", "format", "use an ISO 4217 code of three capital letters")
	}
	if (p.UnitMinor != nil) != (p.Unit != "") {
		faults.Add("/price/unit", "shape", "a price for each unit says which unit")
		return
	}
	if p.TotalMinor == nil && p.UnitMinor != nil {
		total, ok := t.priced(*p)
		if !ok {
			faults.Add("/price/total_minor", "required", "the quantity isn't in that unit; give the total")
			return
		}
		p.TotalMinor = &total
	}
	for pointer, minor := range map[string]*int64{"/price/total_minor": p.TotalMinor, "/price/unit_minor": p.UnitMinor} {
		if minor != nil && *minor < 0 {
			faults.Add(pointer, "range", "a price isn't negative")
		}
	}
}

// priced is the total of a price for each unit over what was typed: in that unit,
// or another mass.
func (t *Transfer) priced(p Price) (int64, bool) {
	var units float64
	for _, l := range t.Legs[0].Agreed {
		one, oneErr := unit.Measure{Value: 1, Unit: p.Unit}.Mass()
		all, allErr := l.Typed.Mass()
		switch {
		case l.Typed.Unit == p.Unit:
			units += l.Typed.Value
		case oneErr == nil && allErr == nil && one > 0:
			units += float64(all) / float64(one)
		default:
			return 0, false
		}
	}
	total := math.Round(units * float64(*p.UnitMinor))
	return int64(total), total < 1<<53
}

// replaces ties t to the transfer whose claims it settles. Errors: ErrInvalid.
func (w *work) replaces(t Transfer) error {
	var faults Faults
	old, err := w.Transfers.Get(t.Replaces)
	checkRef(&faults, "/replaces", err)
	if err == nil && !slices.ContainsFunc(old.Claims, func(c Claim) bool { return c.ReplacedBy == "" }) {
		faults.Add("/replaces", "shape", "that transfer has no open claim")
	}
	if err := faults.Err(); err != nil {
		return err
	}
	old.Claims = slices.Clone(old.Claims)
	for i := range old.Claims {
		if old.Claims[i].ReplacedBy == "" {
			old.Claims[i].ReplacedBy = t.ID
		}
	}
	return w.Transfers.Update(old)
}
