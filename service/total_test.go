package service_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"sync"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
	"lumbricary.example/testdata/demo"

	"pgregory.net/rapid"
)

// TestTotalsAreWhatAllRecordsAddUpTo does random things to a book, late ones,
// changes and corrections among them, and works out all totals and reports again
// from the records.
func TestTotalsAreWhatAllRecordsAddUpTo(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		runs := 0
		rapid.Check(t, func(rt *rapid.T) {
			if runs++; runs > sequences() {
				return
			}
			k := h.keeping(runs)
			for range rapid.IntRange(10, 40).Draw(rt, "steps") {
				if err := k.step(rt); err != nil && service.KindOf(err) == service.Internal {
					rt.Fatal(err)
				}
			}
			if err := errors.Join(h.totalsHold(t.Context()), h.reportsAgree(t.Context())); err != nil {
				rt.Fatal(err)
			}
		})
		h.travels()
	})
}

// keeping is a few bins to which things are done at random.
type keeping struct {
	*house
	bins      []service.BinID
	materials []service.MaterialID
	batch     service.BatchID
	origin    service.OriginID
	entries   []service.MovementID
	feedings  []service.FeedingID
	checks    []service.CheckID
	rt        *rapid.T
}

func (h *house) keeping(run int) *keeping {
	h.Helper()
	k := &keeping{house: h, origin: h.origin(fmt.Sprint("origin ", run))}
	for i := range 3 {
		k.bins = append(k.bins, h.bin(fmt.Sprint("bin ", run, i), h.bo.ID))
	}
	damp := unit.Percent(87.3)
	for _, m := range []service.Material{
		{Name: "peels", Kind: service.FeedMaterial, Moisture: &damp},
		{Name: "sweepings", Kind: service.FeedMaterial},
		{Name: "leaves", Kind: service.BeddingMaterial, Moisture: &damp},
		{Name: "grit", Kind: service.AmendmentMaterial},
	} {
		m.Name = fmt.Sprint(m.Name, run)
		k.materials = append(k.materials, must(h.Materials.Add(h.Context(), h.ana, m))(h.T).ID)
	}
	k.batch = must(h.Batches.Add(h.Context(), h.ana, service.Batch{LotNumber: fmt.Sprint("batch ", run), Product: service.CastingsOnly}))(h.T).ID
	return k
}

// step does one thing. Errors: those of the use-case; what it refuses is refused.
func (k *keeping) step(rt *rapid.T) error {
	k.rt = rt
	things := []func() error{
		k.feed, k.feed, k.feed, k.look, k.look, k.stockUp, k.split, k.lose, k.countWorms, k.harvest, k.harvest,
		k.handOver, k.reverse, k.feedOtherwise, k.voidFeeding, k.voidCheck, k.dampen, k.bulk,
	}
	return rapid.SampledFrom(things).Draw(rt, "thing")()
}

func (k *keeping) upTo(n int, what string) float64 {
	return float64(rapid.IntRange(1, n).Draw(k.rt, what))
}

func (k *keeping) grams(n int) unit.Measure { return unit.Measure{Value: k.upTo(n, "g"), Unit: "g"} }

func (k *keeping) someBin() service.BinID { return rapid.SampledFrom(k.bins).Draw(k.rt, "bin") }

// some moment, at times in the hour that the month of Lisbon isn't that of UTC
func (k *keeping) moment() service.Moment {
	if rapid.IntRange(0, 5).Draw(k.rt, "edge") == 0 {
		return service.Moment{Text: fmt.Sprintf("2026-%02d-01T00:30:00+01:00", rapid.IntRange(1, 4).Draw(k.rt, "month"))}
	}
	return service.Moment{Text: fmt.Sprintf("2026-%02d-%02d", rapid.IntRange(1, 4).Draw(k.rt, "month"), rapid.IntRange(1, 28).Draw(k.rt, "day"))}
}

