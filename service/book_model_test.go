package service_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

// naive is the book as somebody would keep it on paper: a list of what happened,
// read from the start each time a question is asked. It shares no code with the
// journal. Amounts are grams.
type naive struct {
	facts    []*fact
	promises []*promise
	seq      int
}

// fact is one thing that happened: what it adds to which shelf.
type fact struct {
	at    int // minutes
	seq   int
	moves map[string]int
	gone  bool
	// A census sets its bin to level where the book lies outside low to high.
	census           string
	level, low, high int
}

// promise is what is kept of a bin for a leg.
type promise struct {
	bin   string
	grams int
	made  int // order
	ends  int // minute
}

// read goes through the facts in order and returns the shelves at the end, and
// whether one would be short at any moment. What is under way may be.
func (n *naive) read() (shelves map[string]int, short bool) {
	shelves = map[string]int{}
	done := map[*fact]bool{}
	for range n.facts {
		var next *fact
		for _, f := range n.facts {
			earlier := next == nil || f.at < next.at || f.at == next.at && f.seq < next.seq
			if !f.gone && !done[f] && earlier {
				next = f
			}
		}
		if next == nil {
			break
		}
		done[next] = true
		for shelf, g := range next.moves {
			shelves[shelf] += g
		}
		if b := shelves[next.census]; next.census != "" && (b < next.low || b > next.high) {
			shelves[next.census] = next.level
		}
		for shelf, g := range shelves {
			short = short || g < 0 && shelf[0] == 'b'
		}
	}
	return shelves, short
}

// try adds facts and takes others away, if the book bears it at every moment.
func (n *naive) try(add []*fact, without ...*fact) bool {
	for _, f := range add {
		n.seq++
		f.seq = n.seq
	}
	for _, f := range without {
		f.gone = true
	}
	n.facts = append(n.facts, add...)
	if _, short := n.read(); !short {
		return true
	}
	n.facts = n.facts[:len(n.facts)-len(add)]
	for _, f := range without {
		f.gone = false
	}
	return false
}

// left is what a bin has that isn't promised at that minute.
func (n *naive) left(bin string, now int) int {
	shelves, _ := n.read()
	left := shelves[bin]
	for _, p := range n.promises {
		if p.bin == bin && now < p.ends {
			left -= p.grams
		}
	}
	return left
}

// overtaken reports whether facts have overtaken a promise: the youngest first.
func (n *naive) overtaken(mine *promise, now int) bool {
	missing := -n.left(mine.bin, now)
	for _, p := range n.promises {
		if p.bin == mine.bin && now < p.ends && p.made > mine.made {
			missing -= p.grams
		}
	}
	return missing > 0
}

func (n *naive) drop(p *promise) {
	for i, x := range n.promises {
		if x == p {
			n.promises = append(n.promises[:i], n.promises[i+1:]...)
			return
		}
	}
}

// paper is a transfer as the naive book knows it.
type paper struct {
	id           service.TransferID
	loan         bool
	state        string // proposed, accepted, sent, done, over
	from, to     int    // bins
	grams, ends  int
	leg          string // what is under way stands on a shelf of that name
	kept         *promise
	sent, came   *fact
	packed, owed int
}

// bookMachine drives the service and the naive book side by side.
type bookMachine struct {
	h      *house
	n      naive
	bins   []service.BinID
	origin service.OriginID
	batch  service.BatchID
	made   map[service.MovementID]*fact
	ids    []service.MovementID
	papers []*paper
	start  time.Time
	minute int // of the clock
	used   int // minutes of the past that are taken, so that no two facts share one
}

const bookDays = 120

func newBookMachine(h *house, run int) *bookMachine {
	m := &bookMachine{h: h, made: map[service.MovementID]*fact{}, start: h.now}
	for i, keeper := range []service.MemberID{h.bo.ID, h.bo.ID, h.cy.ID, h.cy.ID} {
		m.bins = append(m.bins, h.bin(fmt.Sprintf("bin %d of run %d", i, run), keeper))
	}
	m.origin = h.origin(fmt.Sprint("origin ", run))
	m.batch = must(h.Batches.Add(h.Context(), h.ana, service.Batch{LotNumber: fmt.Sprint("lot ", run), Product: service.Vermicompost}))(h.T).ID
	return m
}

func shelf(bin int) string { return fmt.Sprint("b", bin) }

// when draws a moment: now, or one of the days before that no fact has.
func (m *bookMachine) when(t *rapid.T) (int, service.Moment) {
	m.tick()
	at := m.minute
	if rapid.IntRange(0, 2).Draw(t, "late") == 0 {
		m.used++
		at = m.minute - rapid.IntRange(1, bookDays).Draw(t, "days ago")*24*60 - m.used
	}
	return at, service.Moment{Text: m.start.Add(time.Duration(at) * time.Minute).Format(time.RFC3339)}
}

