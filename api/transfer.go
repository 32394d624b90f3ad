package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"
)

// NewTransfer is a transfer as one side proposes it, or tells it after it has
// happened. A swap has two legs, all others one.
type NewTransfer struct {
	ID       string   `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000050" format:"uuid"` // made by the caller, or left to the service
	Terms    string   `json:"terms" example:"sale" enums:"sale,swap,gift,loan" validate:"required"`
	Legs     []NewLeg `json:"legs" validate:"required"`
	Party    string   `json:"party,omitempty" example:"Rosa's allotment" maxLength:"80"`                       // outside the club; it is the side that no leg names
	Contact  *Contact `json:"contact" extensions:"x-nullable"`                                                 // of the party, where tracing or the law asks for it
	Price    *Price   `json:"price" extensions:"x-nullable"`                                                   // of a sale
	Due      string   `json:"due,omitempty" example:"2026-09-01" format:"date"`                                // of a loan: the day by which it is to be back
	Done     bool     `json:"done,omitempty" example:"true"`                                                   // it has happened: sent and received at once
	At       string   `json:"at,omitempty" example:"2026-04-24"`                                               // of what is done: RFC 3339 time, or a date in the club's time zone; left out: now
	Offer    string   `json:"offer,omitempty" example:"01970000-0000-7000-8000-000000000060" format:"uuid"`    // that it goes back to
	Replaces string   `json:"replaces,omitempty" example:"01970000-0000-7000-8000-000000000051" format:"uuid"` // the transfer whose claims it makes up for
	Proposer string   `json:"proposer,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // the side that proposes; left out: the caller, else who gives
	Note     string   `json:"note,omitempty" example:"before the holidays" maxLength:"2000"`
}

// NewLeg is one way of a transfer. Of the first leg, a side that is left out is
// the party where one is named, else the caller; the second leg of a swap goes
// the other way.
type NewLeg struct {
	Giver    string    `json:"giver,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"`    // a member
	Receiver string    `json:"receiver,omitempty" example:"01970000-0000-7000-8000-000000000004" format:"uuid"` // a member
	Goods    []NewGood `json:"goods" validate:"required"`                                                       // 1 to 50
	ToBin    string    `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"`   // of the receiver; may be told when it arrives
	ToBatch  string    `json:"to_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // where castings go; left out: they leave the store
}

// NewGood is one thing that a leg moves: worms, castings, or half-worked
// material. Where it comes from may be left to its giver to say.
type NewGood struct {
	FromBin      string   `json:"from_bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // of worms and material
	FromBatch    string   `json:"from_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"`
	Origin       string   `json:"origin,omitempty" example:"01970000-0000-7000-8000-000000000015" format:"uuid"`                // of worms that an outside party gives; left out: nobody knows
	Species      string   `json:"species,omitempty" example:"eisenia-fetida"`                                                   // of worms; left out: the only one in the bin
	Castings     bool     `json:"castings,omitempty" example:"false"`                                                           // castings of a batch that isn't named yet
	Material     bool     `json:"material,omitempty" example:"false"`                                                           // half-worked material, which has no book
	Quantity     Quantity `json:"quantity" units:"mass count share volume" validate:"required"`                                 // a mass, {worms}, % of the bin by eye, or a volume
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // gives the mass of a worm to a count
	DensityGPerL float64  `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // of a volume
	SampleMg     float64  `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm, for a count
	MoisturePct  *float64 `json:"moisture_pct" example:"62" minimum:"0" maximum:"99.9" extensions:"x-nullable"`                 // of castings, measured; left out: as harvested
}

func (n NewGood) line() service.Line {
	l := NewLine{n.FromBin, n.Origin, n.Species, n.Quantity, n.SizeClass, n.DensityGPerL, n.SampleMg, n.MoisturePct}.line()
	l.FromBatch, l.Castings, l.Material = service.BatchID(n.FromBatch), n.Castings, n.Material
	return l
}

// Contact is how to reach a party outside the club. It is shown to the sides and
// to stewards, and forgotten after its day.
type Contact struct {
	Text    string `json:"text" example:"rosa@example.org" maxLength:"2000" validate:"required"`
	Purpose string `json:"purpose" example:"tracing of live worms" maxLength:"2000" validate:"required"` // why it is kept
	Until   string `json:"until" example:"2028-05-01" format:"date" validate:"required"`                 // the last day
}

