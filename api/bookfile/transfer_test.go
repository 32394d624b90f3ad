package bookfile_test

import (
	"encoding/json"
	"strings"
	"testing"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"
)

// trading gives a club a second keeper, stock, and transfers in many states.
func trading(t *testing.T, c club) {
	t.Helper()
	c.bring(read(t, map[string]string{
		"members.csv": "id,name,role\n,Ben,keeper\n",
		"sites.csv":   "id,name,address,owner,note\n,Cellar,,Ana,\n",
		"bins.csv":    "id,name,kind,site,keeper,stand_ins,surface_m2,depth_cm,started,retired,retired_why,note\n,Tote,tote,Cellar,Ana,,,,2026-01-01,,,\n,Shed,bag,Cellar,Ben,,,,2026-01-01,,,\n",
		"origins.csv": "id,name,kind,species,culture,note\n,Green Farm,supplier,eisenia-fetida,,\n",
		"batches.csv": "id,lot_number,product,mesh_mm,note\n,2026-A,castings,,\n",
		"movements.csv": "id,kind,at,by,from_bin,to_bin,from_batch,species,quantity,unit,size_class,density_g_per_l,sample_mg,moisture_pct,origin,terms,party,price_minor,currency,cause,material_g,reverses,reason,note\n" +
			",stocking,2026-01-02,Ana,,Tote,,eisenia-fetida,2,kg,,,,,Green Farm,,,,,,,,,\n,stocking,2026-01-02,Ana,,Shed,,eisenia-fetida,1,kg,,,,,,,,,,,,,,\n",
	}))
	b, err := c.Records.Export(c.ctx, c.ana)
	worked(t, err)
	id := map[string]service.BinID{}
	for _, r := range b.Bins {
		id[r.Value.Name] = r.Value.ID
	}
	batch := b.Batches[0].Value.ID
	members, err := c.Members.List(c.ctx, c.ana, service.Query{})
	worked(t, err)
	who := map[string]string{}
	for _, m := range members {
		who[m.Name] = string(m.ID)
	}
	worms := func(bin service.BinID, value float64, in string) service.Line {
		return service.Line{FromBin: bin, Species: "eisenia-fetida", Typed: unit.Measure{Value: value, Unit: in}}
	}
	propose := func(v service.Transfer) service.TransferSeen {
		t.Helper()
		out, err := c.Transfers.Propose(c.ctx, c.ana, v)
		if err != nil {
			t.Fatal(explained(err))
		}
		return out
	}
	step := func(of service.TransferSeen, s service.Stepping) service.TransferSeen {
		t.Helper()
		out, err := c.Transfers.Step(c.ctx, c.ana, of.ID, s)
		if err != nil {
			t.Fatal(s.Verb, " ", explained(err))
		}
		return out
	}
	leg := func(giver, receiver string) exchange.Leg {
		return exchange.Leg{Giver: who[giver], Receiver: who[receiver]}
	}

	offer, err := c.Offers.Add(c.ctx, c.ana, service.Offer{What: "Worms; = to | spare", Bin: id["Tote"], Species: "eisenia-fetida", Quantity: unit.Measure{Value: 1, Unit: "kg"}, Terms: []service.Terms{service.Sale, service.Gift}})
	worked(t, err)
	withdrawn, err := c.Offers.Add(c.ctx, c.ana, service.Offer{What: "Castings", Batch: batch})
	worked(t, err)
	_, err = c.Offers.Remove(c.ctx, c.ana, withdrawn.ID, withdrawn.Version)
	worked(t, err)

	swap := propose(service.Transfer{
		Deal:  exchange.Deal{Terms: service.Swap, Legs: []exchange.Leg{leg("Ana", "Ben"), leg("Ben", "Ana")}},
		Legs:  []service.Leg{{Agreed: []service.Line{worms(id["Tote"], 300, "{worms}")}, ToBin: id["Shed"]}, {Agreed: []service.Line{worms(id["Shed"], 50, "g")}}},
		Offer: offer.ID, Note: "half; | and \\ half",
	})
	step(swap, service.Stepping{Verb: exchange.Accept})
	swap = step(swap, service.Stepping{Verb: exchange.Dispatch, Leg: swap.Legs[0].ID})
	swap = step(swap, service.Stepping{Verb: exchange.Receive, Leg: swap.Legs[0].ID, Came: []service.Outcome{{Dead: 5 * unit.Gram}}})
	step(swap, service.Stepping{Verb: exchange.Settle, Leg: swap.Legs[0].ID, Note: "a; b | c", Came: []service.Outcome{{Dead: 6 * unit.Gram}}})
	step(swap, service.Stepping{Verb: exchange.Claim, Leg: swap.Legs[0].ID, Note: "dead; on | arrival", Lines: []service.Line{{Species: "eisenia-fetida", Typed: unit.Measure{Value: 6, Unit: "g"}}}})
	step(swap, service.Stepping{Verb: exchange.Fail, Leg: swap.Legs[1].ID})
	step(swap, service.Stepping{Verb: exchange.Waive})

	loan := propose(service.Transfer{
		Deal: exchange.Deal{Terms: service.Loan, Legs: []exchange.Leg{leg("Ana", "Ben")}}, Done: true, At: service.Moment{Text: "2026-03-01"}, Due: "2026-12-01",
		Legs: []service.Leg{{Agreed: []service.Line{worms(id["Tote"], 20, "%")}, ToBin: id["Shed"]}},
	})
	step(loan, service.Stepping{Verb: exchange.Repay, Lines: []service.Line{worms(id["Shed"], 30, "g")}, ToBin: id["Tote"]})
	step(loan, service.Stepping{Verb: exchange.Forgive, Lines: []service.Line{{Species: "eisenia-fetida", Typed: unit.Measure{Value: 1, Unit: "g"}}}})

	castings := propose(service.Transfer{
		Deal: exchange.Deal{Terms: service.Sale, Legs: []exchange.Leg{{Receiver: who["Ana"]}}}, Party: "Rosa",
		Contact: service.Contact{Text: "rosa@example.org", Purpose: "tracing", Until: "2030-01-01"},
		Price:   service.Price{UnitMinor: new(int64(200)), Unit: "kg", Currency: "EUR"},
		Legs:    []service.Leg{{Agreed: []service.Line{{Castings: true, Typed: unit.Measure{Value: 4, Unit: "kg"}}}, ToBatch: batch}},
	})
	step(castings, service.Stepping{Verb: exchange.Dispatch})
	castings = step(castings, service.Stepping{Verb: exchange.Receive})
	step(castings, service.Stepping{Verb: exchange.Claim, Note: "wet", Lines: []service.Line{{Castings: true, Typed: unit.Measure{Value: 1, Unit: "kg"}}}})
	propose(service.Transfer{
		Deal: exchange.Deal{Terms: service.Gift, Legs: []exchange.Leg{{Receiver: who["Ana"]}}}, Party: "Rosa", Replaces: castings.ID, Done: true,
		Legs: []service.Leg{{Agreed: []service.Line{{Castings: true, Typed: unit.Measure{Value: 1, Unit: "kg"}}}, ToBatch: batch}},
	})
	under := propose(service.Transfer{
		Deal: exchange.Deal{Terms: service.Gift, Legs: []exchange.Leg{{Giver: who["Ana"]}}}, Party: "School",
		Legs: []service.Leg{{Agreed: []service.Line{worms(id["Tote"], 10, "g"), {FromBin: id["Tote"], Material: true, Typed: unit.Measure{Value: 2, Unit: "kg"}}, {FromBatch: batch, Typed: unit.Measure{Value: 50, Unit: "%"}}}}},
	})
	step(under, service.Stepping{Verb: exchange.Dispatch})
	step(propose(service.Transfer{
		Deal: exchange.Deal{Terms: service.Gift, Legs: []exchange.Leg{leg("Ana", "Ben")}}, Legs: []service.Leg{{Agreed: []service.Line{worms(id["Tote"], 1, "g")}}},
	}), service.Stepping{Verb: exchange.Decline})
}

