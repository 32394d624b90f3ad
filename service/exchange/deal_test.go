package exchange_test

import (
	"errors"
	"testing"
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

var (
	day   = time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	ends  = day.AddDate(0, 0, 14)
	red   = journal.Worms("eisenia-fetida")
	night = journal.Worms("dendrobaena-veneta")
)

// leg is a leg of one good out of a bin.
func leg(giver, receiver string, c journal.Commodity, m unit.Mass) exchange.Leg {
	return exchange.Leg{ID: giver + "-" + receiver, Giver: giver, Receiver: receiver, Goods: []exchange.Good{
		{From: journal.Bin("bin of " + giver), Commodity: c, Agreed: m},
	}}
}

func gift() exchange.Deal {
	return exchange.Deal{Terms: exchange.Gift, Proposer: "ana", Legs: []exchange.Leg{leg("ana", "bo", red, 100)}}.Proposed(day, ends)
}

func swap() exchange.Deal {
	return exchange.Deal{Terms: exchange.Swap, Proposer: "ana", Legs: []exchange.Leg{leg("ana", "bo", red, 100), leg("bo", "ana", night, 60)}}.Proposed(day, ends)
}

func loan() exchange.Deal {
	d := exchange.Deal{Terms: exchange.Loan, Proposer: "ana", Legs: []exchange.Leg{leg("ana", "bo", red, 100)}}.Proposed(day, ends)
	return came(sent(must(d.Accept(day, ends)), 0), 0, exchange.Came{Received: 90, Dead: 10})
}

func must(d exchange.Deal, err error) exchange.Deal {
	if err != nil {
		panic(err)
	}
	return d
}

func sent(d exchange.Deal, i int) exchange.Deal {
	d = must(d.Dispatch(i, day))
	d.Legs[i].Goods[0].Sent = d.Legs[i].Goods[0].Agreed
	return d
}

func came(d exchange.Deal, i int, c exchange.Came) exchange.Deal {
	d.Legs[i].Goods[0].Came = c
	return must(d.Receive(i, day))
}

func refused(t *testing.T, what string, err error) {
	t.Helper()
	if _, ok := errors.AsType[*exchange.OutOfTurn](err); !ok {
		t.Errorf("%s: %v, want it out of turn", what, err)
	}
}

func stands(t *testing.T, d exchange.Deal, at time.Time, want exchange.State) {
	t.Helper()
	if got := d.State(at); got != want {
		t.Errorf("it is %s, want %s", got, want)
	}
}

func TestATransferIsProposedAcceptedDispatchedAndReceived(t *testing.T) {
	t.Parallel()
	d := gift()
	stands(t, d, day, exchange.Proposed)
	_, err := d.Dispatch(0, day)
	refused(t, "sending what isn't accepted", err)
	d = must(d.Accept(day, ends))
	stands(t, d, day, exchange.Accepted)
	_, err = d.Accept(day, ends)
	refused(t, "accepting twice", err)
	_, err = d.Receive(0, day)
	refused(t, "receiving what wasn't sent", err)
	d = sent(d, 0)
	stands(t, d, day, exchange.Dispatched)
	_, err = d.End(exchange.Cancel, day)
	refused(t, "cancelling what is under way", err)
	d = came(d, 0, exchange.Came{Received: 100})
	stands(t, d, day, exchange.Received)
	if d.Open(day) {
		t.Error("it is open, though all of it has happened")
	}
	_, err = d.Receive(0, day)
	refused(t, "receiving twice", err)
}

func TestAnOutsidePartyAcceptsWithTheMember(t *testing.T) {
	t.Parallel()
	d := exchange.Deal{Terms: exchange.Sale, Proposer: "ana", Legs: []exchange.Leg{leg("ana", "", red, 100)}}.Proposed(day, ends)
	stands(t, d, day, exchange.Accepted)
}

func TestWhoGivesReservesByProposingAndWhoIsAskedByAccepting(t *testing.T) {
	t.Parallel()
	if got := gift().Promises("t", day); len(got) != 1 || got[0].Mass != 100 {
		t.Errorf("a proposed gift reserves %v, want 100 mg", got)
	}
	asked := exchange.Deal{Terms: exchange.Gift, Proposer: "bo", Legs: []exchange.Leg{leg("ana", "bo", red, 100)}}.Proposed(day, ends)
	if got := asked.Promises("t", day); len(got) != 0 {
		t.Errorf("a request reserves %v before it is accepted", got)
	}
	if got := must(asked.Accept(day, ends)).Promises("t", day); len(got) != 1 {
		t.Errorf("an accepted request reserves %v", got)
	}
}

func TestASwapReservesBothLegsTogetherOrNone(t *testing.T) {
	t.Parallel()
	if got := swap().Promises("t", day); len(got) != 0 {
		t.Errorf("a proposed swap reserves %v", got)
	}
	if got := must(swap().Accept(day, ends)).Promises("t", day); len(got) != 2 {
		t.Errorf("an accepted swap reserves %v, want both legs", got)
	}
}

func TestAPromiseEndsWithDispatchCancelDeclineOrExpiry(t *testing.T) {
	t.Parallel()
	for what, d := range map[string]exchange.Deal{
		"dispatched": sent(must(gift().Accept(day, ends)), 0),
		"cancelled":  must(gift().End(exchange.Cancel, day)),
		"declined":   must(gift().End(exchange.Decline, day)),
	} {
		if got := d.Promises("t", day); len(got) != 0 {
			t.Errorf("%s, it still reserves %v", what, got)
		}
	}
	d := must(gift().Accept(day, ends))
	if got := d.Promises("t", ends); len(got) != 0 {
		t.Errorf("expired, it still reserves %v", got)
	}
	stands(t, d, ends.Add(-1), exchange.Accepted)
	stands(t, d, ends, exchange.Expired)
	_, err := d.Dispatch(0, ends)
	refused(t, "sending what has expired", err)
	_, err = must(gift().Accept(day, ends)).End(exchange.Decline, day)
	refused(t, "declining what is accepted", err)
}

func TestASwapClosesWhenBothLegsAreSettled(t *testing.T) {
	t.Parallel()
	d := sent(must(swap().Accept(day, ends)), 0)
	d = came(d, 0, exchange.Came{Received: 80, Missing: 20})
	stands(t, d, day, exchange.Dispatched)
	d = came(sent(d, 1), 1, exchange.Came{Received: 60})
	stands(t, d, day, exchange.Received)
}

func TestALegThatCanNotBeDeliveredIsOwedUntilReplacedOrWaivedByBoth(t *testing.T) {
	t.Parallel()
	half := came(sent(must(swap().Accept(day, ends)), 0), 0, exchange.Came{Received: 100})
	d := must(half.Fail(1, day))
	stands(t, d, day, exchange.Owed)
	if !d.Open(day) {
		t.Error("what is owed isn't open")
	}
	replaced := must(d.Replace(1, []exchange.Good{{From: journal.Bin("another"), Commodity: night, Agreed: 60}}, day, ends))
	stands(t, replaced, day, exchange.Dispatched)
	if got := replaced.Promises("t", day); len(got) != 1 || got[0].Account != journal.Bin("another") {
		t.Errorf("the replacement reserves %v", got)
	}
	one := must(d.Waive("ana", day))
	stands(t, one, day, exchange.Owed)
	both := must(one.Waive("bo", day))
	stands(t, both, day, exchange.Received)
	stands(t, half, ends, exchange.Owed) // its promise has expired
	_, err := half.Waive("ana", day)
	refused(t, "waiving what is still promised", err)
	_, err = half.Replace(1, nil, day, ends)
	refused(t, "replacing what is still promised", err)
}

func TestAllThatGoesBackIsReturned(t *testing.T) {
	t.Parallel()
	d := came(sent(must(gift().Accept(day, ends)), 0), 0, exchange.Came{Returned: 95, Dead: 5})
	stands(t, d, day, exchange.Returned)
}

func TestALoanIsOwedLessWhatCameBackAndWhatWasForgiven(t *testing.T) {
	t.Parallel()
	d := loan()
	owes := func(d exchange.Deal, want unit.Mass) {
		t.Helper()
		var got unit.Mass
		for _, a := range d.Outstanding() {
			got += a.Mass
		}
		if got != want {
			t.Errorf("%d mg are owed, want %d", got, want)
		}
	}
	owes(d, 90) // 10 of 100 arrived dead
	d = must(d.Repay(leg("", "", red, 40), day, ends))
	owes(d, 90)
	d = came(sent(d, 1), 1, exchange.Came{Received: 35, Dead: 5})
	owes(d, 55)
	_, err := d.Forgive(exchange.Amount{Commodity: red, Mass: 56}, day)
	if e, ok := errors.AsType[*exchange.TooMuch](err); !ok || e.Left != 55 {
		t.Errorf("forgiving more than is owed: %v", err)
	}
	if _, err := d.Forgive(exchange.Amount{Commodity: night, Mass: 1}, day); err == nil {
		t.Error("what isn't owed was forgiven")
	}
	d = must(d.Forgive(exchange.Amount{Commodity: red, Mass: 15}, day))
	owes(d, 40)
	if !d.Open(day) {
		t.Error("what is owed isn't open")
	}
	d = must(d.Repay(leg("", "", red, 50), day, ends))
	if d.Legs[2].Giver != "bo" || d.Legs[2].Receiver != "ana" {
		t.Errorf("what comes back goes from %s to %s", d.Legs[2].Giver, d.Legs[2].Receiver)
	}
	d = came(sent(d, 2), 2, exchange.Came{Received: 50})
	owes(d, 0)
	if d.Open(day) {
		t.Error("it is open, though nothing is owed")
	}
	_, err = d.Repay(leg("", "", red, 1), day, ends)
	refused(t, "bringing back what isn't owed", err)
	_, err = d.Forgive(exchange.Amount{Commodity: red, Mass: 1}, day)
	refused(t, "forgiving what isn't owed", err)
	if owed := gift().Outstanding(); owed != nil {
		t.Errorf("of a gift %v is owed", owed)
	}
}

func TestASettlementCorrectsWhatIsUnderWayOrHasCome(t *testing.T) {
	t.Parallel()
	_, err := gift().Settle(0, day)
	refused(t, "settling what wasn't sent", err)
	d := sent(must(gift().Accept(day, ends)), 0)
	if d = must(d.Settle(0, day)); d.Legs[0].State != exchange.UnderWay {
		t.Errorf("settled on the way it is %s", d.Legs[0].State)
	}
	d = came(d, 0, exchange.Came{Returned: 100})
	d.Legs[0].Goods[0].Came = exchange.Came{Received: 100}
	stands(t, must(d.Settle(0, day)), day, exchange.Received)
}

func TestAStepOnALegThatIsNotThereIsOutOfTurn(t *testing.T) {
	t.Parallel()
	_, err := gift().Fail(7, day)
	refused(t, "a leg that isn't there", err)
	_, err = must(gift().Accept(day, ends)).Fail(0, day)
	refused(t, "failing a gift", err)
	for _, text := range []string{(&exchange.OutOfTurn{Verb: exchange.Fail, State: exchange.Owed}).Error(), (&exchange.OutOfTurn{Verb: exchange.Fail, State: exchange.Owed, Leg: exchange.Arrived}).Error(), (&exchange.TooMuch{Commodity: red}).Error()} {
		if text == "" {
			t.Error("an error without words")
		}
	}
}

func TestStepsLeaveTheDealTheyStartFromAsItIs(t *testing.T) {
	t.Parallel()
	d := must(swap().Accept(day, ends))
	_ = sent(d, 0)
	_ = must(d.Fail(1, day))
	if d.Legs[0].State != exchange.Reserved || d.Legs[1].State != exchange.Reserved {
		t.Errorf("the legs are %s and %s", d.Legs[0].State, d.Legs[1].State)
	}
	if got := d.Other("bo"); got != "ana" {
		t.Errorf("bo's other side is %s", got)
	}
}
