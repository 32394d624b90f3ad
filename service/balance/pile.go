// Package balance recounts what a club took in, has, and gave away: materials by
// receipt and feeding, castings by batch, and what a batch was made of. Every
// line closes: what was there at the start, and came, less what went, is there at
// the end.
package balance

import (
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Period is the time from From up to To, which is not in it.
type Period struct{ From, To time.Time }

// Receipt is a material that came in. What was rejected, or thrown out later as
// residue, counts as gone at once.
type Receipt struct {
	ID       string
	Material string // id
	At       time.Time
	Net      unit.Mass // wet, before rejection
	Rejected unit.Mass // of Net
	Residue  unit.Mass // of Net
}

// Feed is a material that was fed.
type Feed struct {
	ID       string // of the feeding
	Material string // id
	Receipt  string // id of the receipt it came in with; empty: not told
	At       time.Time
	Wet      unit.Mass
}

// Pile is what lies of a material, in a period. End is Start + Received −
// Rejected − Residue − Fed.
type Pile struct {
	Material string // id; empty in a total
	Start    unit.Mass
	Received unit.Mass
	Rejected unit.Mass
	Residue  unit.Mass
	Fed      unit.Mass // from the pile
	End      unit.Mass
	Apart    unit.Mass // fed as well, but not from the pile: before it began, or there is none
	Begun    bool      // the material has a receipt before the end of the period
	Short    unit.Mass // the most that it was below nothing in the period; 0: never
	ShortAt  time.Time // when it was first below nothing
}

// pileEvent is what changes a pile: a receipt, or what was fed from it.
type pileEvent struct {
	at      time.Time
	receipt *Receipt // nil: fed
	fed     unit.Mass
}

func (e pileEvent) change() unit.Mass {
	if e.receipt == nil {
		return -e.fed
	}
	return e.receipt.Net - e.receipt.Rejected - e.receipt.Residue
}

// Piles returns the piles in the order of their materials. A pile begins with
// the first receipt of its material. What was fed from then on, or names a
// receipt, is fed from the pile; what was fed before, nobody recorded coming in.
// A pile may be below nothing: more was fed than came in, a fact that is shown.
// Materials that have nothing to show are left out.
func Piles(receipts []Receipt, feeds []Feed, p Period) []Pile {
	events, piles := map[string][]pileEvent{}, map[string]*Pile{}
	begins := map[string]time.Time{}
	pile := func(material string) *Pile {
		if piles[material] == nil {
			piles[material] = &Pile{Material: material}
		}
		return piles[material]
	}
	for _, r := range receipts {
		if first, known := begins[r.Material]; !known || r.At.Before(first) {
			begins[r.Material] = r.At
		}
		pile(r.Material).Begun = pile(r.Material).Begun || r.At.Before(p.To)
		events[r.Material] = append(events[r.Material], pileEvent{at: r.At, receipt: &r})
	}
	for _, f := range feeds {
		begun, known := begins[f.Material]
		switch {
		case known && (f.Receipt != "" || !f.At.Before(begun)):
			events[f.Material] = append(events[f.Material], pileEvent{at: f.At, fed: f.Wet})
		case !f.At.Before(p.From) && f.At.Before(p.To):
			pile(f.Material).Apart += f.Wet
		}
	}
	var out []Pile
	for _, material := range slices.Sorted(maps.Keys(piles)) {
		x := piles[material]
		x.walk(events[material], p)
		if *x != (Pile{Material: material, Begun: x.Begun}) {
			out = append(out, *x)
		}
	}
	return out
}

// walk adds the events up. Of one moment, what came in comes first, as it does in
// the list.
func (x *Pile) walk(events []pileEvent, p Period) {
	slices.SortStableFunc(events, func(a, b pileEvent) int { return a.at.Compare(b.at) })
	for _, e := range events {
		if e.at.Before(p.From) {
			x.Start += e.change()
		}
	}
	x.End = x.Start
	x.below(p.From, x.Start)
	for _, e := range events {
		if !e.at.Before(p.From) && e.at.Before(p.To) {
			x.add(e)
			x.below(e.at, x.End)
		}
	}
}

func (x *Pile) add(e pileEvent) {
	x.Fed += e.fed
	if e.receipt != nil {
		x.Received += e.receipt.Net
		x.Rejected += e.receipt.Rejected
		x.Residue += e.receipt.Residue
	}
	x.End += e.change()
}

// below notes a level that is below nothing.
func (x *Pile) below(at time.Time, level unit.Mass) {
	if level >= 0 {
		return
	}
	if x.Short == 0 {
		x.ShortAt = at
	}
	x.Short = max(x.Short, -level)
}

// TotalOf adds piles up. What one lacks isn't made good by another: Short is the
// sum, ShortAt the first.
func TotalOf(piles []Pile) Pile {
	var sum Pile
	for _, x := range piles {
		sum.Start += x.Start
		sum.Received += x.Received
		sum.Rejected += x.Rejected
		sum.Residue += x.Residue
		sum.Fed += x.Fed
		sum.End += x.End
		sum.Apart += x.Apart
		sum.Begun = sum.Begun || x.Begun
		sum.Short += x.Short
		if x.Short > 0 && (sum.ShortAt.IsZero() || x.ShortAt.Before(sum.ShortAt)) {
			sum.ShortAt = x.ShortAt
		}
	}
	return sum
}
