package service_test

import (
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// on returns noon of a day in March.
func on(day int) service.Moment {
	return service.Moment{Time: time.Date(2026, 3, day, 12, 0, 0, 0, time.UTC), Precision: service.ToTheInstant}
}

func (h *house) sends(from service.BinID, transfer string, g unit.Mass, at service.Moment) service.Movement {
	return service.Movement{
		Kind: journal.HandOver, At: at, FromMember: h.bo.ID,
		Postings: journal.Move(journal.Bin(string(from)), journal.InTransit(transfer), journal.Worms(fetida), g*unit.Gram),
	}
}

func (h *house) receives(transfer string, to service.BinID, g unit.Mass, at service.Moment) service.Movement {
	return service.Movement{
		Kind: journal.HandOver, At: at, ToBin: to, ToMember: h.cy.ID,
		Postings: journal.Arrive(transfer, journal.Worms(fetida), journal.Arrival{To: journal.Bin(string(to)), Received: g * unit.Gram}),
	}
}

func takesBack(m service.Movement) service.Movement {
	e, err := journal.Reverse(m.Entry(), "")
	if err != nil {
		panic(err)
	}
	return service.Movement{Kind: journal.Reversal, At: m.At, Reverses: m.ID, Reason: "mistyped", Postings: e.Postings}
}

func (h *house) post(ms ...service.Movement) []service.Movement {
	h.Helper()
	out := must(h.Post(h.Context(), h.ana, ms...))(h.T)
	h.consistently()
	return out
}

func (h *house) consistently() {
	h.Helper()
	if err := h.consistent(h.Context()); err != nil {
		h.Error(err)
	}
}

// underWay returns the lot of what a movement sent.
func (h *house) underWay(sent service.Movement, transfer string) (lot service.Lot) {
	h.Helper()
	err := h.store.View(h.Context(), h.club.ID, func(tx service.Tx) (err error) {
		lot, err = tx.Lots.Get(service.LotID(lineage.LotID(string(sent.ID), lineage.Place{Transit: transfer, Species: fetida})))
		return err
	})
	if err != nil {
		h.Fatal(err)
	}
	return lot
}

func TestWhatArrivesOnTopIsWhatWasSentAndNotWhatStandsAtTheGiverNow(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.cy.ID)
		line := h.origin("line")
		h.stock(a, line, 1, "2026-03-01")
		sent := h.post(h.sends(a, "leg", 300, on(5)))[0]
		if lot := h.underWay(sent, "leg"); !lot.Current() || lot.Member != h.bo.ID || lot.Mass != 300*unit.Gram {
			t.Errorf("under way: %+v; want 300 g that Bo gives", lot)
		}
		h.stock(a, "", 9, "2026-03-06")
		h.post(h.receives("leg", b, 300, on(7)))
		got := must(h.Reports.Lineage(t.Context(), h.ana, h.lot(b)))(t).Lot
		if got.Member != h.cy.ID || len(got.Shares) != 1 || got.Shares[0].Origin != string(line) {
			t.Errorf("arrived: %+v; want the line alone, at Cy", got)
		}
		if h.underWay(sent, "leg").Current() {
			t.Error("it is still under way")
		}
		for _, l := range must(h.Lots.List(t.Context(), h.ana, service.Query{}))(t) {
			if l.Place.Bin == "" {
				t.Errorf("a lot under way is listed: %+v", l)
			}
		}
	})
}

func TestATransferIsToldLateAsOne(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b, c := h.bin("A", h.bo.ID), h.bin("B", h.cy.ID), h.bin("C", h.cy.ID)
		h.stock(a, h.origin("line"), 1, "2026-03-01")
		h.stock(b, "", 1, "2026-03-01")
		h.move(split(b, c, 50, "%", "2026-03-20"))
		sent := h.post(h.sends(a, "leg", 300, on(5)), h.receives("leg", b, 300, on(6)))[0]
		if h.book(a) != 700*unit.Gram || h.book(b) != 800*unit.Gram {
			t.Errorf("books %d and %d", h.book(a), h.book(b))
		}
		if h.underWay(sent, "leg").Current() {
			t.Error("it is still under way")
		}
		if got := must(h.Reports.Lineage(t.Context(), h.ana, h.lot(c)))(t).Lot; len(got.Shares) != 2 {
			t.Errorf("what was split off later: %+v; want the line and the unknown", got.Shares)
		}
	})
}

