package service

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// packing turns the lines of a leg into goods: what each takes from where, in
// milligrams, against the books of that moment.
type packing struct {
	*work
	faults  *Faults
	pointer string // of the list of lines
	giver   MemberID
	at      Moment
	sourced bool // each line must say where it comes from
	// corrects is set where what has left is told again: a quarantine doesn't keep it.
	corrects bool
	taken    map[BinID]map[SpeciesID]unit.Mass
}

// lines resolves lines into what is booked, and the goods that they are. Errors:
// the store's.
func (p packing) lines(typed []Line) ([]Line, []exchange.Good, error) {
	if n := len(typed); n == 0 || n > maxLines {
		p.faults.Add(p.pointer, "range", "a leg moves 1 to %d things", maxLines)
	}
	p.taken = map[BinID]map[SpeciesID]unit.Mass{}
	var out []Line
	var goods []exchange.Good
	for i, l := range typed {
		at := fmt.Sprintf("%s/%d", p.pointer, i)
		if err := p.source(at, &l); err != nil {
			return nil, nil, err
		}
		if len(*p.faults) > 0 {
			continue
		}
		resolved, err := p.measured(l)
		if fault, ok := errors.AsType[*Error](p.quantityError(err)); ok {
			p.faults.Add(at+cmp.Or(lineMember[fault.Code], "/quantity"), fault.Code, "%s", fault.Detail)
			continue
		} else if err != nil {
			return nil, nil, err
		}
		for _, l := range resolved {
			if l.Mass <= 0 {
				p.faults.Add(at+"/quantity", "range", "nothing would move")
			}
			out, goods = append(out, l), append(goods, l.good())
		}
	}
	return out, goods, nil
}

// source checks where a line comes from.
func (p packing) source(at string, l *Line) error {
	checkRange(p.faults, at+"/moisture_pct", l.Moisture, 0, 99.9)
	l.Castings = l.Castings || l.FromBatch != ""
	kinds := 0
	for _, is := range []bool{l.Castings, l.Material, l.Species != "" || l.Origin != ""} {
		if is {
			kinds++
		}
	}
	if kinds > 1 || l.Castings && l.FromBin != "" {
		p.faults.Add(at, "shape", "a line is worms of a species, castings of a batch, or half-worked material of a bin")
		return nil
	}
	if p.giver == "" {
		return p.fromOutside(at, l)
	}
	return p.fromMember(at, l)
}

// fromOutside checks a line that an outside party gives.
func (p packing) fromOutside(at string, l *Line) error {
	if l.FromBin != "" || l.FromBatch != "" {
		p.faults.Add(at, "shape", "what comes from an outside party comes out of no bin or batch")
	}
	if !l.Castings && !l.Material {
		p.checkOrigin(p.faults, at, l)
	}
	return nil
}

// fromMember checks a line that a member gives: worms and material out of a bin
// that the member keeps and that nothing holds, castings out of a batch. Errors:
// ErrInQuarantine.
func (p packing) fromMember(at string, l *Line) error {
	if l.Origin != "" {
		p.faults.Add(at+"/origin", "shape", "only what an outside party gives has an origin")
	}
	if l.Species != "" {
		p.checkSpecies(p.faults, at+"/species", l.Species)
	}
	switch {
	case l.FromBatch != "":
		_, err := p.Batches.Get(l.FromBatch)
		checkRef(p.faults, at+"/from_batch", err)
	case l.FromBin != "":
		b, err := p.Bins.Get(l.FromBin)
		if err == nil && b.Keeper != p.giver {
			p.faults.Add(at+"/from_bin", "keeper", "another member keeps that bin")
		}
		checkRef(p.faults, at+"/from_bin", cmp.Or(err, b.inUse(p.at)))
		if !p.corrects {
			return p.mayLeave(l.FromBin, p.at.Time, at+"/from_bin")
		}
	case p.sourced && l.Castings:
		p.faults.Add(at+"/from_batch", "required", "say which batch the castings come from")
	case p.sourced:
		p.faults.Add(at+"/from_bin", "required", "say which bin it comes from")
	case !l.Castings && !l.Material && l.Species == "":
		p.faults.Add(at+"/species", "required", "say which species")
	}
	return nil
}

