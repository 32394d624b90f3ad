package main

import (
	"strings"
	"time"
)

// visit is what a keeper does at a bin today, if anything is due.
func (c *club) visit(b *bed) {
	switch {
	case len(b.harvests) > 0 && !c.today.Before(b.harvests[0].day):
		if c.today.Sub(b.lastHarvest).Hours() < 24*14 {
			b.harvests[0].day = c.today.AddDate(0, 0, 14)
			return
		}
		full := b.harvests[0].full
		b.harvests = b.harvests[1:]
		if c.ripe(b, full) {
			c.harvest(b, full)
			return
		}
	case !b.silent && !c.today.Before(b.nextCensus):
		b.nextCensus = c.today.AddDate(0, 0, c.whole(95, 150))
		c.census(b)
		return
	}
	feed := !c.today.Before(b.nextFeed)
	check := !c.today.Before(b.nextCheck) || feed && !c.today.AddDate(0, 0, 3).Before(b.nextCheck)
	if !feed && !check {
		return
	}
	at, by := c.clock(), c.visitor(b)
	if check {
		c.check(b, at, by, nil)
	}
	if feed {
		c.feed(b, at.later(8), by)
	}
}

// ripe reports whether a harvest is worth while so soon after the one before.
func (c *club) ripe(b *bed, full bool) bool {
	if full {
		return c.today.Sub(b.lastFull).Hours() > 24*50
	}
	return c.today.Sub(b.lastHarvest).Hours() > 24*21
}

// measure is a quantity as somebody typed it, with what it was in kg.
type measure struct {
	value float64
	unit  string
	kg    float64
}

const poundKg, gallonL, ounceKg = 0.45359237, 3.785411784, 0.028349523125

// weigh returns a mass as the club's scales show it.
func (c *club) weigh(kg float64) measure {
	switch {
	case c.units == "us" && kg < 0.4:
		v := max(0.5, rounded(kg/ounceKg*2, 0)/2)
		return measure{v, "[oz_av]", float64(v * ounceKg)}
	case c.units == "us":
		v := rounded(kg/poundKg, 1)
		return measure{v, "[lb_av]", float64(v * poundKg)}
	case kg < 1.2:
		v := max(10, 10*rounded(kg*100, 0))
		return measure{v, "g", v / 1000}
	}
	v := rounded(kg, 1)
	return measure{v, "kg", v}
}

// pour returns a mass as the volume in a bucket.
func (c *club) pour(kg, density float64) measure {
	litres := kg * 1000 / density
	if c.units == "us" {
		v := max(0.25, rounded(litres/gallonL*4, 0)/4)
		return measure{v, "[gal_us]", float64(v * gallonL * density / 1000)}
	}
	v := max(0.5, rounded(litres*2, 0)/2)
	return measure{v, "L", float64(v * density / 1000)}
}

// feed gives what the keeper thinks the worms can take until the next time.
func (c *club) feed(b *bed, at moment, by string) {
	b.nextFeed = c.today.AddDate(0, 0, b.every+c.whole(-1, 2))
	share := b.share
	if share == 0 {
		share = 0.4
	}
	v := max(0.3, b.vigour(c.warmth(b.at, c.today)))
	kg := c.about(float64(b.stock()*share*v*float64(b.every)), 0.17)
	if b.sour > 0 || b.read > 45 && c.hit(0.6) {
		return
	}
	if b.read > 35 {
		kg *= 0.5
	}
	kg = min(kg, 14*b.surface)
	parts := []ration{{b.diet[0], kg}}
	if len(b.diet) > 1 && c.hit(0.6) {
		main := c.float(0.6, 0.8)
		parts = []ration{{b.diet[0], float64(kg * main)}, {pick(c.chance, b.diet[1:]), float64(kg * (1 - main))}}
	}
	if b.bedding != "" && c.hit(0.42) {
		parts = append(parts, ration{b.bedding, float64(kg * c.float(0.05, 0.1))})
	}
	if c.hit(0.04) && !b.silent {
		parts = append(parts, ration{c.grit(), float64(0.1 * b.surface)})
	}
	c.give(b, at, by, parts, cells{
		"placement":   pick(c.chance, []string{"pocket", "pocket", "trench", "scattered", "wrapped", "surface", ""}),
		"preparation": pick(c.chance, c.stuff(b.diet[0]).preparations()),
		"note":        told(c.hit(0.05), pick(c.chance, feedNotes())),
	})
}

// preparations lists what may have been done to a material.
func (s stuff) preparations() []string {
	if s.animal {
		return []string{"pre-composted", "pre-composted", ""}
	}
	return []string{"fresh", "fresh", "frozen", "", "ground"}
}

func feedNotes() []string {
	return []string{
		"cut small", "thawed overnight, drained", "peel of the weekend", "buried at the cool end", "a little less than last time",
		"covered with a hand of old bedding", "bag from the neighbours upstairs", "new pocket, left rear",
	}
}

// grit returns the club's amendment.
func (c *club) grit() string {
	for _, s := range c.stuffs {
		if s.kind == "amendment" {
			return s.name
		}
	}
	panic("no amendment")
}

// ration is a mass of a material.
type ration struct {
	material string
	kg       float64
}

