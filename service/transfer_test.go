package service_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// goods is one line of worms out of a bin.
func goods(from service.BinID, value float64, u string) []service.Line {
	return []service.Line{{FromBin: from, Species: fetida, Typed: unit.Measure{Value: value, Unit: u}}}
}

// oneLeg is a transfer from one member to another; an empty receiver is the
// party.
func oneLeg(terms service.Terms, from, to service.MemberID, lines []service.Line) service.Transfer {
	t := service.Transfer{
		Deal: exchange.Deal{Terms: terms, Proposer: string(from), Legs: []exchange.Leg{{Giver: string(from), Receiver: string(to)}}},
		Legs: []service.Leg{{Agreed: lines}},
	}
	if to == "" {
		t.Party = "Rosa"
	}
	if terms == service.Loan {
		t.Due = "2026-09-01"
	}
	return t
}

func (h *house) propose(t service.Transfer) service.TransferSeen {
	h.Helper()
	return must(h.Transfers.Propose(h.Context(), h.ana, t))(h.T)
}

func (h *house) step(id service.TransferID, s service.Stepping) service.TransferSeen {
	h.Helper()
	h.now = h.now.Add(time.Minute)
	return must(h.Transfers.Step(h.Context(), h.ana, id, s))(h.T)
}

func (h *house) refused(id service.TransferID, s service.Stepping, want *service.Error) {
	h.Helper()
	_, err := h.Transfers.Step(h.Context(), h.ana, id, s)
	wantError(h.T, err, want)
}

func (h *house) inState(got service.TransferSeen, want exchange.State) {
	h.Helper()
	if got.State != want {
		h.Errorf("it is %s; want %s", got.State, want)
	}
}

func (h *house) holds(bin service.BinID, g float64) {
	h.Helper()
	if got := h.book(bin).Grams(); got != g {
		h.Errorf("the bin holds %v g; want %v", got, g)
	}
}

func grams(v float64) *service.Line { return &service.Line{Typed: unit.Measure{Value: v, Unit: "g"}} }

func TestASwapWithALegThatArrivesShortClosesWithTheShortfallPosted(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, h.origin("line A"), 1, "2026-03-01")
		h.stock(cy, h.origin("line B"), 1, "2026-03-01")
		swap := oneLeg(service.Swap, h.bo.ID, h.cy.ID, goods(bo, 300, "g"))
		swap.Deal.Legs = append(swap.Deal.Legs, exchange.Leg{Giver: string(h.cy.ID), Receiver: string(h.bo.ID)})
		swap.Legs = append(swap.Legs, service.Leg{Agreed: []service.Line{{Species: fetida, Typed: unit.Measure{Value: 200, Unit: "g"}}}})
		tr := h.propose(swap)
		h.refused(tr.ID, service.Stepping{Verb: exchange.Accept}, &service.Error{Code: "required"})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Accept, Lines: []service.Line{{FromBin: cy}}})
		h.inState(tr, exchange.Accepted)
		h.refused(tr.ID, service.Stepping{Verb: exchange.Dispatch}, &service.Error{Code: "required"})
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch, Leg: tr.Legs[0].ID})
		h.holds(bo, 700)
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch, Leg: tr.Legs[1].ID, Lines: goods("", 210, "g")})
		h.consistently()
		h.step(tr.ID, service.Stepping{Verb: exchange.Receive, Leg: tr.Legs[0].ID, ToBin: cy, Came: []service.Outcome{{Received: grams(250), Dead: 20 * unit.Gram}}})
		h.refused(tr.ID, service.Stepping{Verb: exchange.Receive, Leg: tr.Legs[1].ID, ToBin: cy}, &service.Error{Code: "keeper"})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Receive, Leg: tr.Legs[1].ID, ToBin: bo})
		h.inState(tr, exchange.Received)
		h.holds(cy, 790+250)
		h.holds(bo, 700+210)
		if c := tr.Deal.Legs[0].Goods[0].Came; c != (exchange.Came{Received: 250 * unit.Gram, Dead: 20 * unit.Gram, Missing: 30 * unit.Gram}) {
			t.Errorf("the leg came as %+v; want 250 g received, 20 g dead, 30 g missing", c)
		}
		h.consistently()
		m := must(h.Movements.List(t.Context(), h.ana, service.Query{Bin: cy, Newest: true, Limit: 1}))(t)
		_, err := h.Reverse(t.Context(), h.ana, m[0].ID, service.Movement{Reason: "a try"})
		wantError(t, err, service.ErrOfTransfer)
		h.travels()
	})
}

