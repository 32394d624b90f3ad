package exchange_test

import (
	"testing"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

func TestAStatementSumsWhatAMemberGaveAndGot(t *testing.T) {
	t.Parallel()
	all := []exchange.Handed{
		{Record: "1", From: "ana", To: "bo", Terms: exchange.Sale, Commodity: red, Mass: 100, Worms: 200, Minor: 500, Currency: "EUR"},
		{Record: "1", From: "ana", To: "bo", Terms: exchange.Sale, Commodity: journal.Castings, Mass: 30},
		{Record: "2", From: "ana", To: "", Terms: exchange.Sale, Commodity: red, Mass: 50, Minor: 300, Currency: "EUR"},
		{Record: "3", From: "ana", To: "cy", Terms: exchange.Sale, Commodity: red, Mass: 5, Minor: 20, Currency: "CHF"},
		{Record: "4", From: "bo", To: "ana", Terms: exchange.Gift, Commodity: red, Mass: 7},
		{Record: "5", From: "bo", To: "cy", Terms: exchange.Gift, Commodity: red, Mass: 1000},
	}
	got := exchange.Statement("ana", all)
	want := []exchange.Row{
		{Terms: exchange.Gift, Commodity: red, Mass: 7, Records: []string{"4"}},
		{Terms: exchange.Sale, Gave: true, Commodity: journal.Castings, Mass: 30, Records: []string{"1"}},
		{Terms: exchange.Sale, Gave: true, Commodity: red, Mass: 155, Worms: 200, Money: map[string]int64{"EUR": 800, "CHF": 20}, Records: []string{"1", "2", "3"}},
	}
	if len(got) != len(want) {
		t.Fatalf("the statement has %d rows, want %d: %+v", len(got), len(want), got)
	}
	for i, w := range want {
		g := got[i]
		if g.Terms != w.Terms || g.Gave != w.Gave || g.Commodity != w.Commodity || g.Mass != w.Mass || g.Worms != w.Worms || len(g.Records) != len(w.Records) {
			t.Errorf("row %d is %+v, want %+v", i, g, w)
		}
		for currency, minor := range w.Money {
			if g.Money[currency] != minor {
				t.Errorf("row %d has %d of %s, want %d", i, g.Money[currency], currency, minor)
			}
		}
	}
	var gave, total unit.Mass
	for _, r := range got {
		if r.Gave {
			gave += r.Mass
		}
	}
	for _, h := range all {
		if h.From == "ana" {
			total += h.Mass
		}
	}
	if gave != total {
		t.Errorf("the rows sum to %d mg given, the records to %d", gave, total)
	}
}

func TestALoanAndAnUndeliveredLegAreDebts(t *testing.T) {
	t.Parallel()
	if got := loan().Debts(day); len(got) != 1 || got[0].Debtor != "bo" || got[0].Creditor != "ana" || got[0].Amount.Mass != 90 {
		t.Errorf("of the loan %+v is owed", got)
	}
	half := came(sent(must(swap().Accept(day, ends)), 0), 0, exchange.Came{Received: 100})
	if got := half.Debts(day); len(got) != 0 {
		t.Errorf("of a swap under way %+v is owed", got)
	}
	if got := must(half.Fail(1, day)).Debts(day); len(got) != 1 || got[0].Debtor != "bo" || got[0].Amount != (exchange.Amount{Commodity: night, Mass: 60}) {
		t.Errorf("of the swap %+v is owed", got)
	}
}