func (k *keeping) moisture() *unit.Percent {
	if rapid.Bool().Draw(k.rt, "measured") {
		return nil
	}
	m := unit.Percent(k.upTo(95, "%"))
	return &m
}

func (k *keeping) feeding() service.Feeding {
	f := service.Feeding{Bin: k.someBin(), At: k.moment()}
	for range rapid.IntRange(1, 3).Draw(k.rt, "items") {
		f.Items = append(f.Items, service.FeedingItem{
			Material: rapid.SampledFrom(k.materials).Draw(k.rt, "material"), Typed: k.grams(5000), Moisture: k.moisture(),
		})
	}
	return f
}

func (k *keeping) feed() error {
	f, err := k.Feedings.Add(k.Context(), k.ana, k.feeding())
	if err == nil {
		k.feedings = append(k.feedings, f.ID)
	}
	return err
}

func (k *keeping) feedOtherwise() error {
	if len(k.feedings) == 0 {
		return nil
	}
	old, err := k.Feedings.Get(k.Context(), k.ana, rapid.SampledFrom(k.feedings).Draw(k.rt, "feeding"))
	if err != nil {
		return err
	}
	f := k.feeding()
	f.Bin = old.Bin
	_, err = k.Feedings.Change(k.Context(), k.ana, old.ID, old.Version, f)
	return err
}

func (k *keeping) voidFeeding() error {
	if len(k.feedings) == 0 {
		return nil
	}
	f, err := k.Feedings.Get(k.Context(), k.ana, rapid.SampledFrom(k.feedings).Draw(k.rt, "feeding"))
	if err == nil {
		_, err = k.Feedings.Remove(k.Context(), k.ana, f.ID, f.Version)
	}
	return err
}

func (k *keeping) look() error {
	left := unit.Percent(rapid.SampledFrom([]float64{0, 0, 30, 100}).Draw(k.rt, "left"))
	c := service.Check{Bin: k.someBin(), At: k.moment(), Squeeze: service.SqueezeDrops}
	if rapid.Bool().Draw(k.rt, "looked") {
		c.LeftoverAll = &left
	}
	c, err := k.Checks.Add(k.Context(), k.ana, c)
	if err == nil {
		k.checks = append(k.checks, c.ID)
	}
	return err
}

func (k *keeping) voidCheck() error {
	if len(k.checks) == 0 {
		return nil
	}
	c, err := k.Checks.Get(k.Context(), k.ana, rapid.SampledFrom(k.checks).Draw(k.rt, "check"))
	if err == nil {
		_, err = k.Checks.Remove(k.Context(), k.ana, c.ID, c.Version)
	}
	return err
}

func (k *keeping) enter(m service.Movement) error {
	m.At = k.moment()
	m, err := k.Movements.Add(k.Context(), k.ana, m)
	if err == nil {
		k.entries = append(k.entries, m.ID)
	}
	return err
}

func (k *keeping) stockUp() error {
	return k.enter(service.Movement{Kind: journal.Stocking, ToBin: k.someBin(), Lines: []service.Line{{Origin: k.origin, Typed: k.grams(900)}}})
}

func (k *keeping) split() error {
	return k.enter(split(k.someBin(), k.someBin(), k.upTo(100, "%"), "%", ""))
}

func (k *keeping) lose() error { return k.enter(loss(k.someBin(), k.upTo(500, "g"), "g", "")) }

func (k *keeping) handOver() error {
	price := int64(k.upTo(5000, "cent"))
	return k.enter(service.Movement{
		Kind: journal.HandOver, Terms: service.Sale, PriceMinor: &price, Currency: "EUR", Party: "a neighbour",
		Lines: []service.Line{{FromBin: k.someBin(), Typed: k.grams(200)}},
	})
}

