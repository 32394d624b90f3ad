package lineage

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// mixer gathers what a new lot comes from.
type mixer struct {
	parts   []Part
	parents map[Parent]unit.Mass // keyed without the mass
	via     map[Parent]unit.Mass // the same of lots under way
	depth   int                  // the largest of a parent lot
}

func newMixer() *mixer {
	return &mixer{parents: map[Parent]unit.Mass{}, via: map[Parent]unit.Mass{}}
}

// add puts m from s into the mix. What has no lot is of unknown origin; a bin
// without one is refused where its own book is changed.
func (x *mixer) add(s source, states map[Place]State, m unit.Mass) {
	if lot := states[s.place].Lot; lot != nil {
		x.lot(*lot, m)
	} else {
		x.origin(known(s.origin), m)
	}
}

func (x *mixer) origin(id string, m unit.Mass) {
	x.parts = append(x.parts, Part{m, Pure(id)})
	x.parents[Parent{Origin: id}] += m
}

// lot puts m of a lot into the mix. One under way is looked through, to what was
// sent.
func (x *mixer) lot(l Lot, m unit.Mass) {
	x.parts = append(x.parts, Part{m, l.Shares})
	if l.Place.Transit == "" {
		x.parents[Parent{Lot: l.ID}] += m
		x.depth = max(x.depth, l.Depth)
		return
	}
	x.via[Parent{Lot: l.ID}] += m
	for _, p := range through(l, m) {
		x.parents[Parent{Lot: p.Lot, Origin: p.Origin}] += p.Mass
	}
	x.depth = max(x.depth, l.Depth-1)
}

// through returns m of what is under way by the parents of it, in proportion.
func through(l Lot, m unit.Mass) []Parent {
	sent := make([]unit.Mass, len(l.Parents))
	for i, p := range l.Parents {
		sent[i] = p.Mass
	}
	out := slices.Clone(l.Parents)
	for i, part := range apportion(m, sent) {
		out[i].Mass = part
	}
	return out
}

// open returns the lot that e opens in p with what was added. Errors: MixError.
func (x *mixer) open(p Place, book unit.Mass, e journal.Entry) (Lot, error) {
	return x.mixed(Lot{ID: LotID(e.ID, p), Place: p, OpenedBy: e.ID, OpenedAt: e.Effective, OpenedSeq: e.Seq, Mass: book})
}

// mixed returns l with what was added as what it comes from. Errors: MixError.
func (x *mixer) mixed(l Lot) (Lot, error) {
	var err error
	if l.Shares, err = Mix(x.parts); err != nil {
		return Lot{}, err
	}
	l.Parents, l.Via, l.Depth = listed(x.parents), listed(x.via), x.depth+1
	return l, nil
}

// listed returns parents sorted, with their masses.
func listed(parents map[Parent]unit.Mass) []Parent {
	var out []Parent
	for p, m := range parents {
		p.Mass = m
		out = append(out, p)
	}
	slices.SortFunc(out, compareParents)
	return out
}
