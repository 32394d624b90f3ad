package bookfile

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

func readOffer(r *reading, o Offer, _ []Offer) service.Offer {
	out := service.Offer{
		ID: service.OfferID(o.ID), Member: service.MemberID(o.Member), What: o.What, Species: service.SpeciesID(o.Species),
		Bin: service.BinID(o.Bin), Batch: service.BatchID(o.Batch), Quantity: r.measure(r.line, o.Quantity, o.Unit, "quantity", "unit"),
		Price: service.Price{TotalMinor: o.PriceMinor, UnitMinor: o.UnitPriceMinor, Unit: o.PriceUnit, Currency: o.Currency},
		Until: o.Until, Withdrawn: r.instant("withdrawn", o.Withdrawn), Note: o.Note,
	}
	for _, t := range o.Terms {
		out.Terms = append(out.Terms, service.Terms(t))
	}
	return out
}

func writeOffer(r service.Row[service.Offer]) []Offer {
	o := r.Value
	out := Offer{
		ID: string(o.ID), Member: string(o.Member), What: o.What, Species: string(o.Species), Bin: string(o.Bin), Batch: string(o.Batch),
		PriceMinor: o.Price.TotalMinor, UnitPriceMinor: o.Price.UnitMinor, PriceUnit: o.Price.Unit, Currency: o.Price.Currency,
		Until: o.Until, Withdrawn: instantText(o.Withdrawn), Note: o.Note,
	}
	out.Quantity, out.Unit = typed(o.Quantity)
	for _, t := range o.Terms {
		out.Terms = append(out.Terms, string(t))
	}
	return []Offer{out}
}

// instant reads an RFC 3339 time; an empty text is none.
func (r *reading) instant(column, text string) time.Time {
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		r.fault(column, "format", "give an RFC 3339 time as 2026-05-01T09:30:00Z")
	}
	return t.UTC()
}

func instantText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

func readTransfer(r *reading, t Transfer, parts []Transfer) service.Transfer {
	out := service.Transfer{
		ID: service.TransferID(t.ID), At: service.Moment{Text: t.At}, Done: told(t.Done), Party: t.Party,
		Deal: exchange.Deal{
			Terms: exchange.Terms(t.Terms), Proposer: t.Proposer, Accepted: told(t.Accepted), Ended: exchange.State(t.Ended),
			Expires: r.instant("expires", t.Expires), Waivers: t.WaivedBy,
		},
		Contact: service.Contact{Text: t.Contact, Purpose: t.ContactPurpose, Until: t.ContactUntil},
		Price:   service.Price{TotalMinor: t.PriceMinor, UnitMinor: t.UnitPriceMinor, Unit: t.PriceUnit, Currency: t.Currency},
		Due:     t.Due, Offer: service.OfferID(t.Offer), Replaces: service.TransferID(t.Replaces), Note: t.Note,
		Recorded: service.Recorded{By: service.MemberID(t.RecordedBy)},
	}
	for _, f := range t.Forgiven {
		c := journal.Castings
		if f.Species != "" {
			c = journal.Worms(f.Species)
		}
		out.Deal.Forgiven = append(out.Deal.Forgiven, exchange.Amount{Commodity: c, Mass: told(as[unit.Mass](f.MassMg))})
	}
	for _, c := range t.Claims {
		out.Claims = append(out.Claims, service.Claim{
			Leg: service.LegID(c.Leg), Species: service.SpeciesID(c.Species), Mass: told(as[unit.Mass](c.MassMg)), Note: c.Note,
			At: r.instant("claims", c.At), By: service.MemberID(c.By), ReplacedBy: service.TransferID(c.ReplacedBy),
		})
	}
	for _, s := range t.Steps {
		out.Steps = append(out.Steps, service.Step{
			Verb: exchange.Verb(s.Verb), Leg: service.LegID(s.Leg), At: r.instant("steps", s.At), By: service.MemberID(s.By),
			For: service.MemberID(s.For), Note: s.Note,
		})
	}
	for i, p := range parts {
		if n := len(out.Legs); n == 0 || out.Legs[n-1].ID != service.LegID(p.Leg) {
			leg, deal := r.leg(p)
			out.Legs, out.Deal.Legs = append(out.Legs, leg), append(out.Deal.Legs, deal)
		}
		last := len(out.Legs) - 1
		line, good := r.good(i, p)
		out.Legs[last].Agreed = append(out.Legs[last].Agreed, line)
		out.Deal.Legs[last].Goods = append(out.Deal.Legs[last].Goods, good)
	}
	return out
}

// leg reads what the rows of a leg share.
func (r *reading) leg(p Transfer) (service.Leg, exchange.Leg) {
	typed := service.Leg{
		ID: service.LegID(p.Leg), ToBin: service.BinID(p.ToBin), ToBatch: service.BatchID(p.ToBatch),
		Dispatch: service.MovementID(p.Dispatch), Arrival: service.MovementID(p.Arrival),
		SentAt: service.Moment{Text: p.SentAt}, CameAt: service.Moment{Text: p.CameAt},
	}
	return typed, exchange.Leg{
		ID: p.Leg, Giver: p.Giver, Receiver: p.Receiver, Return: told(p.Return), State: exchange.LegState(p.State),
		Since: r.instant("since", p.Since),
	}
}