func (k *keeping) countWorms() error {
	level := k.upTo(900, "g")
	g := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "g"} }
	c, err := k.Censuses.Add(k.Context(), k.ana, service.Census{
		Bin: k.someBin(), Species: fetida, At: k.moment(), Apply: rapid.Bool().Draw(k.rt, "apply"),
		Typed: service.CensusText{Estimate: g(level), Low: g(level * 0.8), High: g(level*1.2 + 1)},
	})
	if err == nil {
		k.entries = append(k.entries, service.MovementID(c.ID))
	}
	return err
}

func (k *keeping) harvest() error {
	h, err := k.Harvests.Add(k.Context(), k.ana, service.Harvest{
		Bin: k.someBin(), At: k.moment(), Full: rapid.Bool().Draw(k.rt, "full"), Typed: k.grams(4000), Moisture: k.moisture(),
		Batch: k.batch, PutBack: unit.Mass(k.upTo(100, "back")) * unit.Gram,
	})
	if err == nil {
		k.entries = append(k.entries, service.MovementID(h.ID))
	}
	return err
}

func (k *keeping) reverse() error {
	if len(k.entries) == 0 {
		return nil
	}
	_, err := k.Reverse(k.Context(), k.ana, rapid.SampledFrom(k.entries).Draw(k.rt, "reversed"), service.Movement{Reason: "a try"})
	return err
}

// dampen changes what all that was fed of a material weighs dry.
func (k *keeping) dampen() error {
	m, err := k.Materials.Get(k.Context(), k.ana, rapid.SampledFrom(k.materials).Draw(k.rt, "material"))
	if err == nil {
		m.Moisture = k.moisture()
		_, err = k.Materials.Change(k.Context(), k.ana, m.ID, m.Version, m)
	}
	return err
}

func (k *keeping) bulk() error {
	all, err := k.Records.RecordAll(k.Context(), k.ana, service.Bulk{
		Feedings:  []service.Feeding{k.feeding(), k.feeding()},
		Movements: []service.Movement{{Kind: journal.Stocking, At: k.moment(), ToBin: k.someBin(), Lines: []service.Line{{Origin: k.origin, Typed: k.grams(900)}}}},
	})
	for _, m := range all.Movements {
		k.entries = append(k.entries, m.ID)
	}
	return err
}

// totalsHold checks that the stored totals are what the records add up to.
func (h *house) totalsHold(ctx context.Context) error {
	wrong, err := h.CheckTotals(ctx, h.club.ID)
	if err == nil && len(wrong) > 0 {
		err = fmt.Errorf("%d totals are wrong, the first is %+v", len(wrong), wrong[0])
	}
	return err
}

// reportsAgree checks that reports from totals are those from records alone.
func (h *house) reportsAgree(ctx context.Context) error {
	codes := []string{"2026-winter", "2026-spring", "2026-Q1", "2026-Q2", "2026", "2026-01", "2026-02", "2026-03", "2026-04", "2025", "2026-W09", "2026-02-10..2026-03-20"}
	for _, code := range codes {
		kept, err := h.Reports.Reported(ctx, h.ana, code)
		if err != nil {
			return err
		}
		recounted, err := h.Reports.Recounted(ctx, h.ana, code)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(kept, recounted) {
			return fmt.Errorf("the report on %s from totals\n%+v\nisn't that from records\n%+v", code, kept, recounted)
		}
	}
	return nil
}

