package service

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// legPostings are the double entry of a dispatch or an arrival. What is under way
// is on the account of its leg; material has no book.
func (m *Movement) legPostings() []journal.Posting {
	way := string(m.Leg)
	var out []journal.Posting
	for _, l := range m.Lines {
		g := l.good()
		switch {
		case g.Commodity == "":
		case m.Kind == journal.Arriving:
			out = append(out, journal.Arrive(way, g.Commodity, journal.Arrival{
				To: m.destination(g.Commodity), From: g.From,
				Received: l.Mass, Returned: l.Returned, Dead: l.Dead, WeightLost: l.WeightLost, Missing: l.Missing,
			})...)
		case l.Mass == 0:
		case g.From.Kind == journal.Outside:
			out = append(out, journal.Receive(string(l.Origin), journal.InTransit(way), g.Commodity, l.Mass)...)
		default:
			out = append(out, journal.Move(g.From, journal.InTransit(way), g.Commodity, l.Mass)...)
		}
	}
	return out
}

// destination is the account into which an arrival puts a commodity.
func (m *Movement) destination(c journal.Commodity) journal.Account {
	switch {
	case c == journal.Castings && m.ToBatch != "":
		return journal.Batch(string(m.ToBatch))
	case c != journal.Castings && m.ToBin != "":
		return journal.Bin(string(m.ToBin))
	}
	return journal.Account{Kind: journal.Outside}
}

// legMovement is the entry of leg i that has lines, not yet posted.
func (w *work) legMovement(t Transfer, i int, kind journal.Kind, lines []Line) *Movement {
	l := t.Deal.Legs[i]
	m := &Movement{
		ID: MovementID(w.desk.NewID()), Kind: kind, Lines: lines, Terms: t.Deal.Terms, Party: t.Party,
		FromMember: MemberID(l.Giver), ToMember: MemberID(l.Receiver), Transfer: t.ID, Leg: LegID(l.ID),
	}
	if kind == journal.Arriving {
		m.At, m.ToBin, m.ToBatch = t.Legs[i].CameAt, t.Legs[i].ToBin, t.Legs[i].ToBatch
		if i == 0 && t.Price.TotalMinor != nil {
			m.PriceMinor, m.Currency = t.Price.TotalMinor, t.Price.Currency
		}
	} else {
		m.At = t.Legs[i].SentAt
	}
	for _, line := range lines {
		if line.Material {
			m.MaterialMass += line.Mass
		}
	}
	m.Postings = m.legPostings()
	return m
}

// send notes in t what is sent of leg i, and returns its entry. Errors: OutOfTurn.
func (w *work) send(t *Transfer, i int, at Moment, packed []Line) (*Movement, error) {
	deal, err := t.Deal.Dispatch(i, w.now)
	if err != nil {
		return nil, err
	}
	t.Deal = deal
	for j := range packed {
		t.Deal.Legs[i].Goods[j].Sent = packed[j].Mass
	}
	t.Legs[i].SentAt = at
	m := w.legMovement(*t, i, journal.Dispatch, packed)
	t.Legs[i].Dispatch = m.ID
	return m, nil
}

// take notes in t what came of leg i, and returns its entry. Errors: OutOfTurn.
func (w *work) take(t *Transfer, i int, at Moment, lines []Line) (*Movement, error) {
	for j, l := range lines {
		t.Deal.Legs[i].Goods[j].Came = l.came()
	}
	deal, err := t.Deal.Receive(i, w.now)
	if err != nil {
		return nil, err
	}
	t.Deal, t.Legs[i].CameAt = deal, at
	m := w.legMovement(*t, i, journal.Arriving, lines)
	t.Legs[i].Arrival = m.ID
	return m, nil
}

func (l Line) came() exchange.Came {
	return exchange.Came{Received: l.Mass, Dead: l.Dead, WeightLost: l.WeightLost, Missing: l.Missing, Returned: l.Returned}
}

// dispatch sends a leg: as agreed, or as it was packed. Errors: OutOfTurn,
// ErrShort, ErrMoreThanBook.
func (s *stepping) dispatch() error {
	s.settle(&s.faults, "/at", &s.At)
	if err := s.faults.Err(); err != nil {
		return err
	}
	all, err := s.promised(*s.t)
	if err != nil {
		return err
	}
	short, err := s.short(*s.t, all)
	if err != nil {
		return err
	}
	packed, err := s.packed(s.At)
	if err = cmp.Or(s.faults.Err(), err); err != nil {
		return err
	}
	m, err := s.send(s.t, s.leg, s.At, packed)
	if err != nil {
		return err
	}
	if missing := short[s.t.Legs[s.leg].ID]; missing > 0 {
		return ErrShort.With("%.3f g of what was promised are no longer there", missing.Grams())
	}
	return s.post(m)
}

