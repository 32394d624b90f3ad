package service

import (
	"slices"
	"time"

	"lumbricary.example/service/exposure"
	"lumbricary.example/service/journal"
)

// The places of a trace, by what they are.
func binPlace(id BinID) exposure.Place {
	return exposure.Place{Kind: exposure.Bin, Ref: string(id)}
}

func batchPlace(id BatchID) exposure.Place {
	return exposure.Place{Kind: exposure.Batch, Ref: string(id)}
}

func receiptPlace(id ReceiptID) exposure.Place {
	return exposure.Place{Kind: exposure.Receipt, Ref: string(id)}
}

// outside is who is not in the club, on the other side of a movement.
func (m Movement) outside() exposure.Place {
	return exposure.Place{Kind: exposure.Outside, Ref: string(m.ID)}
}

// way is what a leg is carried by until it arrives.
func (m Movement) way() exposure.Place {
	return exposure.Place{Kind: exposure.Way, Ref: string(m.Leg)}
}

// gather reads what carried something along from a moment on: entries of the
// journal that stand, harvests, feedings of what came in, contacts, clearings.
func (x *exposing) gather(from time.Time) error {
	q, harvested := Query{From: from}, map[MovementID]BinID{}
	for _, read := range []func() error{
		reading(x.Harvests, q, func(h Harvest) { harvested[MovementID(h.ID)] = h.Bin }),
		reading(x.Movements, q, func(m Movement) { x.moved(m, harvested[m.ID]) }),
		reading(x.Feedings, q, x.fed),
		reading(x.Contacts, q, func(c BinContact) {
			var bins []exposure.Place
			for _, bin := range c.Bins {
				bins = append(bins, binPlace(bin))
			}
			x.note(exposure.Event{Record: string(c.ID), Why: c.noun(), From: bins, To: bins}, c.At, c.Recorded)
		}),
		reading(x.Clearings, q, func(c Clearing) {
			x.note(exposure.Event{Record: string(c.ID), Why: "clearing", Clears: c.place()}, c.At, c.Recorded)
		}),
	} {
		if err := read(); err != nil {
			return err
		}
	}
	return nil
}

// note adds an event at its place in the order of the book.
func (x *exposing) note(e exposure.Event, at Moment, rec Recorded) {
	e.At, e.Seq = at.Time, rec.Seq
	x.events = append(x.events, e)
	if at.Precision == ToTheDay {
		x.toTheDay[e.Record] = true
	}
}

// moved notes what a movement carried along; bin is that of its harvest. What was
// taken back carried nothing.
func (x *exposing) moved(m Movement, bin BinID) {
	if m.isReversal() || m.ReversedBy != "" {
		return
	}
	x.movements[m.ID] = m
	if m.Leg != "" {
		x.legs[m.Leg] = m
	}
	from, to := m.between(bin)
	if len(from) == 0 || len(to) == 0 {
		return
	}
	x.note(exposure.Event{Record: string(m.ID), Why: string(m.Kind), From: from, To: to}, m.At, m.Recorded)
}

// fed notes what came in and was fed.
func (x *exposing) fed(f Feeding) {
	e := exposure.Event{Record: string(f.ID), Why: "feeding", To: []exposure.Place{binPlace(f.Bin)}}
	for _, it := range f.Items {
		if it.Receipt == "" {
			x.unnamed[f.Bin] = append(x.unnamed[f.Bin], f.At.Time)
		} else {
			e.From = with(e.From, receiptPlace(it.Receipt))
		}
	}
	if len(e.From) > 0 {
		x.note(e, f.At, f.Recorded)
	}
}

// between are the places out of which and into which a movement carried
// something; bin is that of its harvest, from which castings have no posting.
func (m Movement) between(bin BinID) (from, to []exposure.Place) {
	if m.Kind == journal.Arriving {
		return []exposure.Place{m.way()}, m.arrivals()
	}
	for _, p := range m.Postings {
		place, is := m.placeOf(p.Account)
		switch {
		case !is:
		case p.Amount < 0:
			from = with(from, place)
		default:
			to = with(to, place)
		}
	}
	for _, l := range m.Lines { // half-worked material has no posting
		if l.FromBin != "" {
			from = with(from, binPlace(l.FromBin))
		}
	}
	switch {
	case bin != "":
		from = with(from, binPlace(bin))
	case m.Kind == journal.Dispatch:
		if m.FromMember == "" {
			from = with(from, m.outside())
		}
		to = []exposure.Place{m.way()}
	}
	return from, to
}

// placeOf is the place that an account stands for, if it does.
func (m Movement) placeOf(a journal.Account) (exposure.Place, bool) {
	switch a.Kind {
	case journal.BinAccount:
		return binPlace(BinID(a.Ref)), true
	case journal.BatchAccount:
		return batchPlace(BatchID(a.Ref)), true
	case journal.Outside:
		return m.outside(), true
	case journal.Transit, journal.Growth, journal.Mortality, journal.WeightChange, journal.Processing, journal.Adjustment:
	}
	return exposure.Place{}, false
}

// arrivals are the places that a leg came into: where it went, and where some of
// it went back to.
func (m Movement) arrivals() (to []exposure.Place) {
	for _, l := range m.Lines {
		if l.Mass > 0 {
			to = with(to, m.into(l))
		}
		if l.Returned > 0 {
			to = with(to, m.backTo(l))
		}
	}
	return to
}

func (m Movement) into(l Line) exposure.Place {
	switch {
	case l.Castings && m.ToBatch != "":
		return batchPlace(m.ToBatch)
	case !l.Castings && m.ToBin != "":
		return binPlace(m.ToBin)
	}
	return m.outside()
}

func (m Movement) backTo(l Line) exposure.Place {
	switch {
	case l.FromBatch != "":
		return batchPlace(l.FromBatch)
	case l.FromBin != "":
		return binPlace(l.FromBin)
	}
	return m.outside()
}

// with adds a place, once.
func with(places []exposure.Place, p exposure.Place) []exposure.Place {
	if slices.Contains(places, p) {
		return places
	}
	return append(places, p)
}