// tick moves the clock on by a minute.
func (m *bookMachine) tick() {
	m.minute++
	m.h.now = m.start.Add(time.Duration(m.minute) * time.Minute)
}

// agrees compares an outcome with what the naive book foretold. Only refusals
// that have a reason are outcomes.
func (m *bookMachine) agrees(t *rapid.T, what string, err error, foretold bool) bool {
	t.Helper()
	if err != nil && service.KindOf(err) == service.Internal {
		t.Fatalf("%s: %v", what, err)
	}
	if (err == nil) != foretold {
		detail := ""
		if e, ok := errors.AsType[*service.Error](err); ok {
			detail = fmt.Sprint(e.Detail, e.Fields)
		}
		t.Fatalf("%s: %v %s; the paper book says it goes: %v", what, err, detail, foretold)
	}
	return err == nil
}

func (m *bookMachine) keep(id service.MovementID, f *fact) {
	m.made[id] = f
	m.ids = append(m.ids, id)
}

func (m *bookMachine) bin(t *rapid.T, label string) int {
	return rapid.IntRange(0, len(m.bins)-1).Draw(t, label)
}

func (m *bookMachine) move(t *rapid.T, what string, mv service.Movement, f *fact) {
	goes := m.n.try([]*fact{f})
	got, err := m.h.Movements.Add(m.h.Context(), m.h.ana, mv)
	if m.agrees(t, what, err, goes) {
		m.keep(got.ID, f)
	}
}

// Stock brings worms in from outside.
func (m *bookMachine) Stock(t *rapid.T) {
	at, moment := m.when(t)
	to, g := m.bin(t, "to"), rapid.IntRange(1, 900).Draw(t, "g")
	m.move(t, "stocking", service.Movement{
		Kind: journal.Stocking, At: moment, ToBin: m.bins[to],
		Lines: []service.Line{{Origin: m.origin, Typed: unit.Measure{Value: float64(g), Unit: "g"}}},
	}, &fact{at: at, moves: map[string]int{shelf(to): g}})
}

// Split moves worms into the keeper's other bin.
func (m *bookMachine) Split(t *rapid.T) {
	at, moment := m.when(t)
	from, g := m.bin(t, "from"), rapid.IntRange(1, 500).Draw(t, "g")
	to := from ^ 1
	mv := split(m.bins[from], m.bins[to], float64(g), "g", moment.Text)
	mv.Lines[0].Species = fetida
	m.move(t, "split", mv, &fact{at: at, moves: map[string]int{shelf(from): -g, shelf(to): g}})
}

// Lose finds worms dead.
func (m *bookMachine) Lose(t *rapid.T) {
	at, moment := m.when(t)
	from, g := m.bin(t, "from"), rapid.IntRange(1, 300).Draw(t, "g")
	mv := loss(m.bins[from], float64(g), "g", moment.Text)
	mv.Lines[0].Species = fetida
	m.move(t, "loss", mv, &fact{at: at, moves: map[string]int{shelf(from): -g}})
}

// Count takes a census.
func (m *bookMachine) Count(t *rapid.T) {
	at, moment := m.when(t)
	bin, level := m.bin(t, "bin"), rapid.IntRange(0, 900).Draw(t, "level")
	g := func(v int) unit.Measure { return unit.Measure{Value: float64(v), Unit: "g"} }
	f := &fact{at: at, census: shelf(bin), level: level, low: level * 4 / 5, high: level*6/5 + 1}
	goes := m.n.try([]*fact{f})
	c, err := m.h.Censuses.Add(m.h.Context(), m.h.ana, service.Census{
		Bin: m.bins[bin], Species: fetida, At: moment,
		Typed: service.CensusText{Estimate: g(level), Low: g(f.low), High: g(f.high)},
	})
	if m.agrees(t, "census", err, goes) {
		m.keep(service.MovementID(c.ID), f)
	}
}

// Harvest takes castings into the batch.
func (m *bookMachine) Harvest(t *rapid.T) {
	at, moment := m.when(t)
	g := rapid.IntRange(1, 900).Draw(t, "g")
	dry := unit.Percent(0)
	f := &fact{at: at, moves: map[string]int{"batch": g}}
	goes := m.n.try([]*fact{f})
	got, err := m.h.Harvests.Add(m.h.Context(), m.h.ana, service.Harvest{
		Bin: m.bins[0], At: moment, Batch: m.batch, Typed: unit.Measure{Value: float64(g), Unit: "g"}, Moisture: &dry,
	})
	if m.agrees(t, "harvest", err, goes) {
		m.keep(service.MovementID(got.ID), f)
	}
}

