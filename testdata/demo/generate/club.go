package main

import (
	"slices"
	"strings"
	"time"
)

// club is a club in the course of its story.
type club struct {
	plan
	*chance
	zone    *time.Location
	book    *book
	beds    []*bed
	batches []*batch
	today   time.Time // midnight
	ids     map[string]string
	spare   *chance          // of ids that came with what was told later, so that all else stays
	trades  map[string]cells // the row that tells the whole of a transfer, by its first bin and terms
}

// newClub returns the club as its plan has it, with its nouns written. Errors:
// those of loading the time zone.
func newClub(p plan) (*club, error) {
	zone, err := time.LoadLocation(p.zone)
	if err != nil {
		return nil, err
	}
	c := &club{plan: p, chance: newChance(p.seed), zone: zone, book: newBook(), ids: map[string]string{}, spare: newChance(p.seed + 1), trades: map[string]cells{}}
	c.writeNouns()
	for _, b := range p.bins {
		c.beds = append(c.beds, c.prepare(b))
	}
	return c, nil
}

// run lets the days pass, from the first to the last.
func (c *club) run() {
	last := c.dayOf(c.to)
	for c.today = c.dayOf(c.from); !c.today.After(last); c.today = c.today.AddDate(0, 0, 1) {
		for _, b := range c.beds {
			if c.inUse(b) {
				b.live(c.warmth(b.at, c.today))
			}
			if c.isToday(b.started.Time) {
				c.layBedding(b)
			}
		}
		for _, s := range c.scenes {
			if at := momentOf(s.at, c.zone); c.isToday(at.Time) {
				s.act(c, at)
			}
		}
		for _, b := range c.beds {
			if c.inUse(b) && b.stock() > 0 && !b.busy.Equal(c.today) {
				c.visit(b)
			}
		}
		c.mindStore()
	}
}

func (c *club) dayOf(s string) time.Time {
	m := momentOf(s, c.zone)
	return time.Date(m.Year(), m.Month(), m.Day(), 0, 0, 0, 0, c.zone)
}

func (c *club) isToday(t time.Time) bool {
	return !t.Before(c.today) && t.Before(c.today.AddDate(0, 0, 1))
}

func (c *club) inUse(b *bed) bool {
	return b.started.Before(c.today) && (b.end.IsZero() || c.today.Before(b.end.Time.AddDate(0, 0, -1)))
}

// bed returns the bin of a name; one that isn't there is a mistake in the plan.
func (c *club) bed(name string) *bed {
	i := slices.IndexFunc(c.beds, func(b *bed) bool { return b.name == name })
	if i < 0 {
		panic("no bin " + name)
	}
	return c.beds[i]
}

func (c *club) stuff(name string) stuff {
	i := slices.IndexFunc(c.stuffs, func(s stuff) bool { return s.name == name })
	if i < 0 {
		panic("no material " + name)
	}
	return c.stuffs[i]
}

// clock returns a time of today at which somebody may be at a bin, told to the
// minute or, at times, as the day alone.
func (c *club) clock() moment {
	if c.hit(0.22) {
		return moment{c.noon(), true}
	}
	return moment{Time: time.Date(c.today.Year(), c.today.Month(), c.today.Day(), c.whole(8, 19), c.whole(0, 49), 0, 0, c.zone)}
}

func (c *club) noon() time.Time {
	return time.Date(c.today.Year(), c.today.Month(), c.today.Day(), 12, 0, 0, 0, c.zone)
}

// later returns a moment some minutes after m; the same day alone.
func (m moment) later(minutes int) moment {
	if !m.day {
		m.Time = m.Add(time.Duration(minutes) * time.Minute)
	}
	return m
}

// visitor returns who comes to the bin: its keeper or, now and then, somebody
// who stands in.
func (c *club) visitor(b *bed) string {
	if len(b.standIns) > 0 && (c.today.Month() == time.August || c.hit(0.09)) {
		return pick(c.chance, b.standIns)
	}
	return b.keeper
}

// prepare makes a bed of a planned bin, with the habits of its keeper.
func (c *club) prepare(p binPlan) *bed {
	i := slices.IndexFunc(c.places, func(s place) bool { return s.name == p.site })
	if i < 0 {
		panic("no site " + p.site)
	}
	b := &bed{
		binPlan: p, at: c.places[i], id: c.ids["bin "+p.name], started: momentOf(p.started, c.zone),
		yield: c.float(0.44, 0.54), most: c.float(3, 4.9),
	}
	if p.retired != "" {
		b.end = momentOf(p.retired, c.zone)
	}
	first := c.dayOf(p.started)
	b.nextFeed = first.AddDate(0, 0, 3)
	b.nextCheck = first.AddDate(0, 0, 2)
	b.nextCensus = first.AddDate(0, 0, c.whole(60, 85))
	b.harvests = c.appointments(b)
	return b
}

// writeNouns writes the tables of what the club has.
func (c *club) writeNouns() {
	founded := c.dayOf(c.from)
	id := func(noun, name string) string {
		u := c.uuid(founded)
		c.ids[noun+" "+name] = u
		return u
	}
	for _, p := range c.people {
		c.book.members.add(time.Time{}, cells{"id": id("member", p.name), "name": p.name, "role": p.role})
	}
	for _, p := range c.places {
		c.book.sites.add(time.Time{}, cells{"id": id("site", p.name), "name": p.name, "address": p.address, "owner": p.owner, "note": p.note})
	}
	for _, s := range c.stuffs {
		c.book.materials.add(time.Time{}, s.cells(id("material", s.name)))
	}
	for _, l := range c.lines {
		c.book.cultures.add(time.Time{}, cells{"id": id("culture", l.name), "name": l.name, "species": l.species, "note": l.note})
	}
	for _, r := range c.roots {
		c.book.origins.add(time.Time{}, cells{
			"id": id("origin", r.name), "name": r.name, "kind": r.kind, "species": r.species, "culture": r.culture, "note": r.note,
		})
	}
	for _, b := range c.plan.bins {
		c.book.bins.add(time.Time{}, c.binCells(b, id("bin", b.name)))
	}
}

func (s stuff) cells(id string) cells {
	out := cells{
		"id": id, "name": s.name, "kind": s.kind, "feedstock": s.feedstock, "nitrogen_pct": s.nitrogen, "carbon_ratio": s.ratio,
		"animal_origin": told(s.animal, "true"), "slow": told(s.slow, "true"), "note": s.note,
	}
	if s.own {
		out["moisture_pct"] = number(s.moisture, 1)
		out["density_g_per_l"] = told(s.density > 0, number(s.density, 1))
	}
	return out
}

// binCells returns the row of a bin. A bin started on a day told alone started
// at noon.
func (c *club) binCells(b binPlan, id string) cells {
	out := cells{
		"id": id, "name": b.name, "kind": b.kind, "site": b.site, "keeper": b.keeper, "stand_ins": strings.Join(b.standIns, ";"),
		"surface_m2": number(b.surface, 3), "depth_cm": number(b.depth, 0), "started": momentOf(b.started, c.zone).cell(), "note": b.note,
	}
	if b.retired != "" {
		out["retired"], out["retired_why"] = momentOf(b.retired, c.zone).cell(), b.why
	}
	return out
}