func TestALoanIsReturnedInTwoPartsByOffspring(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy, young := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID), h.bin("Cy's second", h.cy.ID)
		h.stock(bo, h.origin("line A"), 1, "2026-03-01")
		tr := h.propose(oneLeg(service.Loan, h.bo.ID, h.cy.ID, goods(bo, 200, "g")))
		h.step(tr.ID, service.Stepping{Verb: exchange.Accept})
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Receive, ToBin: cy})
		h.inState(tr, exchange.Received)
		h.move(split(cy, young, 80, "g", ""))
		h.move(loss(cy, 60, "g", "")) // what dies at the borrower's is owed all the same
		h.refused(tr.ID, service.Stepping{Verb: exchange.Repay, Lines: goods(bo, 50, "g")}, &service.Error{Code: "keeper"})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Repay, Lines: goods(young, 70, "g"), ToBin: bo, Done: true})
		if len(tr.Outstanding) != 1 || tr.Outstanding[0].Mass != 130*unit.Gram {
			t.Errorf("outstanding is %v; want 130 g", tr.Outstanding)
		}
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Repay, Lines: goods(cy, 60, "g")})
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Receive, ToBin: bo})
		h.refused(tr.ID, service.Stepping{Verb: exchange.Forgive, Lines: goods(bo, 71, "g")}, service.ErrOutOfTurn)
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Forgive})
		if len(tr.Outstanding) != 0 {
			t.Errorf("outstanding is %v; want nothing", tr.Outstanding)
		}
		h.holds(bo, 800+70+60)
		h.refused(tr.ID, service.Stepping{Verb: exchange.Repay, Lines: goods(young, 1, "g")}, service.ErrOutOfTurn)
		h.consistently()
	})
}

func TestWhatIsPromisedCanNotBePromisedTwice(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo := h.bin("Bo's", h.bo.ID)
		h.stock(bo, "", 1, "2026-03-01")
		first := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 700, "g")))
		_, err := h.Transfers.Propose(t.Context(), h.ana, oneLeg(service.Sale, h.bo.ID, "", goods(bo, 400, "g")))
		wantError(t, err, service.ErrNotAvailable)
		if e, _ := errors.AsType[*service.Error](err); !strings.Contains(e.Detail, "Bo's") || !strings.Contains(e.Detail, "1100.000 g") {
			t.Errorf("the refusal says %q; want the bin and what would be promised", e.Detail)
		}
		h.step(first.ID, service.Stepping{Verb: exchange.Cancel})
		h.propose(oneLeg(service.Sale, h.bo.ID, "", goods(bo, 400, "g")))
		h.now = h.now.AddDate(0, 0, 14)
		h.propose(oneLeg(service.Sale, h.bo.ID, "", goods(bo, 900, "g"))) // the promise before has expired
	})
}

func TestAFactOvertakesPromisesYoungestFirst(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, "", 1, "2026-03-01")
		old := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 500, "g")))
		h.now = h.now.Add(time.Minute)
		young := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 300, "g")))
		for _, id := range []service.TransferID{old.ID, young.ID} {
			h.step(id, service.Stepping{Verb: exchange.Accept})
		}
		h.move(loss(bo, 300, "g", ""))
		got := must(h.Transfers.Get(t.Context(), h.ana, young.ID))(t)
		if m := got.Short[got.Legs[0].ID]; m != 100*unit.Gram {
			t.Errorf("the younger lacks %d; want 100 g", m)
		}
		h.refused(young.ID, service.Stepping{Verb: exchange.Dispatch}, service.ErrShort)
		h.step(old.ID, service.Stepping{Verb: exchange.Dispatch})
		h.step(old.ID, service.Stepping{Verb: exchange.Receive, ToBin: cy})
		h.holds(bo, 200)
	})
}

