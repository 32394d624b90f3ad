package service

import (
	"cmp"
	"slices"

	"lumbricary.example/service/exchange"
)

func (x *exporting) offers() (err error) {
	x.book.Offers, err = tableOf(x.work.Offers, func(o *Offer) {
		o.Member, o.Bin, o.Batch = x.member(o.Member), x.bin(o.Bin), x.batch(o.Batch)
	})
	return err
}

// transfers go in the order in which they were recorded, so that one that makes
// up for another comes after it.
func (x *exporting) transfers() (err error) {
	all, err := x.work.Transfers.List(Query{})
	slices.SortFunc(all, func(a, b Transfer) int { return cmp.Compare(a.Recorded.Seq, b.Recorded.Seq) })
	for _, t := range all {
		x.book.Transfers = append(x.book.Transfers, Row[Transfer]{Value: x.transfer(t)})
	}
	return err
}

// transfer names what a transfer refers to. A contact whose day has passed is
// left out.
func (x *exporting) transfer(t Transfer) Transfer {
	t.At.Text, t.Recorded = x.text(t.At, t.At.Time), Recorded{By: x.member(t.Recorded.By)}
	if t.Contact.Until < x.today() {
		t.Contact = Contact{}
	}
	side := func(id string) string { return string(x.member(MemberID(id))) }
	t.Deal.Proposer, t.Deal.Waivers = side(t.Deal.Proposer), slices.Clone(t.Deal.Waivers)
	for i, id := range t.Deal.Waivers {
		t.Deal.Waivers[i] = side(id)
	}
	t.Deal.Legs, t.Legs = slices.Clone(t.Deal.Legs), slices.Clone(t.Legs)
	for i := range t.Legs {
		x.leg(&t.Legs[i], &t.Deal.Legs[i])
	}
	t.Claims, t.Steps = slices.Clone(t.Claims), slices.Clone(t.Steps)
	for i := range t.Claims {
		t.Claims[i].By = x.member(t.Claims[i].By)
	}
	for i := range t.Steps {
		t.Steps[i].By, t.Steps[i].For = x.member(t.Steps[i].By), x.member(t.Steps[i].For)
	}
	return t
}

func (x *exporting) leg(l *Leg, deal *exchange.Leg) {
	deal.Giver, deal.Receiver = string(x.member(MemberID(deal.Giver))), string(x.member(MemberID(deal.Receiver)))
	l.Agreed, l.ToBin, l.ToBatch = x.lines(l.Agreed), x.bin(l.ToBin), x.batch(l.ToBatch)
	for _, m := range []*Moment{&l.SentAt, &l.CameAt} {
		if !m.Time.IsZero() {
			m.Text = x.text(*m, m.Time)
		}
	}
}