// give writes a feeding and puts it into the bed.
func (c *club) give(b *bed, at moment, by string, parts []ration, more cells) string {
	id := c.uuid(at.Time)
	for i, p := range parts {
		s := c.stuff(p.material)
		m := c.weigh(p.kg)
		if b.buckets && s.density > 0 && s.kind != "amendment" {
			m = c.pour(p.kg, s.density)
		}
		row := cells{"id": id, "material": s.name, "quantity": number(m.value, 2), "unit": m.unit}
		if s.kind == "feed" && c.hit(0.05) {
			s.moisture = rounded(c.about(s.moisture, 0.03), 0)
			row["moisture_pct"] = number(s.moisture, 0)
		}
		if i == 0 {
			row["bin"], row["at"], row["by"] = b.name, at.cell(), by
			for column, cell := range more {
				row[column] = cell
			}
		}
		c.book.feedings.add(at.Time, row)
		dry := float64(m.kg * (1 - s.moisture/100))
		b.heap = append(b.heap, portion{feeding: id, what: s, dry: dry, left: dry})
	}
	return id
}

// layBedding fills a new bin.
func (c *club) layBedding(b *bed) {
	at := moment{Time: b.started.Add(30 * time.Minute)}
	bedding := b.bedding
	if bedding == "" {
		bedding = b.diet[len(b.diet)-1]
	}
	c.give(b, at, b.keeper, []ration{{bedding, float64(5 * b.surface)}}, cells{"note": "first bedding, damp"})
}

// check writes what is to be seen in a bin; special cells go before the usual.
func (c *club) check(b *bed, at moment, by string, special cells) {
	age := c.today.Sub(b.started.Time).Hours() / 24
	if b.nextCheck = c.today.AddDate(0, 0, c.whole(c.looks[0], c.looks[1])); age < 5 {
		b.nextCheck = c.dayOf(b.started.Format(time.DateOnly)).AddDate(0, 0, 10)
	}
	warm := c.warmth(b.at, c.today) + c.float(-0.8, 1.4)
	row := cells{"id": c.uuid(at.Time), "bin": b.name, "at": at.cell(), "by": by, "worms_at": c.whereabouts(b, warm)}
	if c.hit(0.8) {
		row["temperature"], row["temperature_unit"] = number(rounded(warm*2, 0)/2, 1), "Cel"
		if c.units == "us" {
			row["temperature"], row["temperature_unit"] = number(float64(warm*1.8)+32, 0), "[degF]"
		}
	}
	c.feelMoisture(row, warm)
	row["ph"] = told(c.hit(0.12), number(c.float(6.4, 7.4), 1))
	row["ammonia"] = told(c.hit(0.45), "false")
	row["escape"] = told(age < 12 || c.hit(0.08), "false")
	row["beaded"] = told(c.hit(0.05), "false")
	row["pests"] = told(c.hit(0.09), pick(c.chance, []string{"fruit flies", "white mites", "springtails", "pot worms;springtails", "fungus gnats"}))
	row["leachate_l"] = told(b.kind == "tray-stack" && c.hit(0.2), number(c.float(0.1, 0.9), 1))
	row["cover"] = told(c.hit(0.2), pick(c.chance, []string{"damp newspaper", "hessian", "jute mat", "cardboard"}))
	row["note"] = told(c.hit(0.07), pick(c.chance, checkNotes()))
	if age > 5 && !b.silent {
		c.seeLeftovers(b, row)
	}
	for column, cell := range special {
		row[column] = cell
	}
	if special["temperature"] != "" {
		row["temperature_unit"] = "Cel"
	}
	c.book.checks.add(at.Time, row)
}

func checkNotes() []string {
	return []string{
		"smells of woodland", "many small ones under the cover", "cocoons along the wall", "a bit wet at the bottom, cardboard added next time",
		"mould on the last pocket, gone under the cover", "all quiet", "looked with the children", "worms shy of the new corner",
	}
}

func (c *club) whereabouts(b *bed, warm float64) string {
	switch {
	case warm > 29:
		return "bottom"
	case b.read > 30:
		return pick(c.chance, []string{"feed", "throughout"})
	}
	return pick(c.chance, []string{"throughout", "feed", "throughout", "bottom", ""})
}

func (c *club) feelMoisture(row cells, warm float64) {
	least, most, grip := 71.0, 85.0, []string{"drops", "drops", "drops", "stream"}
	if warm > 27 {
		least, most, grip = 62, 74, []string{"dry", "drops"}
	}
	if c.hit(0.3) {
		row["moisture_pct"] = number(c.float(least, most), 0)
	} else {
		row["squeeze"] = pick(c.chance, grip)
	}
}

// seeLeftovers fills in how much is left by eye: in steps of 5 or 10 %, of all
// feedings together, and by name of those with stones and woody peel.
func (c *club) seeLeftovers(b *bed, row cells) {
	var named []string
	for _, p := range b.heap {
		if p.what.slow && !p.gone {
			named = append(named, p.feeding+":"+number(c.byEye(100*p.left/p.dry), 0))
		}
	}
	b.read = 0
	if pct, any := b.leftover(""); any {
		b.read = c.byEye(pct)
	}
	if last := b.lastFeeding(); last != "" && b.read > 0 && c.hit(0.1) {
		pct, _ := b.leftover(last)
		named = append(named, last+":"+number(max(b.read, c.byEye(pct)), 0))
	}
	row["leftover_pct"] = number(b.read, 0)
	row["leftovers"] = strings.Join(named, ";")
	b.clear(b.read == 0)
}

// byEye returns a share as it is judged, in %.
func (c *club) byEye(pct float64) float64 {
	if pct < 2.5 {
		return 0
	}
	step := pick(c.chance, []float64{5, 5, 10})
	return min(100, step*rounded(c.about(pct, 0.15)/step, 0))
}

// lastFeeding returns the last feeding that isn't gone, without slow material.
func (b *bed) lastFeeding() string {
	for i := len(b.heap) - 1; i >= 0; i-- {
		if p := b.heap[i]; p.what.kind == "feed" && !p.gone && !p.what.slow {
			return p.feeding
		}
	}
	return ""
}
