package service_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/exposure"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// carriage is what the test remembers of a record that carried something along,
// from places to places, or that cleared one.
type carriage struct {
	at       time.Time
	from, to []exposure.Place
	clears   exposure.Place
}

// carrier writes random records into a book, and remembers by itself what each
// carried.
type carrier struct {
	*house
	dice     *rand.Rand
	bins     []service.BinID // two of Bo's, two of Cy's
	keepers  []service.MemberID
	batches  []service.BatchID
	receipts []service.ReceiptID
	feed     service.MaterialID
	hours    []int // moments that are still free
	done     map[string]carriage
	undo     map[string]func() error      // of records that can be taken back
	arrived  map[exposure.Place]time.Time // when they set out
}

func newCarrier(t *testing.T, store *repo.Store, n int) *carrier {
	h := newHouseOf(t, store, n+1)
	c := &carrier{
		house: h, dice: rand.New(rand.NewPCG(uint64(n), 7)), keepers: []service.MemberID{h.bo.ID, h.bo.ID, h.cy.ID, h.cy.ID},
		done: map[string]carriage{}, undo: map[string]func() error{}, arrived: map[exposure.Place]time.Time{},
	}
	c.hours = c.dice.Perm(1000)
	line := h.origin("line A")
	c.feed = must(h.Materials.Add(t.Context(), h.ana, service.Material{Name: "scraps", Kind: service.FeedMaterial}))(t).ID
	for i, keeper := range c.keepers {
		c.bins = append(c.bins, h.bin(fmt.Sprint("bin ", i), keeper))
		m := h.stock(c.bins[i], line, 1, "2026-02-01")
		c.done[string(m.ID)] = carriage{at: m.At.Time, from: []exposure.Place{{Kind: exposure.Outside, Ref: string(m.ID)}}, to: []exposure.Place{binAt(c.bins[i])}}
	}
	for i := range 2 {
		c.batches = append(c.batches, must(h.Batches.Add(t.Context(), h.ana, service.Batch{LotNumber: fmt.Sprint("lot ", i), Product: service.CastingsOnly}))(t).ID)
		c.receipts = append(c.receipts, must(h.Receipts.Add(t.Context(), h.ana, service.Receipt{
			Material: c.feed, At: service.Moment{Text: "2026-02-02"}, Typed: unit.Measure{Value: 50, Unit: "kg"},
		}))(t).ID)
	}
	return c
}

func binAt(id service.BinID) exposure.Place {
	return exposure.Place{Kind: exposure.Bin, Ref: string(id)}
}

func batchAt(id service.BatchID) exposure.Place {
	return exposure.Place{Kind: exposure.Batch, Ref: string(id)}
}

// moment takes one that no other record has, in March or April.
func (c *carrier) moment() (time.Time, service.Moment) {
	hour := c.hours[0]
	c.hours = c.hours[1:]
	at := time.Date(2026, 3, 1, hour, 0, 0, 0, time.UTC)
	return at, service.Moment{Text: at.Format(time.RFC3339)}
}

// keep remembers a record unless the book refused it, which doesn't matter.
func (c *carrier) keep(id string, err error, of carriage, undo func() error) {
	c.Helper()
	switch {
	case err != nil && service.KindOf(err) == service.Internal:
		c.Fatal(err)
	case err == nil:
		c.done[id] = of
		c.undo[id] = undo
	}
}

func (c *carrier) reversing(id service.MovementID) func() error {
	return func() error {
		_, err := c.Reverse(c.Context(), c.ana, id, service.Movement{Reason: "a mistake"})
		return err
	}
}