// packed are the lines that are sent: those that the giver tells, one for each
// thing that was agreed, else as agreed. A count is weighed by the mean mass of a
// worm at dispatch, and keeps it.
func (s *stepping) packed(at Moment) ([]Line, error) {
	lines := slices.Clone(s.t.Legs[s.leg].Agreed)
	if len(s.Lines) > 0 && len(s.Lines) != len(lines) {
		s.faults.Add("/goods", "shape", "say how much was packed of each thing that was agreed, in the same order")
		return nil, nil
	}
	for j := range lines {
		counted := unit.DimensionOf(lines[j].Typed.Unit) == unit.DimCount
		if len(s.Lines) > 0 {
			told := s.Lines[j]
			lines[j].Typed, lines[j].SizeClass, lines[j].Density, lines[j].SampleMg, lines[j].Moisture = told.Typed, told.SizeClass, told.Density, told.SampleMg, told.Moisture
		} else if !counted {
			lines[j].Booked = new(lines[j].Mass)
		}
	}
	p := packing{work: s.work, faults: &s.faults, pointer: "/goods", giver: MemberID(s.t.Deal.Legs[s.leg].Giver), at: at, sourced: true, corrects: s.Verb == exchange.Settle}
	out, _, err := p.lines(lines)
	return out, err
}

// receive takes a leg in: what came, what was seen dead, what is missing, what
// goes back. Errors: OutOfTurn.
func (s *stepping) receive() error {
	s.settle(&s.faults, "/at", &s.At)
	leg := &s.t.Legs[s.leg]
	if s.At.Time.Before(leg.SentAt.Time) {
		s.faults.Add("/at", "range", "it was sent later than that")
	}
	s.destination()
	sent, err := s.Movements.Get(leg.Dispatch)
	if leg.Dispatch != "" && err != nil {
		return err
	}
	lines, err := s.outcome(sent.Lines)
	if err = cmp.Or(s.faults.Err(), err); err != nil {
		return err
	}
	m, err := s.take(s.t, s.leg, s.At, lines)
	if err != nil {
		return err
	}
	return s.postLegs(m)
}

// destination notes where a leg goes that arrives, and checks it.
func (s *stepping) destination() {
	leg, deal := &s.t.Legs[s.leg], s.t.Deal.Legs[s.leg]
	leg.ToBin, leg.ToBatch = cmp.Or(s.ToBin, leg.ToBin), cmp.Or(s.ToBatch, leg.ToBatch)
	s.checkDestination(&s.faults, "", *s.t, s.leg)
	if leg.ToBin != "" {
		b, err := s.Bins.Get(leg.ToBin)
		checkRef(&s.faults, "/to_bin", cmp.Or(err, b.inUse(s.At)))
	}
	needsBin := slices.ContainsFunc(leg.Agreed, func(l Line) bool { return !l.Castings })
	if needsBin && leg.ToBin == "" && deal.Receiver != "" && !s.GiveBack {
		s.faults.Add("/to_bin", "required", "say which bin it goes into")
	}
}

// outcome are the lines of an arrival, one for each that was sent. Errors: the
// store's.
func (s *stepping) outcome(sent []Line) ([]Line, error) {
	if len(s.Came) > 0 && len(s.Came) != len(sent) {
		s.faults.Add("/came", "shape", "say what came of each thing that was sent, in the same order")
		return nil, nil
	}
	var out []Line
	for j, l := range sent {
		told := Outcome{}
		if len(s.Came) > 0 {
			told = s.Came[j]
		}
		line, err := s.outcomeOf(fmt.Sprintf("/came/%d", j), l, told)
		if err != nil {
			return nil, err
		}
		out = append(out, line)
	}
	return out, nil
}

// outcomeOf is the line of an arrival for one that was sent.
func (s *stepping) outcomeOf(pointer string, sent Line, told Outcome) (Line, error) {
	seen := exchange.Seen{Dead: told.Dead, WeightLost: told.WeightLost, Missing: told.Missing, Returned: told.Returned}
	line := sent
	if told.Received != nil {
		received, err := s.receivedOf(pointer, sent, *told.Received)
		if err != nil || len(s.faults) > 0 {
			return Line{}, err
		}
		line, seen.Received = received, &received.Mass
	}
	if s.GiveBack {
		var nothing unit.Mass
		seen.Received, seen.Returned = &nothing, sent.Mass-told.Dead-value(told.WeightLost)-value(told.Missing)
	}
	came, err := exchange.Reckon(sent.Mass, seen, !sent.Castings && !sent.Material)
	s.faults.Check(pointer, "unbalanced", err)
	line.Mass, line.Dead, line.WeightLost, line.Missing, line.Returned = came.Received, came.Dead, came.WeightLost, came.Missing, came.Returned
	return line, nil
}

