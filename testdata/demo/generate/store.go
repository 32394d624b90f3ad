package main

import (
	"fmt"
	"slices"
	"time"
)

// batch is castings in store. What is surely there is reckoned low where the
// moisture was not measured.
type batch struct {
	lot, store, season string
	dry                float64 // kg, surely
	moisture           float64 // % when it came in
	last               time.Time
}

// appointments returns the harvests that a keeper plans: full ones in spring
// and autumn and for some in summer, partial ones between.
func (c *club) appointments(b *bed) []appointment {
	if b.silent {
		return nil
	}
	var out []appointment
	ready := c.dayOf(b.binPlan.started).AddDate(0, 0, 84)
	last := c.dayOf(c.to)
	if !b.end.IsZero() {
		last = b.end.AddDate(0, 0, -3)
	}
	big := b.kind == "wedge" || b.kind == "windrow" || b.kind == "flow-through"
	for year := c.dayOf(c.from).Year(); year <= last.Year(); year++ {
		for _, s := range []struct {
			month, day, days int
			full             bool
		}{
			{1, 12, 30, false}, {3, 8, 40, true}, {6, 12, 35, !big && c.hit(0.6)}, {8, 10, 15, false}, {10, 3, 44, true},
		} {
			day := time.Date(year, time.Month(s.month), s.day+c.whole(0, s.days), 0, 0, 0, 0, c.zone)
			if day.Before(ready) || day.After(last) || !s.full && !big && s.month != 6 {
				continue
			}
			out = append(out, appointment{day, s.full})
		}
	}
	return out
}

// harvest takes castings out of a bin and brings them to the keeper's store.
func (c *club) harvest(b *bed, full bool) {
	c.harvestWith(b, c.clock(), full, cells{})
}

// harvestWith is harvest at a moment, with further cells.
func (c *club) harvestWith(b *bed, at moment, full bool, more cells) {
	b.busy = c.today
	b.lastHarvest = c.today
	taken := float64(b.castings * c.float(0.35, 0.5))
	if full {
		b.lastFull = c.today
		taken = float64(b.castings * c.float(0.82, 0.92))
	}
	moisture := rounded(c.float(58, 73), 0)
	wet := c.weigh(taken / (1 - moisture/100))
	dry := float64(wet.kg * (1 - moisture/100))
	into := c.batchFor(b)
	row := cells{
		"id": c.uuid(at.Time), "bin": b.name, "at": at.cell(), "by": c.visitor(b), "full": yesNo(full), "method": c.method(b),
		"quantity": number(wet.value, 2), "unit": wet.unit, "batch": into.lot,
	}
	if full && c.hit(0.3) {
		back := rounded(wet.kg*c.float(60, 110), 0)
		row["put_back_g"] = number(back, 0)
		dry -= float64(back / 1000 * (1 - moisture/100))
	}
	into.moisture = moisture
	if c.hit(0.68) {
		row["moisture_pct"] = number(moisture, 0)
		into.dry += dry
	} else {
		into.dry += float64(dry / (1 - moisture/100) * 0.25)
	}
	if row["method"] == "screen" {
		row["mesh_mm"] = "6"
	}
	for column, cell := range more {
		row[column] = cell
	}
	b.castings = max(0, b.castings-dry)
	into.last = c.today
	c.book.harvests.add(at.Time, row)
}

func yesNo(yes bool) string {
	if yes {
		return "true"
	}
	return "false"
}

func (c *club) method(b *bed) string {
	switch b.kind {
	case "tray-stack":
		return "tray"
	case "flow-through":
		return "bottom"
	case "wedge":
		return "side-migration"
	case "windrow":
		return "screen"
	}
	return pick(c.chance, []string{"light", "hand", "light"})
}

// batchFor returns the batch that harvests of a bin go to this season.
func (c *club) batchFor(b *bed) *batch {
	i := slices.IndexFunc(c.people, func(p person) bool { return p.name == b.keeper })
	store := c.people[i].store
	season := fmt.Sprintf("%d-%d", c.today.Year(), int(c.today.Month())/3)
	for _, have := range c.batches {
		if have.store == store && have.season == season {
			return have
		}
	}
	n := 1
	for _, have := range c.batches {
		if have.season[:4] == season[:4] {
			n++
		}
	}
	made := &batch{lot: fmt.Sprintf("%s-%s-%02d", c.lots, season[:4], n), store: store, season: season, last: c.today}
	c.batches = append(c.batches, made)
	row := cells{"id": c.uuid(c.today), "lot_number": made.lot, "product": "vermicompost", "note": store}
	if n%4 == 3 {
		row["product"], row["mesh_mm"] = "screened", "4"
	} else if n%7 == 0 {
		row["product"] = "castings"
	}
	c.book.batches.add(time.Time{}, row)
	return made
}

// mindStore lets members take castings for their gardens, twice a month.
func (c *club) mindStore() {
	if d := c.today.Day(); d != 6 && d != 21 {
		return
	}
	for _, from := range c.batches {
		if from.dry < 0.15 || c.today.Sub(from.last).Hours() < 24*14 || !c.hit(0.18) {
			continue
		}
		at := c.clock()
		row := cells{
			"id": c.uuid(at.Time), "kind": "use", "at": at.cell(), "by": c.someoneOf(from.store), "from_batch": from.lot,
			"note": pick(c.chance, []string{"tomato bed", "potting mix, one part in five", "lemon tree", "seedlings", "leek trench", "roses at the gate", "worm tea for the club bed", ""}),
		}
		if from.dry < 0.5 {
			row["quantity"], row["unit"] = "100", "%"
			from.dry = 0
		} else {
			c.takeOut(from, row, c.float(0.15, 0.4))
		}
		c.book.movements.add(at.Time, row)
	}
}

// takeOut fills in the wet mass of a share of what is surely in the batch, and
// returns it in kg.
func (c *club) takeOut(from *batch, row cells, share float64) float64 {
	moisture := min(from.moisture-2, rounded(c.float(46, 62), 0))
	wet := c.weigh(float64(from.dry*share) / (1 - moisture/100))
	from.dry -= float64(wet.kg * (1 - moisture/100))
	row["quantity"], row["unit"], row["moisture_pct"] = number(wet.value, 2), wet.unit, number(moisture, 0)
	return wet.kg
}

func (c *club) someoneOf(store string) string {
	var names []string
	for _, p := range c.people {
		if p.store == store {
			names = append(names, p.name)
		}
	}
	return pick(c.chance, names)
}

// fullest returns the batch with most in it among those of the stores.
func (c *club) fullest(skip []*batch) *batch {
	var best *batch
	for _, b := range c.batches {
		if slices.Contains(skip, b) || c.today.Sub(b.last).Hours() < 24*3 {
			continue
		}
		if best == nil || b.dry > best.dry {
			best = b
		}
	}
	return best
}
