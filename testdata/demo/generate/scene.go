package main

// scene is something out of the ordinary that happens to the club at a time.
type scene struct {
	at  string
	act func(*club, moment)
}

// deed is a movement that a scene makes.
type deed struct {
	kind, from, to, origin, species  string
	n                                float64
	unit, class                      string
	terms, party, cause, note, by    string
	density, sample, material, price float64 // material in g, price in minor units
	more                             []source
}

// source is a further bin that an entry takes from.
type source struct {
	from string
	n    float64
	unit string
}

// move is the scene of a movement.
func move(d deed) func(*club, moment) {
	return func(c *club, at moment) { c.write(d, at) }
}

// write books a deed and moves the worms that it stands for.
func (c *club) write(d deed, at moment) {
	c.enter(d, at)
	c.carry(d)
	for _, s := range d.more {
		d.from, d.n, d.unit = s.from, s.n, s.unit
		c.carry(d)
	}
}

// enter books a deed and returns the id of the movement.
func (c *club) enter(d deed, at moment) string {
	id := c.uuid(at.Time)
	by := d.by
	if by == "" {
		by = c.actor(d)
	}
	row := cells{
		"id": id, "kind": d.kind, "at": at.cell(), "by": by, "from_bin": d.from, "to_bin": d.to, "species": d.species,
		"quantity": number(d.n, 3), "unit": d.unit, "size_class": d.class, "origin": d.origin, "terms": d.terms, "party": d.party,
		"cause": d.cause, "note": d.note,
		"density_g_per_l": told(d.density > 0, number(d.density, 1)), "sample_mg": told(d.sample > 0, number(d.sample, 0)),
		"material_g": told(d.material > 0, number(d.material, 0)),
	}
	if d.price > 0 {
		row["price_minor"], row["currency"] = number(d.price, 0), c.currency
	}
	c.book.movements.add(at.Time, row)
	for _, s := range d.more {
		c.book.movements.add(at.Time, cells{"id": id, "from_bin": s.from, "quantity": number(s.n, 3), "unit": s.unit, "species": d.species})
	}
	return id
}

func (c *club) actor(d deed) string {
	if d.from != "" {
		return c.bed(d.from).keeper
	}
	return c.bed(d.to).keeper
}

// carry moves the worms of a deed.
func (c *club) carry(d deed) {
	var to *bed
	if d.to != "" {
		to = c.bed(d.to)
		to.busy = c.today
	}
	if d.from == "" {
		to.of(d.species).kg += d.kg()
		return
	}
	from := c.bed(d.from)
	from.busy = c.today
	share := d.n / 100
	if d.unit != "%" {
		share = min(0.9, d.kg()/from.of(d.species).kg)
	}
	from.move(share, d.species, to)
}

// kg returns the mass of the deed's worms.
func (d deed) kg() float64 {
	switch d.unit {
	case "g":
		return d.n / 1000
	case "kg":
		return d.n
	case "[lb_av]":
		return float64(d.n * poundKg)
	case "[oz_av]":
		return float64(d.n * ounceKg)
	case "L":
		return float64(d.n * d.density / 1000)
	case "[qt_us]":
		return float64(d.n * gallonL / 4 * d.density / 1000)
	case "{worms}":
		return float64(d.n * wormGrams(d.species) / 1000)
	}
	panic("no mass in " + d.unit)
}

// look is the scene of a check that finds what the cells say.
func look(bin string, special cells) func(*club, moment) {
	return func(c *club, at moment) {
		b := c.bed(bin)
		b.busy = c.today
		c.check(b, at, b.keeper, special)
	}
}

// feedIt is the scene of a feeding out of the ordinary.
func feedIt(bin string, note string, parts ...ration) func(*club, moment) {
	return func(c *club, at moment) {
		b := c.bed(bin)
		b.busy = c.today
		c.give(b, at, b.keeper, parts, cells{"note": note, "placement": "scattered"})
	}
}

// turnSour lets a bin go sour for so many days.
func turnSour(bin string, days int) func(*club, moment) {
	return func(c *club, _ moment) { c.bed(bin).sour = days }
}

// harvestInto is the scene of a harvest whose worms go to another bin.
func harvestInto(bin string, full bool, to, species string, grams float64) func(*club, moment) {
	return func(c *club, at moment) {
		b := c.bed(bin)
		c.harvestWith(b, at, full, cells{
			"worms_to": to, "worms_species": species, "worms_quantity": number(grams, 0), "worms_unit": "g",
			"note": "worms out of the castings weighed and moved",
		})
		c.carry(deed{from: bin, to: to, species: species, n: grams, unit: "g"})
	}
}

// counted is the scene of a census of a bin.
func counted(bin string) func(*club, moment) {
	return func(c *club, _ moment) { c.census(c.bed(bin)) }
}

// stall is the scene of castings that leave the club, out of the fullest
// batches: sold at a price in minor units a kg, or given away at none.
func stall(batches int, share, price float64, party, note string) func(*club, moment) {
	return func(c *club, at moment) {
		var out []*batch
		for i := range batches {
			from := c.fullest(out)
			if from == nil || from.dry < 0.3 {
				return
			}
			out = append(out, from)
			c.part(from, at.later(9*i), share, price, [2]string{party, note})
		}
	}
}

// part hands castings of a batch to a party, with a note.
func (c *club) part(from *batch, at moment, share, price float64, to [2]string) {
	row := cells{
		"id": c.uuid(at.Time), "kind": "hand-over", "at": at.cell(), "by": c.someoneOf(from.store), "from_batch": from.lot,
		"party": to[0], "note": to[1], "terms": "gift",
	}
	kg := c.takeOut(from, row, share)
	if price > 0 {
		row["terms"], row["price_minor"], row["currency"] = "sale", number(10*rounded(price*kg/10, 0), 0), c.currency
	}
	c.book.movements.add(at.Time, row)
}

// mistype is the scene of a stocking of which the quantity was typed wrong,
// taken back an hour later, and entered rightly.
func mistype(d deed, wrong float64, reason string) func(*club, moment) {
	return func(c *club, at moment) {
		typed := d
		typed.n = wrong
		c.book.movements.add(at.Time, cells{
			"id": c.uuid(at.Time), "kind": "reversal", "by": c.actor(d), "reverses": c.enter(typed, at), "reason": reason,
		})
		c.write(d, at)
	}
}
