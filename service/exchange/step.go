package exchange

import (
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Verb is a step of a deal.
type Verb string

// The steps. Each side takes its own.
const (
	Propose  Verb = "propose"
	Accept   Verb = "accept"
	Decline  Verb = "decline"
	Cancel   Verb = "cancel"
	Dispatch Verb = "dispatch"
	Receive  Verb = "receive"
	Settle   Verb = "settle"
	Fail     Verb = "fail" // the giver says that a leg can't be delivered
	Replace  Verb = "replace"
	Waive    Verb = "waive"
	Repay    Verb = "repay"
	Forgive  Verb = "forgive"
	Claim    Verb = "claim"
)

// OutOfTurn reports a step that a deal doesn't allow where it stands.
//
//nolint:errname // the word for it in the trade
type OutOfTurn struct {
	Verb  Verb
	State State
	Leg   LegState // of a step on a leg; else empty
}

// Error says what stands in the way.
func (e *OutOfTurn) Error() string {
	if e.Leg != "" {
		return fmt.Sprintf("can't %s: the transfer is %s, and that leg %s", e.Verb, e.State, e.Leg)
	}
	return fmt.Sprintf("can't %s: the transfer is %s", e.Verb, e.State)
}

// Sides returns the two sides of the deal: the giver and the receiver of its
// first leg.
func (d Deal) Sides() (giver, receiver string) { return d.Legs[0].Giver, d.Legs[0].Receiver }

// Other returns the side that isn't of that member.
func (d Deal) Other(member string) string {
	giver, receiver := d.Sides()
	if member == giver {
		return receiver
	}
	return giver
}

// clone returns d with legs and goods of its own.
func (d Deal) clone() Deal {
	d.Legs = slices.Clone(d.Legs)
	for i := range d.Legs {
		d.Legs[i].Goods = slices.Clone(d.Legs[i].Goods)
	}
	d.Waivers, d.Forgiven = slices.Clone(d.Waivers), slices.Clone(d.Forgiven)
	return d
}

// leg returns the leg i. Errors: OutOfTurn where there is none, or it isn't in
// one of the states.
func (d *Deal) leg(v Verb, i int, now time.Time, in ...LegState) (*Leg, error) {
	state := d.State(now)
	if i < 0 || i >= len(d.Legs) {
		return nil, &OutOfTurn{Verb: v, State: state}
	}
	l := &d.Legs[i]
	dead := state == Declined || state == Cancelled || state == Expired
	if dead || !slices.Contains(in, l.State) {
		return nil, &OutOfTurn{v, state, l.State}
	}
	return l, nil
}

// Proposed returns the deal as its proposer makes it: the leg of a proposer who
// gives is reserved, but for a swap, whose legs are reserved together or not at
// all. An outside party commits with the member.
func (d Deal) Proposed(now, expires time.Time) Deal {
	d = d.clone()
	d.Expires = expires
	for i := range d.Legs {
		d.Legs[i].State = Promised
		if d.Terms != Swap && (d.Legs[i].Giver == d.Proposer || d.Legs[i].Giver == "") {
			d.Legs[i].commit(now)
		}
	}
	if d.Other(d.Proposer) == "" {
		return d.accept(now, expires)
	}
	return d
}

func (l *Leg) commit(now time.Time) {
	if l.State == Promised {
		l.State, l.Since = Reserved, now
	}
}

func (d Deal) accept(now, expires time.Time) Deal {
	d.Accepted, d.Expires = true, expires
	for i := range d.Legs {
		d.Legs[i].commit(now)
	}
	return d
}

// Accept returns the deal accepted by its other side: every leg is reserved.
// Errors: OutOfTurn unless it is proposed.
func (d Deal) Accept(now, expires time.Time) (Deal, error) {
	if s := d.State(now); s != Proposed {
		return d, &OutOfTurn{Verb: Accept, State: s}
	}
	return d.clone().accept(now, expires), nil
}

// End returns the deal declined or cancelled. Errors: OutOfTurn once something
// was sent or it has ended, and for declining what is accepted.
func (d Deal) End(v Verb, now time.Time) (Deal, error) {
	s := d.State(now)
	if s != Proposed && (s != Accepted || v == Decline) {
		return d, &OutOfTurn{Verb: v, State: s}
	}
	d = d.clone()
	if d.Ended = Cancelled; v == Decline {
		d.Ended = Declined
	}
	return d, nil
}

// Dispatch returns the deal with a leg under way: what was packed is sent.
// Errors: OutOfTurn unless the deal is accepted and the leg reserved.
func (d Deal) Dispatch(i int, now time.Time) (Deal, error) {
	d = d.clone()
	l, err := d.leg(Dispatch, i, now, Reserved)
	if err != nil {
		return d, err
	}
	if !d.Accepted || l.lapsed(d, now) {
		return d, &OutOfTurn{Dispatch, d.State(now), l.State}
	}
	l.State = UnderWay
	return d, nil
}

// lapsed reports whether the promise of l has expired.
func (l Leg) lapsed(d Deal, now time.Time) bool {
	return (l.State == Promised || l.State == Reserved) && !now.Before(d.Expires)
}

// Receive returns the deal with a leg received, or returned where nothing of it
// stayed. The goods hold what became of them. Errors: OutOfTurn unless the leg is
// under way.
func (d Deal) Receive(i int, now time.Time) (Deal, error) {
	d = d.clone()
	l, err := d.leg(Receive, i, now, UnderWay)
	if err != nil {
		return d, err
	}
	l.State = l.ending()
	return d, nil
}

// ending is the state of a leg that has come to its end: returned when a part
// went back and nothing was received.
func (l Leg) ending() LegState {
	var received, returned bool
	for _, g := range l.Goods {
		received = received || g.Came.Received > 0
		returned = returned || g.Came.Returned > 0
	}
	if returned && !received {
		return Back
	}
	return Arrived
}

// Settle returns the deal with what was sent or came corrected. Errors: OutOfTurn
// unless the leg is under way or has ended by a receipt.
func (d Deal) Settle(i int, now time.Time) (Deal, error) {
	d = d.clone()
	l, err := d.leg(Settle, i, now, UnderWay, Arrived, Back)
	if err != nil {
		return d, err
	}
	if l.State != UnderWay {
		l.State = l.ending()
	}
	return d, nil
}

// Fail returns the deal with a leg of a swap that can't be delivered. Errors:
// OutOfTurn unless the deal is an accepted swap and the leg waits.
func (d Deal) Fail(i int, now time.Time) (Deal, error) {
	d = d.clone()
	l, err := d.leg(Fail, i, now, Reserved)
	if err != nil {
		return d, err
	}
	if d.Terms != Swap || !d.Accepted {
		return d, &OutOfTurn{Fail, d.State(now), l.State}
	}
	l.State = Undelivered
	return d, nil
}

// Replace returns the deal with other goods for a leg that can't be delivered, or
// whose promise has expired while the other leg was delivered: it is reserved
// again. Errors: OutOfTurn.
func (d Deal) Replace(i int, goods []Good, now, expires time.Time) (Deal, error) {
	d = d.clone()
	l, err := d.leg(Replace, i, now, Undelivered, Reserved)
	if err != nil {
		return d, err
	}
	if l.State == Reserved && !l.lapsed(d, now) {
		return d, &OutOfTurn{Replace, d.State(now), l.State}
	}
	l.State, l.Since, l.Goods, d.Waivers, d.Expires = Reserved, now, slices.Clone(goods), nil, expires
	return d, nil
}

// Waive returns the deal with a side's word that the leg which is owed becomes a
// gift; once both have said so, the leg is waived. An outside party goes with the
// member. Errors: OutOfTurn unless the deal is owed.
func (d Deal) Waive(member string, now time.Time) (Deal, error) {
	if s := d.State(now); s != Owed {
		return d, &OutOfTurn{Verb: Waive, State: s}
	}
	d = d.clone()
	if !slices.Contains(d.Waivers, member) {
		d.Waivers = append(d.Waivers, member)
	}
	if other := d.Other(member); other != "" && !slices.Contains(d.Waivers, other) {
		return d, nil
	}
	for i := range d.Legs {
		if s := d.Legs[i].State; s == Undelivered || s == Reserved {
			d.Legs[i].State = Waived
		}
	}
	return d, nil
}

// Repay returns the loan with a leg that brings back a part of it. Errors:
// OutOfTurn where nothing is owed.
func (d Deal) Repay(l Leg, now, expires time.Time) (Deal, error) {
	if len(d.Outstanding()) == 0 {
		return d, &OutOfTurn{Verb: Repay, State: d.State(now)}
	}
	d = d.clone()
	lender, borrower := d.Sides()
	l.Giver, l.Receiver, l.Return, l.State, l.Since = borrower, lender, true, Reserved, now
	d.Legs = append(d.Legs, l)
	d.Expires = expires
	return d, nil
}

// Forgive returns the loan with a part forgiven. Errors: OutOfTurn where nothing
// is owed; TooMuch for more than is owed.
func (d Deal) Forgive(a Amount, now time.Time) (Deal, error) {
	owed := d.Outstanding()
	if len(owed) == 0 {
		return d, &OutOfTurn{Verb: Forgive, State: d.State(now)}
	}
	i := slices.IndexFunc(owed, func(o Amount) bool { return o.Commodity == a.Commodity })
	switch {
	case i < 0:
		return d, &TooMuch{a.Commodity, a.Mass, 0}
	case owed[i].Mass < a.Mass:
		return d, &TooMuch{a.Commodity, a.Mass, owed[i].Mass}
	}
	d = d.clone()
	d.Forgiven = append(d.Forgiven, a)
	return d, nil
}

// TooMuch reports more than there is: of what is owed.
//
//nolint:errname // the word for it in the trade
type TooMuch struct {
	Commodity journal.Commodity
	Asked     unit.Mass
	Left      unit.Mass
}

// Error says how much there is.
func (e *TooMuch) Error() string {
	return fmt.Sprintf("%.3f g of %s asked for, %.3f g left", e.Asked.Grams(), e.Commodity, e.Left.Grams())
}
