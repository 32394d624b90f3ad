package service_test

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

func TestASplitByHalfMovesHalfOfTheBook(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		h.stock(a, h.origin("harbour line"), 1.5, "2026-03-01")
		m := h.move(split(a, b, 50, "%", "2026-04-01"))
		if h.book(a) != 750*unit.Gram || h.book(b) != 750*unit.Gram {
			t.Errorf("books %d and %d; want 750 g each", h.book(a), h.book(b))
		}
		if l := m.Lines[0]; l.Basis != "by-eye" || l.Mass != 750*unit.Gram || l.Typed.Value != 50 {
			t.Errorf("line %+v; want what was typed beside what it became", l)
		}
		if h.lot(a) == h.lot(b) {
			t.Error("the split opened no lot")
		}
	})
}

// The mix is that of check_values.json, section 9 (computed, by definition): 2 kg
// of A with 3 kg of half A, half B is 0.7 A and 0.3 B.
func TestHandOversMixOriginsByMass(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		one, two, mixed := h.bin("one", h.bo.ID), h.bin("two", h.cy.ID), h.bin("mixed", h.cy.ID)
		a, b := h.origin("line A"), h.origin("line B")
		h.stock(one, a, 3.5, "2026-03-01")
		h.stock(two, b, 1.5, "2026-03-01")
		h.move(service.Movement{
			Kind: journal.HandOver, At: service.Moment{Text: "2026-03-10"}, Terms: service.Swap, ToBin: two,
			Lines: []service.Line{{FromBin: one, Typed: unit.Measure{Value: 1.5, Unit: "kg"}}},
		})
		h.move(split(two, mixed, 3, "kg", "2026-03-20"))
		h.move(service.Movement{
			Kind: journal.HandOver, At: service.Moment{Text: "2026-03-21"}, Terms: service.Gift, ToBin: mixed,
			Lines: []service.Line{{FromBin: one, Typed: unit.Measure{Value: 2, Unit: "kg"}}},
		})
		got := must(h.Reports.Lineage(t.Context(), h.ana, h.lot(mixed)))(t)
		want := lineage.Shares{{Origin: string(a), Parts: lineage.One / 10 * 7}, {Origin: string(b), Parts: lineage.One / 10 * 3}}
		if !reflect.DeepEqual(got.Lot.Shares, want) {
			t.Errorf("shares %v; want %v", got.Lot.Shares, want)
		}
		if got.Lot.Depth != 4 || got.Lot.Member != h.cy.ID {
			t.Errorf("depth %d, kept by %s; want 4, Cy", got.Lot.Depth, got.Lot.Member)
		}
		if last := got.Custody[len(got.Custody)-1]; last.Movement.FromMember != h.bo.ID || last.Movement.ToMember != h.cy.ID || last.Movement.Terms != service.Gift {
			t.Errorf("last step %+v; want a gift from Bo to Cy", last.Movement)
		}
		if err := h.consistent(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestMoreThanTheBinHoldsIsRefusedAndChangesNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		h.stock(a, "", 1, "2026-03-01")
		_, err := h.Movements.Add(t.Context(), h.ana, split(a, b, 1.2, "kg", ""))
		wantError(t, err, service.ErrMoreThanBook)
		if h.book(a) != unit.Kilogram || h.book(b) != 0 {
			t.Errorf("books %d and %d changed", h.book(a), h.book(b))
		}
	})
}

