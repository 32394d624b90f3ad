package rates

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/unit"
)

// weighedCV is the standard error of a weighed feeding by its mass: a kitchen
// or hanging scale, practice.
const weighedCV = 0.02

// item is a material with what was left of it at both ends of the window; all
// of it, unseen, at the first end when it was fed later.
type item struct {
	Feed
	start, end share
	known      bool
}

// itemsOf lists by time and id what was in the bin at some time between two
// ends: fed before the first and not known to be gone by then, or fed from the
// first on and before the last.
func itemsOf(feeds []Feed, h history, from, to time.Time) []item {
	var out []item
	for _, f := range feeds {
		if !f.At.Before(to) {
			continue
		}
		it := item{Feed: f, start: share{left: 1}, known: true}
		if f.At.Before(from) {
			it.start, it.known = h.at(f, from)
		}
		if it.start.left == 0 {
			continue
		}
		end, known := h.at(f, to)
		it.end, it.known = end, it.known && known
		out = append(out, it)
	}
	slices.SortStableFunc(out, func(a, b item) int {
		return cmp.Or(a.At.Compare(b.At), strings.Compare(a.ID, b.ID))
	})
	return out
}

// A view says which items to sum and by which mass.
type view struct {
	takes func(Feed) bool
	mass  func(Feed) (unit.Mass, bool)
}

func onlyFeed(f Feed) bool             { return !f.Bedding }
func onlyBedding(f Feed) bool          { return f.Bedding }
func everything(Feed) bool             { return true }
func wetMass(f Feed) (unit.Mass, bool) { return f.Wet, true }
func dryMass(f Feed) (unit.Mass, bool) { return f.Moisture.Dry(f.Wet) }

// processed is the kg that disappeared, or the reason why that isn't known.
type processed struct {
	estimate
	there  float64 // kg that could have: left at the first end, or fed since
	reason string
	lost   []loss
	seen   readings
}

// loss is what disappeared of an item, in kg.
type loss struct {
	item
	kg, gone float64
}

// processedOf sums P = Σ W(s₀ − s₁) over items, W being the mass in kg. Its
// variance is Σ over weighings (c·W(s₀ − s₁))² + Σ over readings (Σ ±W·sd s)²,
// c = weighedCV: the feedings that one reading covers err together, and a
// reading that serves both ends cancels.
func processedOf(items []item, v view) processed {
	var p processed
	for _, it := range items {
		if !v.takes(it.Feed) {
			continue
		}
		mass, ok := v.mass(it.Feed)
		switch {
		case !it.known:
			return processed{reason: "leftover-unknown"}
		case !ok:
			return processed{reason: "moisture-unknown"}
		}
		kg := mass.Kilograms()
		gone := float64(kg * (it.start.left - it.end.left))
		p.value += gone
		p.there += float64(kg * it.start.left)
		p.variance += float64(weighedCV * gone * weighedCV * gone)
		p.lost = append(p.lost, loss{it, kg, gone})
		p.seen.add(it.start, kg)
		p.seen.add(it.end, -kg)
	}
	p.variance += p.seen.variance()
	return p
}

// figure returns p in kg.
func (p processed) figure() unit.Figure {
	if p.reason != "" {
		return unit.None("kg", p.reason)
	}
	f := p.estimate.figure("kg", "by-eye")
	if p.value == 0 && p.there > 0 {
		f = f.Flag(FlagNoChange)
	}
	return f
}

// readings adds up the error that each reading brings, in the order met.
type readings struct {
	place map[eye]int
	of    []reading
}

// reading is a share that was read, of so many kg at the first end less those at
// the last, and the error that it brings. What one reading says is the same share
// for all that it covers.
type reading struct {
	share
	kg, err float64
}

func (e *readings) add(s share, kg float64) {
	if e.place == nil {
		e.place = map[eye]int{}
	}
	i, ok := e.place[s.seen]
	if !ok {
		i = len(e.of)
		e.place[s.seen] = i
		e.of = append(e.of, reading{share: s})
	}
	e.of[i].kg += kg
	e.of[i].err += float64(kg * s.sd())
}

func (e *readings) variance() float64 {
	var v float64
	for _, r := range e.of {
		v += float64(r.err * r.err)
	}
	return v
}
