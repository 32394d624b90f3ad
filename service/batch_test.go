package service_test

import (
	"fmt"
	"reflect"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/balance"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

// store is a random history of receipts and batches.
type store struct {
	*house
	*rapid.T
	bin      service.BinID
	material service.MaterialID
	batches  []service.BatchID
	made     []service.MovementID
}

func (s *store) grams(most int) unit.Measure {
	return unit.Measure{Value: float64(rapid.IntRange(1, most).Draw(s.T, "g")), Unit: "g"}
}

func (s *store) moisture() *unit.Percent {
	if rapid.Bool().Draw(s.T, "measured") {
		return nil
	}
	m := unit.Percent(rapid.IntRange(10, 90).Draw(s.T, "%"))
	return &m
}

func (s *store) batch() service.BatchID { return rapid.SampledFrom(s.batches).Draw(s.T, "batch") }

func (s *store) at() service.Moment {
	return service.Moment{Text: fmt.Sprintf("2026-%02d-%02d", rapid.IntRange(1, 4).Draw(s.T, "month"), rapid.IntRange(1, 28).Draw(s.T, "day"))}
}

// step does something, or is refused.
func (s *store) step() error {
	ctx, add := s.house.Context(), func(id string, err error) error {
		if err == nil {
			s.made = append(s.made, service.MovementID(id))
		}
		return err
	}
	switch rapid.IntRange(0, 8).Draw(s.T, "kind") {
	case 0, 1:
		h, err := s.Harvests.Add(ctx, s.ana, service.Harvest{Bin: s.bin, At: s.at(), Typed: s.grams(5000), Moisture: s.moisture(), Batch: s.batch()})
		return add(string(h.ID), err)
	case 2:
		r, err := s.Reworks.Add(ctx, s.ana, service.Rework{
			Kind: service.Screening, At: s.at(), From: []service.ReworkPart{{Batch: s.batch(), Moisture: s.moisture()}},
			Into: []service.ReworkPart{{Batch: s.batch(), Typed: s.grams(800), Moisture: s.moisture()}, {Batch: s.batch(), Typed: s.grams(300)}},
		})
		return add(string(r.ID), err)
	case 3:
		r, err := s.Reworks.Add(ctx, s.ana, service.Rework{
			Kind: service.Blending, At: s.at(), From: []service.ReworkPart{{Batch: s.batch(), Typed: s.grams(500)}, {Batch: s.batch()}},
			Into: []service.ReworkPart{{Batch: s.batch()}},
		})
		return add(string(r.ID), err)
	case 4:
		m, err := s.Movements.Add(ctx, s.ana, service.Movement{
			Kind: journal.Loss, Cause: service.Spoiled, At: s.at(), FromBatch: s.batch(), Lines: []service.Line{{Typed: s.grams(400), Moisture: s.moisture()}},
		})
		return add(string(m.ID), err)
	case 5:
		_, err := s.BatchSteps.Add(ctx, s.ana, service.BatchStep{Batch: s.batch(), Kind: service.Drying, At: s.at(), Typed: s.grams(4000), Moisture: s.moisture()})
		return err
	case 6:
		_, err := s.Receipts.Add(ctx, s.ana, service.Receipt{Material: s.material, At: s.at(), Typed: s.grams(4000)})
		return err
	case 7:
		_, err := s.Feedings.Add(ctx, s.ana, service.Feeding{Bin: s.bin, At: s.at(), Items: []service.FeedingItem{{Material: s.material, Typed: s.grams(2000)}}})
		return err
	}
	if len(s.made) == 0 {
		return nil
	}
	_, err := s.Reverse(ctx, s.ana, rapid.SampledFrom(s.made).Draw(s.T, "reversed"), service.Movement{Reason: "a try"})
	return err
}

// TestAnySequenceOfBatchRecordsKeepsTheInvariantsAndBalances records random
// harvests, reworks, losses, steps, receipts, feedings and reversals, late ones
// among them, checks the invariants after each, and at the end of each history
// recounts the balance.
func TestAnySequenceOfBatchRecordsKeepsTheInvariantsAndBalances(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, db *repo.Store) {
		h := newHouse(t, db)
		runs := 0
		rapid.Check(t, func(rt *rapid.T) {
			if runs++; runs > sequences() {
				return
			}
			s := store{house: h, T: rt, bin: h.bin(fmt.Sprint("bin ", runs), h.bo.ID)}
			s.material = must(h.Materials.Add(t.Context(), h.ana, service.Material{Name: fmt.Sprint("feed ", runs), Kind: service.FeedMaterial}))(t).ID
			for range 4 {
				s.batches = append(s.batches, must(h.Batches.Add(t.Context(), h.ana, service.Batch{Product: service.CastingsOnly}))(t).ID)
			}
			for range rapid.IntRange(4, 14).Draw(rt, "steps") {
				if err := s.step(); err != nil && service.KindOf(err) == service.Internal {
					rt.Fatalf("%v", err)
				}
				if err := h.consistent(t.Context()); err != nil {
					rt.Fatal(err)
				}
			}
			s.balances()
		})
		h.travels()
	})
}

