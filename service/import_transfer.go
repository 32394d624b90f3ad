package service

import (
	"fmt"
	"slices"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

func (im *importing) addOffers(b Book) error {
	return addNouns(im, noun[Offer]{
		name: "offers", known: im.offers, there: never[Offer], add: im.addOfferAsItWas,
		key: func(o Offer) (string, string) { return string(o.ID), "" },
		link: func(o *Offer) {
			link(im, im.people, &o.Member)
			link(im, im.bins, &o.Bin)
			link(im, im.batches, &o.Batch)
		},
	}, b.Offers)
}

// addOfferAsItWas adds an offer that may have ended, or of a bin that another
// member keeps since. Errors: ErrInvalid.
func (im *importing) addOfferAsItWas(o Offer) (Offer, error) {
	var faults Faults
	o.ID = OfferID(im.id(string(o.ID), &faults))
	o.check(&faults)
	_, err := im.Members.Get(o.Member)
	checkRef(&faults, "/member", err)
	if o.Species != "" {
		im.checkSpecies(&faults, "/species", o.Species)
	}
	if o.Bin != "" {
		_, err := im.Bins.Get(o.Bin)
		checkRef(&faults, "/bin", err)
	}
	if o.Batch != "" {
		_, err := im.Batches.Get(o.Batch)
		checkRef(&faults, "/batch", err)
	}
	if err := faults.Err(); err != nil {
		return Offer{}, err
	}
	o.CreatedAt, o.Version = im.now, 1
	return o, im.Offers.Insert(o)
}

func (im *importing) addTransfers(b Book) error {
	return addNouns(im, noun[Transfer]{
		name: "transfers", known: im.transfers, there: never[Transfer], link: im.linkTransfer, add: im.addTransferAsItWas,
		key: func(t Transfer) (string, string) { return string(t.ID), "" },
	}, b.Transfers)
}

func (im *importing) linkTransfer(t *Transfer) {
	link(im, im.people, &t.Recorded.By)
	link(im, im.people, &t.Deal.Proposer)
	link(im, im.offers, &t.Offer)
	link(im, im.transfers, &t.Replaces)
	for i := range clone(&t.Deal.Waivers) {
		link(im, im.people, &t.Deal.Waivers[i])
	}
	for i := range clone(&t.Claims) {
		link(im, im.people, &t.Claims[i].By)
	}
	for i := range clone(&t.Steps) {
		link(im, im.people, &t.Steps[i].By)
		link(im, im.people, &t.Steps[i].For)
	}
	clone(&t.Deal.Legs)
	for i := range clone(&t.Legs) {
		link(im, im.people, &t.Deal.Legs[i].Giver)
		link(im, im.people, &t.Deal.Legs[i].Receiver)
		link(im, im.bins, &t.Legs[i].ToBin)
		link(im, im.batches, &t.Legs[i].ToBatch)
		im.linkLines(&t.Legs[i].Agreed)
	}
}

// addTransferAsItWas adds a transfer in the state in which it was. What it posted
// is recorded with the movements. Errors: ErrInvalid.
func (im *importing) addTransferAsItWas(t Transfer) (Transfer, error) {
	var faults Faults
	t.ID = TransferID(im.id(string(t.ID), &faults))
	im.settle(&faults, "/at", &t.At)
	checkWord(&faults, "/terms", t.Deal.Terms, Sale, Swap, Gift, Loan)
	checkWord(&faults, "/ended", t.Deal.Ended, "", exchange.Declined, exchange.Cancelled)
	if t.Party != "" {
		checkName(&faults, "/party", t.Party)
	}
	checkNote(&faults, "/note", t.Note)
	im.checkSides(&faults, t)
	for i := range t.Legs {
		im.checkLeg(&faults, &t, i)
	}
	if err := faults.Err(); err != nil {
		return Transfer{}, err
	}
	by := t.Recorded.By
	var err error
	if t.Recorded, err = im.recorded(); err != nil {
		return Transfer{}, err
	}
	if by != "" {
		t.Recorded.By = by
	}
	t.Version = 1
	return t, im.Transfers.Insert(t)
}

// checkSides checks that the sides and everybody who took a step are members.
func (im *importing) checkSides(faults *Faults, t Transfer) {
	legs := 1
	if t.Deal.Terms == Swap {
		legs = 2
	}
	if len(t.Deal.Legs) < legs {
		faults.Add("/leg", "required", "a swap has two legs, every other transfer at least one")
		return
	}
	known := func(column string, id MemberID) {
		if id == "" {
			return
		}
		_, err := im.Members.Get(id)
		checkRef(faults, "/"+column, err)
	}
	if t.Deal.Proposer == "" {
		faults.Add("/proposer", "required", "say who proposed it")
	}
	known("proposer", MemberID(t.Deal.Proposer))
	known("recorded_by", t.Recorded.By)
	for _, l := range t.Deal.Legs {
		known("giver", MemberID(l.Giver))
		known("receiver", MemberID(l.Receiver))
		if (l.Giver == "" || l.Receiver == "") && t.Party == "" {
			faults.Add("/party", "required", "name the outside party, or both sides")
		}
	}
	for _, s := range t.Steps {
		known("steps", s.By)
		known("steps", s.For)
	}
	for _, c := range t.Claims {
		known("claims", c.By)
	}
}

// checkLeg settles the moments of a leg and says where its goods come from in the
// books.
func (im *importing) checkLeg(faults *Faults, t *Transfer, i int) {
	leg, deal := &t.Legs[i], &t.Deal.Legs[i]
	checkWord(faults, "/state", deal.State, exchange.Promised, exchange.Reserved, exchange.UnderWay, exchange.Arrived, exchange.Back,
		exchange.Undelivered, exchange.Waived)
	if !validID(deal.ID) {
		faults.Add("/leg", "format", "an id is a UUID in lower case")
	}
	for column, m := range map[string]*Moment{"/sent_at": &leg.SentAt, "/came_at": &leg.CameAt} {
		if m.Text != "" {
			im.settle(faults, column, m)
		}
	}
	deal.Goods = slices.Clone(deal.Goods)
	for j := range leg.Agreed {
		l := &leg.Agreed[j]
		if l.Species != "" {
			im.checkSpecies(faults, "/species", l.Species)
		}
		if l.Mass < 0 || l.Mass > unit.MaxMass {
			faults.Add("/agreed_mg", "range", "use a mass from 0 to 1000 tonnes")
		}
		*l = im.asBooked(faults, "/quantity", *l, t.At)
		good := l.good()
		good.Sent, good.Came = deal.Goods[j].Sent, deal.Goods[j].Came
		deal.Goods[j] = good
	}
}

// asBooked fills how a quantity became the mass that it was booked as, which
// stays.
func (im *importing) asBooked(faults *Faults, pointer string, l Line, at Moment) Line {
	mass := l.Mass
	if l.Castings || l.Material {
		l.Basis = map[unit.Dimension]string{unit.DimMass: quantity.Weighed, unit.DimVolume: quantity.Poured, unit.DimShare: quantity.ByEye}[unit.DimensionOf(l.Typed.Unit)]
		if l.Basis == "" {
			faults.Add(pointer, "unit", "use a unit of mass or volume, or %%")
		}
		l.Booked = nil
		return l
	}
	from := l.FromBin
	l.FromBin, l.Booked = "", &mass
	lines, err := im.worms(l, at.Time, map[BinID]map[SpeciesID]unit.Mass{})
	checkRef(faults, pointer, im.quantityError(err))
	if err != nil || len(lines) != 1 {
		return l
	}
	lines[0].FromBin = from
	return lines[0]
}

// addLegMovement posts the dispatch or arrival of a transfer as it was booked.
// Errors: ErrInvalid, ErrMoreThanBook.
func (im *importing) addLegMovement(m Movement) error {
	var faults Faults
	m.ID = MovementID(im.id(string(m.ID), &faults))
	im.settle(&faults, "/at", &m.At)
	t, err := im.Transfers.Get(m.Transfer)
	checkRef(&faults, "/transfer", err)
	i := slices.IndexFunc(t.Legs, func(l Leg) bool { return l.ID == m.Leg })
	if err == nil && i < 0 {
		faults.Add("/leg", "unknown", "the transfer has no such leg")
	}
	m.Lines = slices.Clone(m.Lines)
	for j := range m.Lines {
		l := &m.Lines[j]
		if l.Booked == nil {
			faults.Add(fmt.Sprintf("/lines/%d/booked_mg", j), "required", "say what was booked")
			continue
		}
		l.Mass = *l.Booked
		*l = im.asBooked(&faults, fmt.Sprintf("/lines/%d/quantity", j), *l, m.At)
	}
	if err := faults.Err(); err != nil {
		return err
	}
	if t.asTold(i, &m, &faults); len(faults) > 0 {
		return faults.Err()
	}
	m.FromMember, m.ToMember = MemberID(t.Deal.Legs[i].Giver), MemberID(t.Deal.Legs[i].Receiver)
	m.Postings = m.legPostings()
	return im.post(&m)
}

// asTold notes a fault where the entry that posts leg i differs from what the
// transfer tells of it.
func (t Transfer) asTold(i int, m *Movement, faults *Faults) {
	goods, leg := t.Deal.Legs[i].Goods, t.Legs[i]
	posts := m.ID == leg.Dispatch && m.Kind == journal.Dispatch || m.ID == leg.Arrival && m.Kind == journal.Arriving
	if posts && len(m.Lines) != len(goods) {
		faults.Add("/leg", "disagrees", "the leg moves %d things", len(goods))
		return
	}
	for j, l := range m.Lines {
		same := !posts || m.Kind == journal.Dispatch && l.Mass == goods[j].Sent || m.Kind == journal.Arriving && l.came() == goods[j].Came
		if !same {
			faults.Add(fmt.Sprintf("/lines/%d/booked_mg", j), "disagrees", "the transfer tells another mass")
		}
	}
}

// reverseOfLeg takes back an entry of a transfer that was corrected. Errors:
// ErrMovementNotFound, ErrReversalOf, ErrReversedBefore, ErrInvalid.
func (im *importing) reverseOfLeg(own Movement) error {
	var faults Faults
	id := im.id(string(own.ID), &faults)
	old, err := im.Movements.Get(own.Reverses)
	if err != nil {
		return err
	}
	if old.Transfer != own.Transfer {
		faults.Add("/transfer", "disagrees", "what is taken back is of another transfer")
	}
	if err := faults.Err(); err != nil {
		return err
	}
	e, err := journal.Reverse(old.Entry(), id)
	if err != nil {
		return ErrReversalOf.Because(err)
	}
	if old.ReversedBy != "" {
		return ErrReversedBefore
	}
	return im.post(&Movement{
		ID: MovementID(id), Kind: journal.Reversal, At: old.At, Reverses: old.ID, Reason: own.Reason, Note: own.Note,
		FromMember: old.ToMember, ToMember: old.FromMember, Transfer: old.Transfer, Leg: old.Leg, Postings: e.Postings,
	})
}