// record writes one random record.
func (c *carrier) record() {
	ctx, g := c.Context(), func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "g"} }
	i := c.dice.IntN(4)
	other := i ^ 1 // of the same keeper
	from, to := c.bins[i], c.bins[other]
	batch := c.batches[c.dice.IntN(2)]
	at, text := c.moment()
	switch c.dice.IntN(10) {
	case 0:
		m, err := c.Movements.Add(ctx, c.ana, split(from, to, 5, "g", text.Text))
		c.keep(string(m.ID), err, carriage{at: at, from: []exposure.Place{binAt(from)}, to: []exposure.Place{binAt(to)}}, c.reversing(m.ID))
	case 1:
		m, err := c.Movements.Add(ctx, c.ana, service.Movement{
			Kind: journal.HandOver, At: text, Party: "Rosa", Lines: []service.Line{{FromBin: from, Typed: g(5)}},
		})
		c.keep(string(m.ID), err, carriage{at: at, from: []exposure.Place{binAt(from)}, to: []exposure.Place{{Kind: exposure.Outside, Ref: string(m.ID)}}}, c.reversing(m.ID))
	case 2, 3:
		harvest := service.Harvest{Bin: from, At: text, Typed: g(900), Batch: batch}
		into := []exposure.Place{batchAt(batch)}
		if c.dice.IntN(2) == 0 {
			harvest.WormsTo, harvest.Worms = to, []service.Line{{Species: fetida, Typed: g(3)}}
			into = append(into, binAt(to))
		}
		made, err := c.Harvests.Add(ctx, c.ana, harvest)
		c.keep(string(made.ID), err, carriage{at: at, from: []exposure.Place{binAt(from)}, to: into}, c.reversing(service.MovementID(made.ID)))
	case 4:
		into := c.batches[1-slices.Index(c.batches, batch)]
		r, err := c.Reworks.Add(ctx, c.ana, service.Rework{
			Kind: service.Screening, At: text, From: []service.ReworkPart{{Batch: batch, Typed: g(50)}}, Into: []service.ReworkPart{{Batch: into}},
		})
		c.keep(string(r.ID), err, carriage{at: at, from: []exposure.Place{batchAt(batch)}, to: []exposure.Place{batchAt(into)}}, c.reversing(service.MovementID(r.ID)))
	case 5:
		receipt := c.receipts[c.dice.IntN(2)]
		f, err := c.Feedings.Add(ctx, c.ana, service.Feeding{Bin: from, At: text, Items: []service.FeedingItem{{Material: c.feed, Typed: g(100), Receipt: receipt}}})
		c.keep(string(f.ID), err, carriage{at: at, from: []exposure.Place{{Kind: exposure.Receipt, Ref: string(receipt)}}, to: []exposure.Place{binAt(from)}},
			func() error { _, err := c.Feedings.Remove(ctx, c.ana, f.ID, f.Version); return err })
	case 6:
		bins := []service.BinID{from, c.bins[(i+1+c.dice.IntN(3))%4]}
		both := []exposure.Place{binAt(bins[0]), binAt(bins[1])}
		v, err := c.Contacts.Add(ctx, c.ana, service.BinContact{Bins: bins, At: text, What: service.SharedTools})
		c.keep(string(v.ID), err, carriage{at: at, from: both, to: both}, func() error { _, err := c.Contacts.Remove(ctx, c.ana, v.ID, v.Version); return err })
	case 7:
		v, place := service.Clearing{Bin: from, At: text, How: "scalded"}, binAt(from)
		if c.dice.IntN(3) == 0 {
			v.Bin, v.Batch, place = "", batch, batchAt(batch)
		}
		v, err := c.Clearings.Add(ctx, c.ana, v)
		c.keep(string(v.ID), err, carriage{at: at, clears: place}, func() error { _, err := c.Clearings.Remove(ctx, c.ana, v.ID, v.Version); return err })
	case 8:
		c.transfer(i, at, text)
	case 9:
		c.takeBack()
	}
}

// transfer sends stock from a bin to one of another keeper or to a party; most
// arrives, and of some a part goes back.
func (c *carrier) transfer(i int, at time.Time, text service.Moment) {
	to, toBin := service.MemberID(""), service.BinID("")
	if c.dice.IntN(3) > 0 {
		to, toBin = c.keepers[(i+2)%4], c.bins[(i+2)%4]
	}
	t := oneLeg(service.Gift, c.keepers[i], to, goods(c.bins[i], 5, "g"))
	t.Legs[0].ToBin = toBin
	seen := c.propose(t)
	if seen.State == exchange.Proposed && to != "" {
		seen = c.step(seen.ID, service.Stepping{Verb: exchange.Accept})
	}
	_, err := c.Transfers.Step(c.Context(), c.ana, seen.ID, service.Stepping{Verb: exchange.Dispatch, At: text})
	leg := seen.Legs[0].ID
	way := exposure.Place{Kind: exposure.Way, Ref: string(leg)}
	c.keep(string(leg), err, carriage{at: at, from: []exposure.Place{binAt(c.bins[i])}, to: []exposure.Place{way}}, nil)
	came, text := c.moment()
	if err != nil || came.Before(at) || c.dice.IntN(4) == 0 {
		return
	}
	step := service.Stepping{Verb: exchange.Receive, At: text}
	if c.dice.IntN(2) == 0 {
		step.Came = []service.Outcome{{Returned: 2 * unit.Gram}}
	}
	sent, err := c.Transfers.Step(c.Context(), c.ana, seen.ID, step)
	if err != nil && service.KindOf(err) == service.Internal {
		c.Fatal(err)
	}
	if err != nil {
		return
	}
	into := []exposure.Place{{Kind: exposure.Outside, Ref: string(sent.Legs[0].Arrival)}}
	if toBin != "" {
		into = []exposure.Place{binAt(toBin)}
	}
	if step.Came != nil {
		into = append(into, binAt(c.bins[i]))
	}
	c.keep(string(sent.Legs[0].Arrival), nil, carriage{at: came, from: []exposure.Place{way}, to: into}, nil)
	c.arrived[way] = at
}

// takeBack voids or reverses one of the records.
func (c *carrier) takeBack() {
	ids := slices.DeleteFunc(slices.Sorted(maps.Keys(c.done)), func(id string) bool { return c.undo[id] == nil })
	if len(ids) == 0 {
		return
	}
	id := ids[c.dice.IntN(len(ids))]
	switch err := c.undo[id](); {
	case err == nil:
		delete(c.done, id)
		delete(c.undo, id)
	case service.KindOf(err) == service.Internal:
		c.Fatal(err)
	}
}