func (n NewTransfer) transfer() service.Transfer {
	t := service.Transfer{
		ID: service.TransferID(n.ID), At: service.Moment{Text: n.At}, Done: n.Done, Party: n.Party, Price: n.Price.price(), Due: n.Due,
		Deal:  exchange.Deal{Terms: exchange.Terms(n.Terms), Proposer: n.Proposer},
		Offer: service.OfferID(n.Offer), Replaces: service.TransferID(n.Replaces), Note: n.Note,
	}
	if n.Contact != nil {
		t.Contact = service.Contact(*n.Contact)
	}
	for _, l := range n.Legs {
		t.Deal.Legs = append(t.Deal.Legs, exchange.Leg{Giver: l.Giver, Receiver: l.Receiver})
		t.Legs = append(t.Legs, service.Leg{Agreed: rowsOf(l.Goods, NewGood.line), ToBin: service.BinID(l.ToBin), ToBatch: service.BatchID(l.ToBatch)})
	}
	return t
}

// Transfer is an agreement that moves worms, castings or half-worked material
// between members, or to or from an outside party, and what became of it.
type Transfer struct {
	ID          string    `json:"id" example:"01970000-0000-7000-8000-000000000050" format:"uuid" validate:"required"`
	Terms       string    `json:"terms" example:"sale" enums:"sale,swap,gift,loan" validate:"required"`
	State       string    `json:"state" example:"accepted" enums:"proposed,accepted,dispatched,received,owed,returned,declined,cancelled,expired" validate:"required"` // now; owed: one leg of a swap is done and the other can't be delivered
	At          string    `json:"at" example:"2026-05-01T08:00:00Z" validate:"required"`                                                                               // when it was proposed or, where it is done, happened
	Precision   string    `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Done        bool      `json:"done" example:"false" validate:"required"` // told in one call after it had happened
	Proposer    string    `json:"proposer" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	Party       *string   `json:"party" example:"Rosa's allotment" extensions:"x-nullable" validate:"required"` // outside the club; null: both sides are members
	Contact     *Contact  `json:"contact" extensions:"x-nullable" validate:"required"`                          // null: none, or not for the caller
	Price       *Price    `json:"price" extensions:"x-nullable" validate:"required"`                            // null: none, or not for the caller
	Due         *string   `json:"due" example:"2026-09-01" format:"date" extensions:"x-nullable" validate:"required"`
	Legs        []Leg     `json:"legs" validate:"required"`
	Outstanding []Owed    `json:"outstanding" validate:"required"` // of a loan: what is still to come back
	Forgiven    []Owed    `json:"forgiven" validate:"required"`    // of a loan
	WaivedBy    []string  `json:"waived_by" validate:"required"`   // members who made a gift of what is owed
	Claims      []Claim   `json:"claims" validate:"required"`
	Steps       []Step    `json:"steps" validate:"required"`
	ExpiresAt   time.Time `json:"expires_at" example:"2026-05-15T08:00:00Z" format:"date-time" validate:"required"` // when promises that weren't kept end
	Offer       *string   `json:"offer" example:"01970000-0000-7000-8000-000000000060" format:"uuid" extensions:"x-nullable" validate:"required"`
	Replaces    *string   `json:"replaces" example:"01970000-0000-7000-8000-000000000051" format:"uuid" extensions:"x-nullable" validate:"required"`
	Note        *string   `json:"note" example:"before the holidays" extensions:"x-nullable" validate:"required"`
	Recorded    Recorded  `json:"recorded" validate:"required"`
	Explained
}

// Leg is one way of a transfer.
type Leg struct {
	ID       string   `json:"id" example:"01970000-0000-7000-8000-000000000052" format:"uuid" validate:"required"`
	Giver    *string  `json:"giver" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"`    // null: the outside party
	Receiver *string  `json:"receiver" example:"01970000-0000-7000-8000-000000000004" format:"uuid" extensions:"x-nullable" validate:"required"` // null: the outside party
	Return   bool     `json:"return" example:"false" validate:"required"`                                                                        // brings a part of a loan back
	State    string   `json:"state" example:"reserved" enums:"promised,reserved,under-way,arrived,returned,undelivered,waived" validate:"required"`
	Goods    []Good   `json:"goods" validate:"required"`
	ToBin    *string  `json:"to_bin" example:"01970000-0000-7000-8000-000000000011" format:"uuid" extensions:"x-nullable" validate:"required"`
	ToBatch  *string  `json:"to_batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"`
	SentAt   *string  `json:"sent_at" example:"2026-05-02T07:30:00Z" extensions:"x-nullable" validate:"required"`
	CameAt   *string  `json:"came_at" example:"2026-05-02T10:00:00Z" extensions:"x-nullable" validate:"required"`
	Dispatch *string  `json:"dispatch" example:"01970000-0000-7000-8000-000000000053" format:"uuid" extensions:"x-nullable" validate:"required"` // the movement that took it out
	Arrival  *string  `json:"arrival" example:"01970000-0000-7000-8000-000000000054" format:"uuid" extensions:"x-nullable" validate:"required"`  // the movement that brought it in
	ShortG   *float64 `json:"short_g" example:"40" extensions:"x-nullable" validate:"required"`                                                  // what is missing to a promise that facts have overtaken; null: nothing
}

