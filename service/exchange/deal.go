package exchange

import (
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// Terms say on what terms something changes hands.
type Terms string

// The terms.
const (
	Sale Terms = "sale"
	Swap Terms = "swap"
	Gift Terms = "gift"
	Loan Terms = "loan"
)

// State is where a deal stands.
type State string

// The states of a deal.
const (
	Proposed   State = "proposed"
	Accepted   State = "accepted"
	Dispatched State = "dispatched" // something is under way, or waits for its leg's turn
	Received   State = "received"   // every leg has ended; of a loan, what was lent has arrived
	Owed       State = "owed"       // one leg of a swap is done and the other can't be delivered
	Returned   State = "returned"   // all that was sent went back
	Declined   State = "declined"
	Cancelled  State = "cancelled"
	Expired    State = "expired"
)

// LegState is where a leg stands.
type LegState string

// The states of a leg.
const (
	Promised    LegState = "promised" // its giver hasn't committed
	Reserved    LegState = "reserved" // its stock is kept for it
	UnderWay    LegState = "under-way"
	Arrived     LegState = "arrived"
	Back        LegState = "returned"
	Undelivered LegState = "undelivered" // its giver can't deliver it
	Waived      LegState = "waived"      // both turned it into a gift of the other leg
)

// Deal is what two sides agreed on and what became of it.
type Deal struct {
	Terms    Terms
	Proposer string // the member who proposed it
	Legs     []Leg
	Accepted bool      // by the side that didn't propose it
	Ended    State     // declined or cancelled; else empty
	Expires  time.Time // when promises that weren't kept end
	Waivers  []string  // members who turned an undelivered leg into a gift
	Forgiven []Amount  // of a loan
}

// Leg is one way of a deal. A member's id that is empty stands for the party
// outside the club.
type Leg struct {
	ID       string // also the reference of its account in transit
	Giver    string
	Receiver string
	Return   bool // of a loan: brings back a part of it
	State    LegState
	Since    time.Time // when its giver committed; promises go by age
	Goods    []Good
}

// Good is one thing that a leg moves. Commodity is empty for half-worked
// material, which has no book.
type Good struct {
	From      journal.Account // a bin, a batch, or outside; its kind is empty while nobody has said
	Commodity journal.Commodity
	Agreed    unit.Mass
	Sent      unit.Mass
	Came      Came
}

// Came is what became of a good that was sent. All of it but what returned and
// WeightLost is none of the giver's any more.
type Came struct {
	Received   unit.Mass
	Dead       unit.Mass // seen dead
	WeightLost unit.Mass // water and gut; negative when weight was gained
	Missing    unit.Mass
	Returned   unit.Mass // went back to where it came from
}

// Sum is all that has become of a good: what was sent.
func (c Came) Sum() unit.Mass { return c.Received + c.Dead + c.WeightLost + c.Missing + c.Returned }

// Amount is a mass of a commodity.
type Amount struct {
	Commodity journal.Commodity
	Mass      unit.Mass
}

// State returns where the deal stands at that time.
func (d Deal) State(now time.Time) State {
	lapsed := !now.Before(d.Expires)
	var way, done, back, failed, waiting int
	for _, l := range d.first() {
		switch l.State {
		case UnderWay:
			way++
		case Arrived, Waived:
			done++
		case Back:
			back++
		case Undelivered:
			failed++
		case Promised, Reserved:
			waiting++
		}
	}
	moved := way+done+back+failed > 0
	switch {
	case d.Ended != "":
		return d.Ended
	case !moved && lapsed:
		return Expired
	case !moved && d.Accepted:
		return Accepted
	case !moved:
		return Proposed
	case way > 0:
		return Dispatched
	case failed > 0 || waiting > 0 && lapsed:
		return Owed
	case waiting > 0:
		return Dispatched
	case done == 0:
		return Returned
	}
	return Received
}

// first are the legs that were agreed on, without those that bring a loan back.
func (d Deal) first() []Leg {
	return slices.DeleteFunc(slices.Clone(d.Legs), func(l Leg) bool { return l.Return })
}

// Open reports whether something of the deal is still to happen: a step, or the
// return of a loan.
func (d Deal) Open(now time.Time) bool {
	switch d.State(now) {
	case Declined, Cancelled, Expired, Returned:
		return false
	case Received:
		return len(d.Outstanding()) > 0 || slices.ContainsFunc(d.Legs, func(l Leg) bool { return l.State == Reserved || l.State == UnderWay })
	case Proposed, Accepted, Dispatched, Owed:
	}
	return true
}

// Lent is what was lent of a commodity, and what became of the debt.
type Lent struct {
	Commodity journal.Commodity
	Lent      unit.Mass // arrived
	Returned  unit.Mass
	Forgiven  unit.Mass
}

// Owed is what is still owed: Lent − Returned − Forgiven, never less than nothing.
// What died at the borrower's is owed.
func (l Lent) Owed() unit.Mass { return max(0, l.Lent-l.Returned-l.Forgiven) }

// Working says how what is owed came about.
func (l Lent) Working(name string, r working.Record) working.Figure {
	of := func(name string, m unit.Mass) working.Input { return working.Of(name, m.Grams(), "g", r) }
	return working.Figure{
		Name: name, Formula: working.Debt, Result: unit.Of(l.Owed().Grams(), "g", "book"),
		Inputs: []working.Input{of("lent", l.Lent), of("returned", l.Returned), of("forgiven", l.Forgiven)},
	}
}

// Lent returns what was lent by commodity, in the order in which it was agreed; of
// a loan alone.
func (d Deal) Lent() []Lent {
	if d.Terms != Loan {
		return nil
	}
	var out []Lent
	of := func(c journal.Commodity) *Lent {
		i := slices.IndexFunc(out, func(l Lent) bool { return l.Commodity == c })
		if i < 0 {
			i = len(out)
			out = append(out, Lent{Commodity: c})
		}
		return &out[i]
	}
	for _, l := range d.Legs {
		for _, g := range l.Goods {
			switch {
			case l.State != Arrived || g.Commodity == "":
			case l.Return:
				of(g.Commodity).Returned += g.Came.Received
			default:
				of(g.Commodity).Lent += g.Came.Received
			}
		}
	}
	for _, f := range d.Forgiven {
		of(f.Commodity).Forgiven += f.Mass
	}
	return slices.DeleteFunc(out, func(l Lent) bool { return l.Owed() == 0 })
}

// Outstanding returns what is still owed of a loan, by commodity.
func (d Deal) Outstanding() []Amount {
	var out []Amount
	for _, l := range d.Lent() {
		out = append(out, Amount{l.Commodity, l.Owed()})
	}
	return out
}
