package lineage

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// mixer gathers what a new lot comes from.
type mixer struct {
	states  map[Place]State
	parts   []Part
	parents map[Parent]unit.Mass // keyed without the mass
	depth   int                  // the largest of a parent lot
}

// add puts m from s into the mix. A transfer is looked through, to what was
// sent. What has no lot is of unknown origin; a bin without one is refused
// where its own book is changed.
func (x *mixer) add(s source, m unit.Mass) {
	lot := x.states[s.place].Lot
	switch {
	case lot == nil:
		origin := known(s.origin)
		x.parts = append(x.parts, Part{m, Pure(origin)})
		x.parents[Parent{Origin: origin}] += m
		return
	case s.place.Transit == "":
		x.parents[Parent{Lot: lot.ID}] += m
		x.depth = max(x.depth, lot.Depth)
	default:
		x.through(*lot, m)
	}
	x.parts = append(x.parts, Part{m, lot.Shares})
}

// through adds the parents of what is under way, in proportion.
func (x *mixer) through(lot Lot, m unit.Mass) {
	sent := make([]unit.Mass, len(lot.Parents))
	for i, p := range lot.Parents {
		sent[i] = p.Mass
	}
	for i, part := range apportion(m, sent) {
		p := lot.Parents[i]
		p.Mass = 0
		x.parents[p] += part
	}
	x.depth = max(x.depth, lot.Depth-1)
}

// open returns the lot that e opens in p with what was added. Errors: MixError.
func (x *mixer) open(p Place, book unit.Mass, e journal.Entry) (Lot, error) {
	shares, err := Mix(x.parts)
	if err != nil {
		return Lot{}, err
	}
	var parents []Parent
	for parent, m := range x.parents {
		parent.Mass = m
		parents = append(parents, parent)
	}
	slices.SortFunc(parents, compareParents)
	return Lot{
		ID: LotID(e.ID, p), Place: p,
		OpenedBy: e.ID, OpenedAt: e.Effective, OpenedSeq: e.Seq, Mass: book,
		Parents: parents, Shares: shares, Depth: x.depth + 1,
	}, nil
}