func value(m *unit.Mass) unit.Mass {
	if m == nil {
		return 0
	}
	return *m
}

// receivedOf measures what was received: a share is of what was sent, a count has
// the mean mass that dispatch froze, castings dry by the moisture told now or
// then.
func (s *stepping) receivedOf(pointer string, sent, told Line) (Line, error) {
	line := sent
	line.Typed, line.SizeClass, line.Density, line.Booked = told.Typed, told.SizeClass, told.Density, nil
	line.SampleMg = cmp.Or(told.SampleMg, sent.SampleMg, sent.MeanMg)
	line.Moisture = cmp.Or(told.Moisture, sent.Moisture)
	if unit.DimensionOf(told.Typed.Unit) == unit.DimShare {
		p, err := told.Typed.Share()
		s.faults.Check(pointer+"/received", "unit", err)
		line.Mass = unit.Mass(float64(sent.Mass) * float64(p) / 100)
		return line, nil
	}
	p := packing{work: s.work, faults: &s.faults, pointer: pointer, at: s.At, taken: map[BinID]map[SpeciesID]unit.Mass{}}
	from := line.FromBin
	line.FromBin = ""
	measured, err := p.measured(line)
	if fault, ok := errors.AsType[*Error](s.quantityError(err)); ok {
		s.faults.Add(pointer+"/received", fault.Code, "%s", fault.Detail)
		return Line{}, nil
	} else if err != nil {
		return Line{}, err
	}
	measured[0].FromBin = from
	return measured[0], nil
}

// settleLeg corrects what was packed or what came of a leg: what was posted is
// reversed, and posted anew at its own time. Errors: OutOfTurn, ErrMoreThanBook
// with the first moment that breaks.
func (s *stepping) settleLeg() error {
	if s.Note == "" {
		s.faults.Add("/note", "required", "say why it is corrected")
	}
	if len(s.Lines) == 0 && len(s.Came) == 0 && s.ToBin == "" && s.ToBatch == "" {
		s.faults.Add("/came", "required", "say what was packed, or what came")
	}
	leg := &s.t.Legs[s.leg]
	if leg.Arrival == "" && len(s.Lines) == 0 {
		s.faults.Add("/goods", "required", "it hasn't arrived yet; only what was packed can be corrected")
	}
	sent, err := s.Movements.Get(leg.Dispatch)
	if err = cmp.Or(s.faults.Err(), err); err != nil {
		return err
	}
	var back, anew []*Movement
	if len(s.Lines) > 0 {
		packed, err := s.packed(leg.SentAt)
		if err = cmp.Or(s.faults.Err(), err); err != nil {
			return err
		}
		reversal, err := s.takeBack(sent)
		if err != nil {
			return err
		}
		for j := range packed {
			s.t.Deal.Legs[s.leg].Goods[j].Sent = packed[j].Mass
		}
		sent = *s.legMovement(*s.t, s.leg, journal.Dispatch, packed)
		leg.Dispatch = sent.ID
		back, anew = append(back, reversal), append(anew, &sent)
	}
	if leg.Arrival != "" {
		reversal, arrival, err := s.arriveAnew(sent.Lines)
		if err != nil {
			return err
		}
		back, anew = append([]*Movement{reversal}, back...), append(anew, arrival)
	}
	if s.t.Deal, err = s.t.Deal.Settle(s.leg, s.now); err != nil {
		return err
	}
	return s.post(append(back, anew...)...)
}

// arriveAnew corrects the arrival of a leg; what isn't told again stays, and what
// is received follows.
func (s *stepping) arriveAnew(sent []Line) (reversal, arrival *Movement, err error) {
	leg := &s.t.Legs[s.leg]
	old, err := s.Movements.Get(leg.Arrival)
	if err != nil {
		return nil, nil, err
	}
	s.At = leg.CameAt
	if len(s.Came) == 0 {
		for _, l := range old.Lines {
			s.Came = append(s.Came, Outcome{Dead: l.Dead, WeightLost: &l.WeightLost, Missing: &l.Missing, Returned: l.Returned})
		}
	}
	s.destination()
	lines, err := s.outcome(sent)
	if err = cmp.Or(s.faults.Err(), err); err != nil {
		return nil, nil, err
	}
	if reversal, err = s.takeBack(old); err != nil {
		return nil, nil, err
	}
	for j, l := range lines {
		s.t.Deal.Legs[s.leg].Goods[j].Came = l.came()
	}
	arrival = s.legMovement(*s.t, s.leg, journal.Arriving, lines)
	leg.Arrival = arrival.ID
	return reversal, arrival, nil
}