func worked(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// transfers are the club's, as they are seen, without what is the database's or
// named by its members.
func (c club) transfers() string {
	c.Helper()
	all, err := c.Transfers.List(c.ctx, c.ana, service.Query{}, "", false)
	worked(c.T, err)
	var out []map[string]any
	for _, t := range all {
		var goods []any
		for _, l := range t.Deal.Legs {
			goods = append(goods, l.State, l.Goods)
		}
		out = append(out, map[string]any{"id": t.ID, "state": t.State, "short": t.Short, "owed": t.Outstanding, "legs": goods, "price": t.Price, "contact": t.Contact, "expires": t.Deal.Expires})
	}
	text, err := json.MarshalIndent(out, "", " ")
	worked(c.T, err)
	ids, err := c.Bins.List(c.ctx, c.ana, service.Query{})
	worked(c.T, err)
	named := string(text)
	for _, b := range ids {
		named = strings.ReplaceAll(named, string(b.ID), b.Name)
	}
	return named
}

func TestTransfersTravelWithTheBookAsTheyWere(t *testing.T) {
	t.Parallel()
	first := newClub(t, repotest.Postgres(t), "first")
	trading(t, first)
	second := newClub(t, repotest.SQLite(t), "second")
	second.bring(read(t, first.tables()))
	sameBook(t, second, first)
	same(t, "transfers", second.transfers(), first.transfers())
	third := newClub(t, repotest.Postgres(t), "third")
	b, err := bookfile.ReadJSON([]byte(second.document()))
	worked(t, err)
	third.bring(b)
	sameBook(t, third, first)
	same(t, "transfers", third.transfers(), first.transfers())
}

func TestATransferThatDisagreesWithItsMovementsIsRefusedWithItsRow(t *testing.T) {
	t.Parallel()
	first := newClub(t, repotest.SQLite(t), "first")
	trading(t, first)
	for _, x := range []struct{ table, old, new, pointer string }{
		{"movements.csv", ",10000,", ",10001,", "booked_mg"},
		{"transfers.csv", "sale,", "rent,", "terms"},
		{"transfers.csv", ",Ben,", ",Zoe,", "receiver"},
		{"transfers.csv", ",arrived,", ",lost,", "state"},
		{"transfers.csv", "2026-03-01,", "soon,", "at"},
		{"offers.csv", "Castings", "", "what"},
	} {
		tables := first.tables()
		if !strings.Contains(tables[x.table], x.old) {
			t.Fatalf("%s has no %q: %s", x.table, x.old, tables[x.table])
		}
		tables[x.table] = strings.Replace(tables[x.table], x.old, x.new, 1)
		second := newClub(t, repotest.SQLite(t), "second")
		_, err := second.Records.Import(second.ctx, second.ana, read(t, tables), false)
		if err == nil || !strings.Contains(explained(err), "/"+x.table+"/") || !strings.Contains(explained(err), "/"+x.pointer) {
			t.Errorf("%q for %q: %v", x.new, x.old, err)
		} else if !strings.Contains(explained(err), x.pointer) {
			t.Error(explained(err))
		}
	}
}
