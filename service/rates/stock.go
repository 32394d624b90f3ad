package rates

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// driftSD is how the stock's logarithm wanders from the last anchor on: a
// random walk of this standard deviation per square root of a day. It makes the
// stock sure to a factor of 1.7 after a month and 2.5 after three (95 %); a
// thriving bin can double within three. Practice.
const driftSD = 0.05

// point is an anchor or a jump in days from the first end.
type point struct {
	id      string
	kind    string // of the record: "movement" or "census"
	at      time.Time
	day     float64
	kg, err float64 // err is the standard error of kg
	founds  bool    // the first stocking of a bin that held none
}

func pointOf(id string, at, zero time.Time, kg, cv float64) point {
	p := point{id: id, at: at, day: days(zero, at), kg: kg}
	if kg != 0 {
		p.err = kg * cv
	}
	return p
}

func days(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }

// stock is the mass of worms over time: straight from anchor to anchor but for
// the jumps, constant after the last.
type stock struct {
	anchors []point // one at a time, in order
	jumps   []point // in order
}

func stockOf(in Input, zero time.Time) stock {
	var s stock
	for _, a := range in.Anchors {
		p := pointOf(a.ID, a.At, zero, a.Mass.Kilograms(), a.CV)
		p.founds, p.kind = a.Kind == Stocking, "movement"
		if a.Kind == Census {
			p.kind = "census"
		}
		s.anchors = append(s.anchors, p)
	}
	for _, j := range in.Jumps {
		p := pointOf(j.ID, j.At, zero, j.Mass.Kilograms(), j.CV)
		p.kind = "movement"
		s.jumps = append(s.jumps, p)
	}
	byTime := func(a, b point) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.err, b.err), strings.Compare(a.id, b.id))
	}
	slices.SortStableFunc(s.anchors, byTime)
	slices.SortStableFunc(s.jumps, byTime)
	s.anchors = slices.CompactFunc(s.anchors, func(a, b point) bool { return a.at.Equal(b.at) })
	return s
}

// points lists the anchors, then the jumps.
func (s stock) points() []point { return slices.Concat(s.anchors, s.jumps) }

// piece is a stretch of days without an anchor or a jump inside it, and the
// last anchor at or before it.
type piece struct {
	from, to float64
	anchor   int
}

// pieces cuts the days from 0 to length at every anchor and jump. What lies
// before the first anchor is left out.
func (s stock) pieces(length float64) []piece {
	cuts := []float64{0, length}
	for _, p := range s.points() {
		if p.day > 0 && p.day < length {
			cuts = append(cuts, p.day)
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	var out []piece
	for i := range len(cuts) - 1 {
		p := piece{cuts[i], cuts[i+1], -1}
		for k, a := range s.anchors {
			if a.day <= p.from {
				p.anchor = k
			}
		}
		if p.anchor >= 0 {
			out = append(out, p)
		}
	}
	return out
}

// weights returns by how much each point counts in the stock at a day within
// p, in the order of points: B(day) = Σ weight·kg. Between anchors of days t₀
// and t₁, with u = (day − t₀)/(t₁ − t₀), they count 1 − u and u, and a jump
// between them −u before it and 1 − u after it, so that line and jumps
// together meet the second anchor. After the last anchor all count 1.
func (s stock) weights(p piece, day float64) []float64 {
	w := make([]float64, len(s.anchors)+len(s.jumps))
	first := s.anchors[p.anchor]
	last := p.anchor == len(s.anchors)-1
	var u float64
	if !last {
		u = (day - first.day) / (s.anchors[p.anchor+1].day - first.day)
		w[p.anchor+1] = u
	}
	w[p.anchor] = 1 - u
	for k, j := range s.jumps {
		i := len(s.anchors) + k
		switch {
		case j.day < first.day, !last && j.day >= s.anchors[p.anchor+1].day:
			continue
		case j.day <= p.from:
			w[i] = 1 - u
		default:
			w[i] = -u
		}
	}
	return w
}

// at returns the stock in kg at a day within p; below 0 where the records
// contradict each other.
func (s stock) at(p piece, day float64) float64 {
	var kg float64
	w := s.weights(p, day)
	for k, x := range s.points() {
		kg += float64(w[k] * x.kg)
	}
	return kg
}
