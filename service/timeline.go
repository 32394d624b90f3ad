package service

import (
	"cmp"
	"context"
	"slices"
	"time"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// EventKind is what kind of record an event of a bin stands for.
type EventKind string

// The kinds of event.
const (
	FeedingEvent    EventKind = "feeding"
	CheckEvent      EventKind = "check"
	CensusEvent     EventKind = "census"
	HarvestEvent    EventKind = "harvest"
	MovementEvent   EventKind = "movement"
	QuarantineEvent EventKind = "quarantine"
	ContactEvent    EventKind = "contact"
	ClearingEvent   EventKind = "clearing"
	ReleaseEvent    EventKind = "release" // of a quarantine
)

// BinEvent is one line of a bin's timeline: written in its record's own
// transaction.
type BinEvent struct {
	Bin  BinID
	At   time.Time
	Seq  int64
	Kind EventKind
	ID   string // of the record
}

// Timeline is a page of what happened to a bin, in order, and on the first page
// what came along when it was started.
type Timeline struct {
	Bin         Bin
	Started     *Start // nil: never stocked, or not the first page
	Events      []BinEvent
	Feedings    map[string]Feeding
	Checks      map[string]Check
	Censuses    map[string]Census
	Harvests    map[string]Harvest
	Movements   map[string]Movement
	Quarantines map[string]Quarantine
	Contacts    map[string]BinContact
	Clearings   map[string]Clearing
	Names       Names
}

// Start is the movement that first stocked a bin and the lots it opened there.
type Start struct {
	Movement Movement
	Lots     []Lot
}

// Timeline returns a page of a bin's events in order. Errors: ErrClubNotFound,
// ErrBinNotFound.
func (s Reports) Timeline(ctx context.Context, a Actor, q Query) (Timeline, error) {
	return read(ctx, s.Desk, a, func(w *work) (t Timeline, err error) {
		if t.Bin, err = w.Bins.Get(q.Bin); err != nil {
			return t, err
		}
		if t.Events, err = w.Events.List(q); err != nil {
			return t, err
		}
		if err = w.fill(&t); err != nil {
			return t, err
		}
		if q.After.ID == "" && !q.Newest {
			if t.Started, err = w.start(t.Bin.ID); err != nil {
				return t, err
			}
		}
		t.Names, err = w.names()
		return t, err
	})
}

// fill reads the records of a timeline, one query per kind.
func (w *work) fill(t *Timeline) (err error) {
	ids := map[EventKind][]string{}
	for _, e := range t.Events {
		ids[e.Kind] = append(ids[e.Kind], e.ID)
	}
	if t.Feedings, err = byID(w.Feedings.Some, ids[FeedingEvent], func(f Feeding) string { return string(f.ID) }); err != nil {
		return err
	}
	if t.Checks, err = byID(w.Checks.Some, ids[CheckEvent], func(c Check) string { return string(c.ID) }); err != nil {
		return err
	}
	if t.Censuses, err = byID(w.Censuses.Some, ids[CensusEvent], func(c Census) string { return string(c.ID) }); err != nil {
		return err
	}
	if t.Harvests, err = byID(w.Harvests.Some, ids[HarvestEvent], func(h Harvest) string { return string(h.ID) }); err != nil {
		return err
	}
	if t.Quarantines, err = byID(w.Quarantines.Some, slices.Concat(ids[QuarantineEvent], ids[ReleaseEvent]), func(q Quarantine) string { return string(q.ID) }); err != nil {
		return err
	}
	if t.Contacts, err = byID(w.Contacts.Some, ids[ContactEvent], func(c BinContact) string { return string(c.ID) }); err != nil {
		return err
	}
	if t.Clearings, err = byID(w.Clearings.Some, ids[ClearingEvent], func(c Clearing) string { return string(c.ID) }); err != nil {
		return err
	}
	t.Movements, err = byID(w.Movements.Some, ids[MovementEvent], func(m Movement) string { return string(m.ID) })
	for id, m := range t.Movements {
		t.Movements[id] = w.showMovement(m)
	}
	return err
}

func byID[T any, K ~string](some func([]K) ([]T, error), ids []string, id func(T) string) (map[string]T, error) {
	if len(ids) == 0 {
		return nil, nil //nolint:nilnil // an empty map is nil
	}
	got, err := some(asIDs[K](ids))
	out := make(map[string]T, len(got))
	for _, v := range got {
		out[id(v)] = v
	}
	return out, err
}

// start returns what came along when the bin was first stocked, or nil.
func (w *work) start(bin BinID) (*Start, error) {
	lots, err := w.Lots.List(Query{Bin: bin})
	if err != nil {
		return nil, err
	}
	var s Start
	for _, l := range lots {
		if !l.Withdrawn && (len(s.Lots) == 0 || l.OpenedBy == s.Lots[0].OpenedBy) {
			s.Lots = append(s.Lots, l)
		}
	}
	if len(s.Lots) == 0 {
		return nil, nil //nolint:nilnil // a bin that was never stocked has no start
	}
	m, err := w.Movements.Get(MovementID(s.Lots[0].OpenedBy))
	s.Movement = w.showMovement(m)
	return &s, err
}

// BinStock is what stands in a bin now, by the book, by species.
type BinStock struct {
	Bin    Bin
	Stands []Standing
	Names  Names
}

// Standing is the stock of one species in a bin.
type Standing struct {
	Species    SpeciesID
	Book       unit.Mass
	Lot        LotID
	Shares     lineage.Shares
	Identified *Identified // nil: as booked
}

// Stock returns what stands in a bin now. Errors: ErrClubNotFound,
// ErrBinNotFound.
func (s Reports) Stock(ctx context.Context, a Actor, bin BinID) (BinStock, error) {
	return read(ctx, s.Desk, a, func(w *work) (out BinStock, err error) {
		if out.Bin, err = w.Bins.Get(bin); err != nil {
			return out, err
		}
		book, err := w.Movements.Stock(bin)
		if err != nil {
			return out, err
		}
		standing, err := w.Lots.Standing(bin)
		if err != nil {
			return out, err
		}
		for _, l := range standing {
			species := SpeciesID(l.Place.Species)
			if book[species] <= 0 {
				continue
			}
			found, err := w.identify(LotID(l.ID))
			if err != nil {
				return out, err
			}
			out.Stands = append(out.Stands, Standing{species, book[species], LotID(l.ID), l.Shares, found})
		}
		slices.SortFunc(out.Stands, func(a, b Standing) int { return cmp.Compare(a.Species, b.Species) })
		out.Names, err = w.names()
		return out, err
	})
}