// Each part of the correction alone would leave a book short: B passed on what it
// got, and A has nothing left of what it didn't send.
func TestACorrectionIsCheckedAsAWhole(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b, c := h.bin("A", h.bo.ID), h.bin("B", h.cy.ID), h.bin("C", h.cy.ID)
		h.stock(a, h.origin("line"), 1, "2026-03-01")
		sent := h.post(h.sends(a, "leg", 500, on(5)))[0]
		got := h.post(h.receives("leg", b, 500, on(6)))[0]
		h.move(split(b, c, 500, "g", "2026-03-10"))
		h.move(loss(a, 500, "g", "2026-03-11"))
		_, err := h.Post(t.Context(), h.ana, takesBack(got))
		wantError(t, err, service.ErrMoreThanBook)
		_, err = h.Post(t.Context(), h.ana, takesBack(got), takesBack(sent), h.sends(a, "leg", 400, on(4)), h.receives("leg", b, 400, on(6)))
		wantError(t, err, service.ErrMoreThanBook)
		h.consistently()
		again := h.post(takesBack(got), takesBack(sent), h.sends(a, "leg", 500, on(4)), h.receives("leg", b, 500, on(8)))
		if h.book(a) != 0 || h.book(b) != 0 || h.book(c) != 500*unit.Gram {
			t.Errorf("books %d, %d, %d", h.book(a), h.book(b), h.book(c))
		}
		if old := h.underWay(sent, "leg"); !old.Withdrawn {
			t.Errorf("the first way: %+v; want it withdrawn", old)
		}
		for i := range again[1:] {
			if again[i].Recorded.Seq >= again[i+1].Recorded.Seq {
				t.Error("the entries aren't recorded in the order in which they were given")
			}
		}
	})
}

func TestCensusesAssertTheirLevelOnceAfterAGroup(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.cy.ID)
		h.stock(a, "", 1, "2026-03-01")
		g := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "g"} }
		c := must(h.Censuses.Add(t.Context(), h.ana, service.Census{
			Bin: a, Species: fetida, At: service.Moment{Text: "2026-03-20"}, Typed: service.CensusText{Estimate: g(600), Low: g(500), High: g(700)},
		}))(t)
		before := len(must(h.Movements.List(t.Context(), h.ana, service.Query{}))(t))
		h.post(h.sends(a, "leg", 200, on(5)), h.receives("leg", b, 200, on(6)), h.sends(a, "other", 50, on(7)))
		if got := len(must(h.Movements.List(t.Context(), h.ana, service.Query{}))(t)) - before; got != 5 {
			t.Errorf("%d entries; want the three, what the census posts now, and the reversal of what it posted", got)
		}
		if c = must(h.Censuses.Get(t.Context(), h.ana, c.ID))(t); c.Book != 750*unit.Gram || c.Posted != -150*unit.Gram {
			t.Errorf("the census found %d and posted %d", c.Book, c.Posted)
		}
	})
}

func TestAReversalMayTakeBackAnEntryOfItsOwnGroup(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a := h.bin("A", h.bo.ID)
		h.stock(a, "", 1, "2026-03-01")
		wrong := h.sends(a, "leg", 5000, on(5))
		wrong.ID = service.MovementID(h.NewID())
		h.post(wrong, takesBack(wrong), h.sends(a, "leg", 500, on(5)))
		if h.book(a) != 500*unit.Gram || !h.underWay(wrong, "leg").Withdrawn {
			t.Errorf("book %d, the wrong way %+v", h.book(a), h.underWay(wrong, "leg"))
		}
	})
}