// Use spreads castings out of the batch.
func (m *bookMachine) Use(t *rapid.T) {
	at, moment := m.when(t)
	g := rapid.IntRange(1, 900).Draw(t, "g")
	dry := unit.Percent(0)
	m.move(t, "use", service.Movement{
		Kind: journal.Use, At: moment, FromBatch: m.batch,
		Lines: []service.Line{{Typed: unit.Measure{Value: float64(g), Unit: "g"}, Moisture: &dry}},
	}, &fact{at: at, moves: map[string]int{"batch": -g}})
}

// Reverse takes something back that stands, and once more what doesn't.
func (m *bookMachine) Reverse(t *rapid.T) {
	if len(m.ids) == 0 {
		t.Skip("nothing to take back")
	}
	m.tick()
	id := rapid.SampledFrom(m.ids).Draw(t, "entry")
	f := m.made[id]
	goes := !f.gone && m.n.try(nil, f)
	_, err := m.h.Reverse(m.h.Context(), m.h.ana, id, service.Movement{Reason: "a try"})
	m.agrees(t, "reversal", err, goes)
}

// Propose promises worms of one keeper to the other, as a gift or a loan.
func (m *bookMachine) Propose(t *rapid.T) {
	m.tick()
	from, g := m.bin(t, "from"), rapid.IntRange(1, 500).Draw(t, "g")
	p := &paper{loan: rapid.Bool().Draw(t, "loan"), state: "proposed", from: from, to: (from + 2) % 4, grams: g, ends: m.minute + 14*24*60}
	keepers := []service.MemberID{m.h.bo.ID, m.h.bo.ID, m.h.cy.ID, m.h.cy.ID}
	terms := service.Gift
	if p.loan {
		terms = service.Loan
	}
	goes := m.n.left(shelf(from), m.minute) >= g
	got, err := m.h.Transfers.Propose(m.h.Context(), m.h.ana, oneLeg(terms, keepers[from], keepers[p.to], goods(m.bins[from], float64(g), "g")))
	if m.agrees(t, "proposal", err, goes) {
		p.id, p.leg = got.ID, string(got.Legs[0].ID)
		p.kept = &promise{shelf(from), g, m.minute, p.ends}
		m.n.promises = append(m.n.promises, p.kept)
		m.papers = append(m.papers, p)
	}
}

// paper draws a transfer.
func (m *bookMachine) paper(t *rapid.T) *paper {
	if len(m.papers) == 0 {
		t.Skip("no transfer")
	}
	m.tick()
	return rapid.SampledFrom(m.papers).Draw(t, "transfer")
}

func (m *bookMachine) step(t *rapid.T, p *paper, s service.Stepping, goes bool) bool {
	t.Helper()
	_, err := m.h.Transfers.Step(m.h.Context(), m.h.ana, p.id, s)
	return m.agrees(t, string(s.Verb), err, goes)
}

// Accept accepts a transfer.
func (m *bookMachine) Accept(t *rapid.T) {
	p := m.paper(t)
	if m.step(t, p, service.Stepping{Verb: exchange.Accept}, p.state == "proposed" && m.minute < p.ends) {
		p.state, p.ends = "accepted", m.minute+14*24*60
		p.kept.ends = p.ends
	}
}

// Cancel ends a transfer of which nothing was sent.
func (m *bookMachine) Cancel(t *rapid.T) {
	p := m.paper(t)
	if m.step(t, p, service.Stepping{Verb: exchange.Cancel}, (p.state == "proposed" || p.state == "accepted") && m.minute < p.ends) {
		p.state = "over"
		m.n.drop(p.kept)
	}
}

// Wait lets time pass, so that promises expire.
func (m *bookMachine) Wait(t *rapid.T) {
	m.minute += rapid.IntRange(1, 9).Draw(t, "days") * 24 * 60
	m.tick()
}

// Dispatch sends what was promised, or a little more or less.
func (m *bookMachine) Dispatch(t *rapid.T) {
	p := m.paper(t)
	at, moment := m.when(t)
	g := p.grams + rapid.IntRange(-p.grams/4, 20).Draw(t, "overcount")
	goes := p.state == "accepted" && m.minute < p.ends && !m.n.overtaken(p.kept, m.minute)
	f := &fact{at: at, moves: map[string]int{shelf(p.from): -g, p.leg: g}}
	goes = goes && m.n.try([]*fact{f})
	if m.step(t, p, service.Stepping{Verb: exchange.Dispatch, At: moment, Lines: goods("", float64(g), "g")}, goes) {
		p.state, p.sent, p.packed = "sent", f, g
		m.n.drop(p.kept)
	}
}