func TestASaleAtAFairIsToldAWeekLateInOneCall(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, other := h.bin("Bo's", h.bo.ID), h.bin("Bo's second", h.bo.ID)
		h.stock(bo, "", 1, "2026-03-01")
		h.move(split(bo, other, 800, "g", "2026-04-28T09:00:00Z"))
		sale := oneLeg(service.Sale, h.bo.ID, "", goods(bo, 300, "{worms}"))
		sale.Done, sale.At = true, service.Moment{Text: "2026-04-24"}
		each := int64(12)
		sale.Price = service.Price{UnitMinor: &each, Unit: "{worms}", Currency: "EUR"}
		tr := h.propose(sale)
		h.inState(tr, exchange.Received)
		if tr.Price.TotalMinor == nil || *tr.Price.TotalMinor != 3600 {
			t.Errorf("the total is %v; want 36.00", tr.Price.TotalMinor)
		}
		h.consistently()
		more := sale
		more.Price = service.Price{}
		more.Legs = []service.Leg{{Agreed: goods(bo, 200, "g")}}
		_, err := h.Transfers.Propose(t.Context(), h.ana, more)
		wantError(t, err, service.ErrMoreThanBook)
		if e, _ := errors.AsType[*service.Error](err); !strings.Contains(e.Detail, "2026-04-28") {
			t.Errorf("the refusal %q doesn't name the first moment that breaks", e.Detail)
		}
	})
}

func TestACorrectionMovesWhatDescendsFromIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy, far := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID), h.bin("Bo's far", h.bo.ID)
		a, b := h.origin("line A"), h.origin("line B")
		h.stock(bo, a, 1, "2026-03-01")
		h.stock(cy, b, 0.3, "2026-03-01")
		gift := oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 300, "g"))
		gift.Done, gift.At, gift.Legs[0].ToBin = true, service.Moment{Text: "2026-03-10"}, cy
		tr := h.propose(gift)
		on := oneLeg(service.Gift, h.cy.ID, h.bo.ID, goods(cy, 200, "g"))
		on.Done, on.At, on.Legs[0].ToBin = true, service.Moment{Text: "2026-03-20"}, far
		h.propose(on)
		shares := func() service.LotLineage { return must(h.Reports.Lineage(t.Context(), h.ana, h.lot(far)))(t) }
		before := shares()
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Settle, Lines: goods("", 100, "g"), Note: "the scales were wrong"})
		h.consistently()
		h.holds(bo, 900)
		h.holds(cy, 200)
		if after := shares(); len(before.Lot.Shares) != 2 || before.Lot.Shares[0].Parts != after.Lot.Shares[0].Parts*2 {
			t.Errorf("shares %v became %v; want half and half to become a quarter of line A", before.Lot.Shares, after.Lot.Shares)
		}
		h.refused(tr.ID, service.Stepping{Verb: exchange.Settle, Lines: goods("", 2, "kg"), Note: "a try"}, service.ErrMoreThanBook)
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Settle, Came: []service.Outcome{{Received: grams(90)}}, Note: "weighed two days later"})
		if c := tr.Deal.Legs[0].Goods[0].Came; c.Received != 90*unit.Gram || c.Missing != 10*unit.Gram {
			t.Errorf("it came as %+v", c)
		}
		h.consistently()
	})
}

