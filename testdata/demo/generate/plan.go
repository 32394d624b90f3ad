package main

import "time"

// plan is what a club is and has, before anything happens.
type plan struct {
	dir, name, zone, hemisphere, units, currency string
	retention                                    int
	seed                                         uint64
	from, to                                     string      // first and last day
	monthly                                      [12]float64 // mean temperatures, °C
	looks                                        [2]int      // days between checks, least and most
	spells                                       []spell
	lots                                         string // prefix of lot numbers
	people                                       []person
	places                                       []place
	stuffs                                       []stuff
	lines                                        []line
	roots                                        []root
	bins                                         []binPlan
	scenes                                       []scene
	asked                                        map[string][2]int // rows of a table, and records in all: least and most
}

// person is a member. Castings of one store go to the same batches.
type person struct{ name, role, store string }

// place is a site. Its bins are as warm as indoors, and follow the weather by
// the share open (0 to 1).
type place struct {
	name, address, owner, note string
	indoors, open              float64
}

// stuff is a material. Figures of the reference table stand here too, for the
// simulation; own says which of them the club keeps itself.
type stuff struct {
	name, kind, feedstock string
	moisture, density     float64
	nitrogen, ratio       string
	own, animal, slow     bool
	note                  string
}

// line is a culture, root an origin.
type (
	line struct{ name, species, note string }
	root struct{ name, kind, species, culture, note string }
)

// binPlan is a bin and the habits of its keeper.
type binPlan struct {
	name, kind, site, keeper string
	standIns                 []string
	surface, depth           float64
	started                  string // a day: told as such; a day and time: told to the minute
	retired, why             string
	note                     string
	every                    int      // days between feedings
	diet                     []string // the first is most of it
	bedding                  string
	buckets                  bool // feed is measured by volume
	counts                   bool // censuses are counted samples
	share                    float64
	silent                   bool // no leftovers told, no census, no harvest
}

// spell is a time of odd weather: the days from first to last are so much
// warmer.
type spell struct {
	first, last string
	warmer      float64
}

// outdoors returns the day's mean temperature, straight between the middles of
// the months.
func (p plan) outdoors(day time.Time) float64 {
	m := int(day.Month()) - 1
	d := float64(day.Day()-15) / 30
	next := (m + 1) % 12
	if d < 0 {
		next = (m + 11) % 12
		d = -d
	}
	t := p.monthly[m] + float64((p.monthly[next]-p.monthly[m])*d)
	date := day.Format(time.DateOnly)
	for _, s := range p.spells {
		if s.first <= date && date <= s.last {
			t += s.warmer
		}
	}
	return t
}

// warmth returns how warm a bin at the place is.
func (p plan) warmth(at place, day time.Time) float64 {
	return at.indoors + float64((p.outdoors(day)-at.indoors)*at.open)
}

// moment is a time, or a day alone, which counts as noon.
type moment struct {
	time.Time
	day bool
}

// cell writes the moment as it is told.
func (m moment) cell() string {
	if m.day {
		return m.Format(time.DateOnly)
	}
	return m.Format(time.RFC3339)
}

// momentOf reads "2025-05-04" or "2025-05-04 15:20" in the zone.
func momentOf(s string, zone *time.Location) moment {
	if t, err := time.ParseInLocation("2006-01-02 15:04", s, zone); err == nil {
		return moment{Time: t}
	}
	t, err := time.ParseInLocation(time.DateOnly, s, zone)
	if err != nil {
		panic(err) // a mistake in the plan
	}
	return moment{t.Add(12 * time.Hour), true}
}
