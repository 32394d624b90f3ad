package service

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
)

// standing reads what stands in the places that e touches, before e: the books,
// and the lots by id.
func (w *work) standing(e journal.Entry) (standing, error) {
	s := standing{map[lineage.Place]lineage.State{}, map[string]Lot{}}
	places := lineage.Places(e)
	for _, p := range places {
		book, err := w.Movements.Book(accountOf(p), journal.Worms(p.Species))
		if err != nil {
			return s, err
		}
		s.states[p] = lineage.State{Book: book}
	}
	newest, err := w.Lots.Newest(places)
	for _, l := range newest {
		s.states[l.Place] = lineage.State{Lot: &l.Lot, Book: s.states[l.Place].Book}
		s.lots[l.ID] = l
	}
	return s, err
}

// standing is what stands in some places.
type standing struct {
	states map[lineage.Place]lineage.State
	lots   map[string]Lot
}

// accountOf returns the account that holds the book of a place.
func accountOf(p lineage.Place) journal.Account {
	if p.Transit != "" {
		return journal.InTransit(p.Transit)
	}
	return journal.Bin(p.Bin)
}

// deriveNext derives the lots that m, on top of the journal, opens, ends or
// revives.
func (w *work) deriveNext(s standing, m Movement) error {
	changed, _, err := lineage.Apply(s.states, m.Entry())
	if err != nil {
		return err
	}
	return w.keepLots(changed, s.lots, []Movement{m})
}

// redo derives the lots that change with movements that were put into the
// journal, anywhere in its order.
func (w *work) redo(ms ...Movement) error {
	if len(ms) == 0 {
		return nil
	}
	src := derived{w, map[string]Lot{}}
	changed, err := lineage.Redo(entriesOf(ms), src)
	if err != nil {
		return err
	}
	return w.keepLots(changed, src.lots, ms)
}

// keepLots writes lots of which some were there before.
func (w *work) keepLots(changed []lineage.Lot, before map[string]Lot, ms []Movement) error {
	var opened, reshaped, remixed []Lot
	for _, l := range changed {
		old, there := before[l.ID]
		switch lot := (Lot{Lot: l, Member: old.Member}); {
		case !there:
			opened = append(opened, lot)
		case slices.Equal(l.Parents, old.Parents) && slices.Equal(l.Via, old.Via):
			remixed = append(remixed, lot)
		default:
			reshaped = append(reshaped, lot)
		}
	}
	if err := w.keepers(opened, ms); err != nil {
		return err
	}
	for _, keep := range []struct {
		write func([]Lot) error
		lots  []Lot
	}{{w.Lots.Insert, opened}, {w.Lots.Update, reshaped}, {w.Lots.Remix, remixed}} {
		if len(keep.lots) == 0 {
			continue
		}
		if err := keep.write(keep.lots); err != nil {
			return err
		}
	}
	return nil
}

// keepers fills who kept new lots, as the movements that opened them tell: of ms,
// or others.
func (w *work) keepers(opened []Lot, ms []Movement) error {
	by := map[string]Movement{}
	for _, m := range ms {
		by[string(m.ID)] = m
	}
	var others []MovementID
	for _, l := range opened {
		if _, ok := by[l.OpenedBy]; !ok {
			others = append(others, MovementID(l.OpenedBy))
		}
	}
	found, err := w.Movements.Some(others)
	for _, m := range found {
		by[string(m.ID)] = m
	}
	for i, l := range opened {
		opened[i].Member = by[l.OpenedBy].keeperIn(l.Place)
	}
	return err
}

// keeperIn returns who keeps a lot that m opened in a place: of one under way who
// gives it, or who gets it where an outside party gives; of one that went back, who
// gave it.
func (m Movement) keeperIn(p lineage.Place) MemberID {
	back := m.Kind == journal.Arriving && p.Bin != string(m.ToBin)
	if p.Transit != "" || back {
		return cmp.Or(m.FromMember, m.ToMember)
	}
	return m.ToMember
}

// derived is what lineage reads of the book, and remembers the lots.
type derived struct {
	*work
	lots map[string]Lot
}

// Lines implements lineage.Source.
func (d derived) Lines(p lineage.Place) ([]journal.Line, error) {
	return d.Movements.Lines(accountOf(p), journal.Worms(p.Species))
}

// Entries implements lineage.Source.
func (d derived) Entries(ids []string) ([]journal.Entry, error) {
	return d.Movements.SomeEntries(asIDs[MovementID](ids))
}

// Since implements lineage.Source.
func (d derived) Since(p lineage.Place, from time.Time) ([]lineage.Lot, error) {
	return d.keep(d.Lots.Since(p, from))
}

// Some implements lineage.Source.
func (d derived) Some(ids []string) ([]lineage.Lot, error) {
	return d.keep(d.Lots.Some(asIDs[LotID](ids)))
}

// Children implements lineage.Source.
func (d derived) Children(ids []string) ([]string, error) {
	children, err := d.Lots.Children(asIDs[LotID](ids))
	out := make([]string, len(children))
	for i, id := range children {
		out[i] = string(id)
	}
	return out, err
}

func (d derived) keep(lots []Lot, err error) ([]lineage.Lot, error) {
	out := make([]lineage.Lot, len(lots))
	for i, l := range lots {
		d.lots[l.ID], out[i] = l, l.Lot
	}
	return out, err
}