// Receive takes in what was sent: a part may be dead.
func (m *bookMachine) Receive(t *rapid.T) {
	p := m.paper(t)
	at, moment := m.when(t)
	dead := rapid.IntRange(0, p.packed).Draw(t, "dead")
	goes := p.state == "sent" && at >= p.sent.at
	f := &fact{at: at, moves: map[string]int{shelf(p.to): p.packed - dead, p.leg: -p.packed}}
	goes = goes && m.n.try([]*fact{f})
	if m.step(t, p, service.Stepping{
		Verb: exchange.Receive, At: moment, ToBin: m.bins[p.to], Came: []service.Outcome{{Dead: unit.Mass(dead) * unit.Gram}},
	}, goes) {
		p.state, p.came, p.owed = "done", f, p.packed-dead
	}
}

// Settle corrects what was sent; all of it came.
func (m *bookMachine) Settle(t *rapid.T) {
	p := m.paper(t)
	g := rapid.IntRange(1, 500).Draw(t, "packed")
	goes := p.state == "sent" || p.state == "done"
	var sent, came *fact
	if goes {
		sent = &fact{at: p.sent.at, moves: map[string]int{shelf(p.from): -g, p.leg: g}}
		add, without := []*fact{sent}, []*fact{p.sent}
		if p.state == "done" {
			came = &fact{at: p.came.at, moves: map[string]int{shelf(p.to): g, p.leg: -g}}
			add, without = append(add, came), append(without, p.came)
		}
		goes = m.n.try(add, without...)
	}
	s := service.Stepping{Verb: exchange.Settle, Lines: goods("", float64(g), "g"), Note: "weighed again"}
	if p.state == "done" {
		s.Came = []service.Outcome{{}}
	}
	if m.step(t, p, s, goes) {
		p.owed += g - p.packed
		p.sent, p.came, p.packed = sent, came, g
		if came != nil {
			p.owed = g
		}
	}
}

// Check compares every book after each step: the bins, the batch, and what is
// under way.
func (m *bookMachine) Check(t *rapid.T) {
	want, _ := m.n.read()
	err := m.h.store.View(m.h.Context(), m.h.club.ID, func(tx service.Tx) error {
		holds := func(shelf string, a journal.Account, c journal.Commodity) {
			got, err := tx.Movements.Book(a, c)
			if err != nil || got != unit.Mass(want[shelf])*unit.Gram {
				t.Fatalf("%s holds %v g (%v); the paper book says %d", shelf, got.Grams(), err, want[shelf])
			}
		}
		for i, bin := range m.bins {
			holds(shelf(i), journal.Bin(string(bin)), journal.Worms(fetida))
		}
		holds("batch", journal.Batch(string(m.batch)), journal.Castings)
		for _, p := range m.papers {
			holds(p.leg, journal.InTransit(p.leg), journal.Worms(fetida))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

const bookSteps = 50

// TestTheBookIsThatOfAPaperBook keeps random books in the service and on paper at
// once: late entries, reversals, censuses, and transfers with their promises,
// corrections and expiry. What one refuses the other does. There are 100 books on
// each database, or as many as -rapid.checks says.
func TestTheBookIsThatOfAPaperBook(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		runs := 0
		rapid.Check(t, func(rt *rapid.T) {
			runs++
			h := newHouseOf(t, store, runs)
			m := newBookMachine(h, runs)
			actions := rapid.StateMachineActions(m)
			check, names := actions[""], []string(nil)
			for _, name := range []string{"Stock", "Split", "Lose", "Count", "Harvest", "Use", "Reverse", "Propose", "Accept", "Cancel", "Wait", "Dispatch", "Receive", "Settle"} {
				if actions[name] == nil {
					t.Fatalf("no action %s", name)
				}
				names = append(names, name)
			}
			for range bookSteps {
				name := rapid.SampledFrom(names).Draw(rt, "action")
				if (name != "Reverse" || len(m.ids) > 0) && (!needsPaper(name) || len(m.papers) > 0) {
					actions[name](rt)
				}
				check(rt)
			}
			if err := h.consistent(t.Context()); err != nil {
				rt.Fatal(err)
			}
			if wrong := must(h.Prove(t.Context(), h.club.Handle))(t)[0].Wrong; len(wrong) > 0 {
				rt.Fatal(wrong)
			}
		})
	})
}

func needsPaper(action string) bool {
	switch action {
	case "Accept", "Cancel", "Dispatch", "Receive", "Settle":
		return true
	}
	return false
}