func TestTheDemoClubsReportsFromTotalsAreThoseFromRecords(t *testing.T) {
	t.Parallel()
	clubs, err := demo.Clubs()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range clubs {
		repotest.Each(t, func(t *testing.T, store *repo.Store) {
			h := emptyHouse(t, store)
			h.now = demo.Day()
			must(h.Records.Import(t.Context(), h.ana, c.Book, false))(t)
			if err := errors.Join(h.totalsHold(t.Context()), h.reportsAgree(t.Context())); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestManyWhoFeedAtOnceLoseNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bin := h.bin("A", h.bo.ID)
		var items []service.FeedingItem
		for _, name := range []string{"peels", "grounds", "leaves"} {
			m := must(h.Materials.Add(t.Context(), h.ana, service.Material{Name: name, Kind: service.FeedMaterial}))(t)
			items = append(items, service.FeedingItem{Material: m.ID, Typed: unit.Measure{Value: 1, Unit: "kg"}})
		}
		const many = 12
		failures := make([]error, many)
		var all sync.WaitGroup
		for i := range many {
			f := service.Feeding{ID: service.FeedingID(h.NewID()), Bin: bin, At: service.Moment{Text: "2026-04-02"}, Items: slices.Clone(items)}
			if i%2 == 1 {
				slices.Reverse(f.Items) // who locks in another order than others waits for ever
			}
			all.Go(func() { _, failures[i] = h.Feedings.Add(t.Context(), h.ana, f) })
		}
		all.Wait()
		if err := errors.Join(append(failures, h.totalsHold(t.Context()))...); err != nil {
			t.Error(err)
		}
		if got := must(h.Reports.Season(t.Context(), h.ana, "2026-04"))(t).Total.Fed.FeedWet; got != 3*many*unit.Kilogram {
			t.Errorf("%d mg were fed; want %d kg", got, 3*many)
		}
	})
}

func TestAnotherZonePutsWhatWasRecordedIntoItsMonths(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		bin := h.bin("A", h.bo.ID)
		m := must(h.Materials.Add(t.Context(), h.ana, service.Material{Name: "peels", Kind: service.FeedMaterial}))(t)
		must(h.Feedings.Add(t.Context(), h.ana, service.Feeding{
			Bin: bin, At: service.Moment{Text: "2026-04-01T00:30:00+01:00"},
			Items: []service.FeedingItem{{Material: m.ID, Typed: unit.Measure{Value: 1, Unit: "kg"}}},
		}))(t)
		fed := func(month string) unit.Mass {
			return must(h.Reports.Season(t.Context(), h.ana, month))(t).Total.Fed.FeedWet
		}
		if fed("2026-03") != 0 || fed("2026-04") != unit.Kilogram {
			t.Error("half past midnight in Lisbon isn't in April")
		}
		club := must(h.Clubs.Get(t.Context(), h.ana))(t)
		club.TimeZone = "America/New_York"
		must(h.Clubs.Change(t.Context(), h.ana, club.Version, club))(t)
		if fed("2026-03") != unit.Kilogram || fed("2026-04") != 0 {
			t.Error("the evening before in New York isn't in March")
		}
		if err := h.totalsHold(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

func TestAWrongTotalIsFoundAndMadeAnew(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		h.stock(h.bin("A", h.bo.ID), "", 1, "2026-03-01")
		spoilt := service.Total{TotalKey: service.TotalKey{Month: "2026-03", Kind: service.TotalFed}, Amounts: service.Amounts{Records: 1, Mass: 7}}
		if err := h.Spoil(t.Context(), h.club.ID, spoilt); err != nil {
			t.Fatal(err)
		}
		wrong := must(h.CheckTotals(t.Context(), h.club.ID))(t)
		if want := []service.WrongTotal{{TotalKey: spoilt.TotalKey, Kept: spoilt.Amounts}}; !reflect.DeepEqual(wrong, want) {
			t.Errorf("found %+v; want %+v", wrong, want)
		}
		if err := errors.Join(h.RebuildTotals(t.Context(), h.club.ID), h.totalsHold(t.Context())); err != nil {
			t.Error(err)
		}
	})
}

func TestTotalsThatAreMissingOrOldAreFilledAtTheStart(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		h := newHouse(t, store)
		h.stock(h.bin("A", h.bo.ID), "", 1, "2026-03-01")
		if err := h.Unmake(t.Context(), h.club.ID); err != nil {
			t.Fatal(err)
		}
		if wrong := must(h.CheckTotals(t.Context(), h.club.ID))(t); len(wrong) == 0 {
			t.Error("nothing is missing")
		}
		if err := errors.Join(h.FillTotals(t.Context()), h.totalsHold(t.Context())); err != nil {
			t.Error(err)
		}
	})
}
