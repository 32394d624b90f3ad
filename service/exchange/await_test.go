package exchange_test

import (
	"reflect"
	"testing"

	"lumbricary.example/service/exchange"
)

func TestADealWaitsForTheNextStepOfOneSide(t *testing.T) {
	t.Parallel()
	accepted := must(gift().Accept(day, ends))
	outside := exchange.Deal{Terms: exchange.Gift, Proposer: "ana", Legs: []exchange.Leg{leg("ana", "", red, 100)}}.Proposed(day, ends)
	owed := must(must(swap().Accept(day, ends)).Fail(1, day))
	owed = came(sent(owed, 0), 0, exchange.Came{Received: 100})
	for name, x := range map[string]struct {
		deal exchange.Deal
		want []exchange.Await
	}{
		"a proposal, for the other side's answer":      {gift(), []exchange.Await{{Verb: exchange.Accept, Leg: -1, Member: "bo"}}},
		"what was accepted, for its giver to send it":  {accepted, []exchange.Await{{Verb: exchange.Dispatch, Leg: 0, Member: "ana"}}},
		"a swap, for both to send":                     {must(swap().Accept(day, ends)), []exchange.Await{{Verb: exchange.Dispatch, Leg: 0, Member: "ana"}, {Verb: exchange.Dispatch, Leg: 1, Member: "bo"}}},
		"what is under way, for its receiver":          {sent(accepted, 0), []exchange.Await{{Verb: exchange.Receive, Leg: 0, Member: "bo"}}},
		"what goes to a party, for the member":         {sent(outside, 0), []exchange.Await{{Verb: exchange.Receive, Leg: 0, Member: "ana"}}},
		"what can't be delivered, for something else":  {owed, []exchange.Await{{Verb: exchange.Replace, Leg: 1, Member: "bo"}}},
		"what has arrived, for nothing":                {came(sent(accepted, 0), 0, exchange.Came{Received: 100}), nil},
		"what was declined, for nothing":               {must(gift().End(exchange.Decline, day)), nil},
		"a loan that isn't back, for no step":          {loan(), nil},
		"a part of a loan on its way back, for a step": {must(loan().Repay(exchange.Leg{ID: "back"}, day, ends)), []exchange.Await{{Verb: exchange.Dispatch, Leg: 1, Member: "bo"}}},
	} {
		if got := x.deal.Awaits(day); !reflect.DeepEqual(got, x.want) {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if got := gift().Awaits(ends); got != nil {
		t.Errorf("what has expired waits for %+v", got)
	}
}