// good reads one thing that a leg moves; where it comes from in the books follows
// from the line.
func (r *reading) good(part int, p Transfer) (service.Line, exchange.Good) {
	line := service.Line{
		FromBin: service.BinID(p.FromBin), FromBatch: service.BatchID(p.FromBatch), Origin: service.OriginID(p.Origin),
		Species: service.SpeciesID(p.Species), Castings: told(p.Castings), Material: told(p.Material),
		Typed:     r.measure(r.parts[part], p.Quantity, p.Unit, "quantity", "unit"),
		SizeClass: quantity.SizeClass(p.SizeClass), Density: told(p.DensityGPerL), SampleMg: told(p.SampleMg),
		Moisture: as[unit.Percent](p.MoisturePct), Mass: told(as[unit.Mass](p.AgreedMg)),
	}
	if p.Quantity == nil && p.Unit == "" {
		r.missing(part, "quantity", "say how much was agreed")
	}
	return line, exchange.Good{
		Sent: told(as[unit.Mass](p.SentMg)),
		Came: exchange.Came{
			Received: told(as[unit.Mass](p.ReceivedMg)), Dead: told(as[unit.Mass](p.DeadMg)), WeightLost: told(as[unit.Mass](p.WeightLostMg)),
			Missing: told(as[unit.Mass](p.MissingMg)), Returned: told(as[unit.Mass](p.ReturnedMg)),
		},
	}
}

func writeTransfer(r service.Row[service.Transfer]) []Transfer {
	t := r.Value
	whole := Transfer{
		ID: string(t.ID), At: t.At.Text, RecordedBy: string(t.Recorded.By), Terms: string(t.Deal.Terms), Proposer: t.Deal.Proposer,
		Done: ifAny(t.Done), Accepted: ifAny(t.Deal.Accepted), Ended: string(t.Deal.Ended), Expires: instantText(t.Deal.Expires),
		Party: t.Party, Contact: t.Contact.Text, ContactPurpose: t.Contact.Purpose, ContactUntil: t.Contact.Until,
		PriceMinor: t.Price.TotalMinor, UnitPriceMinor: t.Price.UnitMinor, PriceUnit: t.Price.Unit, Currency: t.Price.Currency,
		Due: t.Due, Offer: string(t.Offer), Replaces: string(t.Replaces), WaivedBy: t.Deal.Waivers, Note: t.Note,
	}
	for _, f := range t.Deal.Forgiven {
		species, _ := f.Commodity.Species()
		mass := int64(f.Mass)
		whole.Forgiven = append(whole.Forgiven, Forgiven{species, &mass})
	}
	for _, c := range t.Claims {
		mass := int64(c.Mass)
		whole.Claims = append(whole.Claims, Claim{
			string(c.Leg), string(c.Species), &mass, instantText(c.At), string(c.By), string(c.ReplacedBy), c.Note,
		})
	}
	for _, s := range t.Steps {
		whole.Steps = append(whole.Steps, Step{string(s.Verb), string(s.Leg), instantText(s.At), string(s.By), string(s.For), s.Note})
	}
	var out []Transfer
	for i, leg := range t.Legs {
		for j, l := range leg.Agreed {
			row := whole
			row.tellLeg(leg, t.Deal.Legs[i])
			row.tellGood(l, t.Deal.Legs[i].Goods[j])
			out = append(out, row)
		}
	}
	return out
}

func (t *Transfer) tellLeg(l service.Leg, deal exchange.Leg) {
	t.Leg, t.Giver, t.Receiver, t.Return = string(l.ID), deal.Giver, deal.Receiver, ifAny(deal.Return)
	t.State, t.Since, t.ToBin, t.ToBatch = string(deal.State), instantText(deal.Since), string(l.ToBin), string(l.ToBatch)
	t.Dispatch, t.Arrival, t.SentAt, t.CameAt = string(l.Dispatch), string(l.Arrival), l.SentAt.Text, l.CameAt.Text
}

func (t *Transfer) tellGood(l service.Line, g exchange.Good) {
	t.FromBin, t.FromBatch, t.Origin, t.Species = string(l.FromBin), string(l.FromBatch), string(l.Origin), string(l.Species)
	t.Castings, t.Material, t.SizeClass = ifAny(l.Castings), ifAny(l.Material), string(l.SizeClass)
	t.Quantity, t.Unit = &l.Typed.Value, l.Typed.Unit
	t.DensityGPerL, t.SampleMg, t.MoisturePct = ifAny(l.Density), ifAny(l.SampleMg), as[float64](l.Moisture)
	t.AgreedMg, t.SentMg, t.ReceivedMg = ifAny(int64(l.Mass)), ifAny(int64(g.Sent)), ifAny(int64(g.Came.Received))
	t.DeadMg, t.WeightLostMg = ifAny(int64(g.Came.Dead)), ifAny(int64(g.Came.WeightLost))
	t.MissingMg, t.ReturnedMg = ifAny(int64(g.Came.Missing)), ifAny(int64(g.Came.Returned))
}