// balances recounts the year's balance from the records.
func (s *store) balances() {
	ctx := s.house.Context()
	b := must(s.Reports.MaterialsBalance(ctx, s.ana, "2026"))(s.house.T)
	book := map[string]unit.Mass{}
	for _, m := range must(s.Movements.List(ctx, s.ana, service.Query{}))(s.house.T) {
		for _, p := range m.Postings {
			if p.Account.Kind == journal.BatchAccount {
				book[p.Account.Ref] += p.Amount
			}
		}
	}
	for _, st := range b.Stores {
		end := st.Start
		for _, f := range balance.In() {
			end = balance.Amount{Wet: end.Wet + st.Flows[f].Wet, Dry: end.Dry + st.Flows[f].Dry}
		}
		for _, f := range balance.Out() {
			end = balance.Amount{Wet: end.Wet - st.Flows[f].Wet, Dry: end.Dry - st.Flows[f].Dry}
		}
		if end.Wet += st.Water; end != st.End || st.End.Dry != book[st.Batch] || st.End.Wet < st.End.Dry {
			s.Fatalf("%+v ends with %+v; the book has %d", st, end, book[st.Batch])
		}
	}
	for batch, dry := range book {
		made := must(s.Reports.Composition(ctx, s.ana, service.BatchID(batch)))(s.house.T)
		var sum unit.Mass
		for _, x := range made.Sources {
			sum += x.Dry
		}
		if made.Gone != (dry == 0 && sum > 0) || dry > 0 && sum != dry {
			s.Fatalf("%s is made of %d; the book has %d", batch, sum, dry)
		}
	}
	s.onHand(b)
}

// onHand recounts what is on hand of the history's material.
func (s *store) onHand(b service.MaterialsBalance) {
	ctx := s.house.Context()
	var received, fed unit.Mass
	first := ""
	for _, r := range must(s.Receipts.List(ctx, s.ana, service.Query{Material: s.material}))(s.house.T) {
		if received += r.Net; first == "" {
			first = r.At.Time.Format("2006-01-02")
		}
	}
	for _, f := range must(s.Feedings.List(ctx, s.ana, service.Query{Bin: s.bin}))(s.house.T) {
		if first != "" && f.At.Time.Format("2006-01-02") >= first {
			fed += f.Items[0].Wet
		}
	}
	for _, x := range b.Piles {
		if x.Material == string(s.material) && !reflect.DeepEqual([]unit.Mass{x.Received, x.Fed, x.End}, []unit.Mass{received, fed, received - fed}) {
			s.Fatalf("%+v; received %d, fed %d", x, received, fed)
		}
	}
}