// inOrder are the records that stand, from a moment on.
func (c *carrier) inOrder(since time.Time) (out []carriage) {
	for _, e := range c.done {
		if !e.at.Before(since) {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b carriage) int { return a.at.Compare(b.at) })
	return out
}

// spread carries on from what is exposed, record by record; ever, if given, gets
// whatever was exposed at some time.
func spread(here map[exposure.Place]bool, records []carriage, ever map[exposure.Place]bool) {
	for _, e := range records {
		delete(here, e.clears)
		if !slices.ContainsFunc(e.from, func(p exposure.Place) bool { return here[p] }) {
			continue
		}
		for _, p := range e.to {
			here[p] = true
			ever[p] = true
		}
	}
}

// expected are the places of a trace that tries every way by itself: forward, and
// of those the ones that are exposed at the end; or back.
func (c *carrier) expected(start exposure.Place, since time.Time) (ever, standing, back map[exposure.Place]bool) {
	records := c.inOrder(since)
	ever, standing, back = map[exposure.Place]bool{start: true}, map[exposure.Place]bool{start: true}, map[exposure.Place]bool{start: true}
	spread(standing, records, ever)
	for i, e := range records {
		for _, p := range e.from {
			here := map[exposure.Place]bool{p: true}
			spread(here, records[i:], map[exposure.Place]bool{})
			if here[start] {
				back[p] = true
			}
		}
	}
	for _, places := range []map[exposure.Place]bool{ever, standing, back} {
		maps.DeleteFunc(places, func(p exposure.Place, _ bool) bool {
			began, ended := c.arrived[p]
			return ended && !began.Before(since)
		})
	}
	return ever, standing, back
}

// traced are the places of the service's trace, and those that are exposed still.
func (c *carrier) traced(start exposure.Place, q service.Query) (ever, standing map[exposure.Place]bool) {
	c.Helper()
	q.Limit = 1000
	var e service.Exposure
	var err error
	switch start.Kind {
	case exposure.Batch:
		e, err = c.Reports.BatchExposure(c.Context(), c.ana, service.BatchID(start.Ref), q)
	case exposure.Receipt:
		e, err = c.Reports.ReceiptExposure(c.Context(), c.ana, service.ReceiptID(start.Ref), q)
	case exposure.Bin, exposure.Way, exposure.Outside:
		e, err = c.Reports.BinExposure(c.Context(), c.ana, service.BinID(start.Ref), q)
	}
	if err != nil {
		c.Fatal(err)
	}
	ever, standing = map[exposure.Place]bool{}, map[exposure.Place]bool{}
	for i, p := range e.Places {
		ever[p.Place] = true
		if p.Cleared.IsZero() {
			standing[p.Place] = true
		}
		from := func(before service.ExposedPlace) bool { return before.Place == p.By && before.Steps+1 == p.Steps }
		if p.Name == "" || i > 0 && !slices.ContainsFunc(e.Places[:i], from) {
			c.Errorf("%+v is told of no place before it", p)
		}
	}
	return ever, standing
}

func TestATraceIsWhatTryingEveryWayThroughARandomBookGives(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		for n := range 6 {
			c := newCarrier(t, store, n)
			for range 40 {
				c.record()
			}
			if len(c.done) < 15 {
				t.Fatalf("book %d has only %d records", n, len(c.done))
			}
			for _, since := range []time.Time{time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2026, 3, 1+c.dice.IntN(25), 0, 0, 0, 0, time.UTC)} {
				c.compare(n, since)
			}
			for _, p := range must(c.Prove(t.Context(), c.club.Handle))(t) {
				if len(p.Wrong) > 0 {
					t.Errorf("book %d: %v", n, p.Wrong)
				}
			}
		}
	})
}

// compare holds the traces from every place against those that try every way.
func (c *carrier) compare(n int, since time.Time) {
	c.Helper()
	starts := []exposure.Place{{Kind: exposure.Receipt, Ref: string(c.receipts[0])}}
	for _, bin := range c.bins {
		starts = append(starts, binAt(bin))
	}
	for _, batch := range c.batches {
		starts = append(starts, batchAt(batch))
	}
	for _, start := range starts {
		ever, standing, back := c.expected(start, since)
		gotEver, gotStanding := c.traced(start, service.Query{From: since})
		gotBack, _ := c.traced(start, service.Query{From: since, Newest: true})
		for what, sets := range map[string][2]map[exposure.Place]bool{
			"it reached": {gotEver, ever}, "it is in": {gotStanding, standing}, "it came from": {gotBack, back},
		} {
			if !maps.Equal(sets[0], sets[1]) {
				c.Errorf("book %d, from %v since %v: %s\n%v, trying every way says\n%v", n, start, since, what, sets[0], sets[1])
			}
		}
	}
}