func TestALateEntryThatBreaksALaterMomentIsRefusedWithThatMoment(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		h.stock(a, "", 1, "2026-03-01")
		h.move(split(a, b, 0.9, "kg", "2026-04-01T10:00:00Z"))
		_, err := h.Movements.Add(t.Context(), h.ana, loss(a, 200, "g", "2026-03-15"))
		wantError(t, err, service.ErrMoreThanBook)
		if e, _ := errors.AsType[*service.Error](err); !strings.Contains(e.Detail, "2026-04-01") {
			t.Errorf("detail %q doesn't name the first moment that breaks", e.Detail)
		}
		h.move(loss(a, 100, "g", "2026-03-15"))
		if h.book(a) != 0 {
			t.Errorf("book %d; want 0", h.book(a))
		}
		if err := h.consistent(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestAReversalTakesAnEntryBackOnce(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a := h.bin("A", h.bo.ID)
		wrong := h.stock(a, "", 30, "2026-03-01")
		lot := h.lot(a)
		r := must(h.Reverse(t.Context(), h.ana, wrong.ID, service.Movement{Reason: "typed 30 for 3.0"}))(t)
		if !r.At.Time.Equal(wrong.At.Time) || h.book(a) != 0 {
			t.Errorf("reversal at %v leaves %d; want the moment of what it reverses, and nothing", r.At.Time, h.book(a))
		}
		if l := must(h.Lots.Get(t.Context(), h.ana, lot))(t); !l.Withdrawn {
			t.Error("the lot of the reversed entry isn't withdrawn")
		}
		_, err := h.Reverse(t.Context(), h.ana, wrong.ID, service.Movement{Reason: "again"})
		wantError(t, err, service.ErrReversedBefore)
		_, err = h.Reverse(t.Context(), h.ana, r.ID, service.Movement{Reason: "back"})
		wantError(t, err, service.ErrReversalOf)
		h.stock(a, "", 3, "2026-03-01")
		if l := must(h.Lots.Get(t.Context(), h.ana, lot))(t); l.Successor != string(h.lot(a)) {
			t.Errorf("successor %q; want the lot that stands for it", l.Successor)
		}
	})
}

func TestAReversalThatALaterEntryNeedsIsRefused(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		m := h.stock(a, "", 2, "2026-03-01")
		h.move(split(a, b, 50, "%", "2026-04-01"))
		_, err := h.Reverse(t.Context(), h.ana, m.ID, service.Movement{Reason: "never came"})
		wantError(t, err, service.ErrMoreThanBook)
	})
}

func TestACensusHoldsWhenAnEarlierEntryIsToldLater(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		kg := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "kg"} }
		h.stock(a, "", 1, "2026-03-01")
		c := must(h.Censuses.Add(t.Context(), h.ana, service.Census{
			Bin: a, Species: fetida, At: service.Moment{Text: "2026-03-20"},
			Typed: service.CensusText{Estimate: kg(0.7), Low: kg(0.6), High: kg(0.8)},
		}))(t)
		late := h.stock(a, "", 5, "2026-03-19")
		if h.book(a) != 700*unit.Gram {
			t.Errorf("book %d; want what the census found, 700 g", h.book(a))
		}
		if c = must(h.Censuses.Get(t.Context(), h.ana, c.ID))(t); c.Book != 6*unit.Kilogram || c.Posted != -5300*unit.Gram {
			t.Errorf("the census found %d and posted %d; want 6 kg and -5.3 kg", c.Book, c.Posted)
		}
		_, err := h.Movements.Add(t.Context(), h.ana, split(a, b, 4, "kg", "2026-04-01"))
		wantError(t, err, service.ErrMoreThanBook)
		must(h.Reverse(t.Context(), h.ana, late.ID, service.Movement{Reason: "another club's"}))(t)
		if err := h.consistent(t.Context()); err != nil {
			t.Error(err)
		}
		must(h.Reverse(t.Context(), h.ana, service.MovementID(c.ID), service.Movement{Reason: "miscounted"}))(t)
		if h.book(a) != unit.Kilogram {
			t.Errorf("book %d; want the stocking alone, 1 kg", h.book(a))
		}
		if err := h.consistent(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestAShareOfAnUnknownStockIsRefused(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		_, err := h.Movements.Add(t.Context(), h.ana, split(h.bin("A", h.bo.ID), h.bin("B", h.bo.ID), 50, "%", ""))
		wantError(t, err, service.ErrNoKnownStock)
	})
}

func TestTwoCuttingsOfOneBinShareWhatIsThere(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		a, b := h.bin("A", h.bo.ID), h.bin("B", h.bo.ID)
		h.stock(a, "", 1, "2026-03-01")
		m := split(a, b, 50, "%", "")
		m.Lines = append(m.Lines, m.Lines[0])
		h.move(m)
		if h.book(b) != 750*unit.Gram {
			t.Errorf("book %d; want half and half of the rest, 750 g", h.book(b))
		}
	})
}

// TestAnySequenceKeepsTheInvariants records random movements, late ones and
// reversals among them, and checks the invariants after each. At the end the
// whole book travels to an empty club, which must come out with the same stock.
func TestAnySequenceKeepsTheInvariants(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		h.anything(4)
		if wrong := must(h.Prove(t.Context(), ""))(t)[0].Wrong; len(wrong) > 0 {
			t.Error(wrong)
		}
		h.travels()
	})
}