func TestCastingsAndMaterialMoveAloneOrTogetherWithWorms(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, "", 1, "2026-03-01")
		batch := must(h.Batches.Add(t.Context(), h.ana, service.Batch{LotNumber: "L1", Product: service.Vermicompost}))(t)
		must(h.Harvests.Add(t.Context(), h.ana, service.Harvest{Bin: bo, Batch: batch.ID, Typed: unit.Measure{Value: 10, Unit: "kg"}, Moisture: new(unit.Percent(60))}))(t)
		lines := append(goods(bo, 100, "g"),
			service.Line{FromBatch: batch.ID, Typed: unit.Measure{Value: 5, Unit: "kg"}},
			service.Line{FromBin: bo, Material: true, Typed: unit.Measure{Value: 2, Unit: "kg"}})
		tr := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, lines))
		h.step(tr.ID, service.Stepping{Verb: exchange.Accept})
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch})
		tr = h.step(tr.ID, service.Stepping{Verb: exchange.Receive, ToBin: cy, Came: []service.Outcome{{}, {Received: &service.Line{Typed: unit.Measure{Value: 4, Unit: "kg"}}}, {}}})
		legs := tr.Deal.Legs[0].Goods
		if legs[1].Came.Received != 1600*unit.Gram || legs[1].Came.Missing != 400*unit.Gram || legs[2].Came.Received != 2*unit.Kilogram {
			t.Errorf("castings came as %+v, material as %+v", legs[1].Came, legs[2].Came)
		}
		h.consistently()
		arrived := must(h.Movements.Get(t.Context(), h.ana, tr.Legs[0].Arrival))(t)
		if arrived.Kind != journal.Arriving || arrived.MaterialMass != 2*unit.Kilogram {
			t.Errorf("the arrival is %s with %d mg of material", arrived.Kind, arrived.MaterialMass)
		}
		h.travels()
	})
}

func TestAClaimIsTiedToTheTransferThatMakesUpForIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, "", 1, "2026-03-01")
		gift := oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 300, "g"))
		gift.Done, gift.Legs[0].ToBin = true, cy
		tr := h.propose(gift)
		again := oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 100, "g"))
		again.Replaces = tr.ID
		_, err := h.Transfers.Propose(t.Context(), h.ana, again)
		wantError(t, err, &service.Error{Code: "shape"})
		h.step(tr.ID, service.Stepping{Verb: exchange.Claim, Lines: goods("", 100, "g"), Note: "dead on arrival"})
		made := h.propose(again)
		if got := must(h.Transfers.Get(t.Context(), h.ana, tr.ID))(t); len(got.Claims) != 1 || got.Claims[0].ReplacedBy != made.ID {
			t.Errorf("the claims are %+v; want one, replaced by the second transfer", got.Claims)
		}
	})
}

func TestABinOfAnOpenTransferIsNotRetired(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, "", 1, "2026-03-01")
		gift := oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 300, "g"))
		gift.Legs[0].ToBin = cy
		tr := h.propose(gift)
		retire := func() error {
			b := must(h.Bins.Get(t.Context(), h.ana, cy))(t)
			b.Started.Text, b.Retired.Text = b.Started.In(time.UTC), "2026-05-01"
			_, err := h.Bins.Change(t.Context(), h.ana, cy, b.Version, b)
			return err
		}
		wantError(t, retire(), service.ErrInTransfer)
		h.step(tr.ID, service.Stepping{Verb: exchange.Decline})
		if err := retire(); err != nil {
			t.Error(err)
		}
	})
}