// takeBack is the reversal of an entry of the transfer. Errors: ErrReversalOf.
func (s *stepping) takeBack(old Movement) (*Movement, error) {
	e, err := journal.Reverse(old.Entry(), s.desk.NewID())
	if err != nil {
		return nil, ErrReversalOf.Because(err)
	}
	return &Movement{
		ID: MovementID(e.ID), Kind: journal.Reversal, At: old.At, Reverses: old.ID, Reason: s.Note,
		FromMember: old.ToMember, ToMember: old.FromMember, Transfer: s.t.ID, Leg: old.Leg, Postings: e.Postings,
	}, nil
}

// repay promises to bring back a part of a loan, or books it where it is done.
// Errors: OutOfTurn, ErrNotAvailable, ErrMoreThanBook.
func (s *stepping) repay() error {
	if s.Done {
		s.settle(&s.faults, "/at", &s.At)
	} else {
		s.At = Moment{Time: s.now, Precision: ToTheInstant}
	}
	if err := s.faults.Err(); err != nil {
		return err
	}
	p := packing{work: s.work, faults: &s.faults, pointer: "/goods", giver: MemberID(s.t.Deal.Legs[0].Receiver), at: s.At, sourced: true}
	lines, goods, err := p.lines(s.Lines)
	if err != nil {
		return err
	}
	owed := s.t.Deal.Outstanding()
	for j, g := range goods {
		if len(owed) > 0 && !slices.ContainsFunc(owed, func(a exchange.Amount) bool { return a.Commodity == g.Commodity }) {
			s.faults.Add(fmt.Sprintf("/goods/%d", j), "not-owed", "nothing of that is owed")
		}
	}
	if err := s.faults.Err(); err != nil {
		return err
	}
	id := s.desk.NewID()
	if s.t.Deal, err = s.t.Deal.Repay(exchange.Leg{ID: id, Goods: goods}, s.now, s.promiseEnds()); err != nil {
		return err
	}
	s.t.Legs = append(s.t.Legs, Leg{ID: LegID(id), Agreed: lines, ToBin: s.ToBin, ToBatch: s.ToBatch})
	s.leg = len(s.t.Legs) - 1
	s.checkDestination(&s.faults, "", *s.t, s.leg)
	if !s.Done {
		return s.keep(*s.t)
	}
	s.destination()
	if err := s.faults.Err(); err != nil {
		return err
	}
	group, err := s.legDone(s.t, s.leg, s.At)
	if err != nil {
		return err
	}
	return s.post(group...)
}

// legDone sends and receives leg i at once: all that was agreed arrived. Errors:
// OutOfTurn.
func (w *work) legDone(t *Transfer, i int, at Moment) ([]*Movement, error) {
	lines := t.Legs[i].Agreed
	sent, err := w.send(t, i, at, lines)
	if err != nil {
		return nil, err
	}
	arrived, err := w.take(t, i, at, slices.Clone(lines))
	return []*Movement{sent, arrived}, err
}

// bookDone posts a transfer that has happened. Errors: ErrMoreThanBook with the
// first moment that breaks.
func (w *work) bookDone(t *Transfer) error {
	if !t.Deal.Accepted {
		accepted, err := t.Deal.Accept(w.now, w.promiseEnds())
		if err != nil {
			return outOfTurn(err)
		}
		t.Deal = accepted
	}
	var group []*Movement
	for i := range t.Legs {
		moves, err := w.legDone(t, i, t.At)
		if err != nil {
			return outOfTurn(err)
		}
		group = append(group, moves...)
	}
	return w.postLegs(group...)
}

// postLegs posts what was sent and what arrived; what comes from outside into an
// empty bin may begin a quarantine there. Errors: ErrMoreThanBook with the first
// moment that breaks.
func (w *work) postLegs(ms ...*Movement) error {
	if err := w.post(ms...); err != nil {
		return err
	}
	for _, m := range ms {
		if err := w.isolate(*m); err != nil {
			return err
		}
	}
	return nil
}