func TestAnySequenceWithStockUnderWayKeepsTheInvariants(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) { newHouse(t, store).anything(6) })
}

// anything records random entries of so many kinds, each round with bins of its
// own, and checks the invariants after each.
func (h *house) anything(kinds int) {
	h.Helper()
	runs := 0
	rapid.Check(h.T, func(rt *rapid.T) {
		if runs++; runs > sequences() {
			return
		}
		r := round{house: h, rt: rt, origin: h.origin(fmt.Sprint("origin ", runs))}
		for _, name := range []string{"a", "b", "c"} {
			r.bins = append(r.bins, h.bin(fmt.Sprint(name, runs), h.bo.ID))
		}
		for range rapid.IntRange(4, 12).Draw(rt, "steps") {
			made, err := r.step(rapid.IntRange(0, kinds).Draw(rt, "kind"))
			if err == nil && made != "" {
				r.made = append(r.made, made)
			}
			if service.KindOf(err) == service.Internal && err != nil {
				rt.Fatalf("%v", err)
			}
			if err := h.consistent(h.Context()); err != nil {
				rt.Fatal(err)
			}
		}
	})
}

// round is one sequence of random entries.
type round struct {
	*house
	rt     *rapid.T
	bins   []service.BinID
	origin service.OriginID
	made   []service.MovementID
}

// step records a random entry of a kind, and returns one that can be reversed.
func (r *round) step(kind int) (service.MovementID, error) {
	ctx := r.Context()
	from, to := rapid.SampledFrom(r.bins).Draw(r.rt, "from"), rapid.SampledFrom(r.bins).Draw(r.rt, "to")
	at := fmt.Sprintf("2026-%02d-%02d", rapid.IntRange(1, 4).Draw(r.rt, "month"), rapid.IntRange(1, 28).Draw(r.rt, "day"))
	grams := float64(rapid.IntRange(1, 900).Draw(r.rt, "g"))
	g := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "g"} }
	var m service.Movement
	var err error
	switch kind {
	case 0:
		m, err = r.Movements.Add(ctx, r.ana, service.Movement{
			Kind: journal.Stocking, At: service.Moment{Text: at}, ToBin: to, Lines: []service.Line{{Origin: r.origin, Typed: g(grams)}},
		})
	case 1:
		m, err = r.Movements.Add(ctx, r.ana, split(from, to, float64(rapid.IntRange(1, 100).Draw(r.rt, "%")), "%", at))
	case 2:
		m, err = r.Movements.Add(ctx, r.ana, loss(from, grams/2, "g", at))
	case 3:
		var c service.Census
		c, err = r.Censuses.Add(ctx, r.ana, service.Census{
			Bin: to, Species: fetida, At: service.Moment{Text: at},
			Typed: service.CensusText{Estimate: g(grams), Low: g(grams * 0.8), High: g(grams*1.2 + 1)},
		})
		m.ID = service.MovementID(c.ID)
	case 4:
		if len(r.made) > 0 {
			_, err = r.Reverse(ctx, r.ana, rapid.SampledFrom(r.made).Draw(r.rt, "reversed"), service.Movement{Reason: "a try"})
		}
	default:
		m.ID, err = r.sendOrReceive(kind, from, to, unit.Mass(grams/3)+1)
	}
	return m.ID, err
}

// sendOrReceive posts a dispatch and its receipt together, or one of both.
func (r *round) sendOrReceive(kind int, from, to service.BinID, g unit.Mass) (service.MovementID, error) {
	leg := fmt.Sprint("leg", rapid.IntRange(1, 2).Draw(r.rt, "leg"))
	day := rapid.IntRange(1, 60).Draw(r.rt, "sent")
	sent, received := r.sends(from, leg, g, on(day)), r.receives(leg, to, g, on(day+rapid.IntRange(0, 9).Draw(r.rt, "days")))
	group := []service.Movement{sent, received}
	if kind > 5 {
		group = group[rapid.IntRange(0, 1).Draw(r.rt, "which"):][:1]
	}
	out, err := r.Post(r.Context(), r.ana, group...)
	return out[rapid.IntRange(0, len(out)-1).Draw(r.rt, "one")].ID, err
}