func TestWormsThatAnOutsidePartyGivesComeFromTheirOrigin(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo := h.bin("Bo's", h.bo.ID)
		origin := h.origin("a farm")
		bought := func(g float64) service.Transfer {
			tr := oneLeg(service.Sale, "", h.bo.ID, []service.Line{{Origin: origin, Typed: unit.Measure{Value: g, Unit: "g"}}})
			tr.Deal.Proposer, tr.Party = string(h.bo.ID), "Hill Farm"
			return tr
		}
		tr := h.propose(bought(500))
		h.inState(tr, exchange.Accepted)
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch})
		h.consistently()
		h.step(tr.ID, service.Stepping{Verb: exchange.Receive, ToBin: bo, Came: []service.Outcome{{Dead: 20 * unit.Gram}}})
		done := bought(100)
		done.Done, done.At, done.Legs[0].ToBin = true, service.Moment{Text: "2026-04-20"}, bo
		h.propose(done)
		h.holds(bo, 480+100)
		h.consistently()
		if got := must(h.Reports.Lineage(t.Context(), h.ana, h.lot(bo)))(t).Lot.Shares; len(got) != 1 || got[0].Origin != string(origin) {
			t.Errorf("shares %v; want all from the farm", got)
		}
		h.travels()
		if wrong := must(h.Prove(t.Context(), ""))(t)[0].Wrong; len(wrong) > 0 {
			t.Error(wrong)
		}
	})
}

func TestAContactIsForgottenAfterItsDay(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo := h.bin("Bo's", h.bo.ID)
		h.stock(bo, "", 1, "2026-03-01")
		sale := oneLeg(service.Sale, h.bo.ID, "", goods(bo, 100, "g"))
		sale.Contact = service.Contact{Text: "rosa@example.org", Purpose: "tracing", Until: "2026-06-30"}
		id := h.propose(sale).ID
		kept := func() (contact service.Contact) {
			h.Helper()
			if err := h.Transfers.ForgetLapsedContacts(t.Context()); err != nil {
				t.Fatal(err)
			}
			if err := h.store.View(t.Context(), h.club.ID, func(tx service.Tx) error {
				tr, err := tx.Transfers.Get(id)
				contact = tr.Contact
				return err
			}); err != nil {
				t.Fatal(err)
			}
			return contact
		}
		h.now = time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC)
		if kept() != sale.Contact {
			t.Error("it was forgotten on its last day")
		}
		h.now = h.now.AddDate(0, 0, 1)
		if kept() != (service.Contact{}) {
			t.Error("it is still in its row the day after")
		}
	})
}

func TestNothingIsPromisedOrSentOutOfABinInQuarantine(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo, cy := h.bin("Bo's", h.bo.ID), h.bin("Cy's", h.cy.ID)
		h.stock(bo, "", 1, "2026-03-01")
		tr := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 100, "g")))
		h.step(tr.ID, service.Stepping{Verb: exchange.Accept})
		must(h.Quarantines.Add(t.Context(), h.ana, service.Quarantine{Bin: bo, Reason: "mites"}))(t)
		h.now = h.now.Add(time.Minute)
		h.refused(tr.ID, service.Stepping{Verb: exchange.Dispatch}, service.ErrInQuarantine)
		_, err := h.Transfers.Propose(t.Context(), h.ana, oneLeg(service.Sale, h.bo.ID, "", goods(bo, 10, "g")))
		wantError(t, err, service.ErrInQuarantine)
		h.holds(bo, 1000)
		h.holds(cy, 0)
	})
}

func TestWhatIsUnderWayIsCorrectedByWhatWasPackedAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bo := h.bin("Bo's", h.bo.ID)
		h.stock(bo, "", 1, "2026-03-01")
		tr := h.propose(oneLeg(service.Gift, h.bo.ID, h.cy.ID, goods(bo, 100, "g")))
		h.step(tr.ID, service.Stepping{Verb: exchange.Accept})
		h.step(tr.ID, service.Stepping{Verb: exchange.Dispatch})
		h.refused(tr.ID, service.Stepping{Verb: exchange.Settle, Came: []service.Outcome{{Received: grams(90)}}, Note: "a try"}, &service.Error{Code: "required"})
		must(h.Quarantines.Add(t.Context(), h.ana, service.Quarantine{Bin: bo, At: service.Moment{Text: "2026-04-30"}, Reason: "mites"}))(t)
		h.step(tr.ID, service.Stepping{Verb: exchange.Settle, Lines: goods("", 80, "g"), Note: "weighed again"})
		h.holds(bo, 920)
		h.consistently()
	})
}
