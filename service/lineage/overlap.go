package lineage

import (
	"slices"
	"strings"
)

// InCommon is an origin that two lots both descend from: how much of each does, and
// the smaller of the two.
type InCommon struct {
	Origin string
	A, B   int64 // of One
	Parts  int64 // min(A, B)
}

// Overlap returns what two lots have in common by their origins: those of both,
// sorted by id, and Σ min(p, q) over them in parts of One, from 0 to One. It is
// exact, the same both ways, and One for the same shares alone. Unknown counts as an
// origin like any other, though nobody knows whether the unknown of one is that of
// the other. By mass, and no genetics.
func Overlap(a, b Shares) (both []InCommon, parts int64) {
	in := map[string]int64{}
	for _, s := range a {
		in[known(s.Origin)] += s.Parts
	}
	for _, s := range b {
		if p := in[known(s.Origin)]; p > 0 && s.Parts > 0 {
			c := InCommon{known(s.Origin), p, s.Parts, min(p, s.Parts)}
			both, parts = append(both, c), parts+c.Parts
		}
	}
	slices.SortFunc(both, func(x, y InCommon) int { return strings.Compare(x.Origin, y.Origin) })
	return both, parts
}

// Ancestor is a lot that two lots both descend from, or one of them, and the
// arrivals between it and each, by the shortest way.
type Ancestor struct {
	Lot  Lot
	A, B int
}

// Nearest returns the nearest common ancestors of two lots, the newest first: the
// lots that both descend from, or are, but those from which another of them descends.
// It asks some for lots by their ids, and gives up, as cut tells, when it has come by
// most lots. Errors: what some returns; MissingLotError.
func Nearest(a, b Lot, most int, some func(ids []string) ([]Lot, error)) (out []Ancestor, cut bool, err error) {
	t := newTrace(a, func(x, y Lot) int { return compareLots(y, x) })
	t.next = t.up(some)
	t.waiting = []Lot{a}
	kin := map[string]*kinship{a.ID: {from: [2]bool{true, false}}}
	if b.ID == a.ID {
		kin[a.ID].from[1] = true
	} else {
		t.met[b.ID], t.waiting, kin[b.ID] = true, append(t.waiting, b), &kinship{from: [2]bool{false, true}}
		slices.SortFunc(t.waiting, t.order)
	}
	for n := 0; t.mayMeet(kin); n++ {
		if n == most {
			return out, true, nil
		}
		l := t.waiting[0]
		t.waiting = t.waiting[1:]
		k := kin[l.ID]
		if k.both() && !k.covered {
			out = append(out, Ancestor{l, k.depth[0], k.depth[1]})
		}
		for _, p := range l.Parents {
			if p.Lot != "" {
				k.passTo(kin, p.Lot)
			}
		}
		if err := t.goOn(l); err != nil {
			return nil, false, err
		}
	}
	return out, false, nil
}

// kinship is how a lot is related to the two lots that a search began with.
type kinship struct {
	from    [2]bool // which descend from it, or are it
	depth   [2]int
	covered bool // a nearer common ancestor descends from it
}

func (k kinship) both() bool { return k.from[0] && k.from[1] }

// passTo tells a parent what its child is to both.
func (k kinship) passTo(kin map[string]*kinship, parent string) {
	p, met := kin[parent]
	if !met {
		p = &kinship{}
		kin[parent] = p
	}
	p.covered = p.covered || k.covered || k.both()
	for side, from := range k.from {
		if d := k.depth[side] + 1; from && (!p.from[side] || d < p.depth[side]) {
			p.from[side], p.depth[side] = true, d
		}
	}
}

// mayMeet reports whether a common ancestor may still be found: lots wait from
// which each of the two descends, by ways that no nearer one covers. Of a lot that is
// met before its children nothing is known yet, and nothing new follows from it.
func (t *trace) mayMeet(kin map[string]*kinship) bool {
	var open [2]bool
	for _, l := range t.waiting {
		if k := kin[l.ID]; k != nil && !k.covered {
			open[0], open[1] = open[0] || k.from[0], open[1] || k.from[1]
		}
	}
	return open[0] && open[1]
}