// travels exports the club's book, imports it into an empty club, and compares
// both the books and what stands in every bin.
func (h *house) travels() {
	h.Helper()
	book := must(h.Records.Export(h.Context(), h.ana))(h.T)
	there := emptyHouse(h.T, repotest.SQLite(h.T))
	there.ids.Store(1_000_000) // ids of its own
	must(there.Records.Import(there.Context(), there.ana, book, false))(h.T)
	before := must(bookfile.WriteJSON(book))(h.T)
	after := must(bookfile.WriteJSON(must(there.Records.Export(there.Context(), there.ana))(h.T)))(h.T)
	if !bytes.Equal(before, after) {
		h.Errorf("the book isn't the same after the journey:\n%s\n%s", before, after)
	}
	if err := there.consistent(there.Context()); err != nil {
		h.Error(err)
	}
	for _, b := range must(h.Bins.List(h.Context(), h.ana, service.Query{}))(h.T) {
		if here, got := h.book(b.ID), there.book(b.ID); got != here {
			h.Errorf("%s holds %d mg after the journey; want %d", b.Name, got, here)
		}
	}
}

// balanced checks that entries sum to zero per commodity and that no bin or
// batch is ever short.
func balanced(entries []journal.Entry) error {
	type key struct {
		a journal.Account
		c journal.Commodity
	}
	sums, seen := map[journal.Commodity]unit.Mass{}, map[key]bool{}
	for _, e := range entries {
		own := map[journal.Commodity]unit.Mass{}
		for _, p := range e.Postings {
			own[p.Commodity] += p.Amount
			sums[p.Commodity] += p.Amount
			seen[key{p.Account, p.Commodity}] = true
		}
		for c, sum := range own {
			if sum != 0 {
				return fmt.Errorf("entry %s is off by %d of %s", e.ID, sum, c)
			}
		}
	}
	for c, sum := range sums {
		if sum != 0 {
			return fmt.Errorf("the club is off by %d of %s", sum, c)
		}
	}
	standing := journal.Standing(entries)
	for k := range seen {
		if err := journal.Check(k.a, k.c, journal.Lines(standing, k.a, k.c)); err != nil {
			return err
		}
	}
	return nil
}

// censusesHold checks that every census that isn't reversed finds and posts what
// working it out again from the whole journal gives.
func censusesHold(tx service.Tx, entries []journal.Entry) error {
	reversed := map[string]bool{}
	for _, e := range entries {
		reversed[e.Reverses] = true
	}
	censuses, err := tx.Censuses.List(service.Query{})
	if err != nil {
		return err
	}
	stored := map[string]service.Census{}
	var assertions []journal.Assertion
	for _, c := range censuses {
		if reversed[string(c.Movement)] {
			continue
		}
		stored[string(c.ID)] = c
		assertions = append(assertions, journal.Assertion{
			ID: string(c.ID), Entry: string(c.Movement), Bin: journal.Bin(string(c.Bin)), Commodity: journal.Worms(string(c.Species)),
			At: c.At.Time, Seq: c.Recorded.Seq, Level: c.Mass, Low: c.Low, High: c.High, Apply: c.Apply,
		})
	}
	ledger := journal.Ledger{}
	for _, b := range journal.Books(entries...) {
		ledger[b] = nil
	}
	ledger.Add(entries...)
	for _, p := range journal.Reassert(ledger, assertions) {
		if c := stored[p.ID]; c.Book != p.Book || c.Posted != p.Amount {
			return fmt.Errorf("census %s found %d and posted %d; working it out again gives %d and %d", p.ID, c.Book, c.Posted, p.Book, p.Amount)
		}
	}
	return nil
}

// lotsMatch checks that the stored lots are what deriving them again gives. Those
// under way aren't in the list.
func lotsMatch(tx service.Tx, entries []journal.Entry) error {
	want, _, err := lineage.Derive(entries)
	if err != nil {
		return err
	}
	stored, err := tx.Lots.List(service.Query{})
	if err != nil {
		return err
	}
	var underWay []service.LotID
	for id, l := range want {
		if l.Place.Transit != "" {
			underWay = append(underWay, service.LotID(id))
		}
	}
	others, err := tx.Lots.Some(underWay)
	if err != nil {
		return err
	}
	if stored = append(stored, others...); len(stored) != len(want) {
		return fmt.Errorf("%d lots are stored; deriving gives %d", len(stored), len(want))
	}
	for _, l := range stored {
		if !reflect.DeepEqual(l.Lot, want[l.ID]) {
			return fmt.Errorf("stored lot\n%+v\nis not the derived\n%+v", l.Lot, want[l.ID])
		}
	}
	return nil
}
