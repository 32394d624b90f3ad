package service

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"lumbricary.example/service/exchange"
)

// Step takes one step on a transfer, on behalf of the side whose step it is.
// Errors: ErrClubNotFound, ErrTransferNotFound, ErrForbidden, ErrInvalid,
// ErrOutOfTurn, ErrNotAvailable, ErrShort, ErrMoreThanBook.
func (s Transfers) Step(ctx context.Context, a Actor, id TransferID, step Stepping) (TransferSeen, error) {
	return write(ctx, s.Desk, a, func(w *work) (TransferSeen, error) {
		t, err := w.Transfers.Get(id)
		if err != nil {
			return TransferSeen{}, err
		}
		if t, err = w.step(t, step); err != nil {
			return TransferSeen{}, err
		}
		return w.seeTransfer(t)
	})
}

// stepping is a step under way.
type stepping struct {
	*work
	Stepping
	t      *Transfer
	leg    int // of a step on a leg
	faults Faults
}

// step takes a step on t and writes it.
func (w *work) step(t Transfer, taken Stepping) (Transfer, error) {
	t.Legs, t.Steps = slices.Clone(t.Legs), slices.Clone(t.Steps)
	s := stepping{work: w, Stepping: taken, t: &t}
	rule := stepRules[taken.Verb]
	s.leg = s.pick(rule.in)
	if rule.in != nil && s.leg < 0 {
		s.faults.Add("/leg", "required", "say which leg; there is none, or more than one, that this could be about")
	}
	if err := s.faults.Err(); err != nil {
		return Transfer{}, err
	}
	onBehalf, err := s.actsFor(rule.side(s))
	if err != nil {
		return Transfer{}, err
	}
	checkNote(&s.faults, "/note", taken.Note)
	if err := rule.take(&s); err != nil {
		return Transfer{}, outOfTurn(err)
	}
	if err := s.faults.Err(); err != nil {
		return Transfer{}, err
	}
	log := Step{Verb: taken.Verb, At: w.now, By: w.author(), For: onBehalf, Note: taken.Note}
	if rule.in != nil {
		log.Leg = t.Legs[s.leg].ID
	}
	t.Steps = append(t.Steps, log)
	if err := w.Transfers.Update(t); err != nil {
		return Transfer{}, err
	}
	t.Version++
	return t, nil
}

// outOfTurn turns the typed errors of package exchange into the catalogue's.
func outOfTurn(err error) error {
	if e, ok := errors.AsType[*exchange.OutOfTurn](err); ok {
		return ErrOutOfTurn.With("%s", e)
	}
	if e, ok := errors.AsType[*exchange.TooMuch](err); ok {
		return ErrOutOfTurn.With("%s", e)
	}
	return err
}

// stepRule is what a verb means: on a leg in which states, whose step it is, and
// what it does.
type stepRule struct {
	in   []exchange.LegState // nil: it is about the whole transfer
	side func(stepping) []string
	take func(*stepping) error
}

// stepRules has a rule for each step on a transfer that was proposed.
var stepRules = map[exchange.Verb]stepRule{
	exchange.Accept:   {nil, stepping.other, (*stepping).accept},
	exchange.Decline:  {nil, stepping.other, (*stepping).end},
	exchange.Cancel:   {nil, stepping.canceller, (*stepping).end},
	exchange.Dispatch: {[]exchange.LegState{exchange.Reserved}, stepping.giver, (*stepping).dispatch},
	exchange.Receive:  {[]exchange.LegState{exchange.UnderWay}, stepping.receiver, (*stepping).receive},
	exchange.Settle:   {[]exchange.LegState{exchange.UnderWay, exchange.Arrived, exchange.Back}, stepping.settler, (*stepping).settleLeg},
	exchange.Fail:     {[]exchange.LegState{exchange.Reserved}, stepping.giver, (*stepping).fail},
	exchange.Replace:  {[]exchange.LegState{exchange.Undelivered, exchange.Reserved}, stepping.giver, (*stepping).replace},
	exchange.Waive:    {nil, stepping.either, (*stepping).waive},
	exchange.Repay:    {nil, stepping.borrower, (*stepping).repay},
	exchange.Forgive:  {nil, stepping.lender, (*stepping).forgive},
	exchange.Claim:    {[]exchange.LegState{exchange.Arrived, exchange.Back}, stepping.receiver, (*stepping).claim},
}

