package main

import "strings"

// wormGrams is the mean mass of a worm of a mixed bed.
func wormGrams(species string) float64 {
	switch species {
	case "eisenia-hortensis":
		return 0.62
	case "eudrilus-eugeniae":
		return 1.05
	case "perionyx-excavatus":
		return 0.38
	}
	return 0.33
}

// census writes an estimate for each species in a bin: counted samples where
// the keeper counts and there is enough to count, else a figure.
func (c *club) census(b *bed) {
	b.busy = c.today
	at, by := c.clock(), c.visitor(b)
	for _, p := range b.worms {
		if p.kg < 0.02 {
			continue
		}
		row := cells{
			"id": c.uuid(at.Time), "bin": b.name, "species": p.species, "at": at.cell(), "by": by,
			"apply": told(c.hit(0.8), pick(c.chance, []string{"true", "false", "false"})),
		}
		if b.counts && p.kg/b.surface > 0.5 && c.hit(0.8) {
			row["samples"] = c.samples(b, p)
			row["note"] = told(c.hit(0.3), "counted on a tray in the shade, all put back")
		} else {
			c.guess(row, p.kg)
		}
		c.book.censuses.add(at.Time, row)
	}
}

// guess fills in a keeper's figure with its interval.
func (c *club) guess(row cells, kg float64) {
	est := c.weigh(c.about(kg, 0.1))
	decimals := map[string]int{"g": 0, "kg": 2, "[lb_av]": 2, "[oz_av]": 1}[est.unit]
	row["estimate"], row["unit"] = number(est.value, decimals), est.unit
	row["low"] = number(float64(est.value*c.float(0.68, 0.82)), decimals)
	row["high"] = number(float64(est.value*c.float(1.22, 1.5)), decimals)
	row["note"] = told(c.hit(0.15), pick(c.chance, []string{"turned over by hand", "weighed a third and reckoned", "by the look of the feed zone and the rest"}))
}

// samples returns counted and weighed samples of 0.01 m², half of them from the
// feed zone, where the worms gather.
func (c *club) samples(b *bed, p pop) string {
	each := c.whole(3, 5)
	stages := c.hit(0.6)
	var out []string
	for _, s := range []struct {
		stratum string
		crowd   float64
	}{{"feed-zone", 1.4}, {"elsewhere", 0.6}} {
		for range each {
			grams := c.about(float64(p.kg/b.surface*s.crowd*10), 0.3)
			worms := max(1, int(grams/c.about(wormGrams(p.species), 0.08)))
			cell := strings.Join([]string{s.stratum, "0.01", number(float64(worms), 0), number(grams, 1)}, "/")
			if stages {
				adults := int(float64(worms) * c.float(0.35, 0.6))
				cell += "/" + number(float64(adults), 0) + "/" + number(float64(worms-adults), 0) + "/" + number(float64(c.whole(0, 9)), 0)
			}
			out = append(out, cell)
		}
	}
	return strings.Join(out, ";")
}