// Good is one thing that a leg moves: as agreed, as sent, as it came.
type Good struct {
	FromBin      *string  `json:"from_bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"`
	FromBatch    *string  `json:"from_batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"`
	Origin       *string  `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"`
	Species      *string  `json:"species" example:"eisenia-fetida" extensions:"x-nullable" validate:"required"`
	Castings     bool     `json:"castings" example:"false" validate:"required"`
	Material     bool     `json:"material" example:"false" validate:"required"`
	Quantity     Quantity `json:"quantity" validate:"required"` // as typed
	SizeClass    *string  `json:"size_class" example:"bed-run" extensions:"x-nullable" validate:"required"`
	DensityGPerL *float64 `json:"density_g_per_l" example:"30" extensions:"x-nullable" validate:"required"`
	SampleMg     *float64 `json:"sample_mg" example:"410" extensions:"x-nullable" validate:"required"`
	MoisturePct  *float64 `json:"moisture_pct" example:"62" extensions:"x-nullable" validate:"required"`
	AgreedG      float64  `json:"agreed_g" example:"205" validate:"required"`                            // castings as dry matter, here and below
	SentG        *float64 `json:"sent_g" example:"210" extensions:"x-nullable" validate:"required"`      // null: not sent yet
	ReceivedG    *float64 `json:"received_g" example:"180" extensions:"x-nullable" validate:"required"`  // null: not come yet; so are all below
	DeadG        *float64 `json:"dead_g" example:"10" extensions:"x-nullable" validate:"required"`       // seen dead
	WeightLostG  *float64 `json:"weight_lost_g" example:"5" extensions:"x-nullable" validate:"required"` // water and gut; negative: gained
	MissingG     *float64 `json:"missing_g" example:"15" extensions:"x-nullable" validate:"required"`    // did not arrive
	ReturnedG    *float64 `json:"returned_g" example:"0" extensions:"x-nullable" validate:"required"`    // went back to where it came from
}

// Owed is a mass of a species, or of castings.
type Owed struct {
	Species *string `json:"species" example:"eisenia-fetida" extensions:"x-nullable" validate:"required"` // null: castings
	MassG   float64 `json:"mass_g" example:"150" validate:"required"`
}

// Claim says that something of a leg was not as it should be.
type Claim struct {
	Leg        string    `json:"leg" example:"01970000-0000-7000-8000-000000000052" format:"uuid" validate:"required"`
	Species    *string   `json:"species" example:"eisenia-fetida" extensions:"x-nullable" validate:"required"` // null: castings or material
	MassG      float64   `json:"mass_g" example:"20" validate:"required"`
	Note       string    `json:"note" example:"dead on arrival" validate:"required"`
	At         time.Time `json:"at" example:"2026-05-02T10:00:00Z" format:"date-time" validate:"required"`
	By         string    `json:"by" example:"01970000-0000-7000-8000-000000000004" format:"uuid" validate:"required"`
	ReplacedBy *string   `json:"replaced_by" example:"01970000-0000-7000-8000-000000000055" format:"uuid" extensions:"x-nullable" validate:"required"` // the transfer that makes up for it
}

// Step is one step of a transfer, as it was recorded.
type Step struct {
	Verb string    `json:"verb" example:"accept" enums:"propose,accept,decline,cancel,dispatch,receive,settle,fail,replace,waive,repay,forgive,claim" validate:"required"`
	Leg  *string   `json:"leg" example:"01970000-0000-7000-8000-000000000052" format:"uuid" extensions:"x-nullable" validate:"required"` // null: of the whole transfer
	At   time.Time `json:"at" example:"2026-05-01T09:00:00Z" format:"date-time" validate:"required"`
	By   string    `json:"by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`                          // who recorded it
	For  *string   `json:"for" example:"01970000-0000-7000-8000-000000000004" format:"uuid" extensions:"x-nullable" validate:"required"` // on whose behalf; null: their own step
	Note *string   `json:"note" example:"told by phone" extensions:"x-nullable" validate:"required"`
}