// pick finds the leg that is named, or the only one in one of the states; −1
// where there is none.
func (s *stepping) pick(in []exchange.LegState) int {
	found := -1
	for i, l := range s.t.Legs {
		switch {
		case s.Leg == l.ID:
			return i
		case s.Leg == "" && slices.Contains(in, s.t.Deal.Legs[i].State):
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	return found
}

// The sides whose step it is; an empty one is the outside party.

func (s stepping) either() []string {
	giver, receiver := s.t.Deal.Sides()
	return []string{giver, receiver}
}
func (s stepping) other() []string    { return []string{s.t.Deal.Other(s.t.Deal.Proposer)} }
func (s stepping) giver() []string    { return []string{s.t.Deal.Legs[s.leg].Giver} }
func (s stepping) receiver() []string { return []string{s.t.Deal.Legs[s.leg].Receiver} }
func (s stepping) lender() []string   { return []string{s.t.Deal.Legs[0].Giver} }
func (s stepping) borrower() []string { return []string{s.t.Deal.Legs[0].Receiver} }

// canceller is the proposer, and once it is accepted either side.
func (s stepping) canceller() []string {
	if s.t.Deal.Accepted {
		return s.either()
	}
	return []string{s.t.Deal.Proposer}
}

// settler is the giver for what was packed, and the receiver for what came.
func (s stepping) settler() []string {
	switch l := s.t.Deal.Legs[s.leg]; {
	case len(s.Lines) == 0:
		return []string{l.Receiver}
	case len(s.Came) == 0:
		return []string{l.Giver}
	}
	return s.either()
}

// actsFor checks that the caller may take a step of one of the sides, and returns
// on whose behalf; nobody's where it is the caller's own. What an outside party
// does is recorded by the member on the other side. Errors: ErrForbidden,
// ErrInvalid for a side that isn't one.
func (s *stepping) actsFor(sides []string) (MemberID, error) {
	var members []MemberID
	for _, side := range sides {
		if side == "" {
			side = s.t.Deal.Other("")
		}
		members = append(members, MemberID(side))
	}
	if err := s.may(Exchange, members...); err != nil {
		return "", err
	}
	if s.For != "" && !slices.Contains(members, s.For) {
		s.faults.Add("/for", "shape", "it isn't the step of that member")
		return "", s.faults.Err()
	}
	switch me := s.author(); {
	case s.For == me || s.For == "" && slices.Contains(members, me):
		s.For = me
		return "", nil
	case s.For == "":
		s.For = members[0]
	default:
		if err := s.may(Exchange, s.For); err != nil {
			return "", err
		}
	}
	return s.For, nil
}

// accept lets the other side commit: it says where its goods come from, where the
// proposal doesn't. Errors: OutOfTurn, ErrNotAvailable.
func (s *stepping) accept() (err error) {
	accepter := s.t.Deal.Other(s.t.Deal.Proposer)
	if s.t.Deal, err = s.t.Deal.Accept(s.now, s.promiseEnds()); err != nil {
		return err
	}
	for i, l := range s.t.Deal.Legs {
		if l.Giver != accepter {
			continue
		}
		if err := s.sourceGoods(i); err != nil {
			return err
		}
	}
	if s.ToBin != "" {
		for i, l := range s.t.Deal.Legs {
			if l.Receiver == accepter {
				s.t.Legs[i].ToBin = s.ToBin
				s.checkDestination(&s.faults, "", *s.t, i)
			}
		}
	}
	if err := s.faults.Err(); err != nil {
		return err
	}
	return s.keep(*s.t)
}

// sourceGoods resolves the goods of leg i once more, out of what its giver names
// now. How much of what was agreed stays as it is.
func (s *stepping) sourceGoods(i int) (err error) {
	lines := slices.Clone(s.t.Legs[i].Agreed)
	if len(s.Lines) > 0 && len(s.Lines) != len(lines) {
		s.faults.Add("/goods", "shape", "say of each thing that was agreed where it comes from, in the same order")
		return nil
	}
	for j, l := range s.Lines {
		lines[j].FromBin, lines[j].FromBatch = l.FromBin, l.FromBatch
	}
	p := packing{work: s.work, faults: &s.faults, pointer: "/goods", giver: MemberID(s.t.Deal.Legs[i].Giver), at: Moment{Time: s.now}, sourced: true}
	s.t.Legs[i].Agreed, s.t.Deal.Legs[i].Goods, err = p.lines(lines)
	return err
}

func (s *stepping) end() (err error) {
	s.t.Deal, err = s.t.Deal.End(s.Verb, s.now)
	return err
}

func (s *stepping) fail() (err error) {
	s.t.Deal, err = s.t.Deal.Fail(s.leg, s.now)
	return err
}

// replace promises other goods for a leg that couldn't be delivered.
func (s *stepping) replace() error {
	l := s.t.Deal.Legs[s.leg]
	p := packing{work: s.work, faults: &s.faults, pointer: "/goods", giver: MemberID(l.Giver), at: Moment{Time: s.now}, sourced: true}
	lines, goods, err := p.lines(s.Lines)
	if err = cmp.Or(s.faults.Err(), err); err != nil {
		return err
	}
	if s.t.Deal, err = s.t.Deal.Replace(s.leg, goods, s.now, s.promiseEnds()); err != nil {
		return err
	}
	s.t.Legs[s.leg].Agreed = lines
	return s.keep(*s.t)
}

func (s *stepping) waive() (err error) {
	s.t.Deal, err = s.t.Deal.Waive(string(s.For), s.now)
	return err
}

// forgive lets the lender give up a part of what is owed, or all of it where
// nothing is named.
func (s *stepping) forgive() (err error) {
	amounts := s.t.Deal.Outstanding()
	if len(s.Lines) > 0 {
		p := packing{work: s.work, faults: &s.faults, pointer: "/goods", at: Moment{Time: s.now}, giver: MemberID(s.t.Deal.Legs[0].Giver)}
		_, goods, err := p.lines(s.Lines)
		if err = cmp.Or(s.faults.Err(), err); err != nil {
			return err
		}
		amounts = nil
		for _, g := range goods {
			amounts = append(amounts, exchange.Amount{Commodity: g.Commodity, Mass: g.Agreed})
		}
	}
	if len(amounts) == 0 {
		amounts = []exchange.Amount{{}}
	}
	for _, a := range amounts {
		if s.t.Deal, err = s.t.Deal.Forgive(a, s.now); err != nil {
			return err
		}
	}
	return nil
}

// claim notes what of a leg was not as it should be.
func (s *stepping) claim() error {
	if s.Note == "" {
		s.faults.Add("/note", "required", "say what was wrong")
	}
	p := packing{work: s.work, faults: &s.faults, pointer: "/goods", at: Moment{Time: s.now}, giver: MemberID(s.t.Deal.Legs[s.leg].Giver)}
	lines, _, err := p.lines(s.Lines)
	if err != nil {
		return err
	}
	s.t.Claims = slices.Clone(s.t.Claims)
	for _, l := range lines {
		s.t.Claims = append(s.t.Claims, Claim{Leg: s.t.Legs[s.leg].ID, Species: l.Species, Mass: l.Mass, Note: s.Note, At: s.now, By: s.author()})
	}
	return nil
}
