package exchange_test

import (
	"errors"
	"testing"
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

func TestTheYoungestPromisesFallShortFirst(t *testing.T) {
	t.Parallel()
	b := journal.Book{Account: journal.Bin("b"), Commodity: red}
	promise := func(deal string, m unit.Mass, since time.Time) exchange.Promise {
		return exchange.Promise{Deal: deal, Leg: deal, Account: b.Account, Commodity: b.Commodity, Mass: m, Since: since}
	}
	elsewhere := promise("elsewhere", 1000, day)
	elsewhere.Account = journal.Bin("c")
	on := exchange.On(b, []exchange.Promise{promise("young", 40, day.Add(2)), elsewhere, promise("old", 50, day), promise("middle", 30, day.Add(1))})
	if len(on) != 3 || on[0].Deal != "old" || on[2].Deal != "young" {
		t.Fatalf("the promises on the bin are %v", on)
	}
	for book, want := range map[unit.Mass]map[string]unit.Mass{
		120: {},
		119: {"young": 1},
		80:  {"young": 40},
		70:  {"young": 40, "middle": 10},
		0:   {"young": 40, "middle": 30, "old": 50},
	} {
		got := exchange.Short(book, on)
		if len(got) != len(want) {
			t.Errorf("with %d mg %v fall short, want %v", book, got, want)
		}
		for leg, m := range want {
			if got[leg] != m {
				t.Errorf("with %d mg, %d are missing to %s, want %d", book, got[leg], leg, m)
			}
		}
		if a := exchange.Available(book, on); a != book-120 {
			t.Errorf("of %d mg %d are available", book, a)
		}
	}
}

func TestMaterialAndWhatComesFromOutsideReservesNothing(t *testing.T) {
	t.Parallel()
	d := gift()
	d.Legs[0].Goods = []exchange.Good{
		{From: journal.Bin("b"), Agreed: 100},
		{From: journal.Account{Kind: journal.Outside}, Commodity: red, Agreed: 100},
	}
	if got := d.Promises("t", day); len(got) != 0 {
		t.Errorf("it reserves %v", got)
	}
}

func TestAllThatWasSentIsAccountedFor(t *testing.T) {
	t.Parallel()
	g := func(m unit.Mass) *unit.Mass { return &m }
	for name, c := range map[string]struct {
		seen exchange.Seen
		want exchange.Came
	}{
		"nothing told":                  {exchange.Seen{}, exchange.Came{Received: 100}},
		"dead, and the rest came":       {exchange.Seen{Dead: 8}, exchange.Came{Received: 92, Dead: 8}},
		"less came: missing":            {exchange.Seen{Received: g(80), Dead: 5}, exchange.Came{Received: 80, Dead: 5, Missing: 15}},
		"more came: weight gained":      {exchange.Seen{Received: g(110)}, exchange.Came{Received: 110, WeightLost: -10}},
		"weight lost on the way":        {exchange.Seen{WeightLost: g(20)}, exchange.Came{Received: 80, WeightLost: 20}},
		"a part went back":              {exchange.Seen{Returned: 30}, exchange.Came{Received: 70, Returned: 30}},
		"all told, and it adds up":      {exchange.Seen{Received: g(70), Dead: 10, WeightLost: g(5), Missing: g(15)}, exchange.Came{Received: 70, Dead: 10, WeightLost: 5, Missing: 15}},
		"nothing came":                  {exchange.Seen{Received: g(0)}, exchange.Came{Missing: 100}},
		"missing told, weight is wrong": {exchange.Seen{Received: g(105), Missing: g(0)}, exchange.Came{Received: 105, WeightLost: -5}},
	} {
		got, err := exchange.Reckon(100, c.seen, true)
		if err != nil || got != c.want || got.Sum() != 100 {
			t.Errorf("%s: %+v, %v; want %+v", name, got, err, c.want)
		}
	}
	for name, c := range map[string]struct {
		seen  exchange.Seen
		alive bool
	}{
		"more dead than sent":             {exchange.Seen{Dead: 101}, true},
		"all told, and it doesn't add up": {exchange.Seen{Received: g(70), WeightLost: g(0), Missing: g(20)}, true},
		"castings that gain weight":       {exchange.Seen{Received: g(110)}, false},
		"dead castings":                   {exchange.Seen{Dead: 1}, false},
		"a negative part":                 {exchange.Seen{Returned: -1}, true},
	} {
		_, err := exchange.Reckon(100, c.seen, c.alive)
		if e, ok := errors.AsType[*exchange.Unbalanced](err); !ok || e.Error() == "" {
			t.Errorf("%s: %v, want it refused", name, err)
		}
	}
}
