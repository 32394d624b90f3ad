package main

import (
	"strings"
	"time"
)

// trade is a transfer, and the deeds that are its legs: out of a bin of who
// gives, into a bin of who gets or to a party.
type trade struct {
	terms, party, due, note string
	price                   float64 // in minor units
	proposed                string  // when it was proposed; empty: it was told when it had happened
	legs                    []deed
}

// change is the scene of a transfer whose legs were sent and came at the same
// time, ten minutes apart.
func change(t trade) func(*club, moment) {
	return func(c *club, at moment) {
		giver := c.bed(t.legs[0].from).keeper
		row := cells{
			"id": c.spare.uuid(at.Time), "terms": t.terms, "proposer": giver, "recorded_by": giver, "party": t.party,
			"due": t.due, "note": t.note, "accepted": "true",
		}
		from := at
		if t.proposed == "" {
			row["done"] = "true"
		} else {
			from = momentOf(t.proposed, c.zone)
		}
		row["at"], row["expires"] = from.cell(), instant(moment{Time: from.AddDate(0, 0, 14)})
		row["steps"] = step("propose", "", from, giver)
		if t.price > 0 {
			row["price_minor"], row["currency"] = number(t.price, 0), c.currency
		}
		c.trades[t.legs[0].from+" "+t.terms] = row
		whole := row
		if t.proposed != "" && t.party == "" {
			addStep(row, step("accept", "", from.later(40), c.bed(t.legs[0].to).keeper))
		}
		for i, d := range t.legs {
			d.terms, d.party, d.price = t.terms, t.party, 0
			if i == 0 {
				d.price = t.price
			}
			when := at.later(10 * i)
			if i > 0 {
				row = cells{"id": row["id"]}
			}
			leg := c.leg(row, d, when, c.chance)
			c.carry(d)
			if t.proposed != "" {
				addStep(whole, step("dispatch", leg, when, c.bed(d.from).keeper))
				addStep(whole, step("receive", leg, when, c.getter(d)))
			}
		}
	}
}

// bringBack is the scene of a part of a loan that comes back: of the loan out of
// the bin that the deed brings it to. The keepers look at their bins as on any day.
func bringBack(d deed) func(*club, moment) {
	return func(c *club, at moment) {
		loan := c.trades[d.to+" loan"]
		d.terms = "loan"
		addStep(loan, step("repay", "", at, c.bed(d.from).keeper))
		c.leg(cells{"id": loan["id"], "return": "true"}, d, at, c.spare)
		c.bed(d.from).of(d.species).kg -= d.kg()
		c.bed(d.to).of(d.species).kg += d.kg()
	}
}

// getter is who takes a leg in: of one to a party, who gave it says so.
func (c *club) getter(d deed) string {
	if d.to == "" {
		return c.bed(d.from).keeper
	}
	return c.bed(d.to).keeper
}

// leg writes one leg of a transfer into its row, with its two movements, and
// returns its id. The id of the first movement comes from ids.
func (c *club) leg(row cells, d deed, at moment, ids *chance) string {
	leg, mg := c.spare.uuid(at.Time), number(d.kg()*1e6, 0)
	goods := cells{"from_bin": d.from, "species": d.species, "quantity": number(d.n, 3), "unit": d.unit}
	sent := cells{
		"id": ids.uuid(at.Time), "kind": "dispatch", "at": at.cell(), "by": c.bed(d.from).keeper, "terms": d.terms, "party": d.party,
		"booked_mg": mg, "transfer": row["id"], "leg": leg,
	}
	came := cells{
		"id": c.spare.uuid(at.Time), "kind": "arrival", "at": at.cell(), "by": c.getter(d), "terms": d.terms, "party": d.party,
		"booked_mg": mg, "transfer": row["id"], "leg": leg, "to_bin": d.to,
	}
	if d.price > 0 {
		came["price_minor"], came["currency"] = number(d.price, 0), c.currency
	}
	for column, cell := range goods {
		row[column], sent[column], came[column] = cell, cell, cell
	}
	row["leg"], row["giver"], row["to_bin"], row["state"] = leg, c.bed(d.from).keeper, d.to, "arrived"
	row["receiver"] = told(d.to != "", c.getter(d))
	row["dispatch"], row["arrival"], row["sent_at"], row["came_at"] = sent["id"], came["id"], at.cell(), at.cell()
	row["since"], row["agreed_mg"], row["sent_mg"], row["received_mg"] = instant(at), mg, mg, mg
	c.book.transfers.add(at.Time, row)
	c.book.movements.add(at.Time, sent)
	c.book.movements.add(at.Time, came)
	return leg
}

func instant(m moment) string { return m.UTC().Format(time.RFC3339) }

// step writes a step of a transfer as a cell has it.
func step(verb, leg string, at moment, by string) string {
	return strings.Join([]string{verb, leg, instant(at), by}, "|")
}

func addStep(row cells, s string) { row["steps"] += ";" + s }

// receive is the scene of feedstock or bedding that comes in.
func receive(row cells) func(*club, moment) {
	return func(c *club, at moment) {
		row["id"], row["at"] = c.spare.uuid(at.Time), at.cell()
		c.book.receipts.add(at.Time, row)
	}
}

// isolate is the scene of a bin that is in quarantine until a planned day; a
// released one came out sound.
func isolate(bin, until, reason, released, note string) func(*club, moment) {
	return func(c *club, at moment) {
		keeper := c.bed(bin).keeper
		c.book.quarantines.add(at.Time, cells{
			"id": c.spare.uuid(at.Time), "bin": bin, "at": at.cell(), "by": keeper, "until": until, "reason": reason,
			"released": released, "released_by": told(released != "", keeper), "outcome": told(released != "", "sound"), "released_note": note,
		})
	}
}