func transferOf(t service.TransferSeen, zone *time.Location) Transfer {
	out := Transfer{
		ID: string(t.ID), Terms: string(t.Deal.Terms), State: string(t.State), At: t.At.In(zone), Precision: string(t.At.Precision),
		Done: t.Done, Proposer: t.Deal.Proposer, Party: orNull(t.Party), Contact: orNull(Contact(t.Contact)), Price: priceOf(t.Price),
		Due: orNull(t.Due), Legs: []Leg{}, Outstanding: owedOf(t.Outstanding), Forgiven: owedOf(t.Deal.Forgiven),
		WaivedBy: append([]string{}, t.Deal.Waivers...), Claims: []Claim{}, Steps: []Step{}, ExpiresAt: t.Deal.Expires,
		Offer: orNull(string(t.Offer)), Replaces: orNull(string(t.Replaces)), Note: orNull(t.Note), Recorded: recordedOf(t.Recorded),
	}
	for i, l := range t.Legs {
		leg := legOf(l, t.Deal.Legs[i], zone)
		leg.ShortG = gramsOrNull(t.Short[l.ID])
		out.Legs = append(out.Legs, leg)
	}
	for _, c := range t.Claims {
		out.Claims = append(out.Claims, Claim{
			Leg: string(c.Leg), Species: orNull(string(c.Species)), MassG: c.Mass.Grams(), Note: c.Note, At: c.At, By: string(c.By),
			ReplacedBy: orNull(string(c.ReplacedBy)),
		})
	}
	for _, s := range t.Steps {
		out.Steps = append(out.Steps, Step{
			Verb: string(s.Verb), Leg: orNull(string(s.Leg)), At: s.At, By: string(s.By), For: orNull(string(s.For)), Note: orNull(s.Note),
		})
	}
	return out
}

func legOf(l service.Leg, deal exchange.Leg, zone *time.Location) Leg {
	out := Leg{
		ID: string(l.ID), Giver: orNull(deal.Giver), Receiver: orNull(deal.Receiver), Return: deal.Return, State: string(deal.State),
		Goods: []Good{}, ToBin: orNull(string(l.ToBin)), ToBatch: orNull(string(l.ToBatch)), SentAt: momentOrNull(l.SentAt, zone),
		CameAt: momentOrNull(l.CameAt, zone), Dispatch: orNull(string(l.Dispatch)), Arrival: orNull(string(l.Arrival)),
	}
	came := deal.State == exchange.Arrived || deal.State == exchange.Back
	for i, line := range l.Agreed {
		out.Goods = append(out.Goods, goodOf(line, deal.Goods[i], came || deal.State == exchange.UnderWay, came))
	}
	return out
}

func goodOf(l service.Line, g exchange.Good, sent, came bool) Good {
	told := func(m unit.Mass, yes bool) *float64 {
		if !yes {
			return nil
		}
		grams := m.Grams()
		return &grams
	}
	return Good{
		FromBin: orNull(string(l.FromBin)), FromBatch: orNull(string(l.FromBatch)), Origin: orNull(string(l.Origin)),
		Species: orNull(string(l.Species)), Castings: l.Castings, Material: l.Material, Quantity: quantityOf(l.Typed),
		SizeClass: orNull(string(l.SizeClass)), DensityGPerL: orNull(l.Density), SampleMg: orNull(l.SampleMg), MoisturePct: (*float64)(l.Moisture),
		AgreedG: g.Agreed.Grams(), SentG: told(g.Sent, sent), ReceivedG: told(g.Came.Received, came), DeadG: told(g.Came.Dead, came),
		WeightLostG: told(g.Came.WeightLost, came), MissingG: told(g.Came.Missing, came), ReturnedG: told(g.Came.Returned, came),
	}
}

func owedOf(amounts []exchange.Amount) []Owed {
	out := []Owed{}
	for _, a := range amounts {
		species, _ := a.Commodity.Species()
		out = append(out, Owed{orNull(species), a.Mass.Grams()})
	}
	return out
}

// momentOrNull shows a moment; null where there is none.
func momentOrNull(m service.Moment, zone *time.Location) *string {
	if m.Time.IsZero() {
		return nil
	}
	text := m.In(zone)
	return &text
}
