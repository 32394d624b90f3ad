package main

import "time"

// pop is the true stock of a species in a bed.
type pop struct {
	species string
	kg      float64
}

// portion is one material of a feeding, as it lies in the bed.
type portion struct {
	feeding string
	what    stuff
	dry     float64 // kg when it was put in
	left    float64 // kg of it still there
	gone    bool    // to the keeper's eye
}

// bed is a bin as it really is, which its keeper never quite knows.
type bed struct {
	binPlan
	at          place
	id          string
	started     moment
	end         moment // zero: in use
	worms       []pop
	heap        []portion
	castings    float64 // kg dry
	yield       float64 // kg castings a kg of feed processed, dry
	most        float64 // kg worms a m² that it can hold
	read        float64 // leftovers last seen, %
	sour        int     // days until it has recovered
	nextFeed    time.Time
	nextCheck   time.Time
	nextCensus  time.Time
	harvests    []appointment
	busy        time.Time // day on which something else is written of it
	lastHarvest time.Time
	lastFull    time.Time
}

// appointment is a harvest that the keeper has in mind.
type appointment struct {
	day  time.Time
	full bool
}

func (b *bed) stock() float64 {
	var kg float64
	for _, p := range b.worms {
		kg += p.kg
	}
	return kg
}

func (b *bed) of(species string) *pop {
	for i := range b.worms {
		if b.worms[i].species == species {
			return &b.worms[i]
		}
	}
	b.worms = append(b.worms, pop{species: species})
	return &b.worms[len(b.worms)-1]
}

// vigour returns what share of its best a species does at a temperature.
func vigour(species string, celsius float64) float64 {
	at := [][2]float64{{4, 0.05}, {10, 0.45}, {15, 0.8}, {19, 1}, {25, 1}, {29, 0.7}, {33, 0.25}, {36, 0.02}}
	if species == "eudrilus-eugeniae" || species == "perionyx-excavatus" {
		at = [][2]float64{{8, 0.02}, {15, 0.4}, {20, 0.8}, {24, 1}, {28, 1}, {31, 0.7}, {35, 0.1}}
	}
	if celsius <= at[0][0] {
		return at[0][1]
	}
	for i := 1; i < len(at); i++ {
		if celsius <= at[i][0] {
			u := (celsius - at[i-1][0]) / (at[i][0] - at[i-1][0])
			return at[i-1][1] + float64(u*(at[i][1]-at[i-1][1]))
		}
	}
	return at[len(at)-1][1]
}

// Rates of the simulation, per day.
const (
	mostEaten  = 0.85  // kg wet feed a kg worms at their best
	mostGrowth = 0.016 // of the worms' mass
	upkeep     = 0.0025
	rotting    = 0.015 // of the feed, without worms
)

// vigour returns that of the bed's worms at a temperature.
func (b *bed) vigour(celsius float64) float64 {
	stock := b.stock()
	if stock == 0 {
		return 0
	}
	var v float64
	for _, p := range b.worms {
		v += float64(p.kg * vigour(p.species, celsius))
	}
	v /= stock
	if b.sour > 0 {
		v *= 0.25
	}
	return v
}

// ease says how readily a portion goes: the share that can go in a day.
func (p portion) ease() float64 {
	switch {
	case p.what.slow:
		return 0.006
	case p.what.kind == "bedding":
		return 0.025
	case p.what.kind == "amendment":
		return 0
	}
	return 0.16
}

// live lets a day pass: the worms eat, make castings, grow or decline.
func (b *bed) live(celsius float64) {
	stock, v := b.stock(), b.vigour(celsius)
	eaten := b.eat(float64(stock*mostEaten*v), v)
	if b.sour > 0 {
		b.sour--
	}
	if stock == 0 {
		return
	}
	fed := min(1, eaten/(stock*0.22))
	room := 1 - stock/(b.surface*b.most)
	change := float64(mostGrowth*v*fed*room) - float64(upkeep*(1.6-fed))
	if celsius > 32 {
		change -= 0.012
	}
	for i := range b.worms {
		b.worms[i].kg += float64(b.worms[i].kg * change)
	}
}

// eat takes up to so much wet feed out of the heap and returns what it took.
func (b *bed) eat(wet, vigour float64) float64 {
	var want float64
	for _, p := range b.heap {
		want += float64(p.left * p.ease() / (1 - p.what.moisture/100))
	}
	share := 0.0
	if want > 0 {
		share = min(1, wet/want)
	}
	for i := range b.heap {
		p := &b.heap[i]
		rot := rotting * vigour * p.ease() / 0.16
		gone := float64(p.left * min(1, float64(p.ease()*share)+rot))
		p.left -= gone
		b.castings += float64(gone * b.yield)
	}
	return float64(want * share)
}

// leftover returns the share of the dry matter of a feeding, or ("") of all not
// yet gone but the slow ones, that is still there, in %, and whether there is
// any.
func (b *bed) leftover(of string) (pct float64, any bool) {
	var left, put float64
	for _, p := range b.heap {
		if p.gone || p.what.kind != "feed" || of == "" && p.what.slow || of != "" && p.feeding != of {
			continue
		}
		left += p.left
		put += p.dry
	}
	if put == 0 {
		return 0, false
	}
	return 100 * left / put, true
}

// clear forgets portions of which next to nothing is left; all but the slow
// ones when the keeper saw nothing.
func (b *bed) clear(all bool) {
	kept := b.heap[:0]
	for _, p := range b.heap {
		p.gone = p.gone || p.what.kind == "feed" && (all && !p.what.slow || p.left < 0.04*p.dry)
		if p.left > 0.005*p.dry || !p.gone {
			kept = append(kept, p)
		}
	}
	b.heap = kept
}

// move takes a share of every kind of worm, and half-worked material, out of b
// into to (nil: out of the books).
func (b *bed) move(share float64, species string, to *bed) {
	for i := range b.worms {
		p := &b.worms[i]
		if species != "" && p.species != species {
			continue
		}
		kg := float64(p.kg * share)
		p.kg -= kg
		if to != nil {
			to.of(p.species).kg += kg
		}
	}
}
