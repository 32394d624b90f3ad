package service

import (
	"fmt"
	"slices"

	"lumbricary.example/service/balance"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// ReworkKind is how batches become others.
type ReworkKind string

// The kinds of rework.
const (
	Screening ReworkKind = "screening" // one into several, as fine and oversize
	Blending  ReworkKind = "blending"  // several into one
)

// Rework is batches that become others. Dry matter that goes in and doesn't come
// out is lost, as dust.
type Rework struct {
	ID       ReworkID // also the id of its movement
	Kind     ReworkKind
	At       Moment
	From     []ReworkPart
	Into     []ReworkPart
	Lost     unit.Mass // dry
	Note     string
	Recorded Recorded
	Version  int64
}

// ReworkPart is what goes in of a batch, or comes out into one.
type ReworkPart struct {
	Batch    BatchID
	Typed    unit.Measure  // wet mass; no unit: all that the batch holds, or all the rest
	Moisture *unit.Percent // measured; nil: as the batch, or as what went in
	Wet      unit.Mass     // with Dry: as booked; given by an import, else worked out
	Dry      unit.Mass
	Assumed  bool // Wet rests on a moisture that nobody measured
}

const maxReworkParts = 20

// addRework records a rework and its movement. Errors: ErrForbidden, ErrInvalid,
// ErrMoreThanBook.
func (w *work) addRework(r Rework) (Rework, error) {
	if err := w.may(UseCastings); err != nil {
		return Rework{}, err
	}
	var faults Faults
	r.ID = ReworkID(w.id(string(r.ID), &faults))
	w.settle(&faults, "/at", &r.At)
	r.From, r.Into = slices.Clone(r.From), slices.Clone(r.Into)
	r.checkShape(&faults)
	w.findBatches(&faults, r)
	if err := faults.Err(); err != nil {
		return Rework{}, err
	}
	if err := w.takeParts(&faults, &r); err != nil {
		return Rework{}, err
	}
	r.fillParts(&faults)
	if err := faults.Err(); err != nil {
		return Rework{}, err
	}
	m := Movement{ID: MovementID(r.ID), Kind: journal.Rework, At: r.At, FromMember: w.author(), ToMember: w.author(), Note: r.Note, Postings: r.postings()}
	if err := w.post(&m); err != nil {
		return Rework{}, err
	}
	r.Recorded, r.Version = m.Recorded, 1
	return r, w.Reworks.Insert(r)
}

// checkShape notes what a rework of its kind lacks or can't have.
func (r Rework) checkShape(faults *Faults) {
	checkWord(faults, "/kind", r.Kind, Screening, Blending)
	checkNote(faults, "/note", r.Note)
	from, into := len(r.From), len(r.Into)
	if from == 0 || from > maxReworkParts || r.Kind == Screening && from != 1 || r.Kind == Blending && from < 2 {
		faults.Add("/from", "range", "a screening is of one batch, a blending of 2 to %d", maxReworkParts)
	}
	if into == 0 || into > maxReworkParts || r.Kind == Blending && into != 1 {
		faults.Add("/into", "range", "a screening gives 1 to %d batches, a blending one", maxReworkParts)
	}
	rest := 0
	for i, p := range r.Into {
		if p.Typed.Unit == "" && !p.booked() {
			rest++
		}
		p.check(faults, fmt.Sprintf("/into/%d", i))
	}
	if rest > 1 {
		faults.Add("/into", "shape", "only one batch can get the rest; say how much the others got")
	}
	for i, p := range r.From {
		p.check(faults, fmt.Sprintf("/from/%d", i))
	}
}

func (p ReworkPart) check(faults *Faults, pointer string) {
	checkRange(faults, pointer+"/moisture_pct", p.Moisture, 0, 99.9)
	if p.booked() && (p.Dry <= 0 || p.Wet < p.Dry || p.Wet > unit.MaxMass) {
		faults.Add(pointer+"/dry_mg", "range", "give both masses, the wet one no less than the dry one")
	}
}

// findBatches sees that the batches are there, and each named once.
func (w *work) findBatches(faults *Faults, r Rework) {
	seen := map[BatchID]bool{}
	look := func(member string, parts []ReworkPart) {
		for i, p := range parts {
			pointer := fmt.Sprintf("/%s/%d/batch", member, i)
			_, err := w.Batches.Get(p.Batch)
			checkRef(faults, pointer, err)
			if seen[p.Batch] {
				faults.Add(pointer, "repeated", "name each batch once; what doesn't go in stays where it is")
			}
			seen[p.Batch] = true
		}
	}
	look("from", r.From)
	look("into", r.Into)
}

// takeParts turns what goes in into wet and dry masses.
func (w *work) takeParts(faults *Faults, r *Rework) error {
	for i := range r.From {
		p := &r.From[i]
		if p.booked() {
			continue
		}
		c, err := w.contents(p.Batch, r.At.Time)
		if err != nil {
			return err
		}
		p.weigh(faults, fmt.Sprintf("/from/%d/quantity", i), c, c.Dry)
	}
	return nil
}

// booked reports whether an import told what the part was booked as.
func (p ReworkPart) booked() bool { return p.Dry != 0 || p.Wet != 0 }

// weigh turns the typed wet mass into both masses, at the moisture that was
// measured or else that of the whole; without a typed mass the part is dry.
func (p *ReworkPart) weigh(faults *Faults, pointer string, whole balance.Contents, dry unit.Mass) {
	moisture, known := whole.Moisture()
	p.Assumed = whole.Assumed || !known
	switch {
	case p.Moisture != nil:
		moisture, p.Assumed = *p.Moisture, false
	case !known:
		moisture = DefaultCastingsMoisture
	}
	if p.Typed.Unit == "" {
		p.Dry, p.Wet = dry, balance.WetOf(dry, moisture)
	} else {
		var err error
		p.Wet, err = p.Typed.Mass()
		faults.Check(pointer, quantityCode(err), err)
		p.Dry = dryOf(p.Wet, moisture)
	}
	if p.Dry <= 0 && len(*faults) == 0 {
		faults.Add(pointer, "range", "that is nothing, without its water")
	}
}

// fillParts turns what comes out into wet and dry masses; what is left is lost.
func (r *Rework) fillParts(faults *Faults) {
	var in balance.Contents
	for _, p := range r.From {
		in.Wet, in.Dry, in.Assumed = in.Wet+p.Wet, in.Dry+p.Dry, in.Assumed || p.Assumed
	}
	rest := -1
	r.Lost = in.Dry
	for i := range r.Into {
		p := &r.Into[i]
		switch {
		case p.booked():
		case p.Typed.Unit == "":
			rest = i
		default:
			p.weigh(faults, fmt.Sprintf("/into/%d/quantity", i), in, 0)
		}
		r.Lost -= p.Dry
	}
	if rest >= 0 && r.Lost > 0 {
		r.Into[rest].weigh(faults, fmt.Sprintf("/into/%d/quantity", rest), in, r.Lost)
		r.Lost = 0
	} else if rest >= 0 || r.Lost < 0 {
		faults.Add("/into", "range", "as much or more would come out than went in, by %.3f g of dry matter; look at masses and moistures", (-r.Lost).Grams())
	}
}

// postings are the double entry of the rework.
func (r Rework) postings() []journal.Posting {
	var out []journal.Posting
	for _, p := range r.From {
		out = append(out, journal.Posting{Account: journal.Batch(string(p.Batch)), Commodity: journal.Castings, Amount: -p.Dry})
	}
	for _, p := range r.Into {
		out = append(out, journal.Posting{Account: journal.Batch(string(p.Batch)), Commodity: journal.Castings, Amount: p.Dry})
	}
	if r.Lost > 0 {
		out = append(out, journal.Posting{Account: journal.Account{Kind: journal.Adjustment}, Commodity: journal.Castings, Amount: r.Lost})
	}
	return out
}