// measured returns what a line comes to. A share of a bin with several species
// becomes a line for each.
func (p packing) measured(l Line) ([]Line, error) {
	var err error
	if l.Castings || l.Material {
		l.Basis = quantity.Weighed
	}
	switch {
	case l.Material && unit.DimensionOf(l.Typed.Unit) == unit.DimVolume && l.Density > 0:
		v, volumeErr := l.Typed.Volume()
		l.Basis = quantity.Poured
		l.Mass, err = unit.Mass(math.Round(float64(v)*l.Density*1000)), volumeErr
	case l.Material:
		l.Mass, err = l.Typed.Mass()
	case l.Castings && l.FromBatch != "":
		l.Mass, err = p.castingsOf(l.FromBatch, p.at.Time, &l)
	case l.Castings:
		wet, massErr := l.Typed.Mass()
		l.Mass, err = dryOf(wet, *cmp.Or(l.Moisture, new(DefaultCastingsMoisture))), massErr
	default:
		return p.worms(l, p.at.Time, p.taken)
	}
	return []Line{l}, err
}

// good is what a line moves.
func (l Line) good() exchange.Good {
	g := exchange.Good{Agreed: l.Mass, From: journal.Account{Kind: journal.Outside}}
	switch {
	case l.Material:
	case l.Castings:
		g.Commodity = journal.Castings
	default:
		g.Commodity = journal.Worms(string(l.Species))
	}
	switch {
	case l.FromBin != "":
		g.From = journal.Bin(string(l.FromBin))
	case l.FromBatch != "":
		g.From = journal.Batch(string(l.FromBatch))
	}
	return g
}

// promised reads what open transfers reserve now, t as it is given among them.
func (w *work) promised(t Transfer) ([]exchange.Promise, error) {
	open, err := w.Transfers.Open()
	if err != nil {
		return nil, err
	}
	out := t.Deal.Promises(string(t.ID), w.now)
	for _, o := range open {
		if o.ID != t.ID {
			out = append(out, o.Deal.Promises(string(o.ID), w.now)...)
		}
	}
	return out, nil
}

// keep checks that what t has just promised is left to promise. Errors:
// ErrNotAvailable.
func (w *work) keep(t Transfer) error {
	all, err := w.promised(t)
	if err != nil {
		return err
	}
	for _, p := range t.Deal.Promises(string(t.ID), w.now) {
		if !p.Since.Equal(w.now) {
			continue
		}
		book, err := w.Movements.Book(p.Account, p.Commodity)
		if err != nil {
			return err
		}
		on := exchange.On(journal.Book{Account: p.Account, Commodity: p.Commodity}, all)
		if left := exchange.Available(book, on); left < 0 {
			return ErrNotAvailable.With("the book of %s has %.3f g, and %.3f g would be promised", w.nameOf(p.Account), book.Grams(), (book - left).Grams())
		}
	}
	return nil
}

// short returns what is missing to each reserved leg of t, given all promises.
func (w *work) short(t Transfer, all []exchange.Promise) (map[LegID]unit.Mass, error) {
	out := map[LegID]unit.Mass{}
	var looked []journal.Book
	for _, p := range t.Deal.Promises(string(t.ID), w.now) {
		b := journal.Book{Account: p.Account, Commodity: p.Commodity}
		if slices.Contains(looked, b) {
			continue
		}
		looked = append(looked, b)
		book, err := w.Movements.Book(p.Account, p.Commodity)
		if err != nil {
			return nil, err
		}
		missing := exchange.Short(book, exchange.On(b, all))
		for _, l := range t.Legs {
			if m := missing[string(l.ID)]; m > 0 {
				out[l.ID] += m
			}
		}
	}
	return out, nil
}
